"""A clause put to facts: whether it applies, what it says, and which comparison decided."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from warmside.catalog import FACTS, VERDICT_OF, Check, Clause, Fact
from warmside.identity import Same
from warmside.wording import WORST, Figure, Sentence, Verdict, capital, joined, listed, plain, say

_SLACK = 1e-9  # of a figure against its limit: rounding only
_Known = Mapping[str, Fact]


@dataclass(frozen=True)
class Judgement:
    """The verdict of one clause on one set of facts.

    ``margin`` tells how far inside its limit the deciding figure lies, as a share of the limit:
    of two equal verdicts the smaller is the worse.
    """

    verdict: Verdict
    reason: Sentence
    figure: float | None = None
    limit: float | None = None
    unit: str = ""
    limit_is: str = "none"
    margin: float = 0.0


@dataclass(frozen=True)
class _Read:
    """A comparison made: true, false, or None where a fact is not known."""

    check: Check
    truth: bool | None
    value: Fact | None = None
    limit: float | None = None
    asks_nothing: bool = False  # the table has no limit for this place
    missing: str = ""  # the fact that is not known


def judge(clause: Clause, facts: _Known) -> Judgement:
    """Judge ``clause`` on one set of facts.

    Parameters
    ----------
    clause : Clause
        When it applies and what it asks for.
    facts : mapping
        Facts by name; one that is not there is not known, and a person is asked.

    Returns
    -------
    Judgement
        "does not apply" where a condition is false; "needs a person" where a fact that matters is
        missing, where nothing can be tested, or where the clause is not known well enough to hold.
    """
    conditions = [_read(check, facts) for check in clause.when]
    refused = [one for one in conditions if one.truth is False]
    if refused:
        return Judgement("does not apply", say("{why}.", why=_begun(_words(refused[0]))))
    unknown = [one for one in conditions if one.truth is None]
    if unknown:
        return Judgement("needs a person", _questions(unknown))
    if not clause.tests:
        return Judgement("needs a person", plain(clause.paraphrase))
    reads = [_read(check, facts) for check in clause.tests]
    if any(one.asks_nothing for one in reads):
        nothing = say("Nothing is asked for at this place.")
        return Judgement("does not apply", nothing)
    return _tested(clause, facts, reads)


def judged(clause: Clause, facts: _Known) -> Judgement:
    """As ``judge``; taken from memory where the facts that the clause looks at were the same.

    Options of a wall, and a wall before and after an edit, differ in few facts.
    """
    return _from_memory(Same(clause), tuple(facts.get(name) for name in clause.facts))


@lru_cache(maxsize=6000)
def _from_memory(of: Same[Clause], values: tuple[Fact | None, ...]) -> Judgement:
    clause = of.value
    named = zip(clause.facts, values, strict=True)
    return judge(clause, {name: value for name, value in named if value is not None})


def worst(judgements: Iterable[tuple[str, Judgement]]) -> tuple[str, Judgement]:
    """The worst of several places with where it is: falling short first, then the least margin."""
    return min(judgements, key=lambda one: (WORST.index(one[1].verdict), one[1].margin))


def _tested(clause: Clause, facts: _Known, reads: Sequence[_Read]) -> Judgement:
    ways = _ways(reads)
    passing = next((way for way in ways if all(one.truth for one in way)), None)
    if passing is not None:
        told = _judged("holds", passing)
        if clause.may_hold:
            return told
        doubt = say(
            "{reason} The clause is known from memory only, so the official confirms it."
            if clause.passes == "holds"
            else "{reason} A test decides all the same.",
            reason=told.reason,
        )
        return replace(told, verdict="needs a person", reason=doubt)
    open_ways = [way for way in ways if all(one.truth is not False for one in way)]
    if open_ways:
        nearest = min(open_ways, key=lambda way: sum(one.truth is None for one in way))
        unknown = [one for one in nearest if one.truth is None]
        return replace(_judged("needs a person", nearest), reason=_questions(unknown))
    nearest = min(ways, key=_distance)
    failed = [one for one in nearest if one.truth is False]
    verdict = clause.fails
    if clause.mixed and any(one.truth for one in nearest):
        verdict = clause.mixed
    told = _judged(verdict, failed)
    for check in clause.tolerated:
        read = _read(check, facts)
        if read.truth and verdict == "falls short":
            reason = say(
                "{reason} The official decides, since {why}.", reason=told.reason, why=_words(read)
            )
            return replace(told, verdict="needs a person", reason=reason)
    return told


def _distance(way: Sequence[_Read]) -> tuple[bool, int]:
    """How far a way is from passing: what it begins with tells whether it is meant for the case."""
    begins = next((one for one in way if one.check.way), way[0])
    return begins.truth is False, sum(one.truth is False for one in way)


def _ways(reads: Sequence[_Read]) -> list[list[_Read]]:
    """The comparisons of each way in which the clause can pass, those of no way in all of them."""
    names = dict.fromkeys(one.check.way for one in reads if one.check.way) or {"": None}
    return [[one for one in reads if one.check.way in ("", name)] for name in names]


def _read(check: Check, facts: _Known) -> _Read:
    for name in check.facts:
        if name not in facts:
            return _Read(check, None, missing=name)
    value = facts[check.fact]
    if check.form == "is":
        return _Read(check, value == check.limit, value)
    if check.form == "among":
        return _Read(check, value in check.words, value)
    limit = _limit(check, facts)
    if limit is None:
        return _Read(check, None, value, asks_nothing=True)
    number, slack = float(value), _SLACK * max(abs(limit), abs(float(value)))
    inside = number >= limit - slack if check.form == "least" else number <= limit + slack
    return _Read(check, inside, number, limit)


def _limit(check: Check, facts: _Known) -> float | None:
    if check.bands:
        at = float(facts[check.by])
        return next((value for low, high, value in check.bands if low <= at < high), None)
    if check.table:
        at_word = facts[check.by]
        word = ("no", "yes")[at_word] if isinstance(at_word, bool) else at_word
        return dict(check.table).get(str(word))
    if isinstance(check.limit, str):
        return float(facts[check.limit])
    return float(check.limit or 0.0)


def _judged(verdict: Verdict, reads: Sequence[_Read]) -> Judgement:
    """The verdict with the words of the comparisons, and the figure of the tightest of them."""
    reason = say("{what}.", what=_begun(joined([_words(one) for one in reads], "; ")))
    numbers = [one for one in reads if one.limit is not None]
    if not numbers:
        return Judgement(verdict, reason)
    decides = min(numbers, key=_margin)
    kind = FACTS[decides.check.fact]
    return Judgement(
        verdict,
        reason,
        figure=float(decides.value or 0.0),
        limit=decides.limit,
        unit=kind.unit or "-",
        limit_is=decides.check.form,
        margin=_margin(decides),
    )


def _margin(read: _Read) -> float:
    limit, value = read.limit or 0.0, float(read.value or 0.0)
    inside = value - limit if read.check.form == "least" else limit - value
    return inside / max(abs(limit), 1e-30)


def _questions(reads: Sequence[_Read]) -> Sentence:
    asked = dict.fromkeys(
        FACTS[one.missing].asks
        if one.missing in FACTS
        else f"What does {one.missing.removeprefix(VERDICT_OF)} say?"
        for one in reads
    )
    return say("Not known. {questions}", questions=joined(list(asked)))


def _words(read: _Read) -> Sentence:
    """A comparison as a sentence part: ``the zone is 6, not 1 or 2``."""
    check = read.check
    if check.fact.startswith(VERDICT_OF):
        return say(
            "{clause}: {verdict}",
            clause=check.fact.removeprefix(VERDICT_OF),
            verdict=str(read.value),
        )
    kind = FACTS[check.fact]
    if kind.kind == "yes or no":
        return plain(kind.yes if read.value else kind.no)
    if check.form in ("is", "among"):
        value = str(read.value)
        if read.truth:
            return say("{name}: {value}", name=kind.name, value=value)
        asked = listed(check.words or (str(check.limit),), "or")
        return say("{name}: {value}, not {asked}", name=kind.name, value=value, asked=asked)
    limit = FACTS[check.limit] if isinstance(check.limit, str) else None
    return say(
        "{name}: {value}, at {end} {limit}{as_what}",
        name=kind.name,
        value=_figure(kind.kind, float(read.value or 0.0), kind.unit),
        end=check.form,
        limit=_figure(kind.kind, read.limit or 0.0, kind.unit),
        as_what=f" ({limit.name})" if limit else "",
    )


def _figure(kind: str, value: float, unit: str) -> Figure:
    return Figure(value, kind, unit="" if unit == "-" else unit)  # type: ignore[arg-type]


def _begun(sentence: Sentence) -> Sentence:
    """The same sentence, its first letter a capital."""
    first, text = sentence.parts[0] if sentence.parts else ("", "")
    template = sentence.template
    if template and not template.startswith("{"):
        return replace(sentence, template=capital(template))
    if isinstance(text, str) and text:
        begun: Sentence | str = capital(text)
    elif isinstance(text, Sentence):
        begun = _begun(text)
    else:
        return sentence
    return Sentence(template, ((first, begun), *sentence.parts[1:]))
