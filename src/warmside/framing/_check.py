"""The door of the room: walls that cannot be framed, with every fault named."""

from __future__ import annotations

import math
from collections.abc import Sequence

from warmside.errors import Fault, InputError
from warmside.framing._balloon import floor_band
from warmside.framing._braces import STEEPEST
from warmside.framing._openings import least_between, one_over_the_other, span_of
from warmside.framing._pieces import LEAST_GAP, NEAR, Shell, overlap
from warmside.framing._posts import end_faces, partition_extent
from warmside.framing._sizes import Sizes
from warmside.geometry import Rect
from warmside.survey import Opening, Wall
from warmside.units import show

LEAST_OPENING = 0.1  # [m]


def outline(wall: Wall, sizes: Sizes) -> tuple[Rect, ...]:
    """Columns of the wall, left to right: one, or one per step of its profile.

    Raises
    ------
    InputError
        Where columns or spacing leave no room between the lumber.
    """
    faults = []
    place = f'wall "{wall.name}", '
    least = sizes.width + LEAST_GAP
    if wall.spacing < least:
        faults.append(
            Fault(place + "spacing", _m(wall.spacing), f"{_m(least)} or more", path=("spacing",))
        )
    least = 4 * sizes.width + LEAST_GAP
    for x0, x1, height in wall.columns:
        if x1 - x0 < 2 * sizes.width:
            allowed = f"{_m(2 * sizes.width)} or more, for two studs"
            read = _m(x1 - x0)
            named = f"{place}step at {_m(x0)}, width"
            faults.append(Fault(named, read, allowed, path=("profile",)))
        if height < least:
            allowed = f"{_m(least)} or more, for plates and a bay"
            named, path = f"{place}height at {_m(x0)}", ("height",)
            faults.append(Fault(named, _m(height), allowed, path=path))
    if faults:
        raise InputError(faults)
    return _level_joined([Rect(x0, 0.0, x1, height) for x0, x1, height in wall.columns])


def _level_joined(rects: Sequence[Rect]) -> tuple[Rect, ...]:
    """Neighbouring columns of one height as one column."""
    joined = [rects[0]]
    for rect in rects[1:]:
        last = joined[-1]
        if abs(rect.z1 - last.z1) <= NEAR:
            joined[-1] = Rect(last.x0, 0.0, rect.x1, last.z1)
        else:
            joined.append(rect)
    return tuple(joined)


def check(shell: Shell) -> None:
    """Refuse a wall whose parts do not fit into it.

    Raises
    ------
    InputError
        With every fault found.
    """
    faults = [*_post_faults(shell), *_floor_faults(shell)]
    for number, opening in enumerate(shell.wall.openings):
        faults += _opening_faults(shell, opening, number)
    faults += _neighbour_faults(shell)
    faults += [*_brace_faults(shell), *_riser_faults(shell)]
    if faults:
        raise InputError(faults)


def _post_faults(shell: Shell) -> list[Fault]:
    place = f'wall "{shell.wall.name}", '
    left, right = end_faces(shell)
    if right - left < LEAST_GAP:
        least = left + shell.length - right + LEAST_GAP
        allowed = f"{_m(least)} or more with these posts"
        return [Fault(place + "length", _m(shell.length), allowed, path=("length",))]
    faults = []
    extents: list[tuple[float, float]] = []
    for number, partition in enumerate(shell.wall.partitions):
        path = ("partition", number, "at")
        x0, x1 = partition_extent(shell, partition)
        named = f"{place}partition at {_m(partition.at)}"
        if x0 < left - NEAR or x1 > right + NEAR:
            read = f"post from {_m(x0)} to {_m(x1)}"
            faults.append(Fault(named, read, _between(left, right), path=path))
        if any(overlap(x0, x1, a, b) for a, b in extents):
            faults.append(Fault(named, "a post within another post", "posts apart", path=path))
        for opening in shell.wall.openings:
            if overlap(
                min(x0, partition.at - NEAR), max(x1, partition.at + NEAR), *span_of(opening)
            ):
                read = f'a partition post in the opening "{opening.name}"'
                faults.append(Fault(named, read, "a place beside the openings", path=path))
        extents.append((x0, x1))
    return faults


def _floor_faults(shell: Shell) -> list[Fault]:
    band = floor_band(shell)
    if band is None:
        return []
    least = shell.sizes.strip
    most = min(c.z1 for c in shell.columns) - 3 * shell.width - shell.wall.joist_depth
    if least - NEAR <= band[0] <= most + NEAR:
        return []
    allowed = f"{_between(least, most)}: a ribbon below, joists and plates above"
    place = f'wall "{shell.wall.name}", floor_line'
    return [Fault(place, _m(band[0]), allowed, path=("floor_line",))]


def _opening_faults(shell: Shell, opening: Opening, number: int) -> list[Fault]:
    faults = []

    def refuse(what: str, read: str, allowed: str) -> None:
        faults.append(Fault(place + what, read, allowed, path=("opening", number, what)))

    place = f'wall "{shell.wall.name}", opening "{opening.name}", '
    for what, value in (("width", opening.width), ("height", opening.height)):
        if value < LEAST_OPENING:
            refuse(what, _m(value), f"{_m(LEAST_OPENING)} or more")
    left, right = end_faces(shell)
    x0, x1 = span_of(opening)
    if x0 < left - NEAR or x1 > right + NEAR:
        read = f"from {_m(x0)} to {_m(x1)}, weight pockets included"
        refuse("left", read, _between(left, right))
    head = opening.sill + opening.height
    ceiling = shell.ceiling(x0, x1)
    if head > ceiling + NEAR:
        allowed = f"a head at {_m(ceiling)} or lower, under the top plates"
        refuse("height", f"a head at {_m(head)}", allowed)
    elif opening.header_depth and opening.header_depth > ceiling - head + NEAR:
        allowed = f"{_m(ceiling - head)} or less, the room under the top plates"
        refuse("header_depth", _m(opening.header_depth), allowed)
    return faults


def _neighbour_faults(shell: Shell) -> list[Fault]:
    """Openings need a stud between them side by side, a header and a sill one over the other."""
    faults = []
    openings = sorted(shell.wall.openings, key=lambda o: (o.left, o.sill))
    for i, one in enumerate(openings):
        for other in openings[i + 1 :]:
            beside = span_of(other)[0] >= span_of(one)[1] + shell.width - NEAR
            if not (beside or one_over_the_other(shell, one, other)):
                place = f'wall "{shell.wall.name}", opening "{other.name}", left'
                read = f'too close to the opening "{one.name}"'
                least = least_between(shell, min(one, other, key=lambda o: o.sill))
                allowed = f"{_m(shell.width)} of stud between them, or {_m(least)} over it"
                number = shell.wall.openings.index(other)
                faults.append(Fault(place, read, allowed, path=("opening", number, "left")))
    return faults


def _brace_faults(shell: Shell) -> list[Fault]:
    faults = []
    for number, brace in enumerate(shell.wall.braces, start=1):
        run, rise = abs(brace.to_x - brace.from_x), abs(brace.to_z - brace.from_z)
        if run < shell.width or math.atan2(rise, run) > STEEPEST:
            place = f'wall "{shell.wall.name}", brace {number}'
            path = ("brace", number - 1)
            read = f"{_m(run)} along the wall and {_m(rise)} up"
            faults.append(Fault(place, read, "a brace no steeper than 75 degrees", path=path))
    return faults


def _riser_faults(shell: Shell) -> list[Fault]:
    """A pipe that runs up the wall has no opening in its way."""
    faults = []
    for number, pipe in enumerate(shell.wall.pipes):
        path = ("pipe", number, "x")
        for o in shell.wall.openings:
            inside = o.left + NEAR < pipe.x < o.left + o.width - NEAR
            if inside and pipe.run == "vertical":
                place = f'wall "{shell.wall.name}", pipe ({pipe.kind}) at {_m(pipe.x)}'
                read = f'a vertical run through the opening "{o.name}"'
                faults.append(Fault(place, read, "a place beside the openings", path=path))
    return faults


def _m(value: float) -> str:
    """A length in both systems, since a survey may mix them."""
    sign, size = "-" if value < 0.0 else "", abs(value)
    return f"{sign}{show(size, 'length')} ({sign}{show(size, 'length', 'metric')})"


def _between(low: float, high: float) -> str:
    return f"{_m(low)} to {_m(high)}"
