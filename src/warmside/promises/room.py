"""The two airs that a wall parts: the room by its balance of water, and the outside."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
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
from warmside.wording import Figure, Sentence, say

Months = tuple[float, ...]  # twelve, January first
MOST_HUMID = 0.95  # [-] of any room
COOLED_WHERE = 24.0  # [degC] mean of a month from which rooms are cooled; common practice
_NOTHING = Sentence()
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
    basis: Sentence  # what it rests on


@dataclass(frozen=True)
class Room:
    """Room air in winter, and what was taken for it.

    With ``excess`` the humidity of every month and hour follows from one balance of water; without
    it ``humidity`` is held all year by the month, and by the hour has its usual course.
    """

    temperature: float  # [degC]
    humidity: float  # [-] in the coldest month
    assumption: Sentence = _NOTHING
    # [kg/m3] of vapour above outdoors, by month, windows shut: water given off per outdoor air
    excess: Months | None = None
    cooled: bool = False  # in summer

    @cached_property
    def vapour_pressure(self) -> float:
        """Vapour pressure of the room air [Pa]."""
        return float(humid_air.vapour_pressure(self.temperature, self.humidity))

    @cached_property
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
            say("{water} of water a day are given off indoors, as surveyed.", water=_a_day(given)),
        )
    people = usual_release(house.people)
    usual = say(
        "{water} of water a day are taken for {people} ({low} to {high}; second-hand).",
        water=_a_day(people.best),
        people=_people(house.people),
        low=_a_day(people.low),
        high=_a_day(people.high),
    )
    if house.indoor_humidity is None:
        told = say("Indoor humidity was not measured: {usual}", usual=usual)
        return Living(people, "people", told)
    humidity = Figure(house.indoor_humidity, "share")
    read = reading_release(house, air, least, most)
    if impossible(house, read):
        told = say(
            "The reading of {humidity} is not used: with the air that leaks in it would ask for "
            "{water} of water a day. Instead {usual}",
            humidity=humidity,
            water=_a_day(read.best),
            usual=usual,
        )
        return Living(people, "people", told)
    told = say(
        "{humidity} as read and {flow} of outdoor air in the coldest month make {water} of water "
        "given off a day.",
        humidity=humidity,
        flow=Figure(air.flow[air.coldest], "flow"),
        water=_a_day(read.best),
    )
    return Living(read, "reading", told)


def reading_release(house: House, air: MonthlyAir, least: MonthlyAir, most: MonthlyAir) -> Band:
    """Water that the humidity read in the coldest month asks for [kg/s]."""
    vapour = float(humid_air.vapour_pressure(house.indoor_temperature, house.indoor_humidity or 0))
    found = (one.release(vapour, house.indoor_temperature) for one in (least, air, most))
    return Band(*sorted(found))


def impossible(house: House, release: Band) -> bool:
    """Whether no leakage within its band makes ``release`` [kg/s] one that is allowed."""
    least, most = believed_water(house)
    return release.low * DAY > most or release.high * DAY < least


def room_of(house: House, release: float, air: MonthlyAir, assumption: Sentence = _NOTHING) -> Room:
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
    assumption : Sentence
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


def _a_day(release: float) -> Figure:
    """Water [kg] of a day, to the whole kilogram: it is known no finer."""
    return Figure(float(round(release * DAY)), "mass")


def _people(count: int) -> Sentence:
    if count < 2:
        return say("one person") if count else say("a house without people")
    return say("{count} people", count=f"{count}")
