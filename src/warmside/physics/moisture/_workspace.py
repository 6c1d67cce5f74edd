"""What the compiled loops of the hourly model share, each array by its name."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


class Grid(NamedTuple):
    """The path that is computed: n cells, room side first."""

    kinds: Ints  # (2,) of the room and outer face: 0 behind a film, 1 the surface itself is given
    spots: Ints  # leak cell, cavity cell (-1: none), then faces between materials that draw liquid
    material: Ints  # (n,) number of each cell's material
    cell: Floats  # (6, n) constants, rows `DX` to `JOINED` of `_fluxes`
    curves: Floats  # (materials, nodes, 16) cubics of w, delta, Phi, psi over the potential


class State(NamedTuple):
    """The path at one moment."""

    u: Floats  # (n,) [-] moisture potential
    T: Floats  # (n,) [degC]
    content: Floats  # (2, n) water [kg/m2] and enthalpy [J/m2] of each cell
    rate: Floats  # (2, n) their rates [kg/(m2 s)], [W/m2]


class Tolerances(NamedTuple):
    """See `Settings`."""

    humidity: float  # [-]
    temperature: float  # [K]
    newton: float  # [-]


class Stage(NamedTuple):
    """Room for one implicit stage."""

    properties: Floats  # (6, n) rows `W` to `VAP` of `_fluxes`
    slopes: Floats  # (6, n) dw/du, ddelta/du, ddelta/dT, dPhi/du, dp/du, dp/dT
    flow: Floats  # (2, n + 1) water and heat over every face, outwards
    rate: Floats  # (2, n) as in `State`
    change: Floats  # (2, n) of u and T
    amounts: Floats  # (8,) what crosses the boundary, columns `M_LEFT` to `Q_SOURCE`
    weight: Floats  # (n,) tolerances in a change of 1 in u
    held: Floats  # (3, n) d(water)/du, d(heat)/du, d(heat)/dT of the contents
    edge: Floats  # (5, 4) derivatives of what enters by room face, outer face, rain, leak, cavity
    pace: Floats  # (1,) ratio of successive changes


class Step(NamedTuple):
    """Room for one TR-BDF2 step."""

    stage: Stage
    matrix: Floats  # (3, n, 4) blocks below, on and above the diagonal, or their factors
    drivers: Floats  # (14,) of one moment, columns `T_L` to `PRESSURE`
    base: Floats  # (2, n) contents that a stage starts from
    moved: Floats  # (8,) what crossed the boundary in the step
    first_rate: Floats  # (2, n) at the end of the first stage
    amounts: Floats  # (8,) what crosses the boundary at the start


class MouldParameters(NamedTuple):
    """Constants of one class of mould growth; see `mould_index`."""

    k_below: float  # [-] growth on pine below index 1, k1
    k_above: float  # [-] from index 1 on
    a: float  # [-] greatest index, A + B r - C r^2
    b: float
    c: float
    humidity_min: float  # [%] least at which anything grows
    decline: float  # [-] share of the decline on pine
