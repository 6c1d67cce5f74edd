"""The joint map: a wall's framing with every run of joints numbered in working order."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from warmside.drawings.elevations import (
    LEAST,
    PHONE,
    SMALL,
    Plane,
    Spot,
    draw_bays,
    draw_heading,
    draw_holes,
    draw_members,
    draw_pockets,
    joint_lines,
    meet,
)
from warmside.drawings.lengths import Show, trade
from warmside.drawings.svg import COLD, INK, drawing, line, number, rect, tag, words, wrap
from warmside.framing import Frame

if TYPE_CHECKING:  # what draws loads no solver
    from warmside.site import Run

_EDGE = 14.0  # [user units] round the wall, for numbers that stand outside it
_PLATE, _ON_PLATE = "#ffffff", "#1c1c1c"  # of a number, over whatever lies behind it
_STEP = 5.0  # [user units] between two places tried for a number
_CLEAR = {"plate to floor": 3.0, "sill to foundation": 3.0, "plate to ceiling": -3.0}


def joint_map(
    frame: Frame,
    runs: Sequence[Run],
    sealed: Collection[str] = (),
    *,
    bays: bool = True,
    show: Show = trade,
    width: float = 600.0,
    max_height: float | None = None,
) -> str:
    """Elevation of a wall with its runs of joints numbered, as SVG.

    Parameters
    ----------
    frame : Frame
        The framing.
    runs : sequence of Run
        In working order.
    sealed : collection of str
        Keys of the runs that are done: drawn thin, their number ticked.
    bays : bool
        Name the bays too, for probes.
    show : callable
        Writes a length [m].
    width : float
        Width of the drawing [user units]; `PHONE` suits a phone.
    max_height : float, optional
        Greatest height of the wall itself [user units]; 0.6 of the width when not given.
    """
    heading = f"Wall {frame.wall}, {'joint map' if runs else 'framing'}"
    head, top = draw_heading(heading, width)
    room = width - 2 * _EDGE
    scale = min(room / frame.length, (max_height or 0.6 * width) / frame.height)
    plane = Plane(scale, _EDGE, top + _EDGE + frame.height * scale)
    taken = [plane.spot(member.rect) for member in frame.members if member.line is None]
    parts = draw_members(frame, plane) + draw_pockets(frame, plane)
    names: list[Spot] = []
    small = width <= PHONE
    least = SMALL if small else LEAST
    holes, _ = draw_holes(frame, plane, show, names, least)
    taken += [part for spot in names for part in _frame_of(spot)]
    parts += [_run(run, frame, plane, run.key in sealed, small) for run in runs]
    parts += holes
    numbers: list[Spot] = []
    for run in runs:
        parts += _number(run, plane, taken, numbers, width, run.key in sealed)
    taken += numbers
    if bays:
        named, _ = draw_bays(frame, plane, taken, least=least)
        parts += named
    end = plane.bottom + _EDGE
    hatched = "hatched: out of reach"
    key = f"number: a run of joints; with ✓ and thin: sealed; {hatched}" if runs else hatched
    for row in wrap(key, SMALL, width):
        end += 12
        parts.append(words(0, end, row, SMALL, opacity=0.75))
    return drawing(width, end + 4, heading, _in_words(frame, runs, sealed), [*head, *parts])


def bay_map(
    frame: Frame, read: Mapping[str, str], *, show: Show = trade, width: float = 760.0
) -> str:
    """Bays of a wall with what was read in them, as SVG.

    Parameters
    ----------
    frame : Frame
        The framing.
    read : mapping
        Name of a bay -> what was read there, as its reader writes it: ``2-1/16"/2"``.
    show : callable
        Writes a length [m].
    width : float
        Width of the drawing [user units].
    """
    heading = f"Wall {frame.wall}, thickness read"
    head, top = draw_heading(heading, width)
    scale = min((width - 2 * _EDGE) / frame.length, 0.6 * width / frame.height)
    plane = Plane(scale, _EDGE, top + frame.height * scale)
    taken = [plane.spot(member.rect) for member in frame.members if member.line is None]
    parts = draw_members(frame, plane) + draw_holes(frame, plane, show, taken)[0]
    named, unnamed = draw_bays(frame, plane, taken, read)
    told = "; ".join(f"{bay} {text}" for bay, text in read.items())
    lost = [name for name in unnamed if ":" in name]
    below = plane.bottom + 16
    if lost:
        parts.append(words(0, below, f"no room for {', '.join(lost)}", SMALL))
    return drawing(width, below + 4, heading, f"Probes: {told}.", [*head, *parts, *named])


def _frame_of(spot: Spot) -> list[Spot]:
    """An opening's four sides, and its middle, where its name stands."""
    x0, y0, x1, y1 = spot
    y, high = (y0 + y1) / 2, min(20.0, (y1 - y0) / 2)
    sides = [(x0, y0, x1, y0 + 4), (x0, y1 - 4, x1, y1), (x0, y0, x0 + 4, y1), (x1 - 4, y0, x1, y1)]
    return [*sides, (x0, y - high, x1, y + high)]


def _run(run: Run, frame: Frame, plane: Plane, done: bool, small: bool) -> str:
    path = "".join(
        f"M{number(plane.x(x0))} {number(plane.y(z0) + drop)}"
        f"L{number(plane.x(x1))} {number(plane.y(z1) + drop)}"
        for joint in run.joints
        for drop in (_CLEAR.get(joint.kind, 0.0),)  # clear of the plate's own line
        for x0, z0, x1, z1 in joint_lines(joint, frame)
    )
    return tag("path", d=path, fill="none", stroke=COLD, stroke_linecap="square",
               stroke_width=0.8 if done else 1.6 if small else 2.4)  # fmt: skip


def _number(
    run: Run, plane: Plane, taken: list[Spot], numbers: list[Spot], width: float, done: bool
) -> Iterator[str]:
    """A run's number on a plate beside its longest joint, with a leader to it.

    It stands where nothing else does; on a wall too small for that it may cover lumber, yet never
    another number.
    """
    text = f"{run.number}✓" if done else str(run.number)
    size = SMALL
    high, wide = size * 1.5, max(size * 1.5, size * 0.62 * len(text) + 5)
    x, y = plane.x(run.anchor[0]), plane.y(run.anchor[1])
    places = _free(x, y, wide, high, taken + numbers, width)
    u, v = places or _free(x, y, wide, high, numbers, width) or (x, y)
    numbers.append((u - wide / 2, v - high / 2, u + wide / 2, v + high / 2))
    if abs(u - x) > wide / 2 or abs(v - y) > high / 2:
        yield line(x, y, *_edge(x, y, u, v, wide, high), stroke_width=0.6, opacity=0.7)
    yield rect(u - wide / 2, v - high / 2, wide, high, rx=high / 2, fill=_PLATE, stroke=INK,
               stroke_width=0.6 if done else 1.2)  # fmt: skip
    yield words(u, v + size * 0.36, text, size, anchor="middle", bold=not done, fill=_ON_PLATE)


def _free(
    x: float, y: float, wide: float, high: float, taken: list[Spot], width: float
) -> tuple[float, float] | None:
    """The place nearest to (x, y) where a number of that size meets nothing, if there is one."""
    steps = range(-14, 15)
    near = sorted(((i * _STEP, k * _STEP) for i in steps for k in steps),
                  key=lambda p: (p[0] ** 2 + p[1] ** 2, p))  # fmt: skip
    for dx, dy in near:
        u, v = x + dx, y + dy
        if not wide / 2 <= u <= width - wide / 2:
            continue
        spot = (u - wide / 2 - 1, v - high / 2 - 1, u + wide / 2 + 1, v + high / 2 + 1)
        if not any(meet(spot, other) for other in taken):
            return u, v
    return None


def _edge(x: float, y: float, u: float, v: float, wide: float, high: float) -> tuple[float, float]:
    """Where the leader from (x, y) meets the number's frame at (u, v)."""
    dx, dy = x - u, y - v
    shrink = min(
        (wide / 2) / abs(dx) if dx else float("inf"), (high / 2) / abs(dy) if dy else float("inf")
    )
    return u + dx * min(shrink, 1.0), v + dy * min(shrink, 1.0)


def _in_words(frame: Frame, runs: Sequence[Run], sealed: Collection[str]) -> str:
    metres = sum(run.length for run in runs)
    done = sum(run.key in sealed for run in runs)
    return (
        f"Wall {frame.wall} seen from the room with {len(runs)} numbered runs of joints, "
        f"{metres:.0f} m in all, {done} of them sealed. The list beside it says what each is."
    )
