"""Heat through a wall by the standards' simple methods, and the temperatures along each path.

All resistances in m2 K/W. A stack with layers marked ``vented`` lies outside a well-ventilated
air layer: those layers are left out and the outside film becomes that of the inside
(ISO 6946, from memory).

Layers of a closed wall cut at the same depths bound the truth: isothermal planes conduct at
least as well as the wall, parallel paths at most as well (Rayleigh: conductance rises with every
conductivity; sideways it is without limit in the one, none in the other). Only a bay open to the
room lies outside: its bare stud sides carry films and work as fins.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from warmside.errors import Fault, InputError
from warmside.geometry import RegionKind
from warmside.physics.assembly import Layer, Stack

Direction = Literal["up", "horizontal", "down"]

STEFAN_BOLTZMANN = 5.67e-8  # [W/(m2 K4)]
STILL_AIR = 0.025  # [W/(m K)], ISO 6946
_STILL_UPRIGHT = 1.25  # [W/(m2 K)] convection in an upright layer, ISO 6946
_LARGEST_RATIO = 1.5  # R'/R'' up to which the combined method holds, ISO 6946 (from memory)


@dataclass(frozen=True)
class Films:
    """Surface resistances [m2 K/W], with their source."""

    inside: float
    outside: float
    source: str


ISO_FILMS = Films(0.13, 0.04, "ISO 6946, horizontal heat flow (from memory)")
ISO_SURFACE_FILMS = Films(0.25, 0.04, "ISO 13788, surface humidity (from memory)")
NBC_FILMS = Films(0.12, 0.03, "NBC of Canada 2020, Table A-9.36.2.4.(1)-D (second-hand)")


@dataclass(frozen=True)
class Combined:
    """Result of the ISO 6946 combined method."""

    resistance: float  # [m2 K/W] mean of the two limits
    upper: float  # [m2 K/W] parallel paths
    lower: float  # [m2 K/W] isothermal planes
    error: float  # [-] greatest relative error, as the standard reckons it
    valid: bool
    note: str

    @property
    def transmittance(self) -> float:
        """Heat flow per area and degree [W/(m2 K)]."""
        return 1.0 / self.resistance


@dataclass(frozen=True)
class Profile:
    """Temperatures along one path."""

    kind: RegionKind
    area: float  # [m2]
    resistances: tuple[float, ...]  # (n,) [m2 K/W], layer by layer
    films: tuple[float, float]  # [m2 K/W] as used: inside, outside
    temperatures: tuple[float, ...]  # (n + 1,) [degC] room face, interfaces, outer face

    @property
    def resistance(self) -> float:
        """Air to air [m2 K/W]."""
        return sum(self.resistances) + sum(self.films)

    @property
    def surface(self) -> float:
        """Temperature of the room face [degC]."""
        return self.temperatures[0]

    @property
    def factor(self) -> float:
        """Temperature factor of the room face, ``f_Rsi = 1 - R_si / R`` [-]."""
        return 1.0 - self.films[0] / self.resistance


def air_layer_resistance(
    thickness: float,
    direction: Direction = "horizontal",
    emissivities: tuple[float, float] = (0.9, 0.9),
    mean_temperature: float = 10.0,
) -> float:
    """Resistance of an unventilated air layer [m2 K/W], ISO 6946 (from memory).

    ``R = 1 / (h_a + E h_r0)`` with ``h_a = max(h_0, 0.025 / d)``, ``h_0`` 1.95 up, 1.25
    horizontal, ``0.12 d^-0.44`` down; ``E = 1 / (1/e_1 + 1/e_2 - 1)``; ``h_r0 = 4 sigma T^3``.
    ``thickness`` [m] along the heat flow, to 0.3 m in the standard; ``mean_temperature`` [degC].
    For 25 mm, horizontal, 0.9 and 0.9: 0.18.
    """
    _check("air layer, thickness", thickness, 0, 1, "m")
    for emissivity in emissivities:
        _check("air layer, emissivity", emissivity, 1e-3, 1, "")
    _check("air layer, mean temperature", mean_temperature, -100, 100, "degC")
    if thickness == 0:
        return 0.0
    moving = {"up": 1.95, "horizontal": _STILL_UPRIGHT, "down": 0.12 * float(thickness**-0.44)}[
        direction
    ]
    convection = max(moving, STILL_AIR / thickness)
    exchange = 1 / (1 / emissivities[0] + 1 / emissivities[1] - 1)
    radiation = 4 * STEFAN_BOLTZMANN * (mean_temperature + 273.15) ** 3
    return 1 / (convection + exchange * radiation)


def air_layer_sideways(thickness: float, resistance: float) -> float:
    """Effective conductivity along a closed upright air layer [W/(m K)].

    Along it the air is still, and what ends the layer (the side of a stud) radiates to both its
    faces: ``0.025 + (h d / 2)^2 / (d / R_g)``, at most the ``d / R_g`` across. The second part is
    the conductivity at which a fin as thick as the layer, cooled by both its faces, takes up the
    layer's radiative exchange ``h = 1 / R_g - h_a`` per area of its end.

    The fin is our own figure and no standard's. Still air alone and the value across bound it.

    Parameters
    ----------
    thickness : float
        Of the layer [m].
    resistance : float
        Across it, by `air_layer_resistance` [m2 K/W].

    Returns
    -------
    float
        [W/(m K)].
    """
    across = thickness / resistance
    radiation = max(1.0 / resistance - max(_STILL_UPRIGHT, STILL_AIR / thickness), 0.0)
    return min(STILL_AIR + (0.5 * radiation * thickness) ** 2 / across, across)


def layer_resistance(
    layer: Layer, faces: tuple[float, float] = (0.9, 0.9), mean_temperature: float = 10.0
) -> float:
    """Resistance of one layer, ``R = d / lambda`` [m2 K/W]; none outside a vented air layer.

    Parameters
    ----------
    layer : Layer
        An air layer takes `air_layer_resistance`.
    faces : tuple of float
        Emissivities of the faces beside it if it is air [-].
    mean_temperature : float
        Of an air layer [degC].
    """
    if layer.vented:
        return 0.0
    if layer.conductivity is None:
        return air_layer_resistance(layer.thickness, "horizontal", faces, mean_temperature)
    return layer.thickness / layer.conductivity


def resistances(stack: Stack, mean_temperature: float = 10.0) -> tuple[float, ...]:
    """Resistance of each layer of a stack [m2 K/W].

    Neighbouring slices of air are one air layer: its resistance is shared by thickness. The
    emissivities are those of the faces beside it (0.9 where there is none).
    """
    result: list[float] = []
    layers = stack.layers
    for is_air, run_iter in groupby(layers, key=lambda layer: layer.conductivity is None):
        run = list(run_iter)
        if not is_air:
            result += [layer_resistance(layer) for layer in run]
            continue
        before = layers[len(result) - 1].emissivity if result else 0.9
        after_at = len(result) + len(run)
        after = layers[after_at].emissivity if after_at < len(layers) else 0.9
        whole = sum(layer.thickness for layer in run if not layer.vented)
        air = air_layer_resistance(whole, "horizontal", (before, after), mean_temperature)
        result += [0.0 if layer.vented else air * layer.thickness / whole for layer in run]
    return tuple(result)


def parallel_path(stacks: Sequence[Stack], films: Films = ISO_FILMS) -> float:
    """Air to air resistance by parallel paths [m2 K/W]: heat goes straight through each path.

    ``1/R' = sum(f_k / R_k)`` over the paths k with their shares f of the area. ISO 6946's upper
    limit.

    Parameters
    ----------
    stacks : sequence of Stack
        One for each path, cut at the same depths.
    films : Films
        Surface resistances [m2 K/W].

    Raises
    ------
    InputError
        No stack with an area, or slices that do not line up.
    """
    shares = _shares(stacks)
    paths = [sum(resistances(stack)) + sum(_films(stack, films)) for stack in stacks]
    return _parallel(shares, paths)


def isothermal_planes(stacks: Sequence[Stack], films: Films = ISO_FILMS) -> float:
    """Air to air resistance by isothermal planes [m2 K/W]: every slice evens out.

    ``1/R_j = sum(f_k / R_jk)`` in each slice j over the paths k, slices in series. ISO 6946's lower
    limit. Arguments and errors as `parallel_path`.
    """
    shares = _shares(stacks)
    slices = zip(*(resistances(stack) for stack in stacks), strict=True)
    through = sum(_parallel(shares, values) for values in slices)
    return through + sum(_films(stacks[0], films))


def combined(stacks: Sequence[Stack], films: Films = ISO_FILMS) -> Combined:
    """Resistance by the combined method of ISO 6946: the mean of both limits, and its error.

    Not for paths through metal, nor where the limits differ by more than half; ``valid`` and
    ``note`` say so. Source: ISO 6946 (from memory).
    """
    upper, lower = parallel_path(stacks, films), isothermal_planes(stacks, films)
    mean = (upper + lower) / 2
    valid = upper <= _LARGEST_RATIO * lower
    note = (
        "within the method's validity"
        if valid
        else f"the limits differ by a factor of {upper / lower:.2f}, more than 1.5: outside the "
        "method's validity, take the field computation"
    )
    return Combined(mean, upper, lower, (upper - lower) / (2 * mean), valid, note)


def code_resistance(stacks: Sequence[Stack], films: Films = NBC_FILMS) -> float:
    """Effective resistance [m2 K/W] as NBC A-9.36.2.4.(1) reckons it.

    ``RSI_eff = sum(continuous layers) + sum over framed zones of 1 / sum(f / RSI)``: the paths
    run parallel only through slices that differ between stacks. Source: NBC of Canada 2020,
    note A-9.36.2.4.(1).
    """
    shares = _shares(stacks)
    slices = list(zip(*(resistances(stack) for stack in stacks), strict=True))
    total = sum(_films(stacks[0], films))
    for continuous, zone in groupby(slices, key=_all_equal):
        rows = list(zone)
        if continuous:
            total += sum(row[0] for row in rows)
        else:
            total += _parallel(shares, [sum(path) for path in zip(*rows, strict=True)])
    return total


def profile(stack: Stack, inside: float, outside: float, films: Films = ISO_FILMS) -> Profile:
    """Temperatures along a path.

    ``t_j = t_i - (t_i - t_e) (R_si + R_1 + ... + R_j) / R``.

    Parameters
    ----------
    stack : Stack
        Layers, room side first.
    inside, outside : float
        Air on either side [degC].
    films : Films
        Surface resistances [m2 K/W].

    Returns
    -------
    Profile
        Layer by layer.

    Raises
    ------
    InputError
        Temperatures outside -100 to 100 degC.
    """
    _check("indoor temperature", inside, -100, 100, "degC")
    _check("outdoor temperature", outside, -100, 100, "degC")
    parts = resistances(stack)
    used = _films(stack, films)
    whole = sum(parts) + sum(used)
    temperatures, reached = [], used[0]
    for part in (*parts, 0.0):
        temperatures.append(inside - (inside - outside) * reached / whole)
        reached += part
    return Profile(stack.kind, stack.area, parts, used, tuple(temperatures))


def _check(place: str, value: float, low: float, high: float, unit: str) -> None:
    if not (isinstance(value, int | float) and low <= value <= high):
        raise InputError([Fault(place, f"{value!r}", f"{low:g} to {high:g} {unit}".strip())])


def _films(stack: Stack, films: Films) -> tuple[float, float]:
    vented = any(layer.vented for layer in stack.layers)
    return films.inside, ISO_FILMS.inside if vented else films.outside


def _shares(stacks: Sequence[Stack]) -> list[float]:
    if not stacks or not sum(stack.area for stack in stacks) > 0:
        raise InputError([Fault("stacks", f"{len(stacks)} of them", "at least one with an area")])
    if len({len(stack.layers) for stack in stacks}) > 1:
        raise InputError([Fault("stacks", "unequal numbers of layers", "slices that line up")])
    whole = sum(stack.area for stack in stacks)
    return [stack.area / whole for stack in stacks]


def _parallel(shares: Iterable[float], values: Sequence[float]) -> float:
    # a slice without resistance in some path (a dropped layer) has none at all
    if min(values) <= 0:
        return 0.0
    return 1 / sum(share / value for share, value in zip(shares, values, strict=True))


def _all_equal(row: Sequence[float]) -> bool:
    return max(row) - min(row) <= 1e-12 * max(row)
