"""SVG from plain functions: every text and attribute escaped, no identifiers, no style sheets.

Nothing is shared between drawings by name, so any number of them can stand on one page. Ink is
``currentColor``: a drawing is dark on paper and light on a dark page.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from html import escape
from math import ceil, floor, sqrt

INK = "currentColor"
COLD = "#3478b0"  # both hues read on white and on dark
WARM = "#c2541a"
FONT = "Inter, 'Helvetica Neue', Arial, sans-serif"

Attribute = str | float | None

# Advance widths of the shipped sans font for the characters 32-126 [1/1000 of the font size].
_ADVANCES = (
    281, 278, 403, 630, 637, 812, 639, 221, 362, 362, 500, 659, 279, 460, 275, 356,
    625, 464, 605, 636, 642, 607, 623, 571, 616, 623, 275, 279, 659, 659, 659, 507,
    936, 676, 650, 727, 718, 598, 586, 742, 740, 264, 542, 651, 562, 889, 752, 761,
    634, 761, 639, 637, 642, 741, 676, 948, 642, 664, 625, 362, 356, 362, 468, 451,
    497, 563, 620, 558, 620, 582, 360, 609, 590, 237, 237, 544, 237, 869, 585, 596,
    609, 609, 372, 522, 363, 580, 556, 812, 539, 556, 541, 362, 326, 362, 659,
)  # fmt: skip
_OTHER = 700  # a safe width for the rest
_BOLDER = 1.06  # bold letters are wider by about this


def plain(text: str) -> str:
    """Text without control, format and unassigned characters, spaces joined."""
    kept = (" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    return " ".join("".join(kept).split())


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of ``text`` set at ``size`` [user units]."""
    total = sum(_ADVANCES[ord(c) - 32] if 32 <= ord(c) <= 126 else _OTHER for c in text)
    return total * size / 1000 * (_BOLDER if bold else 1.0)


def shorten(text: str, size: float, width: float, bold: bool = False) -> str:
    """``text``, cut with an ellipsis where it is wider than ``width`` [user units]."""
    text = plain(text)
    if not text or text_width(text, size, bold) <= width:
        return text
    while text and text_width(text + "…", size, bold) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(text: str, size: float, width: float, most: int = 99, bold: bool = False) -> list[str]:
    """``text`` in lines no wider than ``width`` [user units], at most ``most`` of them."""
    lines: list[str] = []
    words = plain(text).split(" ")
    while words and len(lines) < most:
        line = words.pop(0)
        while words and text_width(f"{line} {words[0]}", size, bold) <= width:
            line = f"{line} {words.pop(0)}"
        if words and len(lines) == most - 1:
            line = f"{line} {' '.join(words)}"
        lines.append(shorten(line, size, width, bold))
    return [line for line in lines if line]


def spread(wish: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Places near ``wish`` (any order kept) with room for ``sizes``, between ``low`` and ``high``.

    When they do not fit, they are set evenly from ``low`` on.
    """
    order = sorted(range(len(wish)), key=lambda i: wish[i])
    places = [0.0] * len(wish)
    edge = low
    for i in order:
        places[i] = max(wish[i], edge + sizes[i] / 2)
        edge = places[i] + sizes[i] / 2
    edge = max(high, low + sum(sizes))
    for i in reversed(order):
        places[i] = min(places[i], edge - sizes[i] / 2)
        edge = places[i] - sizes[i] / 2
    return places


def tag(name: str, content: str = "", /, **attributes: Attribute) -> str:
    """One element; ``_`` in an attribute's name stands for ``-``, and None leaves it out."""
    words = [name]
    for key, value in attributes.items():
        if value is not None:
            shown = value if isinstance(value, str) else number(value)
            words.append(f'{key.rstrip("_").replace("_", "-")}="{escape(shown)}"')
    head = " ".join(words)
    return f"<{head}>{content}</{name}>" if content else f"<{head}/>"


def number(value: float) -> str:
    """A coordinate with two decimals at most, never ``-0``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def rect(x: float, y: float, width: float, height: float, **attributes: Attribute) -> str:
    """A rectangle from its upper left corner [user units]."""
    return tag("rect", x=x, y=y, width=max(width, 0.0), height=max(height, 0.0), **attributes)


def line(x0: float, y0: float, x1: float, y1: float, **attributes: Attribute) -> str:
    """A straight line in ink unless ``stroke`` says otherwise."""
    attributes.setdefault("stroke", INK)
    return tag("line", x1=x0, y1=y0, x2=x1, y2=y1, **attributes)


def polyline(points: list[tuple[float, float]], **attributes: Attribute) -> str:
    """An open line through ``points`` [user units]."""
    path = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return tag("polyline", points=path, fill="none", **attributes)


def words(
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    anchor: str = "start",
    bold: bool = False,
    turned: bool = False,
    **attributes: Attribute,
) -> str:
    """One line of text on its baseline; ``turned`` reads upwards."""
    attributes.setdefault("fill", INK)
    return tag(
        "text",
        escape(plain(text)),
        x=x,
        y=y,
        font_size=size,
        text_anchor=anchor if anchor != "start" else None,
        font_weight=600 if bold else None,
        transform=f"rotate(-90 {number(x)} {number(y)})" if turned else None,
        **attributes,
    )


def hatch(
    x: float, y: float, width: float, height: float, gap: float, *, down: bool = False
) -> str:
    """Path data of lines at 45 degrees across a rectangle, ``gap`` apart; ``down`` leans right."""
    step = gap * sqrt(2.0)
    parts = []
    # lines u + v = c with u, v from the upper left corner; mirrored for ``down``
    first, last = ceil(1e-9 / step), floor((width + height) / step)
    for i in range(max(first, 1), last + 1):
        c = i * step
        u0, u1 = max(0.0, c - height), min(width, c)
        ends = [(u0, c - u0), (u1, c - u1)]
        if down:
            ends = [(width - u, v) for u, v in ends]
        (a, b), (p, q) = ends
        parts.append(f"M{number(x + a)} {number(y + b)}L{number(x + p)} {number(y + q)}")
    return "".join(parts)


def drawing(
    width: float,
    height: float,
    title: str,
    description: str,
    parts: list[str],
    **attributes: Attribute,
) -> str:
    """The whole SVG, with its name and its description in words for those who cannot see it."""
    title, description = plain(title), plain(description)
    body = "\n".join(
        [tag("title", escape(title)), tag("desc", escape(description)), *filter(None, parts)]
    )
    return (
        tag(
            "svg",
            f"\n{body}\n",
            xmlns="http://www.w3.org/2000/svg",
            viewBox=f"0 0 {number(width)} {number(height)}",
            width=width,
            height=height,
            role="img",
            aria_label=f"{title}. {description}",
            font_family=FONT,
            **attributes,
        )
        + "\n"
    )
