"""Condensation and drying month by month, in the manner of ISO 13788 (from memory).

Steady heat and vapour diffusion with the means of each month. Vapour runs along the tightest
line that stays under saturation: between points that are fixed (the faces, and interfaces that
hold water) the pressure is the lower convex hull of its ends and the saturation pressures, drawn
over the diffusion-equivalent thickness ``sd``. Where it touches, vapour condenses, at several
interfaces at once if need be; where water lies, it evaporates or gains.

The method leaves out air movement, sorption, liquid transport, sun and rain: it compares, it
does not foretell. Vapour resistances of the surfaces are neglected.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from math import ceil, inf

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError, SolverError
from warmside.geometry import RegionKind
from warmside.physics.assembly import Layer, Stack, Timber
from warmside.physics.climate import COOLED_FROM, COOLED_HUMIDITY, COOLED_TO, shut_share
from warmside.physics.conduction import ISO_FILMS, ISO_SURFACE_FILMS, Films, profile, resistances
from warmside.physics.humid_air import (
    AIR_VAPOUR_PERMEABILITY,
    WATER_VAPOUR_GAS_CONSTANT,
    ZERO_CELSIUS,
    saturation_pressure,
    saturation_temperature,
    vapour_pressure,
)

Months = tuple[float, ...]  # (12,) January first
Array = NDArray[np.float64]

MONTH_SECONDS = tuple(86_400.0 * n for n in (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31))
SURFACE_HUMIDITY_LIMIT = 0.8  # [-] ISO 13788: mould on surfaces
# [kg/m3] ISO 13788:2012 Annex A, from memory: excess in the room at 0 degC outside and below
HUMIDITY_CLASSES = {1: 0.002, 2: 0.004, 3: 0.006, 4: 0.008}
# [kg/m2] DIN 4108-3, from memory: most condensate, and where neither face can take it up
CONDENSATE_LIMIT = 1.0
CONDENSATE_LIMIT_NON_ABSORBING = 0.5
# [kg/kg] DIN 4108-3, from memory: most that condensate may add to the mass of wood beside it
CONDENSATE_SHARE: Mapping[Timber, float] = {"solid": 0.05, "board": 0.03}

_LARGEST_STEP = 0.25  # [m2 K/W] ISO 13788: thicker layers are split
_LARGEST_SD = 10_000.0  # [m] beyond, a layer is tight for every purpose
_ABSORBING = frozenset({"finish", "wood", "furring", "sheathing"})
_OUTSIDE = frozenset({"sheathing", "paper", "board", "cladding"})  # humid in winter: wet cup


@dataclass(frozen=True)
class MonthlyConditions:
    """Air on both sides of a wall, January first."""

    outdoor_temperature: Months  # [degC]
    outdoor_vapour_pressure: Months  # [Pa]
    indoor_temperature: Months  # [degC]
    indoor_vapour_pressure: Months  # [Pa]
    basis: str  # how the indoor humidity was found


@dataclass(frozen=True)
class Interface:
    """Where water gathers; tuples run from the first month of the balance."""

    between: tuple[str, str]  # names of the layers; twice the same inside one
    y: float  # [m] from the room face
    condensed: Months  # [kg/m2] in the month, negative where it dries
    accumulated: Months  # [kg/m2] at the end of the month
    limit: float  # [kg/m2] DIN 4108-3 (from memory)

    @property
    def peak(self) -> float:
        """Most water held [kg/m2]."""
        return max(self.accumulated)


@dataclass(frozen=True)
class MonthlyBalance:
    """A year of condensation and drying along one path."""

    kind: RegionKind
    area: float  # [m2]
    months: tuple[int, ...]  # (12,) 1 = January, in the order of the balance
    interfaces: tuple[Interface, ...]  # only those where water gathers
    flow_in: Months  # [kg/m2] vapour from the room in each month of ``months``
    flow_out: Months  # [kg/m2] vapour to the outside
    factor: float  # [-] f_Rsi of the room face, with the film for surface humidity
    factor_needed: Months  # [-] January first: f_Rsi that keeps the face at 80 % humidity
    surface_humidity: Months  # [-] January first

    @property
    def accumulated(self) -> Months:
        """Water in the whole path at the end of each month [kg/m2]."""
        return tuple(sum(face.accumulated[i] for face in self.interfaces) for i in range(12))

    @property
    def peak(self) -> float:
        """Most water in the whole path [kg/m2]."""
        return max(self.accumulated)

    @property
    def worst_month(self) -> int | None:
        """Month at whose end most water is held (1 = January), or None when it stays dry."""
        held = self.accumulated
        return self.months[held.index(max(held))] if self.interfaces else None

    @property
    def residual(self) -> float:
        """Water left after twelve months [kg/m2]."""
        return self.accumulated[-1]

    @property
    def dries(self) -> bool:
        """Whether all water leaves again within the year."""
        return self.residual <= 1e-9

    @property
    def used(self) -> float:
        """Greatest share of the limits of DIN 4108-3 (from memory) that is held [-]."""
        faces = [face.peak / face.limit for face in self.interfaces]
        return max([*faces, self.peak / CONDENSATE_LIMIT])

    @property
    def within_limit(self) -> bool:
        """Whether no interface, nor the path, holds more than DIN 4108-3 lets (from memory)."""
        return self.used <= 1.0

    @property
    def critical_month(self) -> int:
        """Month that asks for the best surface (1 = January)."""
        return self.factor_needed.index(max(self.factor_needed)) + 1

    @property
    def surface_stays_dry(self) -> bool:
        """Whether the room face stays at 80 % relative humidity or under all year."""
        return max(self.surface_humidity) <= SURFACE_HUMIDITY_LIMIT


def monthly_conditions(
    outdoor_temperature: Sequence[float],
    outdoor_humidity: Sequence[float],
    indoor_temperature: float,
    *,
    humidity: float | None = None,
    humidity_class: int | None = None,
    production: float | None = None,
    ventilation: float | None = None,
    excess: Sequence[float] | None = None,
) -> MonthlyConditions:
    """Conditions of a year, the indoor vapour pressure found in one of four ways.

    ``humidity`` [-]: held all year. ``humidity_class`` 1 to 4: ISO 13788 (from memory),
    ``p_i = p_e + dv R_v T_i`` with ``dv`` of 2, 4, 6 or 8 g/m3 up to 0 degC outside, falling to
    none at 20 degC. ``production`` [kg/s] with ``ventilation`` [m3/s]: ``dv = G / V``.
    ``excess`` (12,) [kg/m3]: ``dv`` of each month with windows shut, less what they let out as it
    gets warm outside (`shut_share`). Never more than saturation. Outdoor means (12,) [degC] and
    (12,) [-], January first.
    """
    t_e = _months("outdoor temperature", outdoor_temperature, -70, 60)
    p_e = vapour_pressure(t_e, _months("outdoor humidity", outdoor_humidity, 0, 1))
    t_i = _months("indoor temperature", [indoor_temperature] * 12, 0, 40)
    if [humidity, humidity_class, production, excess].count(None) != 3:
        read = f"humidity {humidity}, class {humidity_class}, production {production}"
        raise InputError([Fault("indoor humidity", read, "exactly one of the four")])
    if humidity is not None:
        p_i = vapour_pressure(t_i, _months("indoor humidity", [humidity] * 12, 0, 1))
        basis = f"{humidity:.0%} relative humidity all year"
    else:
        more, basis = _excess(t_e, humidity_class, production, ventilation, excess)
        p_i = p_e + more * WATER_VAPOUR_GAS_CONSTANT * (t_i + ZERO_CELSIUS)
    p_i = np.minimum(p_i, saturation_pressure(t_i))
    outside, vapour_out, inside, vapour_in = (
        tuple(values.tolist()) for values in (t_e, p_e, t_i, p_i)
    )
    return MonthlyConditions(outside, vapour_out, inside, vapour_in, basis)


def cooled_months(conditions: MonthlyConditions) -> MonthlyConditions:
    """The same where rooms are cooled: 24 degC and at most 50 % in months above 20 degC outside."""
    dried = COOLED_HUMIDITY * float(saturation_pressure(COOLED_TO))
    summer = [t > COOLED_FROM for t in conditions.outdoor_temperature]
    rooms = zip(summer, conditions.indoor_temperature, strict=True)
    vapours = zip(summer, conditions.indoor_vapour_pressure, strict=True)
    return replace(
        conditions,
        indoor_temperature=tuple(COOLED_TO if cooled else t for cooled, t in rooms),
        indoor_vapour_pressure=tuple(min(p, dried) if cooled else p for cooled, p in vapours),
        basis=f"{conditions.basis}; cooled in summer",
    )


@dataclass(frozen=True)
class VapourPlane:
    """An interface while vapour runs steadily through a path in which nothing has gathered."""

    between: tuple[str, str]  # names of the layers
    share: float  # [-] of the resistance from room air
    temperature: float  # [degC]
    humidity: float  # [-], above 1 where vapour condenses


def vapour_planes(
    stack: Stack,
    inside: tuple[float, float],
    outside: tuple[float, float],
    films: Films = ISO_FILMS,
) -> tuple[tuple[VapourPlane, ...], float]:
    """Humidity at every interface of a path, and the vapour that condenses in it.

    Pressures fall on a straight line over ``sd``; where that is above saturation vapour condenses,
    at the rate that the tightest line under saturation gives (as `monthly_balance`).

    Parameters
    ----------
    stack : Stack
        Layers, room side first.
    inside, outside : tuple of float
        Temperature [degC] and vapour pressure [Pa] of the air.
    films : Films
        Surface resistances.

    Returns
    -------
    tuple
        Interfaces, room side first, and what condenses in all [kg/(m2 s)].
    """
    path = _Path.of(stack, films)
    t = inside[0] - (inside[0] - outside[0]) * path.share
    saturation = np.asarray(saturation_pressure(t))
    line = inside[1] + (outside[1] - inside[1]) * path.sd / path.sd[-1]
    rates, _, _ = _rates(path.sd, saturation, inside[1], outside[1], np.zeros(len(path.sd)))
    planes = tuple(
        VapourPlane(
            (before.name, after.name), float(path.share[j]), float(t[j]),
            float(line[j] / saturation[j]),
        )
        for j, (before, after) in enumerate(path.sides, start=1)
    )  # fmt: skip
    return planes, float(np.maximum(rates, 0.0).sum())


def monthly_balance(
    stack: Stack, conditions: MonthlyConditions, films: Films = ISO_FILMS
) -> MonthlyBalance:
    """Condensation, accumulation and drying along ``stack`` through a year.

    The year begins with the first month of condensation after one without. A month in which an
    interface dries is split at that moment, so that vapour in = vapour out + stored. Layers of
    the outer side take their wet-cup permeability, the others the dry-cup one.
    """
    path = _Path.of(stack, films)
    pressures = path.saturation(conditions)
    wets = _condensing(path, pressures, conditions)
    starts = [m for m in range(12) if wets[m] and not wets[m - 1]] or [0]
    if any(wets):
        years = [_year(path, pressures, conditions, start) for start in starts]
        held, flows = max(years, key=lambda year: float(year[0].sum(axis=1).max()))
        start = starts[[year[0] is held for year in years].index(True)]
    else:
        start, held = 0, np.zeros((12, len(path.sd)))
        flows = _straight(path, pressures, conditions)
    factor, needed, humid = _surface(stack, conditions)
    return MonthlyBalance(
        kind=stack.kind,
        area=stack.area,
        months=tuple((start + i) % 12 + 1 for i in range(12)),
        interfaces=path.interfaces(held),
        flow_in=tuple(flows[:, 0].tolist()),
        flow_out=tuple(flows[:, 1].tolist()),
        factor=factor,
        factor_needed=needed,
        surface_humidity=humid,
    )


@dataclass(frozen=True)
class _Path:
    """Nodes along a stack: room face, interfaces, outer face."""

    sd: Array  # (n,) [m] from the room face
    share: Array  # (n,) [-] of the resistance from room air
    y: tuple[float, ...]  # (n,) [m]
    sides: tuple[tuple[Layer, Layer], ...]  # (n - 2,) beside each interface, in whole thickness

    @classmethod
    def of(cls, stack: Stack, films: Films) -> _Path:
        """Layers of one material joined, then split where the resistance is over 0.25."""
        thermal = resistances(stack)
        ends = profile(stack, 20.0, 0.0, films).films
        rows = [(x, r) for x, r in zip(stack.layers, thermal, strict=True) if not x.vented]
        if not rows:
            raise InputError([Fault("stack", "no layer", "at least one layer that is not vented")])
        sd, heat, y, layers = [0.0], [ends[0]], [0.0], []
        for _, run_iter in groupby(rows, key=lambda row: (row[0].material, row[0].role)):
            run = list(run_iter)
            resistance = sum(r for _, r in run)
            parts = max(1, ceil(resistance / _LARGEST_STEP - 1e-9))
            for _ in range(parts):
                sd.append(sd[-1] + sum(_sd(x) for x, _ in run) / parts)
                heat.append(heat[-1] + resistance / parts)
                y.append(y[-1] + sum(x.thickness for x, _ in run) / parts)
                layers.append(replace(run[0][0], thickness=sum(x.thickness for x, _ in run)))
        share = np.array(heat) / (heat[-1] + ends[1])
        return cls(np.array(sd), share, tuple(y), tuple(pairwise(layers)))

    def saturation(self, conditions: MonthlyConditions) -> Array:
        """Saturation pressure at each node in each month (12, n) [Pa]."""
        inside = np.array(conditions.indoor_temperature)[:, None]
        outside = np.array(conditions.outdoor_temperature)[:, None]
        return saturation_pressure(inside - (inside - outside) * self.share)

    def interfaces(self, held: Array) -> tuple[Interface, ...]:
        """Those of ``held`` (12, n) [kg/m2] that ever hold water."""
        faces = []
        for j, (before, after) in enumerate(self.sides, start=1):
            if held[:, j].max() <= 0:
                continue
            faces.append(
                Interface(
                    between=(before.name, after.name),
                    y=self.y[j],
                    condensed=tuple(np.diff(held[:, j], prepend=0.0).tolist()),
                    accumulated=tuple(held[:, j].tolist()),
                    limit=condensate_limit(before, after),
                )
            )
        return tuple(faces)


def condensate_limit(before: Layer, after: Layer) -> float:
    """Most condensate between two layers [kg/m2] (DIN 4108-3, from memory).

    1.0, or 0.5 where neither takes water up; never more than 5 % of the mass of solid wood beside
    it, 3 % of board made of wood.
    """
    absorbing = before.role in _ABSORBING or after.role in _ABSORBING
    limits = [CONDENSATE_LIMIT if absorbing else CONDENSATE_LIMIT_NON_ABSORBING]
    for layer in (before, after):
        share = CONDENSATE_SHARE.get(layer.moisture.timber) if layer.moisture else None
        if share is not None:
            limits.append(share * layer.density * layer.thickness)
    return min(limits)


def _sd(layer: Layer) -> float:
    """Thickness of still air that resists vapour as the layer does [m]."""
    if layer.conductivity is None:
        return layer.thickness
    wet = layer.role in _OUTSIDE
    permeability = layer.permeability_wet if wet else layer.permeability_dry
    if permeability * _LARGEST_SD <= AIR_VAPOUR_PERMEABILITY * layer.thickness:
        return _LARGEST_SD
    return AIR_VAPOUR_PERMEABILITY * layer.thickness / permeability


def _ends(conditions: MonthlyConditions, month: int) -> tuple[float, float]:
    return conditions.indoor_vapour_pressure[month], conditions.outdoor_vapour_pressure[month]


def _outer(saturation: Array, conditions: MonthlyConditions) -> tuple[Array, Array]:
    """Vapour pressure at the room face and the outer face, at most saturated, (12,) [Pa]."""
    return (
        np.minimum(conditions.indoor_vapour_pressure, saturation[:, 0]),
        np.minimum(conditions.outdoor_vapour_pressure, saturation[:, -1]),
    )


def _condensing(path: _Path, saturation: Array, conditions: MonthlyConditions) -> list[bool]:
    """Whether vapour condenses in the dry path, month by month.

    Where the straight line between the faces stays under saturation nothing does; only the other
    months are looked at closely.
    """
    inside, outside = _outer(saturation, conditions)
    line = inside[:, None] + (outside - inside)[:, None] * (path.sd / path.sd[-1])
    over = (line >= saturation * (1.0 - 1e-12))[:, 1:-1].any(axis=1)
    dry = np.zeros(len(path.sd))
    return [
        bool(over[m])
        and bool(_rates(path.sd, saturation[m], *_ends(conditions, m), dry)[0].max() > 0)
        for m in range(12)
    ]


def _straight(path: _Path, saturation: Array, conditions: MonthlyConditions) -> Array:
    """Vapour through a path in which nothing condenses, in and out, (12, 2) [kg/m2]."""
    inside, outside = _outer(saturation, conditions)
    flux = AIR_VAPOUR_PERMEABILITY * (inside - outside) / path.sd[-1]
    return np.repeat((flux * np.array(MONTH_SECONDS))[:, None], 2, axis=1)


def _year(
    path: _Path, saturation: Array, conditions: MonthlyConditions, start: int
) -> tuple[Array, Array]:
    """Water at each node at the end of each month (12, n), flow in and out (12, 2) [kg/m2]."""
    water = np.zeros(len(path.sd))
    held, flows = [], []
    for step in range(12):
        month = (start + step) % 12
        water, through = _advance(
            path.sd, saturation[month], _ends(conditions, month), water, MONTH_SECONDS[month]
        )
        held.append(water)
        flows.append(through)
    return np.array(held), np.array(flows)


def _advance(
    sd: Array, saturation: Array, ends: tuple[float, float], water: Array, seconds: float
) -> tuple[Array, tuple[float, float]]:
    """One month, split at each moment when an interface has dried."""
    water = water.copy()
    flow_in = flow_out = 0.0
    for _ in range(4 * len(sd) + 4):
        rates, entering, leaving = _rates(sd, saturation, *ends, water)
        drying = (water > 0) & (rates < 0)
        until = np.full(len(sd), inf)
        until[drying] = water[drying] / -rates[drying]
        step = min(seconds, float(until.min()))
        dried = until <= step
        water += rates * step
        water[dried] = 0.0
        flow_in += entering * step
        flow_out += leaving * step
        seconds -= step
        if seconds <= 0:
            return water, (flow_in, flow_out)
    raise SolverError(
        "the monthly moisture balance kept drying and wetting the same interface",
        "check the permeabilities of the layers",
    )


def _rates(
    sd: Array, saturation: Array, inside: float, outside: float, water: Array
) -> tuple[Array, float, float]:
    """Condensation at each node [kg/(m2 s)], and the flow at the room face and the outer face."""
    last = len(sd) - 1
    # a few dozen nodes: plain floats are several times faster here than arrays
    x, ceiling = sd.tolist(), saturation.tolist()
    ceiling[0] = min(inside, ceiling[0])
    ceiling[last] = min(outside, ceiling[last])
    fixed = [0, *(j for j, held in enumerate(water.tolist()) if held > 0), last]
    touched = [0]
    for a, b in pairwise(fixed):
        touched += _hull(x, ceiling, a, b)[1:]
    flux = [
        AIR_VAPOUR_PERMEABILITY * (ceiling[a] - ceiling[b]) / (x[b] - x[a])
        for a, b in pairwise(touched)
    ]
    rates = np.zeros(len(sd))
    for j, (before, after) in zip(touched[1:-1], pairwise(flux), strict=True):
        rates[j] = before - after
    return rates, flux[0], flux[-1]


def _hull(x: Sequence[float], y: Sequence[float], a: int, b: int) -> list[int]:
    """Nodes of the lower convex hull of the points ``a`` to ``b``, both ends included."""
    hull: list[int] = []
    for j in range(a, b + 1):
        while len(hull) > 1:
            k, m = hull[-2], hull[-1]
            if (y[m] - y[k]) * (x[j] - x[m]) < (y[j] - y[m]) * (x[m] - x[k]):
                break
            hull.pop()
        hull.append(j)
    return hull


def _surface(stack: Stack, conditions: MonthlyConditions) -> tuple[float, Months, Months]:
    """Temperature factor of the room face, the one needed, and the humidity there (12,)."""
    factor = profile(stack, 20.0, 0.0, ISO_SURFACE_FILMS).factor
    t_i, t_e = np.array(conditions.indoor_temperature), np.array(conditions.outdoor_temperature)
    p_i = np.array(conditions.indoor_vapour_pressure)
    face = t_e + factor * (t_i - t_e)
    least = saturation_temperature(np.maximum(p_i, 1.0) / SURFACE_HUMIDITY_LIMIT)
    colder = t_i - t_e > 0.1  # else the outside cannot cool the face
    needed = np.where(colder, (least - t_e) / np.where(colder, t_i - t_e, 1.0), 0.0)
    humid = p_i / saturation_pressure(face)
    return factor, tuple(np.maximum(needed, 0.0).tolist()), tuple(humid.tolist())


def _excess(
    t_e: Array,
    humidity_class: int | None,
    production: float | None,
    ventilation: float | None,
    excess: Sequence[float] | None,
) -> tuple[Array, str]:
    """Vapour in the room over that outside (12,) [kg/m3]."""
    if excess is not None:
        shut = _months("excess of vapour", excess, 0, 0.1)
        return shut * shut_share(t_e, float(t_e.min())), "balance of water month by month"
    if humidity_class is not None:
        if humidity_class not in HUMIDITY_CLASSES:
            raise InputError([Fault("humidity class", f"{humidity_class!r}", "1, 2, 3 or 4")])
        full = HUMIDITY_CLASSES[humidity_class]
        return full * np.clip(1 - t_e / 20, 0, 1), f"humidity class {humidity_class} of ISO 13788"
    source = _months("moisture production", [production or 0.0] * 12, 0, 0.01)
    air = _months("ventilation", [ventilation or 0.0] * 12, 1e-5, 50)
    return source / air, "moisture production and ventilation"


def _months(place: str, values: Sequence[float], low: float, high: float) -> Array:
    try:
        array = np.array(values, dtype=np.float64)
    except (TypeError, ValueError):
        array = np.empty(0)
    if array.shape != (12,) or not bool(np.all((array >= low) & (array <= high))):
        raise InputError([Fault(place, f"{values!r}"[:120], f"12 values from {low:g} to {high:g}")])
    return array
