"""The house: fan test against volume and year, bills against size, efficiency, temperatures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date

from warmside.catalog import Catalog, Climate, Fuel, billed_amount, country_of
from warmside.errors import InputError, UnitError
from warmside.physics.airflow import FanTestResult
from warmside.plausibility.likelihood import Unlikely, held
from warmside.survey import FanTest, House, Survey, fan_law

_HOUSE = ("house",)


def doubts_of_house(survey: Survey, catalog: Catalog, today: date) -> Iterator[Unlikely]:
    """What is unusual of the house as a whole.

    Parameters
    ----------
    survey : Survey
        As read.
    catalog : Catalog
        What is usual; its climates and fuels. A name that it does not hold is told elsewhere.
    today : date
        No house was built later.
    """
    house = survey.house
    yield from _years(survey, today)
    yield from _size(survey, catalog)
    yield from _leakage(house, catalog)
    yield from _rooms(house, catalog)
    yield from _heating(house, catalog)
    yield from _fans(house, catalog)
    if house.climate in catalog.climates or house.design_temperature is not None:
        yield from _design(house, catalog)


def _years(survey: Survey, today: date) -> Iterator[Unlikely]:
    years = [(("house", "year_built"), survey.house.year_built)]
    years += [
        (("walls", n, "year_built"), wall.year_built)  # type: ignore[misc]
        for n, wall in enumerate(survey.walls)
        if wall.year_built is not None
    ]
    for path, year in years:
        if year > today.year:
            yield Unlikely("year-built", path, "a year to come", f"up to {today.year}", True)


def _size(survey: Survey, catalog: Catalog) -> Iterator[Unlikely]:
    house = survey.house
    row = catalog.usual_of("volume")
    yield from held(row, house.volume, (*_HOUSE, "volume"), "{} in one house")
    if house.floor_area is None:
        return
    row = catalog.usual_of("volume by floor")
    height = house.volume / house.floor_area
    more = "; is the heated basement in one of the two only, or is it another unit?"
    yield from held(row, height, (*_HOUSE, "volume"), "with the floor area it makes {}", more)
    side = math.sqrt(house.floor_area / house.storeys)
    row = catalog.usual_of("wall by floor")
    for storey in sorted({wall.storey for wall in survey.walls}):
        length = sum(wall.length for wall in survey.walls if wall.storey == storey)
        first = next(n for n, wall in enumerate(survey.walls) if wall.storey == storey)
        shows = f"the walls of storey {storey} together are {{}}"
        yield from held(row, length / side, ("walls", first, "length"), shows)


def _leakage(house: House, catalog: Catalog) -> Iterator[Unlikely]:
    test = house.fan_test
    if test is None:
        return
    flow, path = _flow_50(test)
    if flow is None:
        return
    row = catalog.usual_of("air change", house.year_built)
    more = f" in a house of {house.year_built}"
    change = flow * 3600.0 / house.volume
    yield from held(row, change, path, "with the volume it makes {}", more)
    if len(test.points) < 3:
        return
    try:
        fitted = fan_law(test)
    except InputError as error:
        said = error.faults[0]
        yield Unlikely("fan-test-points", path, said.read, said.allowed, impossible=True)
        return
    if not isinstance(fitted, FanTestResult):
        return
    row = catalog.usual_of("exponent")
    yield from held(row, fitted.law.exponent, path, "the points make an exponent of {}")
    row = catalog.usual_of("fit")
    yield from held(row, fitted.r_squared, path, "the points fit one line with r2 {}")


def _flow_50(test: FanTest) -> tuple[float | None, tuple[str | int, ...]]:
    """Flow at 50 Pa [m3/s], by the point nearest to it, and where it is written."""
    if test.flow_50 is not None:
        return test.flow_50, ("house", "fan_test", "flow_50")
    number, point = min(enumerate(test.points), key=lambda p: abs(p[1].pressure - 50.0))
    flow = point.flow * (50.0 / point.pressure) ** 0.65
    return flow, ("house", "fan_test", "points", number, "flow")


def _rooms(house: House, catalog: Catalog) -> Iterator[Unlikely]:
    row = catalog.usual_of("room temperature")
    yield from held(row, house.indoor_temperature, (*_HOUSE, "indoor_temperature"), "{} indoors")
    if house.indoor_humidity is not None:
        row = catalog.usual_of("humidity")
        path = (*_HOUSE, "indoor_humidity")
        yield from held(row, house.indoor_humidity, path, "{} in winter", " in winter")
    if house.bedrooms:
        row = catalog.usual_of("people")
        people = house.people / house.bedrooms
        yield from held(row, people, (*_HOUSE, "people"), "{}")


def _fuel(house: House, catalog: Catalog) -> Fuel | None:
    return catalog.fuels.get(house.heating.fuel)


def _heating(house: House, catalog: Catalog) -> Iterator[Unlikely]:
    heating, place = house.heating, ("house", "heating")
    electric = heating.fuel.startswith("electricity")
    kind: str = heating.venting
    if heating.appliance == "heat pump":
        kind = "heat pump"
    elif electric:
        kind = "electric"
    row = catalog.usual_of(f"efficiency {kind}")
    what = heating.appliance if electric else f"{heating.appliance} ({kind})"
    efficiency = heating.efficiency
    yield from held(row, efficiency, (*place, "efficiency"), f"a {what} at {{}}")
    if (electric or heating.appliance == "heat pump") and heating.venting != "none":
        told = f"{what} with {heating.venting}"
        yield Unlikely("venting", (*place, "venting"), told, '"none": it has no flame')
    elif not electric and heating.appliance != "heat pump" and heating.venting == "none":
        told = f"{heating.fuel} without a vent: its fumes stay in the rooms"
        yield Unlikely("venting", (*place, "venting"), told, "a vent for every flame")
    fuel = _fuel(house, catalog)
    if heating.yearly_use is None or fuel is None:
        return
    floor = house.floor
    path = (*place, "yearly_use")
    if _loose_gallon(heating.yearly_use, house, catalog):
        allowed = '"L", "US gal" or "imperial gal": a gallon alone leaves a sixth open'
        yield Unlikely("gallon", path, "a gallon in Canada", allowed, impossible=True)
        return
    try:
        used = billed_amount(heating.yearly_use, fuel)
    except UnitError as error:
        yield Unlikely("fuel-unit", path, f"for {fuel.name}", error.allowed, impossible=True)
        return
    row = catalog.usual_of("heat by floor")
    said = f"{used:,.0f} {fuel.unit} at this efficiency give {{}}"
    yield from held(row, used * fuel.heat_content * efficiency / floor, path, said)


def _loose_gallon(billed: float | str, house: House, catalog: Catalog) -> bool:
    """A gallon of which nobody says whether it is the United States' or the imperial one."""
    text = str(billed).lower()
    if "gal" not in text or "us" in text or "imp" in text:
        return False
    try:
        country = country_of(catalog.climate(house.climate))
    except LookupError:
        return False
    return country is not None and country.id == "CA"


def _fans(house: House, catalog: Catalog) -> Iterator[Unlikely]:
    row = catalog.usual_of("exhaust")
    for key in ("hood", "bath", "dryer", "other"):
        flow = getattr(house.exhaust, key)
        if flow:
            yield from held(row, flow, ("house", "exhaust", key), "{} through one fan")
    for key in ("mechanical_ventilation", "planned_ventilation"):
        flow = getattr(house, key)
        if flow:
            yield from held(row, flow, ("house", key), "{} all the time")


def _design(house: House, catalog: Catalog) -> Iterator[Unlikely]:
    given = house.design_temperature
    if given is None:
        return
    path = ("house", "design_temperature")
    row = catalog.usual_of("design temperature")
    found = list(held(row, given, path, "{} as the coldest that counts"))
    yield from found
    try:
        climate: Climate = catalog.climate(house.climate)
    except LookupError:
        return
    if found:
        return
    coldest = min(climate.mean)
    if given >= coldest:
        told = "warmer than the mean of the coldest month"
        usual = f"below {coldest:.0f} °C; the station gives {climate.design:.0f} °C"
        yield Unlikely("design-temperature", path, told, usual, impossible=True)
        return
    row = catalog.usual_of("design from climate")
    more = f" from the {climate.design:.0f} °C of {climate.name}"
    yield from held(row, given - climate.design, path, "{} from the climate's own", more)
