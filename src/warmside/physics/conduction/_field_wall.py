"""The field of a whole framed wall: its true resistance, where the heat goes, how cold it gets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError, SolverError
from warmside.geometry import RegionKind
from warmside.physics.assembly import Assembly, Stack
from warmside.physics.conduction._field import TOLERANCE, FactorMap, Field, Spot, solve_field
from warmside.physics.conduction._field_bodies import Body, Space
from warmside.physics.conduction._field_doubling import solve_refined
from warmside.physics.conduction._simple import (
    ISO_FILMS,
    Films,
    air_layer_resistance,
    air_layer_sideways,
    isothermal_planes,
    parallel_path,
    resistances,
)
from warmside.physics.conduction._slivers import without_slivers
from warmside.physics.conduction._solids import Solid, solids

State = Literal["closed", "open bays"]
ROOM, OUTSIDE, OPENING = "room", "outside", "opening"
BOUNDS_GIVE = 0.01  # [-] what slivers joined (areas) and the solver's tolerance may move
_FAR = 1.0  # [m] how far the air boxes reach; any positive length does
_NEAR = 1e-9  # [m]
_USUAL_EMISSIVITY = 0.9  # [-] of building surfaces that are not metal


@dataclass(frozen=True)
class KindHeat:
    """What one kind of region does to the heat of the wall, seen at the room surface."""

    kind: RegionKind
    area: float  # [m2]
    flow: float  # [W/K] per kelvin between room and outside
    share: float  # [-] of the wall's heat
    excess: float  # [W/(m K)] over the clear bay, per metre of member
    mean_factor: float  # [-] temperature factor of its room surface
    lowest_factor: float  # [-]


@dataclass(frozen=True)
class Reveal:
    """What the faces of the rough openings see: the frame of a window or door, and its gap.

    ``factor`` is its temperature factor [-], 0 as cold as outside and 1 as warm as the room;
    ``film`` the resistance to it [m2 K/W]. Both depend on the window and its place in the wall.
    """

    factor: float
    film: float


def check_reveal(reveal: Reveal | None) -> None:
    """Raise `InputError` on figures that no reveal can have."""
    if reveal is None:
        return
    said = (("factor", reveal.factor, 1.0), ("film", reveal.film, 100.0))
    faults = [
        Fault(f"reveal, {name}", f"{value!r}", f"a number 0 to {high:g}")
        for name, value, high in said
        if isinstance(value, bool)
        or not isinstance(value, (int, float))
        or not 0.0 <= value <= high
    ]
    if faults:
        raise InputError(faults)


@dataclass(frozen=True)
class WallField:
    """An assembly's field between room and outside, in one state.

    ``coupling`` is the heat out of the room per kelvin and ``resistance`` its inverse over the
    net area, air to air. Openings are left out and the ends of the wall are adiabatic cuts. So
    are the edges of openings unless a ``reveal`` says what they see: the heat there belongs to
    the window's own figures (its transmittance and that of its installation), and counting it
    here too would count it twice. ``kinds`` and ``kind`` tell which kind of region each column
    of cells (x, z) belongs to, -1 in openings.

    ``flow_change`` and ``factor_change`` [-] are what the last doubling of all divisions changed
    (see `Refined`), None where none was asked for.
    """

    state: State
    field: Field
    films: Films
    net_area: float  # [m2]
    coupling: float  # [W/K]
    resistance: float  # [m2 K/W]
    by_kind: tuple[KindHeat, ...]
    room_surface: FactorMap
    depth: float  # [m] of the studs
    kinds: tuple[RegionKind, ...]
    kind: npt.NDArray[np.int8]
    reveal: Reveal | None = None
    flow_change: float | None = None
    factor_change: float | None = None

    def temperatures(self, inside: float, outside: float) -> dict[str, float]:
        """Temperature of every environment of the field [degC]."""
        return _temperatures(self.field, self.reveal, inside, outside)

    def coldest(self, inside: float, outside: float) -> Spot:
        """Coldest spot of the room surface, air at ``inside`` and ``outside`` [degC]."""
        return self.field.coldest(ROOM, self.temperatures(inside, outside))

    def kind_at(self, x: float, z: float) -> RegionKind | None:
        """Kind of region at a place of the wall [m]; None in an opening or beyond the wall."""
        edges = self.field.grid.edges
        i, k = (int(np.searchsorted(edges[a], v)) - 1 for a, v in ((0, x), (2, z)))
        if not (0 <= i < self.kind.shape[0] and 0 <= k < self.kind.shape[1]):
            return None
        number = int(self.kind[i, k])
        return self.kinds[number] if number >= 0 else None


def wall_field(
    assembly: Assembly,
    *,
    state: State = "closed",
    films: Films = ISO_FILMS,
    mean_temperature: float = 10.0,
    cells: int = 150_000,
    tolerance: float = TOLERANCE,
    reveal: Reveal | None = None,
    doubling: bool = False,
) -> WallField:
    """Solve the field of an assembly between room and outside.

    Closed air layers conduct across as their ISO 6946 resistance and less along, see
    `air_layer_sideways`. With ``state="open bays"`` finishes and vapour control are off and every
    air space open
    to the room is room air: foam face, stud sides and stud face each carry the inside film.
    Outside a well-ventilated layer nothing counts and the film becomes the inside one. Short
    faces a few millimetres beside another line are moved there, see `without_slivers`.

    Parameters
    ----------
    assembly : Assembly
        The wall and its layers.
    state : "closed" or "open bays"
    films : Films
        Surface resistances [m2 K/W].
    mean_temperature : float
        Of closed air layers [degC].
    cells : int
        About how many cells at most.
    tolerance : float
        Of the true relative residual [-].
    reveal : Reveal, optional
        What the edges of openings see; adiabatic without.
    doubling : bool
        Go on from ``cells`` until doubling the divisions changes little, as `solve_refined`
        does, to its own tolerance; takes ten times as long or more.

    Raises
    ------
    InputError, SolverError
        As `solve_field` and `solve_refined`; of a closed wall also as `check_bounds`.
    """
    if state not in ("closed", "open bays"):
        raise InputError([Fault("wall field, state", f"{state!r}", "closed or open bays")])
    check_reveal(reveal)
    assembly = without_slivers(assembly)
    kept, opened = _opened(solids(assembly)) if state == "open bays" else (solids(assembly), ())
    outer = outer_film(assembly, films)
    bodies, spaces = _bodies(kept, mean_temperature), _spaces(kept, opened, films.inside, outer)
    if reveal is not None:
        spaces = [*_in_openings(assembly, bodies, reveal), *spaces]
    if doubling:
        refined = solve_refined(bodies, spaces, cells=cells)
        wall = _wall(assembly, state, films, refined.field, reveal)
        return replace(wall, flow_change=refined.flow_change, factor_change=refined.factor_change)
    field = solve_field(bodies, spaces, cells=cells, tolerance=tolerance)
    return _wall(assembly, state, films, field, reveal)


def outer_film(assembly: Assembly, films: Films) -> float:
    """Film outside [m2 K/W]; the inside one of ISO 6946 behind a well-ventilated layer."""
    vented = any(layer.vented for stack in assembly.stacks for layer in stack.layers)
    return ISO_FILMS.inside if vented else films.outside


def _wall(
    assembly: Assembly, state: State, films: Films, field: Field, reveal: Reveal | None
) -> WallField:
    names = tuple(assembly.regions)
    kind = _kinds(assembly, field, names)
    theta = _temperatures(field, reveal, 1.0, 0.0)
    coupling = field.flows(theta)[ROOM]
    area = assembly.net_area
    if state == "closed" and reveal is None:
        check_bounds(assembly, area / coupling, films)
    return WallField(
        state=state,
        field=field,
        films=films,
        net_area=area,
        coupling=coupling,
        resistance=area / coupling,
        by_kind=_by_kind(assembly, field, films, names, kind, theta),
        room_surface=field.surface(ROOM, "y", -1),
        depth=assembly.depth,
        kinds=names,
        kind=kind,
        reveal=reveal,
    )


def check_bounds(assembly: Assembly, resistance: float, films: Films) -> None:
    """Raise unless the resistance of a closed wall lies within its rigorous bounds.

    Isothermal planes below, parallel paths above, both from layers cut at the same depths. A wall
    with bays open to the room has no such bounds: its bare stud sides carry films.

    Parameters
    ----------
    assembly : Assembly
        The closed wall.
    resistance : float
        As computed, air to air [m2 K/W].
    films : Films
        Surface resistances [m2 K/W].

    Raises
    ------
    SolverError
        If it lies more than `BOUNDS_GIVE` outside.
    """
    low, high = (method(assembly.stacks, films) for method in (isothermal_planes, parallel_path))
    if low * (1.0 - BOUNDS_GIVE) <= resistance <= high * (1.0 + BOUNDS_GIVE):
        return
    raise SolverError(
        f"the field gives the wall {resistance:.3f} m2 K/W, outside its bounds: {low:.3f} by "
        f"isothermal planes, {high:.3f} by parallel paths",
        "report this: the solids and the stacks of the wall do not agree",
    )


def _temperatures(
    field: Field, reveal: Reveal | None, inside: float, outside: float
) -> dict[str, float]:
    theta = {ROOM: inside, OUTSIDE: outside}
    if reveal is not None and OPENING in field.environments:
        theta[OPENING] = outside + reveal.factor * (inside - outside)
    return theta


def _in_openings(assembly: Assembly, bodies: Sequence[Body], reveal: Reveal) -> list[Space]:
    """The rough openings as air through the whole wall, to be displaced by room and outside."""
    front, back = min(b.y0 for b in bodies), max(b.y1 for b in bodies)
    return [
        Space(r.x0, r.x1, front, back, r.z0, r.z1, OPENING, reveal.film) for r in assembly.holes
    ]


def _opened(boxes: Sequence[Solid]) -> tuple[tuple[Solid, ...], tuple[Solid, ...]]:
    """What stays, and what is room air before the finish is on."""
    kept: list[Solid] = []
    opened: list[Solid] = []
    for box in sorted(boxes, key=lambda box: box.y0):
        before_studs = box.y1 <= _NEAR and box.layer.role in ("finish", "vapour control")
        covered = any(_touches(other, box) for other in kept)
        is_open = box.layer.conductivity is None and not covered
        (opened if before_studs or is_open else kept).append(box)
    return tuple(kept), tuple(opened)


def _touches(front: Solid, back: Solid) -> bool:
    """Whether the outer face of ``front`` lies on the room face of ``back``."""
    return (
        abs(front.y1 - back.y0) < _NEAR
        and min(front.x1, back.x1) - max(front.x0, back.x0) > _NEAR
        and min(front.z1, back.z1) - max(front.z0, back.z0) > _NEAR
    )


def _bodies(boxes: Sequence[Solid], mean_temperature: float) -> list[Body]:
    room_side, outer_side = _facing_emissivities(boxes)

    def conductivity(number: int, box: Solid) -> float | tuple[float, float, float]:
        if box.layer.conductivity is not None:
            return box.layer.conductivity
        faces = (room_side[number], outer_side[number])
        thickness = box.y1 - box.y0
        resistance = air_layer_resistance(thickness, "horizontal", faces, mean_temperature)
        along = air_layer_sideways(thickness, resistance)
        return along, thickness / resistance, along

    return [
        Body(b.x0, b.x1, b.y0, b.y1, b.z0, b.z1, conductivity(n, b), b.layer.material)
        for n, b in enumerate(boxes)
    ]


def _facing_emissivities(
    boxes: Sequence[Solid],
) -> tuple[Mapping[int, float], Mapping[int, float]]:
    """Lowest emissivity met on the room side and on the outer side of each air box [-]."""
    emissivity = np.array([b.layer.emissivity for b in boxes])
    if emissivity.min() >= _USUAL_EMISSIVITY:  # nothing shiny anywhere
        usual = dict.fromkeys(range(len(boxes)), _USUAL_EMISSIVITY)
        return usual, usual
    x0, x1, y0, y1, z0, z1 = np.array([(b.x0, b.x1, b.y0, b.y1, b.z0, b.z1) for b in boxes]).T
    room_side, outer_side = {}, {}
    for n, box in enumerate(boxes):
        if box.layer.conductivity is not None:
            continue
        beside = (np.minimum(x1, box.x1) - np.maximum(x0, box.x0) > _NEAR) & (
            np.minimum(z1, box.z1) - np.maximum(z0, box.z0) > _NEAR
        )
        before, after = beside & (abs(y1 - box.y0) < _NEAR), beside & (abs(y0 - box.y1) < _NEAR)
        room_side[n] = float(emissivity[before].min(initial=_USUAL_EMISSIVITY))
        outer_side[n] = float(emissivity[after].min(initial=_USUAL_EMISSIVITY))
    return room_side, outer_side


def _spaces(
    kept: Sequence[Solid], opened: Sequence[Solid], inside: float, outside: float
) -> list[Space]:
    x0, x1 = min(b.x0 for b in kept), max(b.x1 for b in kept)
    z0, z1 = min(b.z0 for b in kept), max(b.z1 for b in kept)
    front, back = min(b.y0 for b in kept), max(b.y1 for b in kept)
    return [
        Space(x0, x1, front - _FAR, front, z0, z1, ROOM, inside),
        *(Space(b.x0, b.x1, b.y0, b.y1, b.z0, b.z1, ROOM, inside) for b in opened),
        Space(x0, x1, back, back + _FAR, z0, z1, OUTSIDE, outside),
    ]


def _kinds(assembly: Assembly, field: Field, names: tuple[RegionKind, ...]) -> npt.NDArray[np.int8]:
    """Which kind of region each column of cells (x, z) belongs to, -1 in openings."""
    edges = field.grid.edges
    kind = np.full((edges[0].size - 1, edges[2].size - 1), -1, np.int8)
    rects = [(n, rect) for n, name in enumerate(names) for rect in assembly.regions[name]]
    ends = np.array([(r.x0, r.x1, r.z0, r.z1) for _, r in rects])
    x, z = (0.5 * (edges[axis][1:] + edges[axis][:-1]) for axis in (0, 2))
    windows = np.hstack((np.searchsorted(x, ends[:, :2]), np.searchsorted(z, ends[:, 2:])))
    for (n, _), (i0, i1, k0, k1) in zip(rects, windows.tolist(), strict=True):
        kind[i0:i1, k0:k1] = n
    return kind


def _by_kind(
    assembly: Assembly,
    field: Field,
    films: Films,
    names: tuple[RegionKind, ...],
    kind: npt.NDArray[np.int8],
    theta: Mapping[str, float],
) -> tuple[KindHeat, ...]:
    faces = field.faces
    mine = faces.environment == field.environments.index(ROOM)
    x, _, z = field.columns(faces.cell[mine])
    number = kind[x, z].astype(int)
    weights = np.array([theta[name] for name in field.environments])
    drop = 1.0 - weights @ field.face_factors(film=False)[:, mine]  # [-] from air to cell
    flow = faces.conductance[mine] * drop
    film = faces.film[mine]
    surface = 1.0 - drop * film / (film + faces.within[mine])
    flows = np.bincount(number + 1, weights=flow, minlength=len(names) + 1)[1:]
    areas, lengths = assembly.area_by_kind, _lengths(assembly)
    clear = _clear_bay(assembly, films)
    heats = []
    for n, name in enumerate(names):
        here = number == n
        weight = faces.area[mine][here]
        heats.append(
            KindHeat(
                kind=name,
                area=areas[name],
                flow=float(flows[n]),
                share=float(flows[n] / flow.sum()),
                excess=float((flows[n] - clear * areas[name]) / lengths[name]),
                mean_factor=float(np.average(surface[here], weights=weight)),
                lowest_factor=float(surface[here].min()),
            )
        )
    return tuple(heats)


def _lengths(assembly: Assembly) -> Mapping[RegionKind, float]:
    """Length of the members of each kind [m]: the long side of every region."""
    return {
        kind: sum(max(rect.width, rect.height) for rect in rects)
        for kind, rects in assembly.regions.items()
    }


def clear_stack(assembly: Assembly) -> Stack:
    """The largest bay stack: the clear wall beside all members."""
    bays = [stack for stack in assembly.stacks if stack.kind == "bay"] or list(assembly.stacks)
    return max(bays, key=lambda stack: stack.area)


def _clear_bay(assembly: Assembly, films: Films) -> float:
    """Transmittance of the clear wall, heat going straight through [W/(m2 K)]."""
    ends = films.inside + outer_film(assembly, films)
    return 1.0 / (sum(resistances(clear_stack(assembly))) + ends)
