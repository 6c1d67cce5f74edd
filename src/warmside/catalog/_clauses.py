"""Cells become clauses and packs; see ``_codes``."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from warmside.catalog._cells import Cells
from warmside.catalog._codes import Band, Check, Clause, CodePack, Fact, Form, WorkedCase
from warmside.catalog._facts import FACTS, VERDICT_OF
from warmside.catalog._near import nearest
from warmside.wording import Verdict

_CHECKS = ("when", "tests", "tolerated")
_KEYS = ("fact", "way", "is", "among", "least", "most", "least_by", "most_by", "bands", "table")
_LONGEST = 60  # checks, bands or cases of one clause


class _WrongError(ValueError):
    """What was read, and what is allowed."""

    def __init__(self, read: object, allowed: str) -> None:
        super().__init__(allowed)
        self.read, self.allowed = read, allowed


def check_clause(cells: Cells) -> None:
    """Refuse a clause whose checks or cases cannot be read, each with its line."""
    for column in (*_CHECKS, "cases"):
        if cells.holds(column):
            try:
                _read(cells, column)
            except _WrongError as wrong:
                cells.refuse(column, wrong.read, wrong.allowed)
    if not cells.holds("tests") and not cells.holds("asks") and not cells.faulty("tests", "asks"):
        cells.refuse("tests", "nothing", "tests, or in asks what a person must confirm")
    memory = cells.holds("tag") and cells.text("tag") == "from memory"
    if memory and not cells.holds("recall") and not cells.faulty("recall"):
        cells.refuse("recall", "nothing", "how well it is remembered: high, medium or low")


def clause(cells: Cells) -> Clause:
    """The clause of ``cells``; which pack it stands in is not part of it."""
    words = {
        column: cells.text(column)
        for column in ("number", "title", "paraphrase", "applies_to", "asks", "change")
    }
    checks: dict[str, tuple[Check, ...]] = {
        column: tuple(_read(cells, column)) for column in _CHECKS
    }
    return Clause(
        id=cells.text("id") or cells.text("number"),
        **words,  # type: ignore[arg-type]  # applies_to is checked with its column
        **checks,  # type: ignore[arg-type]  # the same
        source=cells.source(),
        passes=cells.text("passes") or "holds",  # type: ignore[arg-type]  # the same
        fails=cells.text("fails") or "falls short",  # type: ignore[arg-type]
        mixed=cells.text("mixed") or None,  # type: ignore[arg-type]
        recall=cells.text("recall") or "read",  # type: ignore[arg-type]
        cases=tuple(_read(cells, "cases")),
    )


def pack(cells: Cells) -> CodePack:
    """The head of a pack; its clauses are rows of their own."""
    words = {column: cells.text(column) for column in ("id", "name", "country", "edition")}
    return CodePack(**words, closing=cells.text("closing"), clauses=())


def _read(cells: Cells, column: str) -> list[Any]:
    read = cells.tables(column) if cells.holds(column) else ()
    if len(read) > _LONGEST:
        raise _WrongError(f"{len(read)} of them", f"at most {_LONGEST}")
    return [(_case if column == "cases" else _check)(one) for one in read]


def _check(read: Mapping[str, object]) -> Check:
    for key in read:
        if key not in _KEYS:
            raise _WrongError(key, f"one of {', '.join(_KEYS)}{nearest(key, _KEYS)}")
    fact, way = read.get("fact"), read.get("way", "")
    if not isinstance(fact, str) or not _known(fact):
        raise _WrongError(fact, f"a fact{nearest(str(fact), FACTS)}; one of {', '.join(FACTS)}")
    if not isinstance(way, str):
        raise _WrongError(way, "the name of a way in which a clause passes")
    forms = [key for key in read if key.removesuffix("_by") in get_args(Form)]
    if len(forms) != 1:
        raise _WrongError(read, "one of is, among, least, most, least_by, most_by")
    key, value = forms[0], read[forms[0]]
    form: Form = key.removesuffix("_by")  # type: ignore[assignment]
    number = not fact.startswith(VERDICT_OF) and FACTS[fact].is_number
    if (form in ("least", "most")) != number:
        raise _WrongError(key, "least or most for a number, is or among for any other fact")
    if form == "among":
        return Check(fact, form, words=tuple(_texts(value)), way=way)
    if form == "is":
        return Check(fact, form, _value(fact, value), way=way)
    if key.endswith("_by"):
        return _by(fact, form, value, read, way)
    return Check(fact, form, _limit(value), way=way)


def _by(fact: str, form: Form, by: object, read: Mapping[str, object], way: str) -> Check:
    if not isinstance(by, str) or by not in FACTS:
        raise _WrongError(by, f"a fact{nearest(str(by), FACTS)}")
    if FACTS[by].is_number:
        bands = read.get("bands")
        if not isinstance(bands, list) or not bands:
            raise _WrongError(bands, "bands of [from, below, value]")
        return Check(fact, form, by=by, bands=tuple(_bands(bands)), way=way)
    table = read.get("table")
    if not isinstance(table, Mapping) or not table:
        raise _WrongError(table, f"a table of values by {by}")
    return Check(fact, form, by=by, table=tuple((k, _real(v)) for k, v in table.items()), way=way)


def _bands(read: Sequence[object]) -> Iterator[Band]:
    before = -math.inf
    for one in read:
        if not isinstance(one, list) or len(one) != 3:
            raise _WrongError(one, "a band of [from, below, value]")
        low, high, value = (_real(number) for number in one)
        if not before <= low < high or value <= 0:
            raise _WrongError(one, "bands in order, no overlap, value above 0")
        before = high
        yield low, high, value


def _limit(value: object) -> Fact:
    if isinstance(value, str):
        if value not in FACTS or not FACTS[value].is_number:
            raise _WrongError(value, f"a number, or a fact that is one{nearest(value, FACTS)}")
        return value
    return _real(value)


def _real(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        raise _WrongError(value, "a number")
    return float(value)


def _texts(value: object) -> Iterator[str]:
    if not isinstance(value, list) or not value:
        raise _WrongError(value, "a list of words")
    for word in value:
        if not isinstance(word, str):
            raise _WrongError(word, "a word")
        yield word


def _case(read: Mapping[str, object]) -> WorkedCase:
    verdict, facts = read.get("verdict"), read.get("facts")
    if verdict not in get_args(Verdict):
        raise _WrongError(verdict, f"one of {', '.join(get_args(Verdict))}")
    if not isinstance(facts, Mapping) or len(read) != 2:
        raise _WrongError(read, "a verdict and its facts")
    for name, value in facts.items():
        if not _known(name):
            raise _WrongError(name, f"a fact{nearest(name, FACTS)}; one of {', '.join(FACTS)}")
        _value(name, value)
    told: tuple[tuple[str, Fact], ...] = tuple(
        (name, _value(name, value)) for name, value in facts.items()
    )
    return WorkedCase(verdict, told)  # type: ignore[arg-type]  # one of the verdicts


def _value(fact: str, value: object) -> Fact:
    """A value in the form of its fact."""
    kind = "text" if fact.startswith(VERDICT_OF) else FACTS[fact].kind
    if kind == "yes or no":
        if not isinstance(value, bool):
            raise _WrongError(value, f"true or false for {fact}")
        return value
    if kind == "text":
        if not isinstance(value, str):
            raise _WrongError(value, f"a text for {fact}")
        return value
    return _real(value)


def _known(fact: str) -> bool:
    return fact in FACTS or fact.startswith(VERDICT_OF)
