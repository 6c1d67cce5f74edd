"""What a study is made of: options on walls, and walls; how it is run and ranked."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property
from typing import Literal, get_args

from warmside.errors import Fault, InputError
from warmside.estimate import Price
from warmside.framing import Frame
from warmside.identity import Same
from warmside.options import BuildUp, Option, Quantity
from warmside.physics.climate import HourlyClimate
from warmside.promises import (
    Change,
    Comfort,
    Dry,
    Finding,
    Room,
    Tight,
    Warm,
    Worth,
    banded,
    carried,
    no_less_resistance,
)
from warmside.study.notebook_html import table
from warmside.survey import Wall
from warmside.units import show
from warmside.weather import severe_year
from warmside.wording import PAPER, PROMISES, Sentence, Standing, counted, worst
from warmside.works import WorkItem

SIGNS = {"holds": "✓", "falls short": "×", "needs a person": "?",
         "does not apply": "n/a", "not judged": "–"}  # fmt: skip
HEAD = ("R", "coldest surface", *PROMISES, "saves a year", "price")  # of a notebook's table


_MOST_WEIGHT = 1000.0
Paths = Literal["chosen", "all"]
_MOST_YEARS = 30


@dataclass(frozen=True)
class Weights:
    """What counts how much when options that keep their promises are ranked.

    Any numbers from 0 to 1000, not all 0; only their ratios count. By default the cost alone.
    """

    warm: float = 0.0
    dry: float = 0.0
    tight: float = 0.0
    legal: float = 0.0
    safe: float = 0.0
    worth_it: float = 0.0
    cost: float = 1.0

    def __post_init__(self) -> None:
        allowed = f"a number from 0 to {_MOST_WEIGHT:g}, not all 0"
        faults = [
            Fault(f"weight of {name}", repr(value)[:40], allowed)
            for name, value in self.by_name().items()
            if isinstance(value, bool)
            or not isinstance(value, int | float)
            or not 0.0 <= value <= _MOST_WEIGHT
        ]
        if not faults and sum(self.by_name().values()) <= 0.0:
            faults = [Fault("weights", "all 0", allowed)]
        if faults:
            raise InputError(faults)

    def by_name(self) -> dict[str, float]:
        """The weights by promise ("worth it" with its space), and "cost"."""
        return {field.name.replace("_", " "): getattr(self, field.name) for field in fields(self)}

    @property
    def words(self) -> str:
        """The weights in a sentence part: "cost alone", or "warm 2, cost 1"."""
        counted = {name: value for name, value in self.by_name().items() if value > 0.0}
        if len(counted) == 1:
            return f"{next(iter(counted))} alone"
        return ", ".join(f"{name} {value:g}" for name, value in counted.items())


@dataclass(frozen=True)
class Hours:
    """How many years run hour by hour through the walls, and through which paths.

    0 to 30 years; "chosen": mid-bay of what is put forward, "all": every path of every option.
    ``severe``: by a year 2 K colder than the one that the energy is reckoned with.
    """

    years: int = 1
    paths: Paths = "all"
    severe: bool = False

    def __post_init__(self) -> None:
        faults = []
        if isinstance(self.years, bool) or not isinstance(self.years, int) or not (
            0 <= self.years <= _MOST_YEARS
        ):  # fmt: skip
            faults.append(
                Fault("years", repr(self.years)[:40], f"a whole number, 0 to {_MOST_YEARS}")
            )
        if self.paths not in get_args(Paths):
            faults.append(Fault("paths", repr(self.paths)[:40], ", ".join(get_args(Paths))))
        if faults:
            raise InputError(faults)

    def year(self, mean: HourlyClimate) -> HourlyClimate:
        """The year that moisture is judged by."""
        return severe_year(mean) if self.severe else mean


@dataclass(frozen=True)
class Settling:
    """How plan and room came to agree."""

    rounds: int  # of judging all walls
    settled: bool  # False: plans went in a circle, and the most humid of them governs

    @property
    def words(self) -> str:
        """What a reader must know; nothing where they agree."""
        if self.settled:
            return ""
        return (
            "Plan and room did not come to agree: each plan makes a room that puts another plan "
            "forward. All options are judged in the most humid of these rooms."
        )


@dataclass(frozen=True)
class OptionStudy:
    """One option on one wall: what it is, what it does, what it costs."""

    build_up: BuildUp
    room: Room  # of the plan that it is part of
    warm: Warm
    dry: Dry
    legal: tuple[Finding, ...]
    safe: tuple[Finding, ...]
    tight: Tight
    worth: Worth
    comfort: Comfort
    change: Change  # of the wall's transmission and of the house's leakage
    quantities: tuple[Quantity, ...]
    price: Price | None  # None for what is left as found or cannot be built
    works: tuple[WorkItem, ...] = ()  # what findings ask for
    standing: tuple[Finding, ...] = ()  # of a wall that stays closed: readings, what is left

    @property
    def option(self) -> Option:
        """The option itself."""
        return self.build_up.option

    @property
    def cost(self) -> float | None:
        """What it costs [currency]; None where nothing does, or something of it has no price."""
        return self.price.known if self.price else None

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, promise by promise; what cannot be built is worth nothing to anyone."""
        money = (*self.worth.findings, *self.comfort.findings)
        found = (
            *self.warm.findings,
            *no_less_resistance(self.change.before, self.change.after),
            *self.dry.findings,
            *self.standing,
            *self.tight.findings,
            *self.legal,
            *self.safe,
            *(money if self.build_up.can_be_built else ()),
        )
        return carried(found, self.works)

    def verdict(self, promise: str) -> Standing:
        """The worst verdict of one promise; a wall left as found is not judged in all of them."""
        return worst(f.verdict for f in self.findings if f.promise == promise)

    @property
    def lasting(self) -> Same[OptionStudy]:
        """Itself as a key of what other prices leave as it is: all but money is the very same."""
        return Same(self, but=("quantities", "price", "worth"))

    @property
    def cells(self) -> tuple[str, ...]:
        """Its row in a notebook's table, under the option's name and ``HEAD``."""
        money = self.worth.money if self.price else None
        return (
            self.option.name,
            show(self.warm.resistance, "thermal resistance", "trade", 3),
            f"{self.warm.coldest.surface:.1f} °C",
            *(f"{SIGNS[self.verdict(p)]} {self.verdict(p)}" for p in PROMISES),
            PAPER.figure(banded(money, "money")) if money else "–",
            f"{self.price.total:,.2f}" if self.price else "–",
        )

    @property
    def shortfalls(self) -> int:
        """Findings that fall short; whether it pays is told beside them, not counted."""
        return sum(f.verdict == "falls short" and f.promise != "worth it" for f in self.findings)

    @property
    def keeps_its_promises(self) -> bool:
        """Whether it can be built and falls short of nothing (a person may still be needed).

        Whether it pays is told beside it, not counted here: prices change, walls do not.
        """
        return self.build_up.can_be_built and not self.shortfalls


@dataclass(frozen=True)
class WallStudy:
    """One wall with all its options; the first is the wall as found."""

    wall: Wall
    frame: Frame
    options: tuple[OptionStudy, ...]
    chosen_id: str
    why_chosen: Sentence

    @property
    def chosen(self) -> OptionStudy:
        """The option put forward."""
        return self.option(self.chosen_id)

    @property
    def as_found(self) -> OptionStudy:
        """The wall as it stands."""
        return self.options[0]

    def option(self, id: str) -> OptionStudy:
        """The option with that id."""
        return next(o for o in self.options if o.option.id == id)

    def __repr__(self) -> str:
        options = counted(len(self.options), "option")
        return f"<WallStudy {self.wall.name!r}: {options}, {self.chosen_id}>"

    def _repr_html_(self) -> str:
        title = f"{self.wall.name}: {self.chosen.option.name}. {self.why_chosen}"
        return table(title, ("option", *HEAD), [option.cells for option in self.options])
