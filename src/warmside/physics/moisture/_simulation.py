"""Run the hourly model over a path and hand back series with their balance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError, SolverError
from warmside.physics.moisture._mesh import Mesh
from warmside.physics.moisture._potential import (
    FloatArray,
    humidity_of_u,
    u_of_humidity,
)
from warmside.physics.moisture._workspace import Grid, Tolerances

BALANCE_LIMIT = 1e-6
START_MOST = 9.0  # potential [-], a suction of 17 kPa


@dataclass(frozen=True)
class Settings:
    """Tolerances of the time stepping.

    Attributes
    ----------
    humidity : float
        Error per step in relative humidity [-].
    temperature : float
        Error per step [K].
    newton : float
        Change at which Newton stops, as share of the tolerances of a step [-].
    """

    humidity: float = 1e-2
    temperature: float = 0.3
    newton: float = 0.06


# where the first settings do not get through a cloudburst
CAREFUL = Settings(1e-3, 0.05, 0.02)


@dataclass(frozen=True, eq=False)
class Forcing:
    """What acts on the two faces, at the hours 0, 1, 2 ...: straight lines between.

    Every array has shape (n_hours + 1,); a single number stands for a constant.

    Attributes
    ----------
    room_temperature, room_vapour : FloatArray
        Of the room air [degC], [Pa].
    room_film, room_transfer : FloatArray
        Heat film [W/(m2 K)] and vapour film [kg/(m2 s Pa)] of the room face.
    out_temperature, out_vapour : FloatArray
        Of the outdoor air [degC], [Pa].
    out_film, out_transfer : FloatArray
        Heat film [W/(m2 K)] and vapour film [kg/(m2 s Pa)] of the outer face.
    absorbed : FloatArray
        Sun taken up less long-wave lost at the outer face [W/m2].
    rain : FloatArray
        Rain that wets the outer face [kg/(m2 s)].
    leak : FloatArray
        Air that leaks past the leak cell, out of the room where positive [kg/(m2 s)].
    cavity : FloatArray
        Outdoor air through the cavity cell [kg/(m2 s)].
    through : FloatArray
        Air that flows through all layers, outwards positive [kg/(m2 s)].
    pressure : FloatArray
        Air pressure [Pa].
    """

    room_temperature: FloatArray | float
    room_vapour: FloatArray | float
    out_temperature: FloatArray | float
    out_vapour: FloatArray | float
    room_film: FloatArray | float = 1.0 / 0.13
    room_transfer: FloatArray | float = 2.5e-8
    out_film: FloatArray | float = 25.0
    out_transfer: FloatArray | float = 1.5e-7
    absorbed: FloatArray | float = 0.0
    rain: FloatArray | float = 0.0
    leak: FloatArray | float = 0.0
    cavity: FloatArray | float = 0.0
    through: FloatArray | float = 0.0
    pressure: FloatArray | float = 101_325.0

    def table(self, hours: int) -> FloatArray:
        """All drivers, shape (hours + 1, 14), checked."""
        columns = (
            ("room_temperature", -60.0, 80.0),
            ("room_vapour", 0.0, 2e4),
            ("room_film", 1e-3, 1e9),
            ("room_transfer", 0.0, 1.0),
            ("out_temperature", -80.0, 90.0),
            ("out_vapour", 0.0, 2e4),
            ("out_film", 1e-3, 1e9),
            ("out_transfer", 0.0, 1.0),
            ("absorbed", -500.0, 1500.0),
            ("rain", 0.0, 0.1),
            ("leak", -1.0, 1.0),
            ("cavity", 0.0, 1.0),
            ("through", -1.0, 1.0),
            ("pressure", 4.5e4, 1.1e5),
        )
        table = np.empty((hours + 1, len(columns)))
        faults: list[Fault] = []
        for k, (name, least, most) in enumerate(columns):
            values = np.asarray(getattr(self, name), dtype=np.float64)
            if values.shape not in ((), (hours + 1,)):
                faults.append(
                    Fault(f"forcing, {name}", f"shape {values.shape}", f"{hours + 1} values")
                )
                continue
            wrong = np.atleast_1d(values)[
                ~((np.atleast_1d(values) >= least) & (np.atleast_1d(values) <= most))
            ]
            if wrong.size:
                faults.append(Fault(f"forcing, {name}", f"{wrong[0]:g}", f"{least:g} to {most:g}"))
            table[:, k] = values
        if faults:
            raise InputError(faults)
        return table


@dataclass(frozen=True)
class Balance:
    """What came in, what is stored, and what does not match.

    Attributes
    ----------
    water_in, water_stored : float
        Net over the run [kg/m2].
    heat_in, heat_stored : float
        Net over the run [J/m2].
    water_error, heat_error : float
        Mismatch over what moved [-].
    """

    water_in: float
    water_stored: float
    heat_in: float
    heat_stored: float
    water_error: float
    heat_error: float


@dataclass(frozen=True, eq=False)
class Run:
    """Series of one run; hour ``k`` is the state at the end of the hour.

    Attributes
    ----------
    mesh : Mesh
        The cells.
    watched : numpy.ndarray
        Cells that were recorded, shape (n_watched,).
    temperature, potential : FloatArray
        Of the recorded cells, shape (n_hours, n_watched) [degC], [-].
    crossed : FloatArray
        Water and heat in per hour, shape (n_hours, 8): room face, outer face, leak, cavity, rain
        [kg/m2]; heat at the room face, outer face, sources [J/m2].
    final_temperature, final_potential : FloatArray
        Of all cells at the end, shape (n_cells,).
    balance : Balance
        Closed within 1e-6, else the run was refused.
    counts : dict[str, int]
        Steps, rejected steps, evaluations, factorisations.
    """

    mesh: Mesh
    watched: npt.NDArray[np.int64]
    temperature: FloatArray
    potential: FloatArray
    crossed: FloatArray
    final_temperature: FloatArray
    final_potential: FloatArray
    balance: Balance
    counts: dict[str, int] = field(default_factory=dict)

    @cached_property
    def humidity(self) -> FloatArray:
        """Relative humidity of the recorded cells, shape (n_hours, n_watched) [-]."""
        return humidity_of_u(self.potential, self.temperature)

    @property
    def final_humidity(self) -> FloatArray:
        """Relative humidity of all cells at the end, shape (n_cells,) [-]."""
        return humidity_of_u(self.final_potential, self.final_temperature)

    def at(self, cell: int) -> tuple[FloatArray, FloatArray]:
        """Temperature [degC] and humidity [-] in a recorded cell, shape (n_hours,)."""
        where = int(np.flatnonzero(self.watched == cell)[0])
        temperature = self.temperature[:, where]
        return temperature, humidity_of_u(self.potential[:, where], temperature)

    @property
    def final_water(self) -> FloatArray:
        """Water content of all cells at the end, shape (n_cells,) [kg/m3]."""
        water = np.empty_like(self.final_potential)
        for k, slab in enumerate(self.mesh.slabs):
            here = self.mesh.layer == k
            water[here] = contents(slab.material.curves, self.final_potential[here])
        return water

    def water_content(self, cell: int) -> FloatArray:
        """Water in a recorded cell, shape (n_hours,) [kg/m3]."""
        where = int(np.flatnonzero(self.watched == cell)[0])
        material = self.mesh.slabs[int(self.mesh.layer[cell])].material
        return contents(material.curves, self.potential[:, where])


def contents(curves: FloatArray, u: FloatArray) -> FloatArray:
    """Water content [kg/m3] of potentials ``u``, from a material's curves."""
    from warmside.physics.moisture._loops import contents_loop

    held = contents_loop(curves, np.ascontiguousarray(u).ravel())
    return np.asarray(held.reshape(np.shape(u)))


def grid_of(cells: Mesh, kinds: tuple[int, int], spots: tuple[int, int]) -> Grid:
    """The path as the compiled loops take it: kinds of its faces, leak cell and cavity cell."""
    materials = list(dict.fromkeys(s.material for s in cells.slabs))
    index = np.array([materials.index(s.material) for s in cells.slabs], dtype=np.int64)
    constants = np.array(
        [
            (m.density * m.specific_heat, m.permeability_over_t, m.conductivity, m.conductivity_wet)
            for m in materials
        ]
    )
    mat = index[cells.layer]
    draws = np.array([m.liquid[-1] > 0.0 for m in materials])[mat]
    other = np.diff(mat) != 0
    joins = np.flatnonzero(other & draws[1:] & draws[:-1])
    joined = np.where(other, 0.0, 2.0 / (cells.width[1:] + cells.width[:-1]))
    return Grid(
        np.array(kinds, dtype=np.int64),
        np.concatenate([np.array(spots, dtype=np.int64), joins]),
        mat,
        np.ascontiguousarray(np.vstack([cells.width, constants[mat].T, np.append(joined, 0.0)])),
        np.ascontiguousarray(np.stack([m.curves for m in materials])),
    )


Face = Literal["film", "surface"]


def simulate(
    cells: Mesh,
    forcing: Forcing,
    hours: int,
    *,
    temperature: FloatArray | float = 20.0,
    humidity: FloatArray | float = 0.5,
    potential: FloatArray | None = None,
    watch: npt.NDArray[np.int64] | None = None,
    faces: tuple[Face, Face] = ("film", "film"),
    leak_cell: int = -1,
    cavity_cell: int = -1,
    settings: Settings = Settings(),
) -> Run:
    """Coupled heat and moisture through a path, hour by hour (EN 15026:2007).

    Parameters
    ----------
    cells : Mesh
        The path, room side first.
    forcing : Forcing
        What acts on its faces.
    hours : int
        How long [h].
    temperature, humidity : FloatArray or float
        Start of every cell [degC], [-].
    potential : FloatArray or None
        Start of every cell in place of its humidity, to carry on a run [-].
    watch : numpy.ndarray or None
        Cells to record; None records all.
    faces : tuple
        "film": transfer from air; "surface": the face itself has the state given.
    leak_cell, cavity_cell : int
        Cell that leaking air passes, cell flushed by outdoor air; -1 for none.
    settings : Settings
        Tolerances.

    Returns
    -------
    Run
        Series, balance, counts.

    Raises
    ------
    InputError
        Values out of range, with the place.
    SolverError
        Steps that do not converge, or a balance open by more than 1e-6.
    """
    table = forcing.table(hours)
    u, T = _start(cells, temperature, humidity, potential)
    kinds = (int(faces[0] == "surface"), int(faces[1] == "surface"))
    grid = grid_of(cells, kinds, (leak_cell, cavity_cell))
    seen_cells = np.arange(u.size) if watch is None else np.asarray(watch, dtype=np.int64)
    before = _stored(grid, u, T)
    u, T, seen, crossed, counts = _marched((u, T), table, grid, seen_cells, settings)
    balance = _balance(before, _stored(grid, u, T), crossed)
    names = ("steps", "rejected", "evaluations", "factorisations")
    return Run(
        mesh=cells,
        watched=seen_cells,
        temperature=seen[1],
        potential=seen[0],
        crossed=crossed,
        final_temperature=T,
        final_potential=u,
        balance=balance,
        counts={name: int(count) for name, count in zip(names, counts, strict=False)},
    )


def _marched(
    start: tuple[FloatArray, FloatArray],
    table: FloatArray,
    grid: Grid,
    watch: npt.NDArray[np.int64],
    settings: Settings,
) -> tuple[Any, ...]:
    """End state, series, what crossed the boundary and counts; with care where need be."""
    from warmside.physics.moisture._newton import N_COUNTS
    from warmside.physics.moisture._stepping import march

    hours = table.shape[0] - 1
    seen = np.empty((2, hours, watch.size))
    crossed, counts = np.zeros((hours, 8)), np.zeros(N_COUNTS, dtype=np.int64)
    for wanted in (settings, CAREFUL):
        u, T = start[0].copy(), start[1].copy()
        steps = Tolerances(wanted.humidity, wanted.temperature, wanted.newton)
        reached = march(u, T, table, grid, steps, watch, seen, crossed, counts)
        if reached == hours and np.isfinite(u).all() and np.isfinite(T).all():
            return u, T, seen, crossed, counts
    raise SolverError(
        f"the moisture model did not converge in hour {reached} of {hours}",
        "use more cells, or look at the forcing around that hour",
    )


def right_hand_side(
    cells: Mesh,
    forcing: Forcing,
    hours: int,
    *,
    temperature: FloatArray | float = 20.0,
    humidity: FloatArray | float = 0.5,
    leak_cell: int = -1,
) -> tuple[Callable[[float, FloatArray], FloatArray], FloatArray]:
    """The same discretisation for a general-purpose integrator: (dy/dt of seconds and y, start).

    ``y`` holds potential [-] and temperature [degC] of each cell in turn, shape (2 n_cells,): its
    Jacobian has three diagonals on either side.
    """
    from warmside.physics.moisture._stepping import derivative

    table = forcing.table(hours)
    grid = grid_of(cells, (0, 0), (leak_cell, -1))
    u, T = _start(cells, temperature, humidity, None)
    return lambda seconds, y: derivative(seconds, y, table, grid), np.column_stack([u, T]).ravel()


def _start(
    cells: Mesh,
    temperature: FloatArray | float,
    humidity: FloatArray | float,
    potential: FloatArray | None,
) -> tuple[FloatArray, FloatArray]:
    """Potential and temperature of every cell, checked."""
    faults = []
    n = cells.width.size
    T = np.array(np.broadcast_to(np.asarray(temperature, dtype=np.float64), (n,)))
    phi = np.array(np.broadcast_to(np.asarray(humidity, dtype=np.float64), (n,)))
    if not ((T >= -60.0) & (T <= 80.0)).all():
        faults.append(
            Fault("start temperature", f"{T.min():g} to {T.max():g} degC", "-60 to 80 degC")
        )
    if not ((phi > 0.0) & (phi <= 1.0)).all():
        faults.append(
            Fault("start humidity", f"{phi.min():g} to {phi.max():g}", "above 0, up to 1")
        )
    if potential is not None and not (np.shape(potential) == (n,) and np.all(potential > 0.0)):
        faults.append(
            Fault("start potential", f"shape {np.shape(potential)}", f"{n} values above 0")
        )
    if faults:
        raise InputError(faults)
    if potential is not None:
        return np.array(potential, dtype=np.float64), T
    # a start at saturation is as wet as contact with water makes it, not filled to the last pore
    return np.minimum(u_of_humidity(np.minimum(phi, 1.0 - 1e-6), T), START_MOST), T


def _stored(grid: Grid, u: FloatArray, T: FloatArray) -> tuple[float, float]:
    """Water [kg/m2] and enthalpy [J/m2] held by the path."""
    from warmside.physics.moisture._fluxes import C_WATER

    w = np.empty_like(u)
    for m, curves in enumerate(grid.curves):
        own = grid.material == m
        w[own] = contents(curves, u[own])
    width, capacity = grid.cell[:2]
    return float(w @ width), float(((capacity + C_WATER * w) * T) @ width)


def _balance(
    before: tuple[float, float], after: tuple[float, float], crossed: FloatArray
) -> Balance:
    """Set what came in against what is stored; refuse what does not match."""
    water_in, heat_in = float(crossed[:, :5].sum()), float(crossed[:, 5:].sum())
    water, heat = after[0] - before[0], after[1] - before[1]
    # over what moved, not over what stayed: a leak must not hide behind a wet wall
    moved_water = max(float(np.abs(crossed[:, :5]).sum()), 1e-6)
    moved_heat = max(float(np.abs(crossed[:, 5:]).sum()), 1.0)
    balance = Balance(
        water_in, water, heat_in, heat,
        abs(water - water_in) / moved_water, abs(heat - heat_in) / moved_heat,
    )  # fmt: skip
    if max(balance.water_error, balance.heat_error) > BALANCE_LIMIT:
        raise SolverError(
            f"the balance is open: water {balance.water_error:.1e}, heat {balance.heat_error:.1e}"
            f" of what moved (limit {BALANCE_LIMIT:g})",
            "tighten the settings",
        )
    return balance
