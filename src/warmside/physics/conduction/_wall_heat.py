"""What is kept of a wall's field once it is solved: heat by kind, and the room side's factors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.geometry import RegionKind
from warmside.physics.conduction._field_wall import KindHeat, WallField

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

    @property
    def seen(self) -> npt.NDArray[np.bool_]:
        """Where there is wall, (nx, nz)."""
        return self.kind >= 0

    def temperature(self, room: float, outside: float) -> Floats:
        """Room surface [degC], (nx, nz), air at ``room`` and ``outside`` [degC]."""
        return outside + (room - outside) * self.factor.astype(np.float64)

    def lowest_factor(self, kind: RegionKind, film: float | None = None) -> float:
        """Lowest temperature factor of the surface of ``kind`` [-].

        With another inside ``film`` [m2 K/W] the local resistance ``R = R_si / (1 - f)`` is kept
        and the film exchanged: ``f' = 1 - R_si' / (R - R_si + R_si')``. Exact where heat runs
        straight, close elsewhere; the standard for surface humidity asks for 0.25.
        """
        lowest = next(k.lowest_factor for k in self.by_kind if k.kind == kind)
        if film is None:
            return lowest
        local = self.film / max(1.0 - lowest, 1e-9)
        return 1.0 - film / (local - self.film + film)


def wall_heat(field: WallField) -> WallHeat:
    """Keep of ``field`` what later rooms need.

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
