"""Code packs: clauses as data. Each compares facts; nothing in a clause is code."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from warmside.catalog._rows import Source
from warmside.wording import Verdict

AppliesTo = Literal["new work", "new and altered walls", "alterations", "the whole house"]
Form = Literal["is", "among", "least", "most"]
# how well a text that was not read is remembered; medium and low never hold by themselves
Recall = Literal["read", "high", "medium", "low"]
Band = tuple[float, float, float]  # from, below, value
Fact = float | bool | str
Facts = dict[str, Fact]  # a fact that is not there is not known


@dataclass(frozen=True)
class Check:
    """One comparison: a fact is a value, is among words, or is at least or at most a limit.

    The limit is a number, the name of another fact, or what ``bands`` or ``table`` give for the
    fact ``by``. A clause passes when every check of one ``way`` does, with those of no way.
    """

    fact: str
    form: Form
    limit: Fact | None = None
    words: tuple[str, ...] = ()
    by: str = ""
    bands: tuple[Band, ...] = ()
    table: tuple[tuple[str, float], ...] = ()
    way: str = ""

    @cached_property
    def facts(self) -> tuple[str, ...]:
        """Every fact it looks at."""
        other = self.limit if isinstance(self.limit, str) and self.form in ("least", "most") else ""
        return tuple(name for name in (self.fact, self.by, other) if name)


@dataclass(frozen=True)
class WorkedCase:
    """Facts with the verdict that somebody who knows the code gives; run as a test."""

    verdict: Verdict
    facts: tuple[tuple[str, Fact], ...]


@dataclass(frozen=True)
class Clause:
    """One clause of a code, in our own words.

    It does not apply unless every check of ``when`` is true. Where its tests pass it says
    ``passes`` (a limit that only a measurement settles "needs a person"), where they fail
    ``fails``; where some pass and some fail ``mixed``; where one of ``tolerated`` is true, an
    official decides instead (old work, a material that the code does not name).
    """

    id: str
    number: str
    title: str
    paraphrase: str
    applies_to: AppliesTo
    source: Source
    when: tuple[Check, ...] = ()
    tests: tuple[Check, ...] = ()  # none: a statement that a person must confirm
    tolerated: tuple[Check, ...] = ()
    passes: Verdict = "holds"
    fails: Verdict = "falls short"
    mixed: Verdict | None = None
    recall: Recall = "read"
    asks: str = ""  # of whom, or what, where a person must confirm it
    change: str = ""  # what would make it pass
    cases: tuple[WorkedCase, ...] = ()

    @cached_property
    def facts(self) -> tuple[str, ...]:
        """Every fact that its checks look at, each once."""
        checks = (*self.when, *self.tests, *self.tolerated)
        return tuple(dict.fromkeys(name for check in checks for name in check.facts))

    @property
    def may_hold(self) -> bool:
        """Whether it says "holds", and its words are known well enough for that."""
        return self.passes == "holds" and self.recall in ("read", "high")


@dataclass(frozen=True)
class CodePack:
    """The clauses of one code, and the sentence that always closes them."""

    id: str
    name: str
    country: str
    edition: str
    closing: str
    clauses: tuple[Clause, ...]

    @cached_property
    def of_walls(self) -> tuple[Clause, ...]:
        """Clauses put to each wall."""
        return tuple(one for one in self.clauses if one.applies_to != "the whole house")

    @property
    def of_the_house(self) -> tuple[Clause, ...]:
        """Clauses put to the house as a whole."""
        return tuple(one for one in self.clauses if one.applies_to == "the whole house")
