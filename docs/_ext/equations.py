"""Equations set by the typesetter of the tool's own papers: no script, no network, ink as text."""

from __future__ import annotations

import re
from functools import cache
from html import escape

import typst

# Names that Typst's math knows as operators or signs, not as quantities
WORDS = frozenset({
    "sum", "sqrt", "exp", "ln", "max", "min", "cos", "sin", "abs", "sign", "integral", "dif", "div",
    "grad", "dot", "space", "op",
})  # fmt: skip
_SYMBOL = re.compile(r'(?P<symbol>[A-Za-z]+(?:_(?:"[^"]+"|[A-Za-z0-9]+))?)|"[^"]*"')


def symbols(source: str) -> set[str]:
    """Quantities named in an equation, with their subscripts: ``R_"si"``, ``theta``, ``dot``."""
    found = {match["symbol"] for match in _SYMBOL.finditer(source)} - {None}
    return {symbol for symbol in found if symbol.split("_")[0] not in WORDS}


@cache
def svg(source: str, block: bool) -> str:
    """An equation in Typst's notation as inline SVG, its source as its spoken name.

    In a line of text it stands on the line: its box reaches 0.85 em over and 0.3 em under it.
    """
    edges = "" if block else "top-edge: 0.85em, bottom-edge: -0.3em, "
    spaced = f"$ {source} $" if block else f"${source}$"
    page = (
        '#let grad = math.op("grad")\n#let div = math.op("div")\n'
        f"#set page(width: auto, height: auto, margin: {2 if block else 0}pt, fill: none)\n"
        f"#set text({edges}size: 11pt)\n{spaced}"
    )
    drawn = typst.compile(page.encode(), format="svg", ignore_system_fonts=True)
    text = bytes(drawn).decode("utf-8") if isinstance(drawn, bytes) else str(drawn)
    width, height = (float(n) for n in re.findall(r'(?:width|height)="([\d.]+)pt"', text)[:2])
    text = text.replace('"#000000"', '"currentColor"')
    text = re.sub(r'(width|height)="[\d.]+pt"', "", text, count=2)
    size = f"width:{width / 11:.3f}em;height:{height / 11:.3f}em"
    name = f'<svg role="img" aria-label="{escape(source)}" style="{size}" '
    # glyphs are shared by name within a drawing: names of one drawing must not meet another's
    own = f"e{abs(hash_of(source + str(block))):x}-"
    text = re.sub(r'(id="|href="#|url\(#)', lambda m: m.group(1) + own, text)
    kind = "equation" if block else "symbol"
    return f'<span class="{kind}">{text.replace("<svg ", name, 1)}</span>'


def hash_of(text: str) -> int:
    """A number that names a text, the same in every build."""
    from zlib import crc32

    return crc32(text.encode())
