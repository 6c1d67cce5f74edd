"""A house studied whole: every wall, every option, judged and priced."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from warmside.catalog import Catalog, load
from warmside.catalog._codes import CodePack, code_packs
from warmside.estimate import (
    Price,
    PriceList,
    Quantity,
    combine,
    combine_takeoffs,
    default_prices,
    price,
    takeoff,
)
from warmside.framing import Frame, frame_wall
from warmside.options import BuildUp, Option, apply, offered
from warmside.promises import (
    Dry,
    Finding,
    Outside,
    Room,
    Verdict,
    Warm,
    dry,
    legal,
    outside_of,
    room_of,
    safe,
    warm,
)
from warmside.survey import Survey, Wall

Progress = Callable[[str, int, int], None]  # what, done, of how many
_WORST: tuple[Verdict, ...] = ("falls short", "needs a person", "holds")


@dataclass(frozen=True)
class OptionStudy:
    """One option on one wall: what it is, what it does, what it costs."""

    build_up: BuildUp
    warm: Warm
    dry: Dry
    legal: tuple[Finding, ...]
    safe: tuple[Finding, ...]
    quantities: tuple[Quantity, ...]
    price: Price | None  # None for what is left as found or cannot be built

    @property
    def option(self) -> Option:
        """The option itself."""
        return self.build_up.option

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, promise by promise."""
        return (*self.warm.findings, *self.dry.findings, *self.legal, *self.safe)

    def verdict(self, promise: str) -> Verdict:
        """The worst verdict of one promise; 'holds' where nothing was found against it."""
        verdicts = [f.verdict for f in self.findings if f.promise == promise]
        return next((v for v in _WORST if v in verdicts), "holds")

    @property
    def keeps_its_promises(self) -> bool:
        """Whether it can be built and falls short of nothing (a person may still be needed)."""
        return self.build_up.can_be_built and all(f.verdict != "falls short" for f in self.findings)


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


@dataclass(frozen=True)
class Study:
    """The whole house."""

    survey: Survey
    catalog: Catalog
    prices: PriceList
    packs: tuple[CodePack, ...]
    room: Room
    outside: Outside
    walls: tuple[WallStudy, ...]
    takeoff: tuple[Quantity, ...]  # of the chosen options together
    price: Price  # of the chosen options together


def study(
    survey: Survey,
    catalog: Catalog | None = None,
    prices: PriceList | None = None,
    packs: Sequence[CodePack] | None = None,
    progress: Progress | None = None,
) -> Study:
    """Study every wall and option of a surveyed house.

    Parameters
    ----------
    survey : Survey
        What was found.
    catalog : Catalog, optional
        What is known; the built-in one when not given.
    prices : PriceList, optional
        The contractor's prices; the invented ones when not given.
    packs : sequence of CodePack, optional
        Code packs to judge by; all built-in ones of the station's country when not given.
    progress : callable, optional
        Called with what is done, how many are done, and how many there are.

    Returns
    -------
    Study
        Every wall, every option, and the price of what is put forward.

    Raises
    ------
    UnknownRowError
        A material, foam, fuel or climate that the catalog does not hold; ``check`` finds these
        first, with their lines.
    """
    known = catalog or load()
    rates = prices or default_prices()
    climate = known.climate(survey.house.climate)
    case = _Case(
        survey,
        known,
        rates,
        tuple(code_packs().values()) if packs is None else tuple(packs),
        room_of(survey.house, climate),
        outside_of(survey.house, climate),
    )
    walls = []
    for done, wall in enumerate(survey.walls):
        if progress:
            progress(wall.name, done, len(survey.walls))
        walls.append(_study_wall(wall, case))
    if progress:
        progress("", len(walls), len(walls))
    chosen = [w.chosen for w in walls]
    return Study(
        survey=survey,
        catalog=known,
        prices=rates,
        packs=case.packs,
        room=case.room,
        outside=case.outside,
        walls=tuple(walls),
        takeoff=combine_takeoffs(tuple(o.quantities for o in chosen)),
        price=combine([o.price for o in chosen if o.price is not None], rates),
    )


@dataclass(frozen=True)
class _Case:
    """What all walls of a house share."""

    survey: Survey
    catalog: Catalog
    prices: PriceList
    packs: tuple[CodePack, ...]
    room: Room
    outside: Outside


def _study_wall(wall: Wall, case: _Case) -> WallStudy:
    house, survey = case.survey.house, case.survey
    frame = frame_wall(wall, house, case.catalog.lumber)
    wanted = [w for w in survey.options if not w.walls or wall.name in w.walls]
    options = tuple(
        _study_option(option, wall, frame, case)
        for option in offered(wall, house, case.catalog, wanted)
    )
    chosen, why = _choose(options)
    return WallStudy(wall, frame, options, chosen.option.id, why)


def _study_option(option: Option, wall: Wall, frame: Frame, case: _Case) -> OptionStudy:
    build_up = apply(option, wall, frame, case.catalog, case.survey.hazards)
    worked = option.kind != "leave" and build_up.can_be_built
    quantities = takeoff(build_up, wall, case.catalog, case.prices) if worked else ()
    foam = case.catalog.foam(option.foam) if option.foam else None
    return OptionStudy(
        build_up=build_up,
        warm=warm(build_up, case.room, case.outside),
        dry=dry(build_up, case.room, case.outside),
        legal=legal(case.packs, build_up, case.outside.climate),
        safe=safe(case.survey.hazards, wall, build_up, foam),
        quantities=quantities,
        price=price(quantities, case.prices) if worked else None,
    )


def _choose(options: tuple[OptionStudy, ...]) -> tuple[OptionStudy, str]:
    """The least costly option that falls short of nothing; else the one that falls short least."""
    priced = [o for o in options if o.price is not None]
    if not priced:
        return options[0], "No option can be built on this wall as it was found."
    good = [o for o in priced if o.keeps_its_promises]
    if good:
        best = min(good, key=_cost)
        return best, "The least costly option that falls short of none of its promises."
    least = min(priced, key=lambda o: (_shortfalls(o), _cost(o)))
    count = _shortfalls(least)
    return least, f"No option keeps every promise here; this one falls short in {count} only."


def _cost(option: OptionStudy) -> Decimal:
    return option.price.total if option.price else Decimal(0)


def _shortfalls(option: OptionStudy) -> int:
    return sum(f.verdict == "falls short" for f in option.findings)
