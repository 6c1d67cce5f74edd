"""A wall at every depth of foam: solved ahead, so that a picture follows a slider."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from warmside.estimate import price, takeoff
from warmside.options import LEAVE, BuildUp, Option, apply, thickness_options
from warmside.physics.airflow import Band
from warmside.physics.conduction import WallHeat, wall_field, wall_heat
from warmside.promises import Change, leakage_removed, warm, worth
from warmside.study.fields import TOLERANCE, ends_of, solved
from warmside.study.house import Study
from warmside.study.memory import Kept, digest
from warmside.study.parts import OptionStudy, WallStudy

QUARTER_INCH = 0.00635  # [m] between depths that are solved; between them a test bounds the error
_USUAL = 0.0508  # [m] looked at first where no foam is advised: two inches
_LAYERS = (0, 1, -1, 2, -2, 3)  # cells through the wall, beside those of the usual grid
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Depth:
    """The wall with foam of one depth, all joints sealed; depth 0 is the wall as it stands.

    ``factor`` (nx, nz) is the temperature factor of the room side, on cells with edges ``x``
    (nx + 1,) and ``z`` (nz + 1,) [m]: a place is at ``outside + (room - outside) * factor``,
    exactly, for any air temperatures. ``seen`` is False in openings.
    """

    thickness: float  # [m]
    resistance: float  # [m2 K/W] framed wall
    coldest: float  # [-] factor of the coldest place
    coldest_at: str
    price: float | None  # [currency] of this wall; None where something has no price
    saving: Band | None  # [currency] a year
    x: Floats
    z: Floats
    factor: Floats
    seen: NDArray[np.bool_]


def built(study: Study, number: int, first: float = 0.0) -> tuple[BuildUp, ...]:
    """What can be built of foam by quarter inches, to the full depth of the bays.

    Parameters
    ----------
    study : Study
        The house.
    number : int
        Of the wall, from 0.
    first : float
        Depth [m] that comes first, then its neighbours outwards; 0: thin to thick.
    """
    wall, rows = study.walls[number], study.catalog
    made = (
        apply(option, wall.wall, wall.frame, rows, study.survey.hazards)
        for option in _options(study, wall)
    )
    able = [build_up for build_up in made if build_up.can_be_built]
    return tuple(sorted(able, key=lambda b: abs(b.option.thickness - first)))


def advised(study: Study, number: int) -> float:
    """Depth of foam that is put forward on a wall [m]; two inches where none is."""
    option = study.walls[number].chosen.option
    return option.thickness if option.foam else _USUAL


def depths(
    study: Study, number: int, build_ups: Sequence[BuildUp], kept: Kept | None = None
) -> Iterator[Depth]:
    """The wall as it stands, then with foam of each depth.

    Parameters
    ----------
    study : Study
        The house.
    number : int
        Of the wall, from 0.
    build_ups : sequence of BuildUp
        As ``built`` gives them.
    kept : Kept, optional
        What was solved of this very house; filled, so that another order begins where this ended.

    Yields
    ------
    Depth
        All depths of foam on the same cells; nothing but the wall as it stands where none can be
        built.
    """
    wall, store = study.walls[number], Kept() if kept is None else kept
    found = wall.as_found
    ends = ends_of(wall.wall, study.survey.walls)
    field = found.warm.field or solved(found.build_up, ends)
    before = warm(found.build_up, found.room, study.outside, field)
    as_found = replace(found, warm=before)
    yield _depth(as_found, field)
    grid: WallHeat | None = store.get(f"cells of depths {number}")
    for build_up in build_ups:
        name = digest("depth", number, build_up.option.thickness, study.prices)
        depth: Depth | None = store.get(name)
        if depth is None:
            field = solved(build_up, ends)
            if grid is None:
                grid = field
                store.put(f"cells of depths {number}", grid)
            one = _judged(study, as_found, build_up, field)
            depth = _depth(one, _drawn(build_up, field, grid), grid)
            store.put(name, depth)
        yield depth


def _judged(study: Study, found: OptionStudy, build_up: BuildUp, field: WallHeat) -> OptionStudy:
    """One depth of foam by its field, beside the wall as it stands, priced by itself."""
    wall = study.wall(build_up.wall)
    heat = warm(build_up, found.room, study.outside, field, (found.build_up, found.warm))
    cost = price(takeoff(build_up, wall.wall, study.catalog, study.prices), study.prices)
    area = wall.frame.net_area
    share = leakage_removed(build_up, study.air)
    change = Change(found.warm.heat_loss(area), heat.heat_loss(area), share)
    value = worth(change, study.heating, cost.known)
    return replace(found, build_up=build_up, warm=heat, price=cost, change=change, worth=value)


def _options(study: Study, wall: WallStudy) -> list[Option]:
    """The usual closed-cell foam by quarter inches, up to the full depth of the bays."""
    curve = thickness_options(wall.wall, study.survey.house, study.catalog)
    bays = [option for beyond, option in curve if not beyond]
    if not bays:
        return []
    least, most = bays[0], bays[-1].thickness
    count = int((most - least.thickness) / QUARTER_INCH + 1e-9)
    steps = [most - k * QUARTER_INCH for k in range(count, -1, -1)]
    return [replace(least, id=f"{least.id}-{k}", thickness=t) for k, t in enumerate(steps)]


def _drawn(build_up: BuildUp, field: WallHeat, grid: WallHeat) -> WallHeat:
    """The map of a build-up on as many cells as ``grid`` has.

    Cells beside wood are means over their width: maps of unlike cells differ by more than depths
    do. So others than the first are solved again where their cells are not the same.
    """
    layers = round(field.cells / field.factor.size)
    for more in _LAYERS:
        if field.factor.shape == grid.factor.shape:
            break
        cells = grid.factor.size * (layers + more) + 1
        field = wall_heat(wall_field(build_up.assembly, cells=cells, tolerance=TOLERANCE))
    return field


def _depth(one: OptionStudy, drawn: WallHeat, grid: WallHeat | None = None) -> Depth:
    grid, leave = grid or drawn, one.option.id == LEAVE.id
    return Depth(
        thickness=0.0 if leave else one.option.thickness,
        resistance=one.warm.resistance,
        coldest=one.warm.coldest.factor,
        coldest_at=one.warm.coldest.where,
        price=one.cost,
        saving=None if leave else one.worth.money,
        x=grid.x,
        z=grid.z,
        factor=_on(grid, drawn),
        seen=grid.kind >= 0,
    )


def _on(grid: WallHeat, field: WallHeat) -> Floats:
    """Factors of ``field`` at the cells of ``grid``, linear between the centres of its own.

    Openings are filled from the nearest cell beside them, so that their edges are not blurred.
    """
    factor = np.asarray(field.factor, dtype=float)
    if field is grid:
        return factor
    from scipy.interpolate import RegularGridInterpolator
    from scipy.ndimage import distance_transform_edt

    nearest = distance_transform_edt(field.kind < 0, return_distances=False, return_indices=True)
    full = factor[tuple(nearest)]
    own, other = (
        [(edges[1:] + edges[:-1]) / 2.0 for edges in (one.x, one.z)] for one in (field, grid)
    )
    places = np.stack(np.meshgrid(*other, indexing="ij"), axis=-1)
    places = np.clip(places, [c[0] for c in own], [c[-1] for c in own])
    found: Floats = RegularGridInterpolator(own, full)(places)
    return found
