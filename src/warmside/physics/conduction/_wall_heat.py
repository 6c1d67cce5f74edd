"""What is kept of a wall's field once it is solved: heat by kind, and the room side's factors."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.geometry import RegionKind
from warmside.physics.assembly import Assembly
from warmside.physics.conduction._field_wall import KindHeat, WallField, check_bounds, wall_field
from warmside.physics.conduction._junctions import End, Junction, junction
from warmside.physics.conduction._places import Place, coldest_places
from warmside.physics.conduction._sections import section_resistance

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class WallHeat:
    """The field of one assembly, without its cells.

    ``factor`` (nx, nz) is the temperature factor of the room surface: the share of the room's
    temperature in it, the rest being the outside's. ``kind`` (nx, nz) numbers ``kinds``, -1 where
    there is no wall.
    """

    state: str
    resistance: float  # [m2 K/W] air to air over the net area
    resistance_error: float | None  # [m2 K/W]; None where it is what the grid gave
    by_kind: tuple[KindHeat, ...]
    x: Floats  # (nx + 1,) [m]
    z: Floats  # (nz + 1,) [m]
    factor: npt.NDArray[np.float32]
    kinds: tuple[RegionKind, ...]
    kind: npt.NDArray[np.int8]
    film: float  # [m2 K/W] inside film of the solution
    cells: int
    iterations: int
    residual: float  # [-] true relative residual
    closure: float  # [-] heat in less heat out over half their sum
    flow_change: float | None = None  # [-] of the heat flow when all divisions were doubled
    factor_change: float | None = None  # [-] of the lowest temperature factors
    places: tuple[Place, ...] = ()  # the coldest of each kind, by models of their own
    junctions: tuple[Junction, ...] = ()  # the ends of the wall

    @property
    def seen(self) -> npt.NDArray[np.bool_]:
        """Where there is wall, (nx, nz)."""
        return self.kind >= 0

    @property
    def beyond(self) -> float:
        """Heat that leaves by the ends of the wall beyond its resistance and area [W/K]."""
        return sum(end.beyond * end.length for end in self.junctions)

    def temperature(self, room: float, outside: float) -> Floats:
        """Room surface [degC], (nx, nz), air at ``room`` and ``outside`` [degC]."""
        return outside + (room - outside) * self.factor.astype(np.float64)

    def place(self, kind: RegionKind) -> Place:
        """The coldest place of ``kind``; `InputError` where none was looked for."""
        for place in self.places:
            if place.kind == kind:
                return place
        known = ", ".join(place.kind for place in self.places) or "none, they were not solved"
        raise InputError([Fault("coldest place of", f"'{kind}'", known)])


def solved_wall(
    assembly: Assembly, *, cells: int, tolerance: float, ends: Iterable[End] = ()
) -> WallHeat:
    """Solve a closed wall: its field, its resistance and its coldest places with their errors.

    Parameters
    ----------
    assembly : Assembly
        The wall.
    cells : int
        About how many cells at most, for the map and for the heat by kind.
    tolerance : float
        Of the true relative residual [-].
    ends : iterable of "corner", "ceiling" and "floor"
        Ends of the wall that get sections of their own.

    Raises
    ------
    SolverError
        As `wall_field`, and as `check_bounds` of the resistance.
    """
    field = wall_field(assembly, cells=cells, tolerance=tolerance)
    resistance = section_resistance(assembly, field.films)
    check_bounds(assembly, resistance.value, field.films)
    return replace(
        wall_heat(field),
        resistance=resistance.value,
        resistance_error=resistance.error,
        places=coldest_places(assembly, field),
        junctions=tuple(junction(assembly, end) for end in ends),
    )


def wall_heat(field: WallField) -> WallHeat:
    """Keep of ``field`` what later rooms need, figures as its grid gave them.

    Parameters
    ----------
    field : WallField
        From ``wall_field``.

    Returns
    -------
    WallHeat
        A few hundred kilobytes instead of the whole grid.
    """
    surface, theta = field.room_surface, field.temperatures(1.0, 0.0)
    shares = [theta[name] for name in field.field.environments]
    to_room = np.tensordot(shares, surface.factor, 1)  # with the outside's it adds up to 1
    cells = np.prod([edges.size - 1 for edges in field.field.grid.edges])
    return WallHeat(
        state=field.state,
        resistance=field.resistance,
        resistance_error=None,
        by_kind=field.by_kind,
        x=surface.u,
        z=surface.v,
        factor=np.where(surface.seen, to_room, 0.0).astype(np.float32),
        kinds=field.kinds,
        kind=np.where(surface.seen, field.kind, -1).astype(np.int8),
        film=field.films.inside,
        cells=int(cells),
        iterations=max(field.field.iterations),
        residual=field.field.residual,
        closure=field.field.closure,
        flow_change=field.flow_change,
        factor_change=field.factor_change,
    )
