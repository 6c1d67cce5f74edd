"""Typesetting: plain data and a template become a PDF, with nothing else let in.

The data goes in as JSON and stays data: no text of it is ever read as markup. Only the shipped
font is used, so that a paper is the same, byte for byte, wherever it is made.
"""

from __future__ import annotations

import dataclasses
import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any, Literal

from warmside.errors import WarmsideError
from warmside.wording import PAPER, SHEET, Figure, Sentence, Source, Style, raised
from warmside.wording.languages import translated, whole

PaperSize = Literal["us-letter", "a4"]
_HERE = Path(__file__).parent
FONTS = _HERE / "fonts"
TEMPLATES = _HERE / "templates"
# read aloud by programs (ISO 14289-1), and read as it is in a hundred years (ISO 19005-2)
STANDARDS: tuple[Literal["ua-1", "a-2a"], ...] = ("ua-1", "a-2a")
_LONGEST = 24  # letters after which an unbroken word may be broken
_TEXT_MOST = 4000  # letters of one text that are printed


class PaperError(WarmsideError, RuntimeError):
    """A paper that could not be set, or was set with a warning."""

    def __init__(self, template: str, why: str) -> None:
        self.template = template
        self.why = why
        super().__init__(template, why)

    def __str__(self) -> str:
        return f"paper '{self.template}' could not be set: {self.why}"


@dataclasses.dataclass(frozen=True, kw_only=True)
class PaperView:
    """What a paper is set from: its data adds to what the head and foot of each paper say."""

    house: str  # or what else it is of: its name in the foot
    date: date
    place: str = ""
    client: str = ""
    prepared_by: str = ""
    prices_invented: bool = False
    paper: PaperSize = "us-letter"


@dataclasses.dataclass(frozen=True)
class Written:
    """What is written in one style whatever its reader's: in both systems, if none is given."""

    of: Any
    style: Style = SHEET


def typeset(template: str, view: object, made: date, style: Style = PAPER) -> bytes:
    """A tagged PDF (PDF/UA-1, PDF/A-2a) of ``view`` by ``templates/<template>.typ``.

    Parameters
    ----------
    template : str
        Name of the template.
    view : dataclass
        Plain data; SVG drawings stand in fields named ``svg``. A source comes to the template as
        its number, counted from 1 in the order in which sources stand in the view, and all of them
        as ``sources``.
    made : date
        Date of creation written into the file: the same input gives the same bytes.
    style : Style
        How its reader wants figures and sentences written; the template's own words follow its
        language.

    Raises
    ------
    PaperError
        The template failed or warned, or an image has no text alternative.
    """
    import typst

    sources = cited(view)
    data = json.dumps(
        {"sources": _listed(sources)} | _plain(view, style, sources), ensure_ascii=False
    )
    words = json.dumps(whole(style.language), ensure_ascii=False)
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONTS)]
    )
    try:
        # one compiler per call: a shared one keeps growing and is not safe between threads
        compiler = typst.Compiler(
            str(TEMPLATES / f"{template}.typ"), root=str(TEMPLATES), font_paths=fonts,
            ignore_system_fonts=True,
            sys_inputs={"view": data, "words": words, "language": style.language},
        )  # fmt: skip
        pdf, warnings = compiler.compile_with_warnings(
            format="pdf", pdf_standards=[*STANDARDS],
            timestamp=int(datetime(made.year, made.month, made.day, tzinfo=UTC).timestamp()),
        )  # fmt: skip
    except typst.TypstError as error:
        hints = "; ".join(error.hints)
        raise PaperError(template, f"{error.message} {hints}".strip()) from error
    if warnings:
        raise PaperError(template, "; ".join(warning.message for warning in warnings))
    if not isinstance(pdf, bytes):
        raise PaperError(template, "the typesetter returned no single file")
    return pdf


def cited(view: object) -> tuple[Source, ...]:
    """Every source that a view names, each once, in the order in which they stand in it."""
    return tuple(dict.fromkeys(_sources(view)))


def _sources(value: object) -> Iterator[Source]:
    if isinstance(value, Source):
        yield value
    elif isinstance(value, (str, Sentence, Figure)) or value is None:
        return
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _sources(getattr(value, field.name))
    elif isinstance(value, (dict, tuple, list)):
        for item in value.values() if isinstance(value, dict) else value:
            yield from _sources(item)


def _listed(sources: Iterable[Source]) -> list[dict[str, str]]:
    return [{"text": printable(raised(one.text)), "tag": one.tag} for one in sources]


def _plain(value: object, style: Style, sources: Sequence[Source], name: str = "") -> Any:
    """Dataclasses as JSON's own types, figures and sentences as their reader writes them."""
    if isinstance(value, Source):
        return sources.index(value) + 1
    if isinstance(value, Written):
        own = dataclasses.replace(value.style, language=style.language)
        return _plain(value.of, own, sources, name)
    if isinstance(value, (Sentence, Figure)):
        return printable(raised(style.part(value)))
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        parts = dataclasses.fields(value)
        return {f.name: _plain(getattr(value, f.name), style, sources, f.name) for f in parts}
    if isinstance(value, dict):
        return {str(key): _plain(item, style, sources, str(key)) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        told = dict.fromkeys(value) if value and isinstance(value[0], Source) else value
        return [_plain(item, style, sources) for item in told]  # a source is told once
    if isinstance(value, date):
        if style.country:
            return style.date(value)
        english = f"{value.day} {_MONTHS[value.month - 1]} {value.year}"
        return english if style.language == "en" else value.isoformat()
    if isinstance(value, str):
        return covered(value) if name == "svg" else printable(translated(value, style.language))
    if value is None or isinstance(value, (bool, int, float)):
        return value
    raise TypeError(f"{type(value).__name__} has no place in a paper")


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def printable(text: str) -> str:
    """``text`` as it can be set: no control characters, only letters that the font has.

    A letter that the font lacks becomes a box; a word longer than 24 letters may be broken by a
    space of no width; a text of more than 4000 letters is cut with an ellipsis.
    """
    if len(text) > _TEXT_MOST:
        text = text[: _TEXT_MOST - 1] + "…"
    kept = text
    if not text.isprintable():
        kept = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    return re.sub(rf"\S{{{_LONGEST}}}(?=\S)", lambda m: m[0] + "\u200b", covered(kept)).strip()


def covered(text: str) -> str:
    """``text`` with a box in place of every character that the shipped font lacks."""
    letters = _letters()
    if letters.issuperset(text):
        return text
    return "".join(c if c in letters else "□" for c in text)


@cache
def _letters() -> frozenset[str]:
    """Characters that every shipped style can draw, and the two that part lines and columns.

    ``letters.txt`` lists them in ranges; reading the fonts would take longer than setting a page.
    """
    ranges = (row.split("-") for row in (FONTS / "letters.txt").read_text("ascii").split())
    codes = (code for ends in ranges for code in range(int(ends[0], 16), int(ends[-1], 16) + 1))
    return frozenset(map(chr, codes)) | {"\n", "\t"}
