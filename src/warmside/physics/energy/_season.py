"""The season's heat: transmission and air, hour by hour, against a balance point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from warmside.errors import Fault, InputError
from warmside.physics.climate import HourlyClimate

Floats = NDArray[np.float64]
AIR_HEAT = 1206.0  # [J/(m3 K)] rho c_p of room air: 1.2 kg/m3 x 1005 J/(kg K)
HOUR = 3600.0  # [s]


@dataclass(frozen=True)
class Thermostat:
    """What the room is held at; ``night`` from ``night_from`` to ``night_to`` o'clock."""

    heating: float = 21.0  # [degC]
    night: float | None = None  # [degC]
    night_from: float = 23.0  # [h]
    night_to: float = 6.0  # [h]
    cooling: float | None = None  # [degC]; None: no cooling

    def hourly(self, climate: HourlyClimate) -> Floats:
        """Heating set point of each hour [degC], shape (n_hours,)."""
        hour = (climate.time0.hour + np.arange(climate.hours)) % 24 + 0.5
        if self.night is None:
            return np.full(climate.hours, self.heating)
        if self.night_from > self.night_to:
            asleep = (hour >= self.night_from) | (hour < self.night_to)
        else:
            asleep = (hour >= self.night_from) & (hour < self.night_to)
        return np.where(asleep, self.night, self.heating)


@dataclass(frozen=True)
class Season:
    """Heat that a house, or some of its walls, needs over the weather given.

    Heat is useful heat at the room, before the appliance's losses.
    """

    heating: float  # [J]
    cooling: float  # [J]
    peak_heating: float  # [W] greatest hour
    heating_hours: int  # [h] with any heating
    balance_point: float  # [degC] mean outdoor temperature at which gains suffice


def season(
    climate: HourlyClimate,
    conductance: float,
    air_flow: ArrayLike = 0.0,
    gains: ArrayLike = 0.0,
    thermostat: Thermostat | None = None,
) -> Season:
    """Hourly quasi-steady heat balance of the whole house.

    ``q = (H + rho c Q) (Ti - To) - gains``; positive hours are heated, and with a cooling set point
    hours that would overheat are cooled. Storage in the building is left out: gains of an hour
    count in that hour, which is cautious in spring and autumn.
    Source: bin / balance-point method, ASHRAE Handbook Fundamentals (from memory).

    Parameters
    ----------
    climate : HourlyClimate
        Weather; shape (n_hours,) arrays.
    conductance : float
        Transmission of all outside parts, H [W/K].
    air_flow : array_like
        Outdoor air that enters, scalar or (n_hours,) [m3/s].
    gains : array_like
        Heat from people, appliances and sun, scalar or (n_hours,) [W].
    thermostat : Thermostat, optional
        Set points; 21 degC all day when not given.

    Returns
    -------
    Season
        Heating and cooling of the period.

    Raises
    ------
    InputError
        A conductance, flow or gain below zero or not finite.
    """
    flow = _checked("air flow", air_flow, climate.hours)
    gain = _checked("gains", gains, climate.hours)
    loss = float(_checked("conductance", conductance, 1)[0])
    held = thermostat or Thermostat()
    set_point = held.hourly(climate)
    total = loss + AIR_HEAT * flow
    heat = np.maximum(total * (set_point - climate.temperature) - gain, 0.0)
    cooling = 0.0
    if held.cooling is not None:
        excess = gain + total * (climate.temperature - held.cooling)
        cooling = float(np.maximum(excess, 0.0).sum() * HOUR)
    mean_total = float(total.mean())
    balance = float(set_point.mean() - gain.mean() / mean_total) if mean_total > 0 else -np.inf
    return Season(
        heating=float(heat.sum() * HOUR),
        cooling=cooling,
        peak_heating=float(heat.max()),
        heating_hours=int(np.count_nonzero(heat)),
        balance_point=balance if np.isfinite(balance) else -273.15,
    )


def degree_seconds(climate: HourlyClimate, base: float) -> float:
    """Degree-time below ``base``: ``sum max(base - To, 0) dt``.

    Parameters
    ----------
    climate : HourlyClimate
        Weather.
    base : float
        Balance point [degC].

    Returns
    -------
    float
        Degree-seconds [K s]; divided by 86 400 it is degree-days from hourly values.
    """
    return float(np.maximum(base - climate.temperature, 0.0).sum() * HOUR)


def degree_days(climate: HourlyClimate, base: float = 18.0) -> float:
    """Degree-days of daily means below ``base`` [K d], the way weather offices print them.

    Parameters
    ----------
    climate : HourlyClimate
        Weather that starts at midnight; a last part of a day is left out.
    base : float
        Base temperature [degC].

    Returns
    -------
    float
        Degree-days [K d].
    """
    days = climate.hours // 24
    daily = climate.temperature[: days * 24].reshape(days, 24).mean(axis=1)
    return float(np.maximum(base - daily, 0.0).sum())


def design_loss(
    conductance: float, air_flow: float, indoor: float, outdoor: float, gains: float = 0.0
) -> float:
    """Design heat loss ``(H + rho c Q) (Ti - To) - gains``.

    Parameters
    ----------
    conductance : float
        H [W/K].
    air_flow : float
        Outdoor air [m3/s].
    indoor, outdoor : float
        Design temperatures [degC].
    gains : float
        Heat gains counted on [W].

    Returns
    -------
    float
        Heat loss [W].
    """
    return max((conductance + AIR_HEAT * air_flow) * (indoor - outdoor) - gains, 0.0)


def _checked(what: str, values: ArrayLike, hours: int) -> Floats:
    array = np.asarray(values, dtype=float)
    if array.ndim > 1 or (array.ndim == 1 and array.size != hours):
        raise InputError([Fault(f"season, {what}", f"shape {array.shape}", f"one or {hours}")])
    if not (np.isfinite(array).all() and (array >= 0).all()):
        raise InputError([Fault(f"season, {what}", "a value below zero or not finite", ">= 0")])
    return np.broadcast_to(array, (hours,))
