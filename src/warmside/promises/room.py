"""The two airs that a wall parts: the room, and the outside at the temperatures that matter."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Climate
from warmside.errors import Fault, InputError
from warmside.physics import humid_air
from warmside.survey import House

DAY = 86_400.0  # [s]
# Room air assumed where the survey names neither humidity nor moisture production.
USUAL_HUMIDITY = 0.35  # [-], a cold-climate winter's usual reading; common practice, no source


@dataclass(frozen=True)
class Room:
    """Room air in winter, and what was taken for it."""

    temperature: float  # [degC]
    humidity: float  # [-]
    assumption: str = ""

    @property
    def vapour_pressure(self) -> float:
        """Vapour pressure of the room air [Pa]."""
        return float(humid_air.vapour_pressure(self.temperature, self.humidity))

    @property
    def dew_point(self) -> float:
        """Dew point of the room air [degC]."""
        return float(humid_air.dew_point(self.temperature, self.humidity))


@dataclass(frozen=True)
class Outside:
    """The climate, with the design temperature that the house is judged at."""

    climate: Climate
    design: float  # [degC]

    @property
    def coldest_month(self) -> float:
        """Mean temperature of the coldest month [degC]."""
        return min(self.climate.mean)


def room_of(house: House, climate: Climate) -> Room:
    """Room air as the survey gives it, or the usual one with its assumption.

    Parameters
    ----------
    house : House
        The house as surveyed.
    climate : Climate
        Its station, for the outdoor moisture of the coldest month.

    Returns
    -------
    Room
        Temperature and humidity of the room air.
    """
    if house.indoor_humidity is not None:
        return Room(house.indoor_temperature, house.indoor_humidity)
    air = _air_change(house)
    if house.moisture_production is not None and air is not None:
        return _balanced(house, climate, house.moisture_production, air)
    return Room(
        house.indoor_temperature,
        USUAL_HUMIDITY,
        f"Indoor humidity was not measured: {USUAL_HUMIDITY:.0%} is taken (common practice).",
    )


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


def _air_change(house: House) -> float | None:
    """Outdoor air in winter [m3/s]: a twentieth of the fan-test flow, and the fans.

    Source of the twentieth: Sherman 1987, in ASHRAE Handbook Fundamentals 2021, chapter 16.
    """
    test = house.fan_test
    if test is None or test.flow_50 is None:
        return None
    return test.flow_50 / 20.0 + (house.mechanical_ventilation or 0.0)


def _balanced(house: House, climate: Climate, production: float, air: float) -> Room:
    """Humidity of the coldest month: ``p_i = p_e + G / Q R_v T_i``, at most saturation."""
    month = climate.mean.index(min(climate.mean))
    outdoors = float(humid_air.vapour_pressure(climate.mean[month], climate.humidity[month]))
    kelvin = house.indoor_temperature + humid_air.ZERO_CELSIUS
    inside = outdoors + production / air * humid_air.WATER_VAPOUR_GAS_CONSTANT * kelvin
    saturated = float(humid_air.saturation_pressure(house.indoor_temperature))
    humidity = min(inside / saturated, 1.0)
    return Room(
        house.indoor_temperature,
        humidity,
        f"Indoor humidity {humidity:.0%} follows from {production * DAY:.1f} kg of water a day and "
        f"{air * 1000:.0f} L/s of outdoor air in the coldest month.",
    )
