"""A house studied whole: every wall, every option, judged and priced."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from multiprocessing import get_context

from warmside.catalog import Catalog, load
from warmside.catalog._codes import CodePack, code_packs
from warmside.errors import Fault, InputError
from warmside.estimate import (
    Price,
    PriceList,
    Quantity,
    combine,
    combine_takeoffs,
    default_prices,
    energy_terms,
    price,
    takeoff,
)
from warmside.framing import Frame, frame_wall
from warmside.options import LEAVE, BuildUp, Option, apply, offered
from warmside.physics.airflow import Band
from warmside.physics.climate import HourlyClimate, normals_of, synthesise
from warmside.physics.conduction import WallHeat, wall_field, wall_heat
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
    Verdict,
    Warm,
    Worth,
    comfort,
    dry,
    heating_case,
    house_air,
    house_tight,
    legal,
    outside_of,
    room_of,
    safe,
    tight,
    warm,
    worth,
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
    tight: Tight
    worth: Worth
    comfort: Comfort
    change: Change  # of the wall's transmission and of the house's leakage
    quantities: tuple[Quantity, ...]
    price: Price | None  # None for what is left as found or cannot be built

    @property
    def option(self) -> Option:
        """The option itself."""
        return self.build_up.option

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Every finding, promise by promise."""
        return (
            *self.warm.findings,
            *self.dry.findings,
            *self.tight.findings,
            *self.legal,
            *self.safe,
            *self.worth.findings,
            *self.comfort.findings,
        )

    def verdict(self, promise: str) -> Verdict:
        """The worst verdict of one promise; 'holds' where nothing was found against it."""
        verdicts = [f.verdict for f in self.findings if f.promise == promise]
        return next((v for v in _WORST if v in verdicts), "holds")

    @property
    def keeps_its_promises(self) -> bool:
        """Whether it can be built and falls short of nothing (a person may still be needed).

        Whether it pays is told beside it, not counted here: prices change, walls do not.
        """
        return self.build_up.can_be_built and not _shortfalls(self)


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
    weather: HourlyClimate
    air: HouseAir  # before anything is done
    tight: HouseTight  # the house with the chosen options
    worth: Worth  # of the chosen options together
    heating: HeatingCase  # by what savings are judged

    def wall(self, name: str) -> WallStudy:
        """The wall with that name; InputError when there is none."""
        for wall in self.walls:
            if wall.wall.name == name:
                return wall
        names = ", ".join(wall.wall.name for wall in self.walls)
        raise InputError([Fault("wall", f"'{name}'", names)])

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Findings of the house as a whole, beside those of its walls."""
        return (*self.tight.findings, *self.worth.findings)


def study(
    survey: Survey,
    catalog: Catalog | None = None,
    prices: PriceList | None = None,
    packs: Sequence[CodePack] | None = None,
    progress: Progress | None = None,
    weather: HourlyClimate | None = None,
    fields: bool = True,
    workers: int = 1,
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
    weather : HourlyClimate, optional
        A year of hours; one made from the station's monthly normals when not given.
    fields : bool
        Solve the 3-D field of every wall and option; without it the simple methods judge.
    workers : int
        Processes that share the walls; 1 keeps everything in this one.

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
    case = _case(
        survey,
        catalog or load(),
        prices or default_prices(),
        tuple(code_packs().values()) if packs is None else tuple(packs),
        weather,
        fields,
    )
    walls = _in_order(case, workers, progress)
    chosen = [w.chosen for w in walls]
    whole = house_tight(survey.house, case.air, [o.tight.removed for o in chosen])
    total = combine([o.price for o in chosen if o.price is not None], case.prices)
    return Study(
        survey=survey,
        catalog=case.catalog,
        prices=case.prices,
        packs=case.packs,
        room=case.room,
        outside=case.outside,
        walls=walls,
        takeoff=combine_takeoffs(tuple(o.quantities for o in chosen)),
        price=total,
        weather=case.air.weather,
        air=case.air,
        tight=whole,
        worth=_house_worth(chosen, total, whole.to_add, case),
        heating=case.heating,
    )


@dataclass(frozen=True)
class _Found:
    """A wall as it stands."""

    build_up: BuildUp
    warm: Warm


@dataclass(frozen=True)
class _Case:
    """What all walls of a house share."""

    survey: Survey
    catalog: Catalog
    prices: PriceList
    packs: tuple[CodePack, ...]
    room: Room
    outside: Outside
    found: tuple[_Found, ...]
    air: HouseAir
    heating: HeatingCase
    fields: bool


def _case(
    survey: Survey,
    catalog: Catalog,
    prices: PriceList,
    packs: tuple[CodePack, ...],
    weather: HourlyClimate | None,
    fields: bool,
) -> _Case:
    house = survey.house
    climate = catalog.climate(house.climate)
    room, outside = room_of(house, climate), outside_of(house, climate)
    built = [
        apply(LEAVE, wall, frame_wall(wall, house, catalog.lumber), catalog, survey.hazards)
        for wall in survey.walls
    ]
    found = tuple(_Found(b, warm(b, room, outside, _field(b, fields))) for b in built)
    frames = tuple(b.frame for b in built)
    year = weather or synthesise(normals_of(climate))
    air = house_air(house, survey.walls, frames, catalog, year, room)
    present = sum(f.warm.transmittance * f.build_up.frame.net_area for f in found)
    fuel = catalog.fuel(house.heating.fuel)
    terms = energy_terms(prices, fuel)
    heating = heating_case(house, air, fuel, present, terms, outside.design)
    return _Case(survey, catalog, prices, packs, room, outside, found, air, heating, fields)


def _field(build_up: BuildUp, wanted: bool) -> WallHeat | None:
    return wall_heat(wall_field(build_up)) if wanted else None


def _in_order(case: _Case, workers: int, progress: Progress | None) -> tuple[WallStudy, ...]:
    """All walls in the survey's order, one after the other or shared by processes."""
    names = [wall.name for wall in case.survey.walls]
    tell = progress or (lambda _what, _done, _of: None)
    walls = []
    with _mapped(case, min(workers, len(names))) as studies:
        for done, name in enumerate(names):
            tell(name, done, len(names))
            walls.append(next(studies))
    tell("", len(names), len(names))
    return tuple(walls)


@contextmanager
def _mapped(case: _Case, workers: int) -> Iterator[Iterator[WallStudy]]:
    numbers = range(len(case.survey.walls))
    if workers < 2:
        yield (_study_wall(case, number) for number in numbers)
        return
    # always the spawn way: a forked process inherits the solvers' threads and hangs
    with ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=_start_worker, initargs=(case,)
    ) as pool:
        yield pool.map(_study_own_wall, numbers)


_own_case: list[_Case] = []  # what a worker process was started with


def _start_worker(case: _Case) -> None:
    import numba

    numba.set_num_threads(1)
    _own_case[:] = [case]


def _study_own_wall(number: int) -> WallStudy:
    return _study_wall(_own_case[0], number)


def _study_wall(case: _Case, number: int) -> WallStudy:
    survey, found = case.survey, case.found[number]
    wall = survey.walls[number]
    wanted = [w for w in survey.options if not w.walls or wall.name in w.walls]
    options = tuple(
        _study_option(option, wall, found, case)
        for option in offered(wall, survey.house, case.catalog, wanted)
    )
    chosen, why = _choose(options)
    return WallStudy(wall, found.build_up.frame, options, chosen.option.id, why)


def _study_option(option: Option, wall: Wall, found: _Found, case: _Case) -> OptionStudy:
    frame, leave = found.build_up.frame, option.kind == "leave"
    build_up = apply(option, wall, frame, case.catalog, case.survey.hazards)
    heat = (
        found.warm
        if leave
        else warm(build_up, case.room, case.outside, _field(build_up, case.fields))
    )
    worked = not leave and build_up.can_be_built
    quantities = takeoff(build_up, wall, case.catalog, case.prices) if worked else ()
    cost = price(quantities, case.prices) if worked else None
    foam = case.catalog.foam(option.foam) if option.foam else None
    before, after = found.warm.transmittance, heat.transmittance
    air = tight(build_up, found.build_up, case.air)
    change = Change(before * frame.net_area, after * frame.net_area, air.removed)
    return OptionStudy(
        build_up=build_up,
        warm=heat,
        dry=dry(build_up, case.room, case.outside),
        legal=legal(case.packs, build_up, case.outside.climate),
        safe=safe(case.survey.hazards, wall, build_up, foam),
        tight=air,
        worth=worth(change, case.heating, float(cost.total) if cost else None),
        comfort=comfort(build_up, found.build_up, (before, after), case.room, case.outside),
        change=change,
        quantities=quantities,
        price=cost,
    )


def _house_worth(
    chosen: Sequence[OptionStudy], total: Price, fresh_air: float, case: _Case
) -> Worth:
    """Worth of all chosen options together, at the price of the house, fresh air added."""
    removed = Band(0.0, 0.0, 0.0)
    for option in chosen:
        removed = removed + option.change.removed
    change = Change(
        sum(o.change.before for o in chosen), sum(o.change.after for o in chosen), removed
    )
    cost = float(total.total) if total.total else None
    return worth(change, case.heating, cost, fresh_air if removed.high > 0.0 else 0.0)


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
    return sum(f.verdict == "falls short" and f.promise != "worth it" for f in option.findings)
