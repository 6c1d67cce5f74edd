"""The two airs that a wall parts: the room by its balance of water, and the outside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.catalog import Climate
from warmside.errors import Fault, InputError
from warmside.physics import humid_air
from warmside.physics.airflow import Band, indoor_humidity, moisture_release
from warmside.physics.climate import (
    HourlyClimate,
    IndoorAir,
    cooled_rooms,
    indoor_by_month,
    indoor_measured,
)
from warmside.physics.moisture import MonthlyConditions, cooled_months, monthly_conditions
from warmside.survey import LEAST_WATER, MOST_WATER, WATER_A_HEAD, House, believed_water
from warmside.units import DAY

Months = tuple[float, ...]  # twelve, January first
MOST_HUMID = 0.95  # [-] of any room
COOLED_WHERE = 24.0  # [degC] mean of a month from which rooms are cooled; common practice
MOST_EXCESS = 0.05  # [kg/m3] beyond which any room is saturated


@dataclass(frozen=True)
class MonthlyAir:
    """Outdoor air of a house by calendar month: what it holds, and how much of it comes in."""

    temperature: Months  # [degC] outdoors
    vapour: Months  # [Pa] outdoors
    flow: Months  # [m3/s] infiltration and ventilation together

    @property
    def coldest(self) -> int:
        """The coldest month, January 0."""
        return min(range(12), key=lambda month: self.temperature[month])

    def release(self, vapour_pressure: float, temperature: float) -> float:
        """Water that keeps a room at ``vapour_pressure`` [Pa] in the coldest month [kg/s]."""
        k = self.coldest
        return moisture_release(vapour_pressure, self.vapour[k], self.flow[k], temperature)

    def humidity(self, release: float, temperature: float) -> float:
        """Humidity of a room [-] in the coldest month, by the water given off [kg/s]."""
        k = self.coldest
        flow = max(self.flow[k], 1e-4)
        found = indoor_humidity(release, self.vapour[k], flow, temperature)
        return min(found, MOST_HUMID)


@dataclass(frozen=True)
class Living:
    """What the people of a house give off, the same before and after the work."""

    release: Band  # [kg/s] least, best, most
    by: Literal["reading", "survey", "people"]
    basis: str  # what it rests on, a sentence or two


@dataclass(frozen=True)
class Room:
    """Room air in winter, and what was taken for it.

    With ``excess`` the humidity of every month and hour follows from one balance of water; without
    it ``humidity`` is held all year by the month, and by the hour has its usual course.
    """

    temperature: float  # [degC]
    humidity: float  # [-] in the coldest month
    assumption: str = ""
    # [kg/m3] of vapour above outdoors, by month, windows shut: water given off per outdoor air
    excess: Months | None = None
    cooled: bool = False  # in summer

    @property
    def vapour_pressure(self) -> float:
        """Vapour pressure of the room air [Pa]."""
        return float(humid_air.vapour_pressure(self.temperature, self.humidity))

    @property
    def dew_point(self) -> float:
        """Dew point of the room air [degC]."""
        return float(humid_air.dew_point(self.temperature, self.humidity))

    @property
    def same_as(self) -> tuple[float, float, Months | None, bool]:
        """What a wall feels of the room: rooms that agree in it are one and the same to it."""
        return self.temperature, self.humidity, self.excess, self.cooled

    def monthly(self, climate: Climate) -> MonthlyConditions:
        """Air on both sides of a wall month by month."""
        found = monthly_conditions(
            climate.mean,
            climate.humidity,
            self.temperature,
            humidity=self.humidity if self.excess is None else None,
            excess=self.excess,
        )
        return cooled_months(found) if self.cooled else found

    def hourly(self, weather: HourlyClimate) -> IndoorAir:
        """Room air in every hour of ``weather``."""
        if self.excess is None:
            air = indoor_measured(weather, self.temperature, self.humidity)
        else:
            air = indoor_by_month(weather, self.temperature, self.excess)
        return cooled_rooms(weather, air) if self.cooled else air


@dataclass(frozen=True)
class Outside:
    """The climate, with the design temperature that the house is judged at."""

    climate: Climate
    design: float  # [degC]

    @property
    def coldest_month(self) -> float:
        """Mean temperature of the coldest month [degC]."""
        return min(self.climate.mean)


def unread(house: House) -> Room:
    """A room for what hangs on its temperature alone, before its humidity is known."""
    return Room(house.indoor_temperature, 0.3)


def usual_release(people: int) -> Band:
    """Water that so many people usually give off in their house [kg/s], within what a house can."""
    a_day = (min(max(people * one, LEAST_WATER), MOST_WATER) for one in WATER_A_HEAD)
    return Band(*(water / DAY for water in a_day))


def living_of(house: House, air: MonthlyAir, least: MonthlyAir, most: MonthlyAir) -> Living:
    """What the people of a house give off, from its readings or from their number.

    A humidity that was read is used only where the water it asks for is possible.

    Parameters
    ----------
    house : House
        The house as surveyed.
    air, least, most : MonthlyAir
        Its outdoor air today: best, with the least and with the most leakage that it may have.

    Returns
    -------
    Living
        Release [kg/s] and its basis.
    """
    if house.moisture_production is not None:
        given = house.moisture_production
        return Living(
            Band(given, given, given),
            "survey",
            f"{_a_day(given)} of water are given off indoors, as surveyed.",
        )
    people = usual_release(house.people)
    usual = (
        f"{_a_day(people.best)} of water are taken for {_people(house.people)} "
        f"({people.low * DAY:.0f} to {people.high * DAY:.0f}; second-hand)."
    )
    if house.indoor_humidity is None:
        return Living(people, "people", f"Indoor humidity was not measured: {usual}")
    read = reading_release(house, air, least, most)
    if impossible(house, read):
        return Living(
            people,
            "people",
            f"The reading of {house.indoor_humidity:.0%} is not used: with the air that leaks in "
            f"it would ask for {_a_day(read.best)} of water. Instead {usual}",
        )
    return Living(
        read,
        "reading",
        f"{house.indoor_humidity:.0%} as read and {air.flow[air.coldest] * 1000:.0f} L/s of "
        f"outdoor air in the coldest month make {_a_day(read.best)} of water given off.",
    )


def reading_release(house: House, air: MonthlyAir, least: MonthlyAir, most: MonthlyAir) -> Band:
    """Water that the humidity read in the coldest month asks for [kg/s]."""
    vapour = float(humid_air.vapour_pressure(house.indoor_temperature, house.indoor_humidity or 0))
    found = (one.release(vapour, house.indoor_temperature) for one in (least, air, most))
    return Band(*sorted(found))


def impossible(house: House, release: Band) -> bool:
    """Whether no leakage within its band makes ``release`` [kg/s] one that is allowed."""
    least, most = believed_water(house)
    return release.low * DAY > most or release.high * DAY < least


def room_of(house: House, release: float, air: MonthlyAir, assumption: str = "") -> Room:
    """The room that a release of water and the outdoor air make.

    ``p_i = p_e + G R_v T / Q`` with means of each month; steady, what walls and furniture take up
    and give back is left out. Source: EN ISO 13788 (from memory).

    Parameters
    ----------
    house : House
        For its temperature.
    release : float
        Water given off indoors [kg/s].
    air : MonthlyAir
        Outdoor air by month.
    assumption : str
        What it rests on.

    Returns
    -------
    Room
        Its humidity in the coldest month [-], its excess of vapour in every month [kg/m3].
    """
    excess = tuple(min(release / max(flow, 1e-4), MOST_EXCESS) for flow in air.flow)
    humidity = air.humidity(release, house.indoor_temperature)
    cooled = rooms_cooled(house, air.temperature)
    return Room(house.indoor_temperature, humidity, assumption, excess, cooled)


def rooms_cooled(house: House, months: Months) -> bool:
    """Whether rooms are cooled in summer: as surveyed, else where a month's mean is 24 degC."""
    if house.cooling is not None:
        return house.cooling == "rooms cooled"
    return max(months) >= COOLED_WHERE


def outside_of(house: House, climate: Climate) -> Outside:
    """Design temperature of the survey, or the station's January 2.5 % value.

    Parameters
    ----------
    house : House
        The house as surveyed.
    climate : Climate
        Its station.

    Returns
    -------
    Outside
        Climate and design temperature [degC].

    Raises
    ------
    InputError
        A design temperature that is not below the room's.
    """
    design = climate.design if house.design_temperature is None else house.design_temperature
    if design >= house.indoor_temperature:
        raise InputError(
            [Fault("house, design temperature", f"{design:g} C", "below the room temperature")]
        )
    return Outside(climate, design)


def _a_day(release: float) -> str:
    return f"{release * DAY:.0f} kg a day"


def _people(count: int) -> str:
    return {0: "a house without people", 1: "one person"}.get(count, f"{count} people")
