"""The thermal image that a wall will give: temperature as tone, with numbers, places and framing.

Tones run from dark blue (cold) to pale orange (warm), lighter with every degree, so that a grey
print keeps the order; the scale and the named places carry the numbers.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.drawings.svg import (
    COLD,
    INK,
    WARM,
    drawing,
    line,
    number,
    rect,
    tag,
    text_width,
    words,
)
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.geometry import Rect
from warmside.wording import PAPER, Style, say

Floats = npt.NDArray[np.float64]

TEXT = 10.5
SMALL = 9.5
SCALE_WIDTH = 96.0  # room for the scale and its numbers at the right [user units]
# anchors of the scale, cold to warm, lightness rising
TONES = np.array(
    [(16, 42, 67), (43, 93, 138), (140, 142, 148), (226, 150, 92), (255, 231, 204)], dtype=float
)
MOST_PIXELS = 4_000_000
LEAST_STUD = 2.0  # [user units] narrowest stud that is outlined
_LEVELS = 64  # tones of the embedded picture


@dataclass(frozen=True)
class Thermal:
    """Temperatures of a surface seen straight on, cell by cell.

    ``x`` (nx + 1,) and ``z`` (nz + 1,) are cell edges [m]; ``temperature`` (nx, nz) [degC], seen
    from the room with x to the right and z up; ``seen`` (nx, nz) is False in openings.
    """

    x: Floats
    z: Floats
    temperature: Floats
    seen: npt.NDArray[np.bool_]

    def __post_init__(self) -> None:
        shape = (self.x.size - 1, self.z.size - 1)
        if self.temperature.shape != shape or self.seen.shape != shape:
            read = f"{self.temperature.shape}, {self.seen.shape}"
            raise InputError([Fault("thermal image", read, f"two arrays of shape {shape}")])
        if not self.seen.any() or not np.isfinite(self.temperature[self.seen]).all():
            raise InputError([Fault("thermal image", "no or unreadable values", "temperatures")])

    @property
    def range(self) -> tuple[float, float]:
        """Lowest and highest temperature seen [degC]."""
        values = self.temperature[self.seen]
        return float(values.min()), float(values.max())

    def at(self, x: float, z: float) -> float:
        """Temperature at a place [degC]."""
        i = int(np.clip(np.searchsorted(self.x, x, "right") - 1, 0, self.x.size - 2))
        k = int(np.clip(np.searchsorted(self.z, z, "right") - 1, 0, self.z.size - 2))
        return float(self.temperature[i, k])

    def sampled(self, pixel: float) -> tuple[Floats, Floats, Floats]:
        """On a regular grid of ``pixel`` [m]: x (nx,), z (nz,) of the centres, values (nz, nx).

        Row 0 is the lowest; places that are not seen hold NaN.
        """
        wide, high = self.x[-1] - self.x[0], self.z[-1] - self.z[0]
        nx, nz = max(1, round(wide / pixel)), max(1, round(high / pixel))
        if nx * nz > MOST_PIXELS:
            least = (wide * high / MOST_PIXELS) ** 0.5
            raise InputError(
                [Fault("thermal image, pixel", f"{pixel:g} m", f"{least:.4f} m or more here")]
            )
        xs = self.x[0] + (np.arange(nx) + 0.5) * wide / nx
        zs = self.z[0] + (np.arange(nz) + 0.5) * high / nz
        i = np.clip(np.searchsorted(self.x, xs, "right") - 1, 0, self.x.size - 2)
        k = np.clip(np.searchsorted(self.z, zs, "right") - 1, 0, self.z.size - 2)
        values = np.where(self.seen, self.temperature, np.nan)[np.ix_(i, k)].T
        return xs, zs, values


@dataclass(frozen=True)
class Place:
    """A named place whose temperature is written out."""

    name: str
    x: float  # [m]
    z: float  # [m]


def thermal_image(
    thermal: Thermal,
    frame: Frame,
    places: Sequence[Place] = (),
    *,
    title: str,
    conditions: str,
    scale: tuple[float, float] | None = None,
    width: float = 720.0,
    max_height: float | None = None,
    style: Style = PAPER,
) -> str:
    """The wall's thermal image as SVG, the framing drawn over it.

    Parameters
    ----------
    thermal : Thermal
        Temperatures of the room side [degC].
    frame : Frame
        For its outline, lumber and openings.
    places : sequence of Place
        Named places; their temperature is written beside them.
    title : str
        Heading.
    conditions : str
        The state that the image holds for, as one line.
    scale : (float, float), optional
        Coldest and warmest tone [degC]; the range seen when not given.
    width : float
        Width of the drawing [user units].
    max_height : float, optional
        Greatest height of the wall in it [user units].
    style : Style
        How its reader writes temperatures.
    """
    low, high = _range(thermal, scale)
    top, left = 34.0, 4.0
    room = width - left - SCALE_WIDTH
    factor = min(room / frame.length, (max_height or 0.7 * width) / frame.height)
    wide, tall = frame.length * factor, frame.height * factor

    def spot(x: float, z: float) -> tuple[float, float]:
        return left + x * factor, top + tall - z * factor

    parts = [
        words(0, 12, title, TEXT + 1, bold=True),
        words(0, 26, style.sentence("seen from the room (warm side)"), SMALL),
        draw_raster(thermal, low, high, (left, top, wide, tall)),
        draw_lumber(frame, spot),
        *(draw_opening(hole.name, hole.rect, spot) for hole in frame.holes),
        *_placed(thermal, places, spot, (left, left + wide), style),
        *_scale_bar(left + wide + 16, top, min(tall, 190.0), low, high, style),
        words(0, top + tall + 16, conditions, SMALL),
    ]
    told = "; ".join(f"{p.name} {_degrees(thermal.at(p.x, p.z), style)}" for p in places)
    coldest, warmest = (_degrees(value, style) for value in thermal.range)
    seen = say("Surface temperatures from {coldest} to {warmest}.", coldest=coldest,
               warmest=warmest)  # fmt: skip
    description = f"{style.sentence(seen)} {told}".strip()
    return drawing(width, top + tall + 22, title, description, parts)


_PICTURE = """
#let svg = bytes(sys.inputs.svg)
#set page(width: auto, height: auto, margin: 0pt, fill: white)
#image(svg, format: "svg", width: float(sys.inputs.width) * 1pt)
"""


def png(svg: str, scale: float = 2.0) -> bytes:
    """An SVG drawing as PNG, ``scale`` pixels to a user unit, dark ink on white.

    Raises
    ------
    ValueError
        ``svg`` says no width in user units, or is no drawing.
    """
    import typst

    from warmside.drawings.fonts import FONT_FOLDER

    width = re.search(r'<svg[^>]*?\swidth="([0-9.]+)"', svg)
    if width is None:
        raise ValueError("the drawing says no width in user units")
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONT_FOLDER)]
    )
    try:
        # a point of the page for each user unit, and 72 of them to the inch
        picture = typst.compile(
            _PICTURE.encode(), format="png", ppi=72.0 * scale, font_paths=fonts,
            ignore_system_fonts=True,
            sys_inputs={"svg": svg.replace("currentColor", "#1c1c1c"), "width": width[1]},
        )  # fmt: skip
    except typst.TypstError as error:
        raise ValueError(f"the drawing could not be set: {error.message}") from error
    if not isinstance(picture, bytes):
        raise ValueError("the typesetter returned no single picture")
    return picture


def _range(thermal: Thermal, scale: tuple[float, float] | None) -> tuple[float, float]:
    low, high = scale or thermal.range
    if scale is None:
        low, high = np.floor(low * 2) / 2, np.ceil(high * 2) / 2
        high = max(high, low + 1.0)
    if not high > low:
        raise InputError([Fault("thermal image, scale", f"{low:g} to {high:g}", "cold below warm")])
    return float(low), float(high)


def tone(values: Floats, low: float, high: float, tones: Floats = TONES) -> npt.NDArray[np.uint8]:
    """Red, green, blue of temperatures, shape (..., 3); NaN becomes white.

    Parameters
    ----------
    values : ndarray
        Temperatures [degC].
    low, high : float
        Ends of the scale [degC].
    tones : ndarray
        Anchors of the scale, evenly apart, (n, 3).
    """
    share = np.clip((values - low) / (high - low), 0.0, 1.0)
    stops = np.linspace(0.0, 1.0, len(tones))
    colour = np.stack([np.interp(share, stops, tones[:, c]) for c in range(3)], axis=-1)
    return np.where(np.isnan(values)[..., None], 255, np.round(colour)).astype(np.uint8)


def draw_raster(
    thermal: Thermal,
    low: float,
    high: float,
    box: tuple[float, float, float, float],
    tones: Floats = TONES,
) -> str:
    """The tones as an embedded picture, about one and a half pixels to a user unit."""
    from PIL import Image

    x, y, wide, tall = box
    pixel = (thermal.x[-1] - thermal.x[0]) / (1.5 * wide)
    values = thermal.sampled(pixel)[2][::-1]
    level = np.clip((values - low) / (high - low), 0.0, 1.0) * (_LEVELS - 1)
    index = np.where(np.isnan(values), _LEVELS, np.round(np.nan_to_num(level))).astype(np.uint8)
    image = Image.fromarray(index, "P")
    steps = tone(np.linspace(low, high, _LEVELS), low, high, tones).ravel().tolist()
    image.putpalette([*steps, 255, 255, 255])  # the last one for what is not seen
    buffer = io.BytesIO()
    image.save(buffer, "PNG")
    data = base64.b64encode(buffer.getvalue()).decode("ascii")
    return tag(
        "image",
        x=x,
        y=y,
        width=wide,
        height=tall,
        preserveAspectRatio="none",
        href=f"data:image/png;base64,{data}",
    )


Spot = Callable[[float, float], tuple[float, float]]


def draw_lumber(frame: Frame, spot: Spot) -> str:
    """Outlines of the lumber as one path."""
    if frame.stud_width * (spot(1.0, 0.0)[0] - spot(0.0, 0.0)[0]) < LEAST_STUD:
        return ""  # so small that the outlines would hide the tones
    path = []
    for r in {member.rect for member in frame.members if member.line is None}:
        (x0, y0), (x1, y1) = spot(r.x0, r.z1), spot(r.x1, r.z0)
        path.append(f"M{number(x0)} {number(y0)}H{number(x1)}V{number(y1)}H{number(x0)}Z")
    return tag(
        "path", d="".join(sorted(path)), fill="none", stroke="#ffffff", stroke_width=0.5,
        stroke_opacity=0.55, stroke_dasharray="2 2",
    )  # fmt: skip


def draw_opening(name: str, r: Rect, spot: Spot) -> str:
    """The outline of an opening, its name inside where it fits."""
    (x0, y0), (x1, y1) = spot(r.x0, r.z1), spot(r.x1, r.z0)
    label = name if text_width(name, SMALL) < x1 - x0 - 4 else ""
    return rect(
        x0, y0, x1 - x0, y1 - y0, fill="#ffffff", stroke="#1c1c1c", stroke_width=1.2
    ) + words((x0 + x1) / 2, (y0 + y1) / 2 + 3, label, SMALL, anchor="middle", fill="#1c1c1c")


def _degrees(value: float, style: Style) -> str:
    return style(value, "temperature")


def _placed(
    thermal: Thermal, places: Sequence[Place], spot: Spot, sides: tuple[float, float], style: Style
) -> list[str]:
    """A cross at each place, and its name and number on a white slip beside it."""
    parts: list[str] = []
    taken: list[tuple[float, float, float, float]] = []
    for place in places:
        x, y = spot(place.x, place.z)
        at = _degrees(thermal.at(place.x, place.z), style)
        label = f"{place.name} {at.partition(' ')[0]}°"
        wide = text_width(label, SMALL) + 6
        slip = _free((x, y), wide, sides, taken)
        taken.append(slip)
        parts += [
            line(x - 4, y, x + 4, y, stroke="#ffffff", stroke_width=2.4),
            line(x, y - 4, x, y + 4, stroke="#ffffff", stroke_width=2.4),
            line(x - 4, y, x + 4, y, stroke="#1c1c1c", stroke_width=1.0),
            line(x, y - 4, x, y + 4, stroke="#1c1c1c", stroke_width=1.0),
            rect(slip[0], slip[1], wide, 13, fill="#ffffff", fill_opacity=0.9, rx=2),
            words(slip[0] + 3, slip[1] + 10, label, SMALL, fill="#1c1c1c"),
        ]
    return parts


def _free(
    at: tuple[float, float],
    wide: float,
    sides: tuple[float, float],
    taken: list[tuple[float, float, float, float]],
) -> tuple[float, float, float, float]:
    """The slip's box (x0, y0, x1, y1): beside the cross, moved up or down until it is free."""
    x = at[0] + 6 if at[0] + 6 + wide <= sides[1] else at[0] - 6 - wide
    x = max(x, sides[0])
    for step in (0, 15, -15, 30, -30, 45, -45, 60, -60):
        box = (x, at[1] - 6.5 + step, x + wide, at[1] + 6.5 + step)
        if all(box[2] <= t[0] or box[0] >= t[2] or box[3] <= t[1] or box[1] >= t[3] for t in taken):
            return box
    return box


def _scale_bar(x: float, y: float, tall: float, low: float, high: float, style: Style) -> list[str]:
    steps = 40
    tones = tone(np.linspace(high, low, steps), low, high)
    parts = [
        rect(x, y + k * tall / steps, 12, tall / steps + 0.5, fill="#{:02x}{:02x}{:02x}".format(*c))
        for k, c in enumerate(tones.tolist())
    ]
    parts.append(rect(x, y, 12, tall, fill="none", stroke=INK, stroke_width=0.8))
    way = style.steps("temperature")
    si, zero = way["si"], way["zero"]
    for shown in _ticks((low - zero) / si, (high - zero) / si):  # round as the reader counts
        value = zero + shown * si
        level = y + tall * (high - value) / (high - low)
        parts += [
            line(x + 12, level, x + 16, level, stroke_width=0.8),
            words(x + 19, level + 3.4, way["pattern"].replace("{}", f"{shown:g}"), SMALL),
        ]
    parts += [
        words(x, y - 6, style.sentence("warm"), SMALL, fill=WARM, bold=True),
        words(x, y + tall + 13, style.sentence("cold"), SMALL, fill=COLD, bold=True),
    ]
    return parts


def _ticks(low: float, high: float) -> list[float]:
    """Round values between the ends of the scale, four to ten of them."""
    step = next(s for s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0) if (high - low) / s <= 10)
    first = int(np.ceil(low / step - 1e-9))
    return [round(k * step, 6) for k in range(first, int(np.floor(high / step + 1e-9)) + 1)]
