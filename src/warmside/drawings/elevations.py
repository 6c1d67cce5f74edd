"""The framing of a wall as seen from the room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from warmside.drawings.lengths import Show, trade
from warmside.drawings.svg import (
    COLD,
    INK,
    WARM,
    drawing,
    hatch,
    line,
    number,
    rect,
    shorten,
    tag,
    text_width,
    words,
    wrap,
)
from warmside.framing import Frame, Joint, JointKind, Member
from warmside.geometry import Rect
from warmside.options import BuildUp
from warmside.survey import Wall
from warmside.wording import counted

TEXT = 11.0  # [user units]
SMALL = 9.5
PHONE = 308.0  # [user units] wide on a phone's 358 px: the small letters are 11 px high there
COLUMN = 450.0  # [user units] up to this wide it is printed smaller still: no letter below SMALL
KEY = 130.0  # [user units] width of a column of the key
LEAST = 8.0  # the smallest name inside a bay or an opening: 6 points on the crew sheet's map
RIGHT = 8.0
NOTE = "seen from the warm side; cold side behind"

Spot = tuple[float, float, float, float]  # x0, y0, x1, y1 [user units]


@dataclass(frozen=True)
class _Look:
    """How one family of members is drawn: words of the key, line weight, marking."""

    words: str
    weight: float
    marking: str = ""  # "", "up", "down" (hatch) or "cross"


# the first row with a word of the member's kind holds; the last one takes the rest
_LOOKS: tuple[tuple[frozenset[str], _Look], ...] = (
    (frozenset({"plate"}), _Look("plate", 1.7)),
    (frozenset({"header"}), _Look("header", 1.4, "down")),
    (
        frozenset({"post", "corner", "backer", "partition"}),
        _Look("post", 1.1, "up"),
    ),
    (frozenset({"block", "ribbon", "ledger"}), _Look("block or ribbon", 1.1, "cross")),
    (frozenset({"joist", "rim"}), _Look("joist end", 1.1, "cross")),
    (frozenset({"king", "trimmer", "sill"}), _Look("king, trimmer, sill", 1.3)),
)
_PLAIN = _Look("stud or cripple", 0.7)
_JOINTS: tuple[tuple[str, str, frozenset[JointKind]], ...] = (
    (
        "joint, wood to wood",
        "6 3",
        frozenset(
            {"stud to stud", "plate to plate", "plate splice", "stud to plate", "header plies"}
        ),
    ),
    (
        "joint, floor or ceiling",
        "14 4",
        frozenset({"plate to floor", "plate to ceiling", "sill to foundation"}),
    ),
    (
        "joint round opening",
        "2 2.5",
        frozenset({"header to frame", "sill to frame", "opening perimeter"}),
    ),
    (
        "joint, blocks, ribbon",
        "9 3 2 3",
        frozenset({"ribbon and joist", "block to stud", "brace notch"}),
    ),
)


@dataclass(frozen=True)
class Plane:
    """The wall's plane on the sheet: metres to user units, ``z`` upwards."""

    scale: float  # [user units per m]
    left: float
    bottom: float

    def x(self, x: float) -> float:
        """Pixels across of ``x`` [m] along the wall."""
        return self.left + x * self.scale

    def y(self, z: float) -> float:
        """Pixels down of ``z`` [m] above the foot of the wall."""
        return self.bottom - z * self.scale

    def spot(self, r: Rect) -> Spot:
        """Corners of ``r`` in pixels: left, top, right, bottom."""
        return self.x(r.x0), self.y(r.z1), self.x(r.x1), self.y(r.z0)


def elevation(
    frame: Frame,
    wall: Wall | None = None,
    build_up: BuildUp | None = None,
    *,
    show: Show = trade,
    width: float = 600.0,
    max_height: float | None = None,
    title: str | None = None,
) -> str:
    """Framing elevation of a wall, seen from the room, as SVG.

    Parameters
    ----------
    frame : Frame
        The framing.
    wall : Wall, optional
        The surveyed wall: gives the kinds of boxes and pipes.
    build_up : BuildUp, optional
        Names the option in the heading.
    show : callable
        Writes a length [m]; ``trade`` or ``metric``.
    width : float
        Width of the drawing [user units]; texts keep their size, so `PHONE` suits a phone, where
        names without room for letters that can be read there are told in words.
    max_height : float, optional
        Greatest height of the wall itself [user units]; 0.6 of the width when not given.
    title : str, optional
        Heading; the wall's name when not given.

    Returns
    -------
    str
        The SVG; its ``data-plane`` says where the wall lies in it: user units per metre, then
        ``x`` of the wall's left end and ``y`` of its bottom.
    """
    heading = title or f"Wall {frame.wall}, framing"
    if build_up is not None:
        heading += f", {build_up.option.name}"
    head, top = draw_heading(heading, width)
    left = 14 + max(text_width(show(level), SMALL) for level in _levels(frame))
    room = width - left - RIGHT
    scale = min(room / frame.length, (max_height or 0.6 * width) / frame.height)
    plane = Plane(scale, left, top + frame.height * scale)
    taken, least = _taken(frame, plane), SMALL if width <= COLUMN else LEAST
    framing = draw_members(frame, plane) + draw_pockets(frame, plane) + _joints(frame, plane)
    holes, nameless_holes = draw_holes(frame, plane, show, taken, least)
    services = _services(frame, wall, plane, taken)
    bays, nameless_bays = draw_bays(frame, plane, taken, least=least)
    sizes = _heights(frame, plane, show) + draw_widths(frame, plane, show)
    key, end = _legend(frame, wall, plane, width, top)
    parts = [*head, *framing, *holes, *services, *bays, *sizes, *key]
    told = _in_words(frame, show, nameless_holes + nameless_bays)
    lies = " ".join(number(value) for value in (plane.scale, plane.left, plane.bottom))
    return drawing(width, end + 4, heading, told, parts, data_plane=lies)


def _taken(frame: Frame, plane: Plane) -> list[Spot]:
    """Spots where a name would be crossed: pieces that run across bays, and pockets."""
    across = {"block", "ribbon", "ledger", "joist", "rim"}
    rects = [member.rect for member in frame.members if across & set(member.kind.split())]
    return [plane.spot(r) for r in (*rects, *(pocket.rect for pocket in frame.pockets))]


def _legend(
    frame: Frame, wall: Wall | None, plane: Plane, width: float, top: float
) -> tuple[list[str], float]:
    """Scale bar and key; also the lowest line used."""
    below = plane.bottom + 54
    key, x = _key(frame, wall), plane.x(frame.length) + 24
    if width - x > 206:  # a tall wall leaves room for its key beside it
        parts, end = _draw_key(key, x, top + 6, width - x, 1)
        end = max(end, below + 14)
    else:
        parts, end = _draw_key(key, 0, below + 16, width, max(1, int(width // KEY)))
    return [*_scale_bar(plane, below), *parts], end


def draw_heading(heading: str, width: float) -> tuple[list[str], float]:
    """Heading and note on one line, or on two where they would meet; also where the wall starts."""
    size = TEXT + 1
    note = text_width(NOTE, SMALL)
    apart = text_width(heading, size, bold=True) + note + 12 > width
    y, anchor, x = (24.0, "start", 0.0) if apart else (11.0, "end", width)
    return [
        words(0, 11, shorten(heading, size, width, bold=True), size, bold=True),
        words(x, y, shorten(NOTE, SMALL, width), SMALL, anchor=anchor, opacity=0.75),
    ], y + 13


def _levels(frame: Frame) -> list[float]:
    """Heights worth writing [m]: the wall's own first, then the openings' and the steps'."""
    levels = [0.0, frame.height]
    for hole in frame.holes:
        levels += [hole.rect.z1, hole.rect.z0]
    return levels + [column.z1 for column in frame.outline]


def _short(name: str) -> str:
    """A bay's name as drawn: ``bay 7`` as ``B7``."""
    return f"B{name.removeprefix('bay ')}" if name.startswith("bay ") else name


def _size(name: str, r: Rect, scale: float, least: float) -> tuple[float, bool] | None:
    """Size of a name that fits its bay, and whether it is turned; None where none does."""
    wide, high = r.width * scale - 2, r.height * scale - 2
    if wide >= text_width(name, TEXT) + 2 and high >= TEXT:
        return TEXT, False
    size = min(TEXT, wide * 1.15)
    if size >= least and high >= text_width(name, size) + 2:
        return size, True
    return None


def _look(member: Member) -> _Look:
    kind = set(member.kind.split())
    return next((look for names, look in _LOOKS if kind & names), _PLAIN)


def draw_members(frame: Frame, plane: Plane) -> list[str]:
    """Members from the outer face towards the room, each outline once."""
    parts: list[str] = []
    seen: set[tuple[Rect, str]] = set()
    for member in sorted(frame.members, key=lambda m: -m.y0):
        if member.line is not None:
            parts.append(_diagonal(member.line, plane))
        elif (member.rect, member.kind) not in seen:
            seen.add((member.rect, member.kind))
            parts.append(_member(member, plane))
    for column in frame.outline:
        x0, y0, x1, y1 = plane.spot(column)
        parts.append(rect(x0, y0, x1 - x0, y1 - y0, fill="none", stroke=INK, stroke_width=0.5))
    return parts


def _member(member: Member, plane: Plane) -> str:
    x0, y0, x1, y1 = plane.spot(member.rect)
    look = _look(member)
    return rect(
        x0, y0, x1 - x0, y1 - y0,
        fill=WARM, fill_opacity=0.13, stroke=INK, stroke_width=look.weight,
    ) + _marking(look, x0, y0, x1 - x0, y1 - y0)  # fmt: skip


def _marking(look: _Look, x: float, y: float, width: float, height: float) -> str:
    if look.marking == "cross":
        path = (
            f"M{x:.2f} {y:.2f}l{width:.2f} {height:.2f}"
            f"M{x:.2f} {y + height:.2f}l{width:.2f} {-height:.2f}"
        )
    elif look.marking:
        path = hatch(x, y, width, height, 4.0, down=look.marking == "down")
    else:
        return ""
    return tag("path", d=path, fill="none", stroke=INK, stroke_width=0.45) if path else ""


def _diagonal(ends: tuple[float, float, float, float], plane: Plane) -> str:
    x0, z0, x1, z1 = ends
    half = 0.5 * 0.0889 * plane.scale  # a 1x4 seen from its face
    a, b, c, d = plane.x(x0), plane.y(z0), plane.x(x1), plane.y(z1)
    long = hypot(c - a, d - b) or 1.0
    u, v = -(d - b) / long * half, (c - a) / long * half
    return "".join(
        line(a + k * u, b + k * v, c + k * u, d + k * v, stroke_width=0.9, stroke_dasharray="10 2")
        for k in (-1, 1)
    )


def draw_pockets(frame: Frame, plane: Plane) -> list[str]:
    """Marks where foam does not reach, each place once."""
    parts = []
    for r in {pocket.rect: None for pocket in frame.pockets}:
        x0, y0, x1, y1 = plane.spot(r)
        path = hatch(x0, y0, x1 - x0, y1 - y0, 3.0) + hatch(
            x0, y0, x1 - x0, y1 - y0, 3.0, down=True
        )
        parts.append(tag("path", d=path, fill="none", stroke=COLD, stroke_width=0.6))
        parts.append(rect(x0, y0, x1 - x0, y1 - y0, fill="none", stroke=COLD, stroke_width=0.9))
    return parts


def _joints(frame: Frame, plane: Plane) -> list[str]:
    """One path for each family of joints, in its dash."""
    clear = {"plate to floor": 3.5, "sill to foundation": 3.5, "plate to ceiling": -3.5}
    parts = []
    for _, dash, kinds in _JOINTS:
        path = "".join(
            f"M{number(plane.x(x0))} {number(plane.y(z0) + drop)}"
            f"L{number(plane.x(x1))} {number(plane.y(z1) + drop)}"
            for joint in frame.joints
            if joint.kind in kinds
            for drop in (clear.get(joint.kind, 0.0),)  # clear of the plate's own thick line
            for x0, z0, x1, z1 in joint_lines(joint, frame)
        )
        if path:
            parts.append(
                tag("path", d=path, fill="none", stroke=COLD, stroke_width=1.8,
                    stroke_dasharray=dash)
            )  # fmt: skip
    return parts


def joint_lines(joint: Joint, frame: Frame) -> Iterable[tuple[float, float, float, float]]:
    """A joint's line; an opening's perimeter is drawn round the opening."""
    hole = next((h for h in frame.holes if h.name == joint.opening), None)
    if joint.kind != "opening perimeter" or hole is None:
        return [joint.line]
    r = hole.rect
    return [
        (r.x0, r.z0, r.x1, r.z0),
        (r.x1, r.z0, r.x1, r.z1),
        (r.x1, r.z1, r.x0, r.z1),
        (r.x0, r.z1, r.x0, r.z0),
    ]


def draw_holes(
    frame: Frame, plane: Plane, show: Show, taken: list[Spot], least: float = LEAST
) -> tuple[list[str], list[str]]:
    """Openings with their names and sizes; and the names that found no room."""
    parts, unnamed = [], []
    for hole in frame.holes:
        x0, y0, x1, y1 = plane.spot(hole.rect)
        parts.append(rect(x0, y0, x1 - x0, y1 - y0, fill="none", stroke=INK, stroke_width=0.8))
        if min(x1 - x0, y1 - y0) > 12:
            parts.append(
                rect(x0 + 3, y0 + 3, x1 - x0 - 6, y1 - y0 - 6, fill="none", stroke=INK,
                     stroke_width=0.4)
            )  # fmt: skip
        size = show(hole.rect.width), show(hole.rect.height)
        caption, whole = _caption(hole.name, size, (x0, y0, x1, y1), least)
        parts += caption
        if not whole:
            unnamed.append(hole.name)
        taken.append((x0, y0, x1, y1))
    return parts, unnamed


def _caption(name: str, size: tuple[str, str], spot: Spot, least: float) -> tuple[list[str], bool]:
    """An opening's name in the largest letters that hold it, its size below where that fits.

    Also whether the name stands there whole.
    """
    x0, y0, x1, y1 = spot
    wide, high = x1 - x0 - 9, y1 - y0 - 9
    if text_width(name, SMALL, bold=True) > wide:
        name = name.removesuffix(" window").removesuffix(" door")
    for letters in (letters for letters in (TEXT, SMALL, LEAST) if letters >= least):
        named = wrap(name, letters, wide, max(1, int(high // (letters * 1.15))), bold=True)
        if not any(text.endswith("…") for text in named):
            break
    if any(len(text) < 4 and text.endswith("…") for text in named):
        return [], False
    whole = not any(text.endswith("…") for text in named)
    sized = [" × ".join(size)]
    if text_width(sized[0], SMALL) > wide:  # between the two lengths, and within neither
        sized = [f"{size[0]} ×", size[1]]
    if (
        any(text_width(text, SMALL) > wide for text in sized)
        or high < (len(named) + len(sized)) * 12.5
    ):
        sized = []
    lines = [(text, letters, True) for text in named] + [(text, SMALL, False) for text in sized]
    y = (y0 + y1) / 2 - sum(letters * 1.15 for _, letters, _ in lines) / 2
    parts = []
    for text, letters, bold in lines:
        y += letters * 1.15
        parts.append(
            words((x0 + x1) / 2, y - letters * 0.3, text, letters, anchor="middle", bold=bold)
        )
    return parts, whole


def _services(frame: Frame, wall: Wall | None, plane: Plane, taken: list[Spot]) -> list[str]:
    """Boxes as a framed square, what passes through as a ring, what runs up a bay as a line."""
    parts: list[str] = []
    if wall is None:
        found = [(j.kind, j.line[0], j.line[1]) for j in frame.joints]
        boxes = [(x, z) for kind, x, z in found if kind == "box"]
        rings = [(x, z) for kind, x, z in found if kind == "penetration"]
    else:
        boxes = [(box.x, box.z) for box in wall.boxes]
        rings = [(pipe.x, pipe.z) for pipe in wall.pipes if pipe.run == "through"]
        for pipe in wall.pipes:
            if pipe.run == "vertical":
                x = plane.x(pipe.x)
                parts.append(
                    line(x, plane.y(0), x, plane.y(frame.height), stroke_width=2.4, opacity=0.55)
                )
                taken.append((x - 3, plane.y(frame.height), x + 3, plane.y(0)))
    for x, z in boxes:
        u, v = plane.x(x), plane.y(z)
        parts.append(_box_mark(u, v))
        taken.append((u - 6, v - 6, u + 6, v + 6))
    for x, z in rings:
        u, v = plane.x(x), plane.y(z)
        parts.append(_ring_mark(u, v))
        taken.append((u - 6, v - 6, u + 6, v + 6))
    return parts


def _box_mark(x: float, y: float) -> str:
    return rect(x - 4, y - 4, 8, 8, fill="none", stroke=INK, stroke_width=1.4) + rect(
        x - 1.5, y - 1.5, 3, 3, fill=INK
    )


def _ring_mark(x: float, y: float) -> str:
    return tag("circle", cx=x, cy=y, r=4, fill="none", stroke=INK, stroke_width=1.4) + tag(
        "circle", cx=x, cy=y, r=1.2, fill=INK
    )


def draw_bays(
    frame: Frame,
    plane: Plane,
    taken: list[Spot],
    notes: Mapping[str, str] | None = None,
    least: float = LEAST,
) -> tuple[list[str], list[str]]:
    """Names of the bays, across or upwards, with their ``notes``; and those without room."""
    parts, unnamed = [], []
    slopes = [m.line for m in frame.members if m.line is not None]
    for bay in sorted(frame.bays, key=lambda b: b.rect.x0):
        note = (notes or {}).get(bay.name, "")
        name = f"{_short(bay.name)}: {note}" if note else _short(bay.name)
        fit = _size(name, bay.rect, plane.scale, least)
        if fit is None:
            unnamed.append(name)
            continue
        size, turned = fit
        place = _place(bay.rect, name, fit, plane, taken, slopes)
        if place is None:
            unnamed.append(name)
            continue
        x, y = place
        dx, dy = (size * 0.36, 0.0) if turned else (0.0, size * 0.36)
        bold = bool(note)
        parts.append(words(x + dx, y + dy, name, size, anchor="middle", bold=bold, turned=turned))
    return parts, unnamed


def _place(
    bay: Rect,
    name: str,
    fit: tuple[float, bool],
    plane: Plane,
    taken: list[Spot],
    slopes: list[tuple[float, float, float, float]],
) -> tuple[float, float] | None:
    """Middle of the bay's name where it meets nothing else, if there is such a place."""
    size, turned = fit
    x0, y0, x1, y1 = plane.spot(bay)
    long = text_width(name, size) + 2
    half = (size / 2, long / 2) if turned else (long / 2, size / 2)
    x = (x0 + x1) / 2
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
        y = y0 + share * (y1 - y0)
        spot = (x - half[0], y - half[1], x + half[0], y + half[1])
        if spot[1] < y0 or spot[3] > y1:
            continue
        if any(meet(spot, other) for other in taken):
            continue
        if any(_crosses(spot, slope, plane) for slope in slopes):
            continue
        taken.append(spot)
        return x, y
    return None


def meet(a: Spot, b: Spot) -> bool:
    """Whether two boxes overlap."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _crosses(spot: Spot, slope: tuple[float, float, float, float], plane: Plane) -> bool:
    """Whether a brace passes over the spot (sampled along its line)."""
    x0, z0, x1, z1 = slope
    pad = 0.05 * plane.scale + 2
    near = (spot[0] - pad, spot[1] - pad, spot[2] + pad, spot[3] + pad)
    for i in range(201):
        t = i / 200
        x, y = plane.x(x0 + t * (x1 - x0)), plane.y(z0 + t * (z1 - z0))
        if near[0] < x < near[2] and near[1] < y < near[3]:
            return True
    return False


def _heights(frame: Frame, plane: Plane, show: Show) -> list[str]:
    """Heights above the bottom plate at the left, where they have room."""
    x = plane.left - 6
    parts = [line(x, plane.y(0), x, plane.y(frame.height), stroke_width=0.6)]
    used: list[float] = []
    for level in _levels(frame):
        y = plane.y(level)
        if all(abs(y - other) >= TEXT for other in used):
            used.append(y)
            parts.append(line(x - 3, y, x + 3, y, stroke_width=0.8))
            parts.append(words(x - 6, y + 3.4, show(level), SMALL, anchor="end"))
    return parts


def draw_widths(frame: Frame, plane: Plane, show: Show) -> list[str]:
    """Widths along the bottom: a chain over the openings, and the whole length below it."""
    edges = {0.0, frame.length}
    for hole in frame.holes:
        edges |= {hole.rect.x0, hole.rect.x1}
    stops = sorted(edges)
    y = plane.bottom + 10
    parts = []
    if len(stops) > 2:
        parts += _chain(stops, plane, y, show)
    y += 22
    x0, x1 = plane.x(0), plane.x(frame.length)
    text = show(frame.length)
    parts += [
        line(x0, y, x1, y, stroke_width=0.6),
        *(line(x, y - 3, x, y + 3, stroke_width=0.8) for x in (x0, x1)),
        words((x0 + x1) / 2, y + 11, f"{text} over all", SMALL, anchor="middle"),
    ]
    return parts


def _chain(stops: list[float], plane: Plane, y: float, show: Show) -> list[str]:
    x0, x1 = plane.x(stops[0]), plane.x(stops[-1])
    parts = [line(x0, y, x1, y, stroke_width=0.6)]
    parts += [line(plane.x(s), y - 3, plane.x(s), y + 3, stroke_width=0.8) for s in stops]
    free_from = x0 - 4
    for a, b in pairwise(stops):
        text, middle = show(b - a), (plane.x(a) + plane.x(b)) / 2
        half = text_width(text, SMALL) / 2
        if middle - half >= free_from:
            parts.append(words(middle, y + 11, text, SMALL, anchor="middle"))
            free_from = middle + half + 4
    return parts


def _scale_bar(plane: Plane, y: float) -> list[str]:
    """A bar of whole feet with its length in words."""
    foot = 0.3048 * plane.scale
    feet = next((n for n in (1, 2, 4, 8, 16) if n * foot >= 50), 32)
    long = feet * foot
    text = f"{feet} ft = {feet * 0.3048:.2f} m"
    return [
        rect(plane.left, y, long / 2, 4, fill=INK, stroke=INK, stroke_width=0.6),
        rect(plane.left + long / 2, y, long / 2, 4, fill="none", stroke=INK, stroke_width=0.6),
        words(plane.left + long + 6, y + 5, text, SMALL),
    ]


def _key(frame: Frame, wall: Wall | None) -> list[tuple[str, str]]:
    """Swatches with their words, only of what the drawing shows; swatch box 22 by 10."""
    key: list[tuple[str, str]] = []
    shown = {_look(member) for member in frame.members if member.line is None}
    for look in [*dict.fromkeys(look for _, look in _LOOKS), _PLAIN]:
        if look in shown:
            swatch = rect(0.5, 0.5, 21, 9, fill=WARM, fill_opacity=0.13, stroke=INK,
                          stroke_width=look.weight)  # fmt: skip
            key.append((swatch + _marking(look, 0.5, 0.5, 21, 9), look.words))
    if any(member.line is not None for member in frame.members):
        swatch = "".join(
            line(0, y, 22, y, stroke_width=0.9, stroke_dasharray="10 2") for y in (2, 8)
        )
        key.append((swatch, "let-in brace"))
    for text, dash, kinds in _JOINTS:
        if any(joint.kind in kinds for joint in frame.joints):
            swatch = line(0, 5, 24, 5, stroke=COLD, stroke_width=1.8, stroke_dasharray=dash)
            key.append((swatch, text))
    if frame.pockets:
        path = hatch(0.5, 0.5, 21, 9, 3.0) + hatch(0.5, 0.5, 21, 9, 3.0, down=True)
        key.append(
            (tag("path", d=path, fill="none", stroke=COLD, stroke_width=0.6), "foam cannot reach")
        )
    present = {joint.kind for joint in frame.joints}
    if "box" in present or (wall and wall.boxes):
        key.append((_box_mark(11, 5), "electrical box"))
    through = wall and any(pipe.run == "through" for pipe in wall.pipes)
    if through or (wall is None and "penetration" in present):
        key.append((_ring_mark(11, 5), "pipe through the wall"))
    if wall and any(pipe.run == "vertical" for pipe in wall.pipes):
        key.append((line(0, 5, 22, 5, stroke_width=2.4, opacity=0.55), "pipe up the wall"))
    return key


def _draw_key(
    key: list[tuple[str, str]], x: float, y: float, width: float, columns: int
) -> tuple[list[str], float]:
    """The key in columns from (x, y); also the lowest line used."""
    step = width / columns
    rows = -(-len(key) // columns)
    parts = []
    for i, (swatch, text) in enumerate(key):
        column, row = divmod(i, rows)
        u, v = x + column * step, y + row * 13
        parts.append(tag("g", swatch, transform=f"translate({u:.2f} {v:.2f})"))
        parts.append(words(u + 29, v + 8.5, shorten(text, SMALL, step - 30), SMALL))
    return parts, y + rows * 13


def _in_words(frame: Frame, show: Show, unnamed: list[str]) -> str:
    """What the drawing shows, for those who cannot see it, and the names it has no room for."""
    missing = f" No room in it for these names: {', '.join(unnamed)}." if unnamed else ""
    joints = sum(joint.length for joint in frame.joints)
    return (
        f"Wall {frame.wall} seen from the room, {show(frame.length)} long and "
        f"{show(frame.height)} high, with {counted(len(frame.members), 'member')}, "
        f"{counted(len(frame.bays), 'bay')}, {counted(len(frame.holes), 'opening')}, "
        f"{counted(len(frame.pockets), 'pocket')} that foam cannot reach and joints of "
        f"{show(joints)} in all.{missing}"
    )
