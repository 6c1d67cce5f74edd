"""How the room side of a framed wall follows the air on both sides in time.

A strip of wall from the middle of a stud to the middle of a bay, cut into cells along the wall and
through it: ``C dT/dt = -K T + B u`` with air ``u`` on both sides. Its modes, the solutions of
``K v = w C v``, give the response exactly in time: after a step of one kelvin the surface lies
``sum(a exp(-w t))`` short of what it will be, and for air that runs straight between readings the
sum over the past has a closed form (response factors by the roots of the system, after Mitalas
and Stephenson, Room thermal response factors, 1967; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction._simple import (
    ISO_FILMS,
    STILL_AIR,
    Films,
    air_layer_sideways,
    resistances,
)

Floats = npt.NDArray[np.float64]
Side = Literal["outside", "inside"]

_THICKEST = 0.006  # [m] of a cell through the wall: a third of what a wave of 2 h reaches
_WOOD_CELLS, _GAP_CELLS, _BAY_CELLS = 3, 3, 8  # across half a stud, a gap, half a bay
_FASTEST = 60.0  # [1/h] modes that die within a minute leave nothing behind


@dataclass(frozen=True, eq=False)
class Response:
    """What the room side of a strip has still to come after the air has changed.

    ``places`` (m,) [m] are distances from the wood's edge, below 0 on wood. ``rates`` (k,) [1/h];
    ``outside`` and ``inside`` (k, m) [-] are what is left, mode by mode, just after a step of the
    air on that side. ``steady`` (m,) [-] is the factor of the strip once all has come.
    """

    places: Floats
    rates: Floats
    outside: Floats
    inside: Floats
    steady: Floats

    def late(self, side: Side, hours: Floats, air: Floats) -> Floats:
        """Surface at the last reading less what that reading would make if held (m,) [K].

        ``-sum_k a_k int u'(s) exp(w_k s) ds``, ``air`` running straight between readings and held
        before the first.

        Parameters
        ----------
        side : "outside" or "inside"
            Where the air is.
        hours : ndarray
            Rising, (n,) [h].
        air : ndarray
            Its temperature, with the sun's share outside (n,) [degC].
        """
        t = np.asarray(hours, float) - hours[-1]
        if t.size < 2:
            return np.zeros(self.places.size)
        if not (np.diff(t) > 0.0).all():
            raise InputError([Fault("past of a wall, hours", "hours that do not rise", "rising")])
        grown = np.exp(self.rates[:, None] * np.maximum(t, -1e4)[None, :])
        weight = np.diff(grown, axis=1) / self.rates[:, None] @ (np.diff(air) / np.diff(t))
        left = self.outside if side == "outside" else self.inside
        return np.asarray(-(weight @ left))


def strip_response(
    wood: Stack,
    bay: Stack,
    widths: tuple[float, float],
    *,
    state: Literal["closed", "open bays"] = "closed",
    films: Films = ISO_FILMS,
    mean_temperature: float = 10.0,
    gap: tuple[Stack, float] | None = None,
    still: bool = False,
) -> Response:
    """Modes of a strip of wall.

    Parameters
    ----------
    wood, bay : Stack
        Through a stud and through a bay; cut at the same depths.
    widths : tuple of float
        Of the stud and of the bay [m].
    state : "closed" or "open bays"
        Of open bays each stack stands for itself, from wood and foam on.
    films : Films
        Surface resistances [m2 K/W].
    mean_temperature : float
        Of closed air layers [degC].
    gap : tuple of Stack and float, optional
        What stands along the wood in place of the bay, and how wide it is [m].
    still : bool
        Nothing but still air conducts along closed air layers: the least that they do.

    Returns
    -------
    Response
        On cells of the room side from the middle of the stud to that of the bay.

    Raises
    ------
    InputError
        Stacks that are not cut alike, or without any layer.
    """
    stacks, (half_wood, half_bay) = [wood, bay], (w / 2.0 for w in widths)
    stacks += [gap[0]] if gap else []
    wide = gap[1] if gap else 0.0
    if any([y.thickness for y in s.layers] != [y.thickness for y in wood.layers] for s in stacks):
        read = f"{len(wood.layers)} and {len(bay.layers)} layers"
        raise InputError([Fault("strip of a wall", read, "the same depths through wood and bay")])
    if not wood.layers or not 0.0 <= wide < half_bay:
        read = f"{len(wood.layers)} layers, a gap of {wide:g} m"
        raise InputError([Fault("strip of a wall", read, "layers, a gap within half the bay")])
    edges = np.concatenate([
        np.linspace(-half_wood, 0.0, _WOOD_CELLS + 1)[:-1],
        np.linspace(0.0, wide, _GAP_CELLS + 1)[:-1] if gap else np.array([]),
        wide + (half_bay - wide) * np.linspace(0.0, 1.0, _BAY_CELLS + 1) ** 1.3,
    ])  # fmt: skip
    cells = [0] * _WOOD_CELLS + [2] * (_GAP_CELLS if gap else 0) + [1] * _BAY_CELLS
    columns = [_column(s, state, mean_temperature, still) for s in stacks]
    vented = any(y.vented for s in stacks for y in s.layers)
    film = films.inside, ISO_FILMS.inside if vented else films.outside
    return _modes(edges, [columns[k] for k in cells], film, state == "closed")


@dataclass(frozen=True, eq=False)
class _Column:
    """Cells through the wall, room side first: (n,) each."""

    depth: Floats  # [m]
    across: Floats  # [m2 K/W] of the whole cell
    along: Floats  # [W/(m K)]
    heat: Floats  # [J/(m2 K)]


def _column(stack: Stack, state: str, mean: float, still: bool) -> _Column:
    known = list(zip(stack.layers, resistances(stack, mean), strict=True))
    vented = [n for n, (layer, _) in enumerate(known) if layer.vented]
    known = known[: vented[0]] if vented else known
    if state == "open bays":
        bare = next(n for n, (y, _) in enumerate(known) if y.role in ("wood", "foam", "sheathing"))
        known = known[bare:]
    cut = [max(1, int(np.ceil(layer.thickness / _THICKEST - 1e-9))) for layer, _ in known]
    spread = np.repeat(np.arange(len(known)), cut)
    parts = np.array(cut, float)[spread]
    return _Column(
        np.array([y.thickness for y, _ in known])[spread] / parts,
        np.array([r for _, r in known])[spread] / parts,
        np.array([_sideways(y, r, still) for y, r in known])[spread],
        np.array([y.thickness * y.density * y.specific_heat for y, _ in known])[spread] / parts,
    )


def _sideways(layer: Layer, resistance: float, still: bool) -> float:
    if layer.conductivity is None:
        return STILL_AIR if still else air_layer_sideways(layer.thickness, resistance)
    return layer.conductivity


def _modes(
    edges: Floats, columns: Sequence[_Column], film: tuple[float, float], coupled: bool
) -> Response:
    width, count = np.diff(edges), [c.depth.size for c in columns]
    start = np.concatenate([[0], np.cumsum(count)])
    n, m = int(start[-1]), width.size
    k, heat = np.zeros((n, n)), np.zeros(n)
    drive = np.zeros((n, 2))  # by the air outside and inside
    # the surface lies between room and first cell as their resistances part it
    half = np.array([c.across[0] / 2.0 for c in columns])
    direct = half / (half + film[0])

    def link(a: npt.NDArray[np.int_], b: npt.NDArray[np.int_], g: Floats) -> None:
        np.add.at(k, (a, a), g)
        np.add.at(k, (b, b), g)
        np.add.at(k, (a, b), -g)
        np.add.at(k, (b, a), -g)

    for j, c in enumerate(columns):
        cells = np.arange(start[j], start[j + 1])
        heat[cells] = c.heat * width[j]
        link(cells[:-1], cells[1:], 2.0 * width[j] / (c.across[:-1] + c.across[1:]))
        for cell, resistance, side in ((cells[0], film[0], 1), (cells[-1], film[1], 0)):
            g = width[j] / (resistance + c.across[cell - start[j]] / 2.0)
            k[cell, cell] += g
            drive[cell, side] += g
    for j in range(m - 1) if coupled else ():
        a, b = (np.arange(start[q], start[q + 1]) for q in (j, j + 1))
        la, lb = columns[j].along, columns[j + 1].along
        g = columns[j].depth / (width[j] / (2.0 * la) + width[j + 1] / (2.0 * lb))
        link(a, b, g)
    root = 1.0 / np.sqrt(heat)
    rates, shapes = np.linalg.eigh(root[:, None] * k * root[None, :])
    rates, first = rates * 3600.0, start[:-1]
    gain = (shapes.T * root[None, :]) @ drive * 3600.0  # (n, 2) of each mode [1/h]
    seen = (shapes.T * root[None, :])[:, first] * (1.0 - direct)[None, :]  # (n, m)
    left = [gain[:, s, None] / rates[:, None] * seen for s in (0, 1)]
    steady = direct + left[1].sum(axis=0)
    slow = rates < _FASTEST
    return Response(
        (edges[1:] + edges[:-1]) / 2.0, rates[slow], left[0][slow], left[1][slow], steady
    )
