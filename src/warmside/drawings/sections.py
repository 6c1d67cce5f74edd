"""A horizontal section through a bay and a stud, with its temperatures beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor
from typing import TYPE_CHECKING

from warmside.drawings.lengths import Show, both
from warmside.drawings.svg import (
    COLD,
    INK,
    WARM,
    drawing,
    hatch,
    line,
    polyline,
    rect,
    shorten,
    spread,
    tag,
    text_width,
    words,
    wrap,
)
from warmside.errors import Fault, InputError
from warmside.options import BuildUp
from warmside.physics.assembly import Layer, Stack
from warmside.wording import PAPER, Style

if TYPE_CHECKING:  # what draws loads no solver
    from warmside.physics.conduction import Profile

TEXT = 10.5
SMALL = 9.5
THINNEST = 2.5  # a membrane is drawn at least this thick [user units]
_LEADER = 20.0  # from a layer to its name [user units]
_BEYOND = 8.0  # that names may stand above and below the layers [user units]


@dataclass(frozen=True)
class DesignState:
    """The state that the temperatures are drawn for [degC]; ``dew_point`` is the room air's.

    ``style`` is how the reader of the drawing writes temperatures.
    """

    indoor: float
    outdoor: float
    dew_point: float | None = None
    style: Style = PAPER


@dataclass(frozen=True)
class _Slice:
    """One drawn layer: place on the sheet, and the layer in the bay and in the stud."""

    y0: float  # nearer the outside (upper) [user units]
    y1: float
    bay: Layer
    stud: Layer


def section(
    build_up: BuildUp,
    state: DesignState | None = None,
    bay: Profile | None = None,
    stud: Profile | None = None,
    *,
    show: Show = both,
    width: float = 600.0,
    depth: float = 150.0,
    title: str | None = None,
) -> str:
    """Horizontal section through a bay and a stud, outside at the top, room at the bottom.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall; needs a stack of kind ``bay`` and one of kind ``stud``.
    state : DesignState, optional
        Indoor and outdoor temperature and dew point [degC]; without it no graph is drawn.
    bay, stud : Profile, optional
        Temperatures through the bay and through the stud at that state [degC].
    show : callable
        Writes a thickness [m]: ``both``, ``trade`` or ``metric``.
    width : float
        Width of the drawing [user units]; 390 suits a phone.
    depth : float
        Height given to the layers [user units]; more where their names need it.
    title : str, optional
        Heading; the wall and the option when not given.

    Raises
    ------
    InputError
        A stack is missing, or a profile does not fit its layers.
    """
    in_bay, in_stud = _stack(build_up, "bay"), _stack(build_up, "stud", "double stud")
    for name, profile, stack in (("bay", bay, in_bay), ("stud", stud, in_stud)):
        _check(name, profile, stack)
    heading = title or _heading(build_up, width)
    top = 52.0
    drawn = state is not None and (bay is not None or stud is not None)
    wide = width >= 450
    plan = (0.0, width * (0.25 if wide else 0.19))
    label_end = width * (1.0 if not drawn else 0.62 if wide else 0.67)
    graph = (label_end + 14, width - 8)
    slices = _slices(in_bay, in_stud, top, depth)
    labels = _labels(slices, label_end - plan[1] - _LEADER, show)
    if (needed := sum(label.size for label in labels) - 2 * _BEYOND) > depth:
        slices = _slices(in_bay, in_stud, top, needed)
        labels = _labels(slices, label_end - plan[1] - _LEADER, show)
    bottom = slices[0].y1
    parts = [
        words(0, 11, shorten(heading, TEXT + 1.5, width, bold=True), TEXT + 1.5, bold=True),
        *_sides(state, top, bottom, width),
        *_plan(slices, *plan),
        *_beside(labels, plan[1], top, bottom),
    ]
    end = bottom + 32
    if drawn and state is not None:
        parts += _graph(slices, state, bay, stud, graph)
        notes = _readings(in_bay, state, bay, stud)
        for text in (row for note in notes for row in wrap(note, SMALL, width, 3)):
            end += 13
            parts.append(words(0, end, text, SMALL))
    return drawing(width, end + 5, heading, _in_words(build_up, in_bay, state, bay, stud), parts)


def _heading(build_up: BuildUp, width: float) -> str:
    """The fullest heading that fits; the description always names wall and option."""
    option, last = f"{build_up.option.name}, section from above", "Section from above"
    fits = (
        text
        for text in (f"Wall {build_up.wall}, {option}", option)
        if text_width(text, TEXT + 1.5, bold=True) <= width
    )
    return next(fits, last)


def _stack(build_up: BuildUp, *kinds: str) -> Stack:
    """The largest stack of the first of ``kinds`` that the wall has."""
    for kind in kinds:
        if here := [stack for stack in build_up.stacks if stack.kind == kind]:
            return max(here, key=lambda stack: stack.area)
    raise InputError(
        [Fault("section, stacks", f"none of kind {kinds[0]}", "a stack for the bay and the stud")]
    )


def _check(name: str, profile: Profile | None, stack: Stack) -> None:
    if profile is not None and len(profile.temperatures) != len(stack.layers) + 1:
        raise InputError(
            [
                Fault(
                    f"section, {name} profile",
                    f"{len(profile.temperatures)} temperatures",
                    f"{len(stack.layers) + 1}, one more than layers",
                )
            ]
        )


def _slices(bay: Stack, stud: Stack, top: float, depth: float) -> list[_Slice]:
    """Layers to scale, room side first, drawn from the bottom up."""
    total = sum(layer.thickness for layer in bay.layers)
    heights = [max(THINNEST, layer.thickness / total * depth) for layer in bay.layers]
    y = top + sum(heights)
    slices = []
    for height, in_bay, in_stud in zip(heights, bay.layers, stud.layers, strict=True):
        slices.append(_Slice(y - height, y, in_bay, in_stud))
        y -= height
    return slices


def _sides(state: DesignState | None, top: float, bottom: float, width: float) -> list[str]:
    cold, warm = "COLD SIDE (outside)", "WARM SIDE (room)"
    if state is not None:
        cold += f" {_degrees(state.outdoor, state.style)}"
        warm += f" {_degrees(state.indoor, state.style)}"
    return [
        line(0, top - 12, width, top - 12, stroke=COLD, stroke_width=2.2),
        words(0, top - 18, cold, TEXT, bold=True, fill=COLD),
        line(0, bottom + 12, width, bottom + 12, stroke=WARM, stroke_width=2.2),
        words(0, bottom + 25, warm, TEXT, bold=True, fill=WARM),
    ]


def _degrees(value: float, style: Style) -> str:
    return style(value, "temperature").replace("-", "−")


def _plan(slices: list[_Slice], x0: float, x1: float) -> list[str]:
    """Bay, stud, bay; runs of the same layer are drawn as one."""
    middle, half = (x0 + x1) / 2, 0.13 * (x1 - x0)
    a, b = middle - half, middle + half
    wood = [s for s in slices if s.stud != s.bay]
    name, clear = "", (0.0, 0.0)
    if wood:
        centre, room = (wood[0].y1 + wood[-1].y0) / 2, wood[0].y1 - wood[-1].y0
        name = wood[0].stud.name
        if text_width(name, SMALL) > room - 6:
            name = shorten("stud", SMALL, room - 6)
        long = text_width(name, SMALL) / 2 + 4
        clear = (centre - long, centre + long) if name else clear
    parts = []
    for y0, y1, layer in _runs([(s.y0, s.y1, s.stud) for s in slices], within=slices):
        if any(s.stud != s.bay for s in slices if y0 <= s.y0 and s.y1 <= y1):
            parts.append(_fill(a, y0, b - a, y1 - y0, layer, clear))
    for y0, y1, layer in _runs([(s.y0, s.y1, s.bay) for s in slices], within=slices):
        through = all(s.stud == s.bay for s in slices if y0 <= s.y0 and s.y1 <= y1)
        if through:
            parts.append(_fill(x0, y0, x1 - x0, y1 - y0, layer))
        else:
            parts.append(_fill(x0, y0, a - x0, y1 - y0, layer))
            parts.append(_fill(b, y0, x1 - b, y1 - y0, layer))
    if name:
        parts.append(words(middle + 3.4, sum(clear) / 2, name, SMALL, anchor="middle", turned=True))
    return parts


def _runs(
    layers: list[tuple[float, float, Layer]], within: list[_Slice]
) -> list[tuple[float, float, Layer]]:
    """Neighbours of the same name joined where stud and bay both allow it."""
    runs: list[tuple[float, float, Layer]] = []
    for i, (y0, y1, layer) in enumerate(layers):
        if (
            runs
            and runs[-1][2].name == layer.name
            and ((within[i].stud == within[i].bay) == (within[i - 1].stud == within[i - 1].bay))
        ):
            runs[-1] = (y0, runs[-1][1], layer)
        else:
            runs.append((y0, y1, layer))
    return runs


def _fill(
    x: float,
    y: float,
    width: float,
    height: float,
    layer: Layer,
    clear: tuple[float, float] = (0.0, 0.0),
) -> str:
    """A layer by its role: hatch and line weight carry the meaning, the tint only helps.

    Wood is left unhatched between the heights ``clear``, where its name stands.
    """
    tint, share, gap, weight = {
        "foam": (WARM, 0.30, 0.0, 1.4),
        "fill": (WARM, 0.10, 0.0, 0.7),
        "wood": (INK, 0.07, 5.0, 1.2),
        "furring": (INK, 0.07, 5.0, 1.0),
        "board": (WARM, 0.20, 0.0, 1.0),
        "gap": (COLD, 0.05, 0.0, 0.5),
        "vapour control": (INK, 0.75, 0.0, 0.5),
        "paper": (INK, 0.45, 0.0, 0.5),
    }.get(layer.role, (INK, 0.04, 0.0, 0.9))
    parts = rect(
        x, y, width, height, fill=tint, fill_opacity=share, stroke=INK, stroke_width=weight
    )
    path = ""
    if gap:
        upper, lower = min(max(clear[0], y), y + height), max(min(clear[1], y + height), y)
        if clear == (0.0, 0.0):
            upper, lower = y, y
        path = hatch(x, y, width, upper - y, gap)
        path += hatch(x, lower, width, y + height - lower, gap)
    elif layer.role == "fill" and height > 6:
        path = _waves(x, y, width, height)
    elif layer.role == "foam" and height > 4:
        path = _cells(x, y, width, height)
    return parts + (tag("path", d=path, fill="none", stroke=INK, stroke_width=0.4) if path else "")


def _waves(x: float, y: float, width: float, height: float) -> str:
    """Batt: a zigzag of loops from face to face."""
    step = 7.0
    count = max(2, int(width // step))
    step = width / count
    path = [f"M{x:.2f} {y + height - 1:.2f}"]
    for i in range(count):
        to = y + 1 if i % 2 == 0 else y + height - 1
        path.append(
            f"C{x + i * step + step:.2f} {y + (height - 1 if i % 2 == 0 else 1):.2f} "
            f"{x + i * step:.2f} {to:.2f} {x + (i + 1) * step:.2f} {to:.2f}"
        )
    return "".join(path)


def _cells(x: float, y: float, width: float, height: float) -> str:
    """Foam: staggered small dots."""
    rows = max(1, int(height // 6))
    path = []
    for row in range(rows):
        v = y + (row + 0.5) * height / rows
        u = x + (3.0 if row % 2 else 6.0)
        while u < x + width - 2:
            path.append(f"M{u:.1f} {v:.1f}h.9")
            u += 6.0
    return "".join(path)


@dataclass(frozen=True)
class _Label:
    """One layer in words: where its middle is, and its lines."""

    middle: float  # [user units]
    lines: list[str]

    @property
    def size(self) -> float:
        """Height that it takes up [user units]."""
        return len(self.lines) * 11.0 + 1.5


def _labels(slices: list[_Slice], width: float, show: Show) -> list[_Label]:
    """Layers in words, slices of one and the same layer together."""
    return [
        _Label(
            (y0 + y1) / 2,
            wrap(f"{layer.name}, {show(_run_thickness(y0, y1, slices))}", SMALL, width, 2),
        )
        for y0, y1, layer in _runs([(s.y0, s.y1, s.bay) for s in slices], within=slices)
    ]


def _beside(labels: list[_Label], x0: float, top: float, bottom: float) -> list[str]:
    """Labels right of the plan, each on its own leader, none over another."""
    left = x0 + _LEADER
    places = spread(
        [label.middle for label in labels],
        [label.size for label in labels],
        top - _BEYOND,
        bottom + _BEYOND,
    )
    parts = []
    for label, at in zip(labels, places, strict=True):
        leader = [(x0 - 3, label.middle), (x0 + 6, label.middle), (x0 + 15, at), (left - 2, at)]
        parts.append(polyline(leader, stroke=INK, stroke_width=0.6))
        first = at - (len(label.lines) - 1) * 5.5 + 3.4
        parts += [words(left, first + i * 11, t, SMALL) for i, t in enumerate(label.lines)]
    return parts


def _run_thickness(y0: float, y1: float, slices: list[_Slice]) -> float:
    return sum(s.bay.thickness for s in slices if y0 - 1e-6 <= s.y0 and s.y1 <= y1 + 1e-6)


def _graph(
    slices: list[_Slice],
    state: DesignState,
    bay: Profile | None,
    stud: Profile | None,
    span: tuple[float, float],
) -> list[str]:
    """Temperature to the right, depth as in the section: bay solid, stud dashed."""
    low = 5 * floor(min(state.outdoor, 0.0) / 5)
    high = 5 * ceil(max(state.indoor, state.outdoor) / 5)
    u0, u1 = span
    top, bottom = slices[-1].y0, slices[0].y1

    def x(t: float) -> float:
        return u0 + (t - low) / (high - low) * (u1 - u0)

    parts = [
        rect(u0, s.y0, u1 - u0, s.y1 - s.y0, fill="none", stroke=INK, stroke_width=0.3,
             stroke_opacity=0.5)
        for s in slices
    ]  # fmt: skip
    parts += _axis(low, high, x, (top, bottom), state.style)
    if state.dew_point is not None:
        d = x(state.dew_point)
        parts.append(line(d, top, d, bottom, stroke=COLD, stroke_width=1.4, stroke_dasharray="2 2"))
        parts.append(
            words(d + 10, top + 4, "dew point", SMALL, anchor="end", turned=True,
                  fill=COLD)
        )  # fmt: skip
    for profile, dash, name in ((stud, "5 3", "stud"), (bay, None, "bay")):
        if profile is None:
            continue
        ys = [bottom, *(s.y0 for s in slices)]
        curve = [(x(t), y) for t, y in zip(profile.temperatures, ys, strict=True)]
        films = [(x(state.indoor), bottom + 10), *curve, (x(state.outdoor), top - 10)]
        parts.append(
            polyline(films, stroke=WARM, stroke_width=2.0 if dash is None else 1.5,
                     stroke_dasharray=dash)
        )  # fmt: skip
        face = _sheathing_face(slices)
        for i in (0, face) if face else (0,):
            parts.append(_dot(*curve[i], filled=name == "bay"))
        if state.dew_point is not None and name == "bay":
            parts += _crossing(curve, x(state.dew_point))
    return parts


def _dot(x: float, y: float, *, filled: bool) -> str:
    return tag("circle", cx=x, cy=y, r=3, fill=INK if filled else "none", stroke=INK,
               stroke_width=1.2)  # fmt: skip


def _axis(
    low: float, high: float, x: Callable[[float], float], ends: tuple[float, float], style: Style
) -> list[str]:
    """Lines at temperatures that are round as the reader counts, between the ends of the graph."""
    way, (top, bottom) = style.steps("temperature"), ends
    si, zero = way["si"], way["zero"]
    first, last = ((t - zero) / si for t in (low, high))
    apart = text_width("−30 ", SMALL)
    step = next((n for n in (5, 10, 20) if x(low + n * si) - x(low) >= apart), 50)
    parts = []
    for shown in range(step * ceil(first / step - 1e-9), floor(last + 1e-9) + 1, step):
        at = x(zero + shown * si)
        parts.append(line(at, top, at, bottom, stroke_width=0.3, stroke_opacity=0.5))
        text = f"{shown}".replace("-", "−")
        parts.append(words(at, bottom + 25, text, SMALL, anchor="middle"))
    unit = way["pattern"].removeprefix("{} ")
    parts.append(words(x(high), top - 18, f"temperature, {unit}", SMALL, anchor="end"))
    return parts


def _crossing(curve: list[tuple[float, float]], d: float) -> list[str]:
    """A diamond where the bay's line meets the dew point."""
    for (x0, y0), (x1, y1) in pairwise(curve):
        if (x0 - d) * (x1 - d) <= 0 and x0 != x1:
            y = y0 + (d - x0) / (x1 - x0) * (y1 - y0)
            diamond = f"M{d:.2f} {y - 5:.2f}l5 5l-5 5l-5 -5z"
            return [tag("path", d=diamond, fill=COLD, stroke="white", stroke_width=0.8)]
    return []


def _sheathing_face(slices: list[_Slice]) -> int | None:
    """Boundary at the room side of the first sheathing layer, counted from the room surface."""
    return next((i for i, s in enumerate(slices) if s.bay.role == "sheathing" and i > 0), None)


def _readings(
    stack: Stack, state: DesignState, bay: Profile | None, stud: Profile | None
) -> list[str]:
    """The marked temperatures in words."""
    face = next((i for i, y in enumerate(stack.layers) if y.role == "sheathing" and i > 0), None)
    notes = []
    lines = [
        text for text, profile in (("bay solid", bay), ("stud dashed", stud)) if profile is not None
    ]
    places = [("Room surface", 0)] + ([("inner face of the sheathing", face)] if face else [])
    readings = []
    for place, i in places:
        at = [
            f"{name} {_degrees(profile.temperatures[i], state.style)}"
            for name, profile in (("bay", bay), ("stud", stud))
            if profile is not None
        ]
        readings.append(f"{place}: {', '.join(at)}")
    notes.append(f"{'; '.join(readings)}. Lines: {', '.join(lines)}.")
    if state.dew_point is not None and bay is not None:
        notes.append(_dew_words(stack, state.dew_point, bay, state.style))
    return notes


def _dew_words(stack: Stack, dew_point: float, bay: Profile, style: Style) -> str:
    """Where in the bay the room's dew point is reached."""
    text = f"Dew point of the room air {_degrees(dew_point, style)}"
    if bay.temperatures[0] <= dew_point:
        return f"{text}: already reached at the room surface."
    depth = 0.0
    for layer, (t0, t1) in zip(stack.layers, pairwise(bay.temperatures), strict=True):
        if t1 <= dew_point < t0:
            depth += (t0 - dew_point) / (t0 - t1) * layer.thickness
            return (
                f"{text} (diamond): reached {style(depth, 'bead')} behind the room surface of the "
                f"bay, in layer: {layer.name}."
            )
        depth += layer.thickness
    return f"{text}: not reached inside the bay."


def _in_words(
    build_up: BuildUp,
    stack: Stack,
    state: DesignState | None,
    bay: Profile | None,
    stud: Profile | None,
) -> str:
    """What the drawing shows, for those who cannot see it."""
    names = [layer.name for layer in stack.layers]
    kept = [name for i, name in enumerate(names) if i == 0 or name != names[i - 1]]
    text = (
        f"Horizontal section of wall {build_up.wall} with {build_up.option.name}. "
        f"From the room (warm side) to outside (cold side) the bay holds: {', '.join(kept)}."
    )
    if state is not None and (bay is not None or stud is not None):
        text += " " + " ".join(_readings(stack, state, bay, stud))
    return text
