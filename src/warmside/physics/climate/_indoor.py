"""The air inside: what the wall has on its warm side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._hourly import FloatArray, HourlyClimate
from warmside.physics.humid_air import WATER_VAPOUR_GAS_CONSTANT, saturation_pressure

# Upper limits of moisture excess at outdoor temperatures of 0 degC and below [kg/m3];
# ISO 13788:2012 annex A, from memory.
CLASS_EXCESS = {1: 0.002, 2: 0.004, 3: 0.006, 4: 0.008, 5: 0.010}
MOST_HUMID = 0.95
# A cooled room: usual setting of a thermostat (75 degF) and what cooling dries the air to, common
# practice; where the day outside is warmer than the second figure, windows are shut and it runs
COOLED_TO, COOLED_HUMIDITY, COOLED_FROM = 24.0, 0.50, 20.0  # [degC], [-], [degC]


@dataclass(frozen=True, eq=False)
class IndoorAir:
    """Room air in every hour: ``temperature`` [degC] and ``humidity`` [-], shape (n_hours,)."""

    temperature: FloatArray
    humidity: FloatArray

    @property
    def vapour_pressure(self) -> FloatArray:
        """Shape (n_hours,) [Pa]."""
        return self.humidity * saturation_pressure(self.temperature)


def _daily(values: FloatArray) -> FloatArray:
    """Running mean over 24 hours, the ends over what is there."""
    span = min(24, values.size)
    total = np.convolve(values, np.ones(span), mode="same")
    return np.asarray(total / np.convolve(np.ones(values.size), np.ones(span), mode="same"))


def indoor_fixed(weather: HourlyClimate, temperature: float, humidity: float) -> IndoorAir:
    """The same temperature [degC] and relative humidity [-] all year."""
    faults = []
    if not 5.0 <= temperature <= 40.0:
        faults.append(Fault("indoor temperature", f"{temperature}", "5 to 40 degC"))
    if not 0.05 <= humidity <= 0.95:
        faults.append(Fault("indoor humidity", f"{humidity}", "0.05 to 0.95"))
    if faults:
        raise InputError(faults)
    return IndoorAir(np.full(weather.hours, temperature), np.full(weather.hours, humidity))


def indoor_en15026(
    weather: HourlyClimate, occupancy: Literal["normal", "high"] = "normal"
) -> IndoorAir:
    """Indoor climate from the day's outdoor temperature: EN 15026:2007 annex C, from memory.

    20 degC up to 10 degC outside, rising to 25 degC at 20 degC; 30 % (high: 40 %) up to -10 degC
    outside, rising to 60 % (70 %) at 20 degC.
    """
    out = _daily(weather.temperature)
    low = {"normal": 0.30, "high": 0.40}[occupancy]
    return IndoorAir(
        20.0 + 0.5 * np.clip(out - 10.0, 0.0, 10.0),
        low + 0.01 * np.clip(out + 10.0, 0.0, 30.0),
    )


def indoor_class(
    weather: HourlyClimate, humidity_class: int, temperature: float = 20.0
) -> IndoorAir:
    """Indoor climate by humidity class: ISO 13788:2012 annex A upper limits, from memory.

    The excess of vapour over outdoors holds up to 0 degC outside and falls to 0 at 20 degC.
    """
    if humidity_class not in CLASS_EXCESS:
        raise InputError([Fault("humidity class", f"{humidity_class}", "1 to 5")])
    out = _daily(weather.temperature)
    excess = CLASS_EXCESS[humidity_class] * np.clip((20.0 - out) / 20.0, 0.0, 1.0)
    return _from_excess(weather, excess, np.full(weather.hours, temperature))


def indoor_measured(weather: HourlyClimate, temperature: float, humidity: float) -> IndoorAir:
    """Indoor climate of a house whose humidity in the coldest month is known.

    The excess of vapour over outdoors that gives ``humidity`` [-] at ``temperature`` [degC] in the
    coldest month holds up to 0 degC outside and falls to 0 at 20 degC, as in ISO 13788:2012 annex
    A (from memory): people open windows. The room is never colder than the day outside.
    """
    indoor_fixed(weather, temperature, humidity)  # the same ranges
    months = weather.month
    coldest = min(set(months.tolist()), key=lambda m: weather.temperature[months == m].mean())
    there = months == coldest
    out = _daily(weather.temperature)
    outside = weather.humidity * saturation_pressure(weather.temperature)
    shape = np.clip((20.0 - out) / 20.0, 0.0, 1.0)
    room = np.maximum(temperature, out)
    gas = WATER_VAPOUR_GAS_CONSTANT * (temperature + 273.15)
    wanted = humidity * float(saturation_pressure(temperature)) - float(outside[there].mean())
    most = max(wanted / gas, 0.0) / max(float(shape[there].mean()), 1e-3)
    return _from_excess(weather, most * shape, room)


def shut_share(outdoor: FloatArray, coldest: float) -> FloatArray:
    """Share of the winter's vapour excess that stays when windows open as it gets warm outside [-].

    All of it up to the coldest month's mean or 0 degC, none from 20 degC outside on, a straight
    line between: the course that ISO 13788:2012 annex A gives an excess (from memory).

    Parameters
    ----------
    outdoor : ndarray
        Outdoor temperature, of a day or a month [degC].
    coldest : float
        Mean of the coldest month [degC].
    """
    shut = min(max(coldest, 0.0), 15.0)
    return np.asarray(np.clip((20.0 - outdoor) / (20.0 - shut), 0.0, 1.0))


def indoor_by_month(
    weather: HourlyClimate, temperature: float, excess: Sequence[float]
) -> IndoorAir:
    """Indoor climate from a balance of water month by month.

    ``p_i = p_e + s R_v T G / Q``: the excess ``G / Q`` runs in a straight line from the middle of
    one month to the next, ``s`` by the day is the part that open windows leave (`shut_share`).
    The room is never colder than the day outside.

    Parameters
    ----------
    weather : HourlyClimate
        Weather.
    temperature : float
        Room temperature while heated [degC].
    excess : sequence of float
        Vapour above outdoors with windows shut, January first, shape (12,) [kg/m3].

    Raises
    ------
    InputError
        A temperature out of 5 to 40 degC; not 12 values of 0 to 0.1 kg/m3.
    """
    months = np.asarray(excess, dtype=np.float64)
    faults = []
    if not 5.0 <= temperature <= 40.0:
        faults.append(Fault("indoor temperature", f"{temperature}", "5 to 40 degC"))
    if months.shape != (12,) or not bool(np.all((months >= 0.0) & (months <= 0.1))):
        faults.append(Fault("excess of vapour", f"{excess!r}"[:80], "12 values, 0 to 0.1 kg/m3"))
    if faults:
        raise InputError(faults)
    out = _daily(weather.temperature)
    means = [weather.temperature[weather.month == m].mean() for m in np.unique(weather.month)]
    # from the middle of a month to that of the next, over a year of twelve equal months
    start = weather.time0
    first = (start - datetime(start.year, 1, 1)).total_seconds() / 3600.0
    place = (first + np.arange(weather.hours) + 0.5) * 12.0 / 8760.0
    course = np.interp(place, np.arange(12) + 0.5, months, period=12.0)
    shut = shut_share(out, float(min(means)))
    return _from_excess(weather, course * shut, np.maximum(temperature, out))


def indoor_balance(
    weather: HourlyClimate,
    production: float,
    outdoor_air: float,
    temperature: float = 21.0,
    *,
    cooled: bool = False,
) -> IndoorAir:
    """Indoor climate where production and air change balance day by day.

    ``dv = G / Q``: excess of vapour [kg/m3] from ``production`` [kg/s] and ``outdoor_air`` [m3/s]
    (infiltration and ventilation together). ``cooled``: as `cooled_rooms`. Never above 95 %.
    """
    faults = []
    if not 0.0 <= production <= 0.01:
        faults.append(Fault("moisture production", f"{production} kg/s", "0 to 0.01 kg/s"))
    if not 1e-4 <= outdoor_air <= 10.0:
        faults.append(Fault("outdoor air", f"{outdoor_air} m3/s", "0.0001 to 10 m3/s"))
    if faults:
        raise InputError(faults)
    out = _daily(weather.temperature)
    room = np.maximum(temperature, out)
    air = _from_excess(weather, np.full(weather.hours, production / outdoor_air), room)
    return cooled_rooms(weather, air) if cooled else air


def cooled_rooms(weather: HourlyClimate, air: IndoorAir) -> IndoorAir:
    """Room air where an air conditioner runs in summer.

    Never above 24 degC; on days whose mean outside is above 20 degC at most 50 % humidity there.
    """
    room = np.minimum(air.temperature, COOLED_TO)
    vapour = np.minimum(air.vapour_pressure, MOST_HUMID * saturation_pressure(room))
    dried = COOLED_HUMIDITY * saturation_pressure(room)
    vapour = np.where(_daily(weather.temperature) > COOLED_FROM, np.minimum(vapour, dried), vapour)
    return IndoorAir(room, vapour / saturation_pressure(room))


def _from_excess(weather: HourlyClimate, excess: FloatArray, room: FloatArray) -> IndoorAir:
    outside = _daily(weather.humidity * saturation_pressure(weather.temperature))
    vapour = outside + excess * WATER_VAPOUR_GAS_CONSTANT * (room + 273.15)
    return IndoorAir(room, np.clip(vapour / saturation_pressure(room), 0.02, MOST_HUMID))
