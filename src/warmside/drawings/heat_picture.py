"""A wall's surface as a client sees it: tones, openings, and a scale with two words."""

from __future__ import annotations

import numpy as np

from warmside.drawings.svg import INK, drawing, rect, words
from warmside.drawings.thermal import SMALL, TEXT, Thermal, draw_lumber, draw_raster, tone
from warmside.framing import Frame

_BAR = 10.0  # height of the scale [user units]
_STEPS = 48


def heat_picture(
    thermal: Thermal,
    frame: Frame,
    scale: tuple[float, float],
    ends: tuple[str, str],
    *,
    title: str,
    alt: str,
    width: float,
    max_height: float,
) -> str:
    """The surface seen from the room as SVG, its scale below.

    Parameters
    ----------
    thermal : Thermal
        Temperatures of the room side [degC].
    frame : Frame
        For its outline, lumber and openings.
    scale : (float, float)
        Coldest and warmest tone [degC].
    ends : (str, str)
        What stands at the cold and the warm end of the scale, in the reader's own words.
    title, alt : str
        What it is, and what it shows, for those who cannot see it.
    width, max_height : float
        Of the drawing, and of the wall in it [user units].
    """
    low, high = scale
    factor = min(width / frame.length, max_height / frame.height)
    wide, tall = frame.length * factor, frame.height * factor
    left = (width - wide) / 2

    def spot(x: float, z: float) -> tuple[float, float]:
        return left + x * factor, tall - z * factor

    holes = []
    for hole in frame.holes:
        (x0, y0), (x1, y1) = spot(hole.rect.x0, hole.rect.z1), spot(hole.rect.x1, hole.rect.z0)
        holes.append(rect(x0, y0, x1 - x0, y1 - y0, fill="#ffffff", stroke=INK, stroke_width=1.2))
    top, third = tall + 8, width / 3
    levels = [low + (k + 0.5) * (high - low) / _STEPS for k in range(_STEPS)]
    bar = [
        rect(third + k * third / _STEPS, top, third / _STEPS + 0.5, _BAR,
             fill="#{:02x}{:02x}{:02x}".format(*tone(np.array(level), low, high).tolist()))
        for k, level in enumerate(levels)
    ]  # fmt: skip
    parts = [
        draw_raster(thermal, low, high, (left, 0.0, wide, tall)),
        draw_lumber(frame, spot),
        *holes,
        *bar,
        words(third - 6, top + _BAR - 1, ends[0], TEXT, anchor="end"),
        words(2 * third + 6, top + _BAR - 1, ends[1], TEXT),
    ]
    return drawing(width, top + _BAR + SMALL / 2, title, alt, parts)
