"""An answer, and how one is put together from texts and figures."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from warmside.catalog import Foam, Source
from warmside.options import Option
from warmside.promises import Finding, Texts
from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.wording import Figure, Kind, Sentence, joined, say
from warmside.wording.sentence import Part

About = Literal["wall", "house"]
COMPUTED = Source("this study", "computed")
SURVEY = Source("the survey", "own figure")


@dataclass(frozen=True)
class Answer:
    """A question answered for one wall; every number of ``text`` is one of ``figures``."""

    key: str
    question: str
    text: Sentence
    about: About  # "house": the same for every wall
    figures: tuple[Figure, ...]
    words: tuple[str, ...]  # names and reasons taken over as they are
    findings: tuple[tuple[str, str], ...]  # (option, key) of findings it rests on; "": the house
    measure: str  # what to measure or ask for where the data cannot answer, else empty


@dataclass
class Asked:
    """One question put to one wall, and what has been said so far."""

    study: Study
    wall: WallStudy
    texts: Texts
    key: str
    about: About = "wall"
    sentences: list[Sentence] = field(default_factory=list)
    figures: list[Figure] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    links: list[tuple[str, str]] = field(default_factory=list)
    measure: str = ""

    @property
    def chosen(self) -> OptionStudy:
        """The option put forward."""
        return self.wall.chosen

    @property
    def foam(self) -> Foam | None:
        """The foam of the option put forward."""
        name = self.chosen.option.foam
        return self.study.catalog.foam(name) if name else None

    def say(self, sentence: str, **parts: Part) -> None:
        """Add a sentence with its figures and words."""
        for part in parts.values():
            if isinstance(part, Figure):
                self.figures.append(part)
                if part.finding:
                    self.links.append((part.option, part.finding))
            else:
                self.words.append(str(part))
        self.sentences.append(say(self.texts.get(f"answer.{self.key}.{sentence}"), **parts))

    def ask(self) -> None:
        """Say what to measure or ask for."""
        self.measure = self.texts.get(f"answer.{self.key}.measure")

    def rest_on(self, *findings: Finding) -> None:
        """Link findings of the option put forward whose words are used."""
        self.links += [(self.chosen.option.id, finding.key) for finding in findings]

    def figure(self, finding: Finding, kind: Kind) -> Figure:
        """Figure of a finding of the option put forward."""
        return finding.figure_as(kind, self.chosen.option.id)

    def limit(self, finding: Finding, kind: Kind) -> Figure:
        """Limit of a finding of the option put forward."""
        return finding.limit_as(kind, self.chosen.option.id)

    def money(self, value: float, low: float | None = None, high: float | None = None) -> Figure:
        """Money in the price list's currency, with its band where it has one."""
        prices = self.study.prices
        return Figure(value, "money", prices.source, currency=prices.currency, low=low, high=high)

    def finding(self, key: str) -> Finding | None:
        """The first finding of the option put forward whose key is, or ends with, ``key``."""
        return finding_of(self.chosen, key)

    def house_finding(self, key: str) -> Finding | None:
        """The finding of the house with that key."""
        return next((f for f in self.study.findings if f.key == key), None)

    def studied(self, suits: Callable[[Option], object]) -> Iterator[OptionStudy]:
        """Options of this wall that suit, in order."""
        return (o for o in self.wall.options if suits(o.option))

    def bays_of(self, family: str) -> Iterator[OptionStudy]:
        """Options that are foam of one family between the studs, and nothing else."""
        foams = self.study.catalog.foams
        return self.studied(
            lambda o: (
                o.foam
                and foams[o.foam].family == family
                and not (o.fill or o.furring or o.board or o.kind.sprays_from_outside)
            )
        )

    def answer(self) -> Answer:
        """What was said, as an answer."""
        text = joined(self.sentences) or say(self.texts.get("sentence.cannot"))
        return Answer(
            key=self.key,
            question=self.texts.get(f"answer.{self.key}.question"),
            text=text,
            about=self.about,
            figures=tuple(self.figures),
            words=tuple(self.words),
            findings=tuple(dict.fromkeys(self.links)),
            measure=self.measure,
        )


def finding_of(option: OptionStudy, key: str) -> Finding | None:
    """The first finding of an option whose key is, or ends with, ``key``."""
    return next((f for f in option.findings if f.key == key or f.key.endswith(f":{key}")), None)


def computed(value: float, kind: Kind) -> Figure:
    """A figure of this study that stands in no finding."""
    return Figure(value, kind, COMPUTED)


def surveyed(value: float, kind: Kind) -> Figure:
    """A figure of the survey, or counted from it."""
    return Figure(value, kind, SURVEY)


def resistance(option: OptionStudy) -> Figure:
    """Effective resistance of the whole framed wall."""
    return computed(option.warm.resistance, "resistance")


def price_of(asked: Asked, option: OptionStudy) -> Figure:
    """Price of an option on this wall."""
    return asked.money(float(option.price.total) if option.price else 0.0)


def gathered(option: OptionStudy) -> Figure:
    """Most water that gathers in winter by diffusion."""
    finding = finding_of(option, "condensate_peak_kg_m2")
    if finding is None:
        return computed(option.dry.worst.peak, "water")
    return finding.figure_as("water", option.option.id)


def left(option: OptionStudy) -> Figure:
    """Water left after a year."""
    finding = finding_of(option, "condensate_left_kg_m2")
    if finding is None:
        return computed(max(b.residual for b in option.dry.balances), "water")
    return finding.figure_as("water", option.option.id)
