"""A thermal picture less its prediction, over the framing: where a wall insulates less than sold.

White is as predicted, blue colder, orange warmer; what a person must know stands there in words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from warmside.drawings.svg import COLD, INK, WARM, drawing, line, rect, text_width, words
from warmside.drawings.thermal import (
    SCALE_WIDTH,
    SMALL,
    TEXT,
    Spot,
    Thermal,
    draw_lumber,
    draw_opening,
    draw_raster,
    tone,
)
from warmside.framing import Frame
from warmside.geometry import Rect

Floats = npt.NDArray[np.float64]

# colder to warmer: the two hues of all charts about a white middle
CHANGES = np.array(
    [(16, 42, 67), (43, 93, 138), (170, 195, 217), (248, 248, 246), (240, 190, 150), (208, 112, 44),
     (130, 52, 12)],
    dtype=float,
)  # fmt: skip
_LEAST_SPAN = 0.6  # [K] so that a camera's own noise stays pale


@dataclass(frozen=True)
class MarkedBay:
    """A bay that is told apart: what stands in it, and whether it is colder or warmer."""

    rect: Rect
    text: str
    colder: bool


@dataclass(frozen=True)
class MarkedJoint:
    """A stretch of joint that leaks: a place on the wall [m], and what stands beside it."""

    x: float
    z: float
    text: str


def difference_map(
    difference: Thermal,
    frame: Frame,
    bays: Sequence[MarkedBay] = (),
    joints: Sequence[MarkedJoint] = (),
    *,
    title: str,
    conditions: str,
    width: float = 720.0,
    max_height: float | None = None,
) -> str:
    """The difference as SVG, seen from the room.

    Parameters
    ----------
    difference : Thermal
        Measured less predicted [K] in place of temperatures.
    frame : Frame
        For its outline, lumber and openings.
    bays, joints : sequence
        What is told apart.
    title, conditions : str
        Heading, and the state that it holds for.
    width : float
        Width of the drawing [user units].
    max_height : float, optional
        Greatest height of the wall in it [user units].
    """
    low, high = difference.range
    span = max(_LEAST_SPAN, min(max(-low, high), 4.0))
    top, left = 34.0, 4.0
    factor = min((width - left - SCALE_WIDTH) / frame.length, (max_height or width) / frame.height)
    wide, tall = frame.length * factor, frame.height * factor

    def spot(x: float, z: float) -> tuple[float, float]:
        return left + x * factor, top + tall - z * factor

    parts = [
        words(0, 12, title, TEXT + 1, bold=True),
        words(0, 26, "seen from the room (warm side); the cold side lies behind", SMALL),
        rect(left, top, wide, tall, fill="#e4e4e4"),
        draw_raster(difference, -span, span, (left, top, wide, tall), CHANGES),
        draw_lumber(frame, spot),
        *(draw_opening(hole.name, hole.rect, spot) for hole in frame.holes),
        *(part for bay in bays for part in _bay(bay, spot, (left, left + wide))),
        *(part for joint in joints for part in _joint(joint, spot, left + wide)),
        *_scale(left + wide + 16, top, min(tall, 190.0), span),
        words(0, top + tall + 16, conditions, SMALL),
    ]
    told = "; ".join([b.text for b in bays] + [j.text for j in joints]) or "all as predicted"
    return drawing(width, top + tall + 22, title, f"Difference from the prediction: {told}", parts)


def _bay(bay: MarkedBay, spot: Spot, sides: tuple[float, float]) -> list[str]:
    (x0, y0), (x1, y1) = spot(bay.rect.x0, bay.rect.z1), spot(bay.rect.x1, bay.rect.z0)
    colour = COLD if bay.colder else WARM
    wide = text_width(bay.text, SMALL, bold=True) + 8
    x = min(max((x0 + x1 - wide) / 2, sides[0]), sides[1] - wide)
    y = (y0 + y1) / 2
    return [
        rect(x0, y0, x1 - x0, y1 - y0, fill="none", stroke=colour, stroke_width=2.4),
        rect(x, y - 8, wide, 15, fill="#ffffff", stroke=colour, stroke_width=1.0),
        words(x + 4, y + 3, bay.text, SMALL, fill="#1c1c1c", bold=True),
    ]


def _joint(joint: MarkedJoint, spot: Spot, right: float) -> list[str]:
    x, y = spot(joint.x, joint.z)
    wide = text_width(joint.text, SMALL, bold=True) + 8
    at = min(x + 9, right - wide)
    return [
        line(x - 6, y - 6, x + 6, y + 6, stroke=COLD, stroke_width=2.6),
        line(x - 6, y + 6, x + 6, y - 6, stroke=COLD, stroke_width=2.6),
        rect(at, y - 22, wide, 15, fill="#ffffff", stroke=COLD, stroke_width=1.0),
        words(at + 4, y - 11, joint.text, SMALL, fill="#1c1c1c", bold=True),
    ]


def _scale(x: float, y: float, tall: float, span: float) -> list[str]:
    """Steps of the scale, their numbers, and what both ends mean."""
    parts, steps = [], 24
    values = np.linspace(span, -span, steps)
    for n, rgb in enumerate(tone(values, -span, span, CHANGES)):
        colour = "#" + "".join(f"{int(v):02x}" for v in rgb)
        parts.append(rect(x, y + n * tall / steps, 14, tall / steps + 0.5, fill=colour))
    parts.append(rect(x, y, 14, tall, fill="none", stroke=INK, stroke_width=0.6))
    for value, told in ((span, "warmer"), (0.0, "as predicted"), (-span, "colder")):
        at = y + tall * (span - value) / (2 * span)
        parts.append(words(x + 18, at + 3, f"{value:+.1f} K" if value else "0 K", SMALL))
        parts.append(words(x + 18, at + 14, told, SMALL))
    return parts
