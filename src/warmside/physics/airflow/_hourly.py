"""Infiltration and pressures hour by hour over the weather."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from warmside.errors import Fault, InputError, SolverError
from warmside.physics.airflow._air import GRAVITY, air_density
from warmside.physics.airflow._fan_test import PowerLaw
from warmside.physics.airflow._infiltration import (
    SHELTER,
    TERRAIN,
    Foundation,
    LeakageShares,
    Terrain,
    enhanced_infiltration,
    wind_at_height,
)
from warmside.physics.climate import HourlyClimate

Floats = NDArray[np.float64]
# Cp of a low house, wind normal: windward, leeward, sides.
# Source: ASHRAE Handbook Fundamentals 2021, chapter 16.
FACE_CP = (0.6, -0.3, -0.65)
LEVELS = 4  # leaks of a wall stand at the middle of so many bands of height
STEPS = 60  # of the indoor pressure, most; ten are usual


@dataclass(frozen=True)
class Site:
    """The house as air meets it, and what stands around it."""

    height: float  # [m] highest ceiling above the lowest floor or grade
    storeys: float = 1.0
    shelter_class: int = 3  # 1 none to 5 very heavy
    terrain: Terrain = "suburb or woods"
    foundation: Foundation = "basement or slab"
    flue: float = 0.0  # [-] share of the leakage in open flues
    flue_height: float = 0.0  # [m] top of the flue above the lowest floor

    def __post_init__(self) -> None:
        faults = []
        if not 1.5 <= self.height <= 40.0:
            faults.append(Fault("site, height", f"{self.height:g} m", "1.5 to 40 m"))
        if self.terrain not in TERRAIN:
            faults.append(Fault("site, terrain", str(self.terrain), ", ".join(TERRAIN)))
        if self.shelter_class not in (1, 2, 3, 4, 5):
            faults.append(Fault("site, shelter class", str(self.shelter_class), "1 to 5"))
        if not 0.0 <= self.flue <= 0.5:
            faults.append(Fault("site, flue share", f"{self.flue:g}", "0 to 0.5"))
        if faults:
            raise InputError(faults)

    @property
    def shares(self) -> LeakageShares:
        """Usual spread of the leakage."""
        return LeakageShares.usual(self.storeys, self.flue)

    @property
    def wind_multiplier(self) -> float:
        """Wind at the eaves / wind at the station [-]."""
        exponent, layer = TERRAIN[self.terrain]
        return wind_at_height(1.0, self.height, exponent, layer)


def hourly_infiltration(
    law: PowerLaw, climate: HourlyClimate, indoor_temperature: float, site: Site
) -> Floats:
    """Infiltration of each hour by the enhanced model, with terrain and shelter of the site.

    Parameters
    ----------
    law : PowerLaw
        Leakage of the house.
    climate : HourlyClimate
        Weather.
    indoor_temperature : float
        Indoor temperature [degC].
    site : Site
        Height, storeys, shelter, terrain.

    Returns
    -------
    ndarray
        Outdoor air that enters, shape (n_hours,) [m3/s].
    """
    return enhanced_infiltration(
        law,
        indoor_temperature,
        climate.temperature,
        climate.wind_speed,
        height=site.height,
        storeys=site.storeys,
        shelter_class=site.shelter_class,
        shares=site.shares,
        foundation=site.foundation,
        flue_height=site.flue_height,
        wind_multiplier=site.wind_multiplier,
    )


def face_coefficient(angle: ArrayLike) -> Floats:
    """Pressure coefficient of a face whose normal the wind meets at ``angle``.

    ``Cp = 0.5 {[C1 + C2] (cos2 a)^(1/4) + [C1 - C2] sign(cos a) |cos a|^(3/4)
    + [C3 + C4] (sin2 a)^2 + [C3 - C4] sin a}`` with 0.6, -0.3, -0.65, -0.65.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equation 26.

    Parameters
    ----------
    angle : array_like
        Between the wind and the normal of the face [deg].

    Returns
    -------
    ndarray
        Cp [-].
    """
    a = np.radians(np.asarray(angle, dtype=float))
    windward, leeward, side = FACE_CP
    cosine = np.cos(a)
    ahead = (windward + leeward) * np.abs(cosine) ** 0.5
    across = (windward - leeward) * np.sign(cosine) * np.abs(cosine) ** 0.75
    return np.asarray(0.5 * (ahead + across + 2.0 * side * np.sin(a) ** 4))


@dataclass(frozen=True)
class HousePressures:
    """Indoor minus outdoor pressure anywhere on the house, hour by hour.

    ``base`` is that of still air at the lowest floor; it rises with height by ``gradient``.
    """

    base: Floats  # [Pa] (n_hours,)
    gradient: Floats  # [Pa/m] (n_hours,)
    dynamic: Floats  # [Pa] (n_hours,) rho U^2 / 2 of the sheltered wind at the eaves
    wind_direction: Floats  # [deg] (n_hours,)
    imbalance: float  # [-] greatest flow left over / flow through the house

    def at(self, height: float, faces: float | None = None) -> Floats:
        """Indoor minus outdoor pressure at a leak [Pa], shape (n_hours,); above zero: air leaves.

        Parameters
        ----------
        height : float
            Above the lowest floor [m].
        faces : float, optional
            Where the wall faces, clockwise from north [deg]; a mean of all sides without.
        """
        return self.still(height) - self.wind_on(faces)

    def still(self, height: float) -> Floats:
        """Indoor minus outdoor pressure at ``height`` [m] without wind on the face [Pa]."""
        return np.asarray(self.base + self.gradient * height)

    def wind_on(self, faces: float | None = None) -> Floats:
        """Pressure of the wind on a face [Pa]; a mean of all sides without ``faces`` [deg]."""
        cp = _MEAN_CP if faces is None else face_coefficient(self.wind_direction - faces)
        return np.asarray(cp * self.dynamic)

    def neutral_plane(self) -> Floats:
        """Height at which indoor and outdoor pressure agree without wind on the face [m].

        NaN-free: where indoors is as warm as outdoors there is none, and 0 stands.
        """
        warm = np.abs(self.gradient) > 1e-9
        return np.asarray(np.where(warm, -self.base / np.where(warm, self.gradient, 1.0), 0.0))


_MEAN_CP = float(face_coefficient(np.arange(0.0, 360.0, 1.0)).mean())


def house_pressures(
    law: PowerLaw,
    climate: HourlyClimate,
    indoor_temperature: float,
    site: Site,
    exhaust: float = 0.0,
) -> HousePressures:
    """Indoor pressure of each hour at which as much air leaves the house as enters.

    ``sum c_j sign(p_j) |p_j|^n + Q_exhaust = 0`` with ``p_j = p_0 + (rho_o - rho_i) g h_j -
    Cp_j s^2 rho U^2 / 2``; leaks on four faces at four heights, in the floor, the ceiling and the
    flue. Floor and ceiling lie behind a basement and an attic and see the mean of all sides.
    Densities of the air that passes are taken alike in and out.
    Source: ASHRAE Handbook Fundamentals 2021, chapter 16, equations 23 to 28 (published).

    Parameters
    ----------
    law : PowerLaw
        Leakage of the house.
    climate : HourlyClimate
        Weather.
    indoor_temperature : float
        Indoor temperature [degC].
    site : Site
        Height, spread of leakage, shelter, terrain.
    exhaust : float
        Flow of fans that only exhaust [m3/s].

    Returns
    -------
    HousePressures
        Pressures of each hour.

    Raises
    ------
    SolverError
        When flows do not balance to 1e-6 of the flow through the house.
    """
    outdoors = air_density(climate.temperature)
    gradient = (outdoors - air_density(indoor_temperature)) * GRAVITY
    shelter = SHELTER[site.shelter_class - 1]
    speed = shelter * site.wind_multiplier * climate.wind_speed
    dynamic = outdoors * speed**2 / 2.0
    weights, drives = _leaks(site, gradient, dynamic, climate.wind_direction)
    scaled = exhaust / law.coefficient
    base = _balanced(drives, weights, law.exponent, scaled)
    through = weights @ np.abs(base + drives) ** law.exponent + scaled + 1e-3
    left = np.abs(_net(base, drives, weights, law.exponent) + scaled)
    imbalance = float(np.max(left / through))
    if not imbalance < 1e-6:
        advice = "check the weather for hours out of range"
        raise SolverError(f"indoor pressure, {imbalance:.1e} of the flow left over", advice)
    return HousePressures(base, gradient, dynamic, climate.wind_direction, imbalance)


def _leaks(
    site: Site, gradient: Floats, dynamic: Floats, direction: Floats
) -> tuple[Floats, Floats]:
    """Shares of the leaks (n_leaks,), and what drives each without p0 (n_leaks, n_hours) [Pa]."""
    shares = site.shares
    middles = (np.arange(LEVELS) + 0.5) * site.height / LEVELS
    mean = _MEAN_CP * dynamic
    weights, drives = [shares.floor, shares.ceiling], [-mean, gradient * site.height - mean]
    for azimuth in (0.0, 90.0, 180.0, 270.0):
        wind = face_coefficient(direction - azimuth) * dynamic
        for height in middles:
            weights.append(shares.walls / (4 * LEVELS))
            drives.append(gradient * height - wind)
    if shares.flue > 0.0:
        weights.append(shares.flue)
        drives.append(gradient * max(site.flue_height, site.height) + 0.5 * dynamic)
    return np.asarray(weights), np.asarray(drives)


def _balanced(drives: Floats, weights: Floats, exponent: float, exhaust: float) -> Floats:
    """Pressure p0 of each hour [Pa] that balances leaks and exhaust: false position (Illinois)."""
    # with every leak drawing inwards at this pressure, the leaks feed the exhaust
    low = -drives.max(axis=0) - exhaust ** (1.0 / exponent) - 1e-6
    high = -drives.min(axis=0) + 1e-6
    at_low = _net(low, drives, weights, exponent) + exhaust
    at_high = _net(high, drives, weights, exponent) + exhaust
    base = high
    for _ in range(STEPS):
        span = at_high - at_low  # none is left in hours that were found to the last digit
        apart = span != 0.0
        step = (low * at_high - high * at_low) / np.where(apart, span, 1.0)
        base = np.where(apart, step, high)
        here = _net(base, drives, weights, exponent) + exhaust
        crosses = here * at_high < 0.0
        low, at_low = np.where(crosses, high, low), np.where(crosses, at_high, at_low * 0.5)
        high, at_high = base, here
        if np.max(np.abs(here)) < 1e-9:
            break
    return np.asarray(base)


def _net(base: Floats, drives: Floats, weights: Floats, exponent: float) -> Floats:
    """Flow outwards less flow inwards, per flow coefficient."""
    pressure = base + drives
    flow = np.sign(pressure) * np.abs(pressure) ** exponent
    return np.asarray(weights @ flow)
