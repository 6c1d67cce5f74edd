"""What a study is made of: options on walls, walls, the house."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal, get_args

from warmside.catalog import Catalog, CodePack
from warmside.errors import Fault, InputError
from warmside.estimate import Price, PriceList
from warmside.framing import Frame
from warmside.options import BuildUp, Option, Quantity
from warmside.physics.climate import HourlyClimate
from warmside.promises import (
    Change,
    Comfort,
    Dry,
    Finding,
    HeatingCase,
    HouseAir,
    HouseTight,
    Outside,
    Room,
    Tight,
    Warm,
    Worth,
    banded,
    no_less_resistance,
)
from warmside.study.notebook_html import table
from warmside.survey import Survey, Wall
from warmside.units import show
from warmside.wording import PROMISES, Standing, counted, worst

if TYPE_CHECKING:
    from warmside.study.plan import Plans

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
    standing: tuple[Finding, ...] = ()  # of a wall that stays closed: readings, what is left

    @property
    def option(self) -> Option:
        """The option itself."""
        return self.build_up.option

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, promise by promise; what cannot be built is worth nothing to anyone."""
        money = (*self.worth.findings, *self.comfort.findings)
        return (
            *self.warm.findings,
            *no_less_resistance(self.change.before, self.change.after),
            *self.dry.findings,
            *self.standing,
            *self.tight.findings,
            *self.legal,
            *self.safe,
            *(money if self.build_up.can_be_built else ()),
        )

    def verdict(self, promise: str) -> Standing:
        """The worst verdict of one promise; a wall left as found is not judged in all of them."""
        return worst(f.verdict for f in self.findings if f.promise == promise)

    @property
    def cells(self) -> tuple[str, ...]:
        """Its row in a notebook's table, under the option's name and ``HEAD``."""
        money = self.worth.money if self.price else None
        return (
            self.option.name,
            show(self.warm.resistance, "thermal resistance", "trade", 3),
            f"{self.warm.coldest.surface:.1f} °C",
            *(f"{SIGNS[self.verdict(p)]} {self.verdict(p)}" for p in PROMISES),
            banded((money.low, money.best, money.high)) if money else "–",
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
    why_chosen: str

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


@dataclass(frozen=True)
class Study:
    """The whole house."""

    survey: Survey
    catalog: Catalog
    prices: PriceList
    packs: tuple[CodePack, ...]
    room: Room  # today's
    room_after: Room  # with the chosen options
    outside: Outside
    walls: tuple[WallStudy, ...]
    takeoff: tuple[Quantity, ...]  # of the chosen options together
    price: Price  # of the chosen options together
    weather: HourlyClimate
    air: HouseAir  # before anything is done
    tight: HouseTight  # the house with the chosen options
    worth: Worth  # of the chosen options together
    heating: HeatingCase  # by what savings are judged
    weights: Weights  # by what options were ranked
    settling: Settling
    plans: Plans  # beside each other; what is put forward follows the recommended one

    def wall(self, name: str) -> WallStudy:
        """The wall with that name; InputError when there is none."""
        for wall in self.walls:
            if wall.wall.name == name:
                return wall
        names = ", ".join(wall.wall.name for wall in self.walls)
        raise InputError([Fault("wall", f"'{name}'", names)])

    def __repr__(self) -> str:
        price = f"{self.prices.currency} {self.price.total:,.2f}"
        walls = counted(len(self.walls), "wall")
        return f"<Study of {self.survey.house.name!r}: {walls}, {price}>"

    def _repr_html_(self) -> str:
        walls = counted(len(self.walls), "wall")
        price = f"{self.prices.currency} {self.price.total:,.2f}"
        rows = []
        for wall in self.walls:
            rows += [(wall.wall.name, *wall.as_found.cells), ("", *wall.chosen.cells)]
        title = f"{self.survey.house.name}: {walls}, {price}"
        return table(title, ("wall", "option", *HEAD), rows)

    @property
    def follows_plan(self) -> bool:
        """Whether what is put forward is the recommended plan; not where weights were given."""
        return all(w.chosen_id == self.plans.best.options[w.wall.name] for w in self.walls)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Findings of the house as a whole, beside those of its walls."""
        return (*self.tight.findings, *self.worth.findings)
