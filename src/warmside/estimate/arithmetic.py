"""Board feet and beads: the trade's two exact sums."""

from __future__ import annotations

import math
from typing import Literal

from warmside.errors import Fault, InputError
from warmside.units import BOARD_FOOT, INCH

SMALLEST_JOINT = INCH / 4  # [m]; a narrower one is hard to gun and bonds badly

BeadShape = Literal["round", "fillet", "square"]


def board_feet(area: float, thickness: float) -> float:
    """Volume of foam in board feet.

    ``N = A t / (1 ft x 1 ft x 1 in)``, so one m2 of 1 mm is 0.4238 board ft.

    Parameters
    ----------
    area : float
        Sprayed area, not negative [m2].
    thickness : float
        Thickness of the foam, not negative [m].

    Returns
    -------
    float
        Board feet [board ft].

    Raises
    ------
    InputError
        A value that is negative or not finite.

    Notes
    -----
    Exact: 1 ft = 0.3048 m, 1 in = 25.4 mm (international yard and pound agreement, 1959).
    """
    _not_negative("area [m2]", area)
    _not_negative("thickness [m]", thickness)
    return area * thickness / BOARD_FOOT


def theoretical_yield(set_mass: float, density: float) -> float:
    """Board feet that a set of drums would give without any loss.

    ``N = m / rho / (1 board ft)``; with lb and lb/ft3 the trade writes ``12 m / rho``.

    Parameters
    ----------
    set_mass : float
        Mass of one A drum and one B drum [kg].
    density : float
        Density in place, with skins [kg/m3].

    Returns
    -------
    float
        Board feet [board ft]. A field yield is lower by the waste.

    Raises
    ------
    InputError
        A mass that is negative, a density that is not positive, or either not finite.
    """
    _not_negative("set mass [kg]", set_mass)
    _positive("density [kg/m3]", density)
    return set_mass / density / BOARD_FOOT


def joint_depth(width: float) -> float:
    """Depth of sealant in a joint of ``width`` [m], and 1/4 in. at least.

    As deep as wide up to 1/2 in., then 1/2 in.

    Parameters
    ----------
    width : float
        Width of the joint [m].

    Returns
    -------
    float
        Depth [m].

    Raises
    ------
    InputError
        A width that is not positive and finite.

    Notes
    -----
    Handbook of Adhesives and Sealants, p. 119 (second-hand).
    """
    _positive("joint width [m]", width)
    return min(max(width, SMALLEST_JOINT), INCH / 2)


def bead_area(shape: BeadShape, width: float, depth: float | None = None) -> float:
    """Cross section of a bead of sealant.

    Round ``pi w2 / 4``; fillet in a corner, a triangle with both legs ``w``: ``w2 / 2``;
    square joint ``w d`` with ``d = w`` unless given.

    Parameters
    ----------
    shape : {"round", "fillet", "square"}
        Shape of the bead [-].
    width : float
        Diameter, leg, or width of the joint [m].
    depth : float, optional
        Depth of a square joint [m].

    Returns
    -------
    float
        Area [m2].

    Raises
    ------
    InputError
        A size that is not positive and finite, or an unknown shape.
    """
    _positive("bead width [m]", width)
    if depth is not None:
        _positive("bead depth [m]", depth)
    match shape:
        case "round":
            return math.pi * width * width / 4
        case "fillet":
            return width * width / 2
        case "square":
            return width * (depth if depth is not None else width)
    raise InputError([Fault("bead shape", repr(shape), "round, fillet or square")])


def bead_metres_per_cartridge(shape: BeadShape, width: float, cartridge_volume: float) -> float:
    """Metres of bead from one cartridge, without loss.

    ``L = V / A``, with ``A`` of `bead_area`; geometry only. Rough wood takes 10-15 % more.

    Parameters
    ----------
    shape : {"round", "fillet", "square"}
        Shape of the bead [-].
    width : float
        Diameter, leg, or width of the joint [m].
    cartridge_volume : float
        Content of the cartridge [m3]; 3.0e-4 for the usual one.

    Returns
    -------
    float
        Length of bead [m].

    Raises
    ------
    InputError
        A size that is not positive and finite, or an unknown shape.
    """
    _positive("cartridge volume [m3]", cartridge_volume)
    return cartridge_volume / bead_area(shape, width)


def _not_negative(place: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise InputError([Fault(place, f"{value!r}", "a finite number, 0 or more")])


def _positive(place: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError([Fault(place, f"{value!r}", "a finite number above 0")])
