"""What pictures and probes of a job will tell, said before anybody takes them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING

from fastapi import Request

from warmside import units
from warmside.errors import InputError, UnitError
from warmside.web import cached
from warmside.web.crew import crew_of
from warmside.web.pages import writing_of
from warmside.web.proof_files import Proofs
from warmside.web.web import web_of

if TYPE_CHECKING:
    from warmside.options import Option
    from warmside.proof import Chances
    from warmside.wording import Sentence

# what is planned of a picture: name, label, kind, what is taken where nothing is typed, hint
PLANNED = (
    ("plan_room", "Room will be at", "temperature", 20.0, "held for a day before"),
    ("plan_outside", "Outside will be at", "temperature", 0.0, "no sun since the day before"),
    ("plan_contrast", "Camera tells apart, K", "", 0.1, "0.1 for a good one"),
)  # fmt: skip


def planned(request: Request) -> tuple[list[tuple[str, str, str, str]], tuple[float, ...]]:
    """Fields of a picture that is planned with what was typed, and their values; those that
    cannot be read stand at what is taken without them.
    """
    write, fields, values = writing_of(request), [], []
    for name, label, kind, usual, hint in PLANNED:
        text = request.query_params.get(name, "")[:40].strip()
        value = _read(text, kind)
        if value is None:
            value, text = usual, write(usual, kind) if kind else f"{usual:g}"
        fields.append((name, label, text, hint))
        values.append(value)
    return fields, tuple(values)


def _read(text: str, kind: str) -> float | None:
    """A quantity, or a plain number where it has no kind; None where it is neither."""
    try:
        value = units.parse(text, kind) if kind else float(text.replace(",", "."))  # type: ignore[arg-type]
    except (UnitError, ValueError):
        return None
    return value if isfinite(value) else None


@dataclass(frozen=True)
class Foreseen:
    """What pictures and probes of one wall will tell, in words."""

    wall: str
    picture: tuple[tuple[str, str], ...]
    fault: str  # why no picture can be planned
    probes: int
    curve: tuple[Chances, ...]


def foreseen(request: Request, job: str, found: Proofs) -> list[Foreseen]:
    """What will be told of every foamed wall, before anybody measures."""
    from warmside.proof import curve
    from warmside.site import probes_needed

    web = web_of(request)
    crew, texts = crew_of(web.store, job), web.store
    rule = found.said.get("acceptance", "average with tolerance")
    style, (_, air) = writing_of(request), planned(request)
    survey, rows = (texts.text(part, job).text for part in ("survey", "catalog"))
    walls = []
    for plan in crew.plans:
        if plan.foam:
            told, fault = _picture_of(survey, rows, plan.wall, plan.option, air)
            count = probes_needed(plan.sprayed_area, crew.catalog)
            words = tuple((style.sentence(a), style.sentence(b)) for a, b in told)
            walls.append(Foreseen(plan.wall, words, fault, count, curve(count, rule)))
    return walls


@lru_cache(maxsize=64)
def _picture_of(
    survey: str, rows: str, wall: str, option: Option, air: tuple[float, ...]
) -> tuple[tuple[tuple[Sentence, Sentence], ...], str]:
    """What a picture of one wall will show, and why none can be planned."""
    from warmside.proof import power, usual

    room, outside, contrast = air
    read, known = cached.read(survey), cached.catalog(rows)
    number = next(n for n, w in enumerate(read.walls, 1) if w.name == wall)
    try:
        frame = cached.frame(survey, rows, number)
        found = power(
            option, read.walls[number - 1], frame, known, usual(room, outside), contrast=contrast
        )
    except InputError as error:
        return (), str(error)
    return found.rows, ""
