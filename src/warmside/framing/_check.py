"""The door of the room: walls that cannot be framed, with every fault named."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from warmside.errors import Fault, InputError
from warmside.framing._balloon import floor_band
from warmside.framing._braces import STEEPEST
from warmside.framing._openings import span_of
from warmside.framing._parts import Rect
from warmside.framing._pieces import LEAST_GAP, NEAR, Shell, overlap
from warmside.framing._posts import end_faces, partition_extent
from warmside.framing._sizes import Sizes
from warmside.survey import Opening, Wall

LEAST_OPENING = 0.1  # [m]
STUD_WIDTHS = (0.019, 0.3)  # [m]
STUD_DEPTHS = (0.038, 0.5)  # [m]


def outline(wall: Wall, sizes: Sizes) -> tuple[Rect, ...]:
    """Columns of the wall, left to right: one, or one per step of its profile.

    Raises
    ------
    InputError
        Where height, profile or sizes make no wall.
    """
    faults = _size_faults(wall, sizes)
    steps = [(step.x, step.height) for step in wall.profile]
    if wall.height is not None and (not steps or steps[0][0] > NEAR):
        steps.insert(0, (0.0, wall.height))
    xs = [x for x, _ in steps] + [wall.length]
    place = f'wall "{wall.name}", '
    if not steps or steps[0][0] > NEAR:
        faults.append(
            Fault(place + "height", "none", "a height, or a profile that begins at x = 0")
        )
    elif any(b - a < 2 * sizes.width for a, b in pairwise(xs)):
        allowed = (
            f"steps in order, at least two studs ({_m(2 * sizes.width)}) wide, inside the wall"
        )
        faults.append(Fault(place + "profile", ", ".join(_m(x) for x in xs), allowed))
    least = 4 * sizes.width + LEAST_GAP
    for x, height in steps:
        if height < least:
            allowed = f"{_m(least)} or more, for plates and a bay"
            faults.append(Fault(f"{place}height at {_m(x)}", _m(height), allowed))
    if faults:
        raise InputError(faults)
    xs[0] = 0.0
    rects = [Rect(a, 0.0, b, h) for a, b, (_, h) in zip(xs, xs[1:], steps, strict=False)]
    return _level_joined(rects)


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


def _size_faults(wall: Wall, sizes: Sizes) -> list[Fault]:
    faults = []
    place = f'wall "{wall.name}", '
    for what, value, (low, high) in (
        ("stud_width", sizes.width, STUD_WIDTHS),
        ("stud_depth", sizes.depth, STUD_DEPTHS),
    ):
        if not low <= value <= high:
            faults.append(Fault(place + what, _m(value), f"{_m(low)} to {_m(high)}"))
    least = sizes.width + LEAST_GAP
    if wall.spacing < least:
        faults.append(Fault(place + "spacing", _m(wall.spacing), f"{_m(least)} or more"))
    return faults


def check(shell: Shell) -> None:
    """Refuse a wall whose parts do not fit into it.

    Raises
    ------
    InputError
        With every fault found.
    """
    faults = [*_post_faults(shell), *_floor_faults(shell)]
    for opening in shell.wall.openings:
        faults += _opening_faults(shell, opening)
    faults += _neighbour_faults(shell)
    faults += [*_brace_faults(shell), *_service_faults(shell)]
    if faults:
        raise InputError(faults)


def _post_faults(shell: Shell) -> list[Fault]:
    place = f'wall "{shell.wall.name}", '
    left, right = end_faces(shell)
    if right - left < LEAST_GAP:
        least = left + shell.length - right + LEAST_GAP
        return [Fault(place + "length", _m(shell.length), f"{_m(least)} or more with these posts")]
    faults = []
    extents: list[tuple[float, float]] = []
    for partition in shell.wall.partitions:
        x0, x1 = partition_extent(shell, partition)
        named = f"{place}partition at {_m(partition.at)}"
        if x0 < left - NEAR or x1 > right + NEAR:
            faults.append(Fault(named, f"post from {_m(x0)} to {_m(x1)}", _between(left, right)))
        if any(overlap(x0, x1, a, b) for a, b in extents):
            faults.append(Fault(named, "a post within another post", "posts that stand apart"))
        for opening in shell.wall.openings:
            if overlap(
                min(x0, partition.at - NEAR), max(x1, partition.at + NEAR), *span_of(opening)
            ):
                read = f'a partition post in the opening "{opening.name}"'
                faults.append(Fault(named, read, "a place beside the openings"))
        extents.append((x0, x1))
    return faults


def _floor_faults(shell: Shell) -> list[Fault]:
    band = floor_band(shell)
    top = min(c.z1 for c in shell.columns) - 3 * shell.width
    if band is None:
        return []
    low = band[0] - shell.sizes.strip
    if low >= -NEAR and band[1] <= top + NEAR:
        return []
    allowed = f"room for joists and ribbon below it, and at most {_m(top)}"
    return [Fault(f'wall "{shell.wall.name}", floor_line', _m(band[1]), allowed)]


def _opening_faults(shell: Shell, opening: Opening) -> list[Fault]:
    faults = []
    place = f'wall "{shell.wall.name}", opening "{opening.name}", '
    for what, value in (("width", opening.width), ("height", opening.height)):
        if value < LEAST_OPENING:
            faults.append(Fault(place + what, _m(value), f"{_m(LEAST_OPENING)} or more"))
    left, right = end_faces(shell)
    x0, x1 = span_of(opening)
    if x0 < left - NEAR or x1 > right + NEAR:
        read = f"from {_m(x0)} to {_m(x1)}, weight pockets included"
        faults.append(Fault(place + "left", read, _between(left, right)))
    head = opening.sill + opening.height
    ceiling = shell.ceiling(x0, x1)
    if head > ceiling + NEAR:
        allowed = f"a head at {_m(ceiling)} or lower, under the top plates"
        faults.append(Fault(place + "height", f"a head at {_m(head)}", allowed))
    elif opening.header_depth and opening.header_depth > ceiling - head + NEAR:
        allowed = f"{_m(ceiling - head)} or less, the room under the top plates"
        faults.append(Fault(place + "header_depth", _m(opening.header_depth), allowed))
    return faults


def _neighbour_faults(shell: Shell) -> list[Fault]:
    """Openings need a stud between them side by side, a header and a sill one over the other."""
    faults = []
    openings = sorted(shell.wall.openings, key=lambda o: (o.left, o.sill))
    for i, one in enumerate(openings):
        for other in openings[i + 1 :]:
            a, b = span_of(one), span_of(other)
            beside = b[0] >= a[1] + shell.width - NEAR
            low, high = sorted((one, other), key=lambda o: o.sill)
            least = (low.header_depth or 2 * shell.width) + 2 * shell.width
            # a foot apart in height only where one stands over the other
            stacked = high.sill - low.sill - low.height >= least and overlap(*a, *b)
            if not (beside or stacked):
                place = f'wall "{shell.wall.name}", opening "{other.name}", left'
                read = f'too close to the opening "{one.name}"'
                allowed = f"{_m(shell.width)} of stud between them, or {_m(least)} over it"
                faults.append(Fault(place, read, allowed))
    return faults


def _brace_faults(shell: Shell) -> list[Fault]:
    faults = []
    for number, brace in enumerate(shell.wall.braces, start=1):
        place = f'wall "{shell.wall.name}", brace {number}'
        run, rise = abs(brace.to_x - brace.from_x), abs(brace.to_z - brace.from_z)
        if max(brace.from_x, brace.to_x) > shell.length + NEAR:
            faults.append(
                Fault(place, _m(max(brace.from_x, brace.to_x)), _between(0, shell.length))
            )
        if max(brace.from_z, brace.to_z) > shell.height + NEAR:
            faults.append(
                Fault(place, _m(max(brace.from_z, brace.to_z)), _between(0, shell.height))
            )
        if run < shell.width or math.atan2(rise, run) > STEEPEST:
            read = f"{_m(run)} along the wall and {_m(rise)} up"
            faults.append(Fault(place, read, "a brace no steeper than 75 degrees"))
    return faults


def _service_faults(shell: Shell) -> list[Fault]:
    faults = []
    services = [(f"box ({box.kind})", box.x, box.z, False) for box in shell.wall.boxes]
    services += [
        (f"pipe ({pipe.kind})", pipe.x, pipe.z, pipe.run == "vertical") for pipe in shell.wall.pipes
    ]
    for what, x, z, whole_height in services:
        place = f'wall "{shell.wall.name}", {what} at {_m(x)}'
        if x > shell.length or z > _height_at(shell, x):
            faults.append(Fault(place, f"x {_m(x)}, z {_m(z)}", "a place on the wall"))
        for o in shell.wall.openings:
            at_height = whole_height or o.sill + NEAR < z < o.sill + o.height - NEAR
            if at_height and o.left + NEAR < x < o.left + o.width - NEAR:
                read = f'a place in the opening "{o.name}"'
                faults.append(Fault(place, read, "a place on wood or bay"))
    return faults


def _height_at(shell: Shell, x: float) -> float:
    return max((c.z1 for c in shell.columns if c.x0 - NEAR <= x <= c.x1 + NEAR), default=0.0)


def _m(value: float) -> str:
    return f"{value:.3f} m"


def _between(low: float, high: float) -> str:
    return f"{_m(low)} to {_m(high)}"
