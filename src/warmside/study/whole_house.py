"""A house studied whole: every wall, every option, judged and priced."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from dataclasses import fields as dataclass_fields
from functools import partial

from warmside.catalog import Catalog, CodePack, country_of, load
from warmside.estimate import (
    PriceList,
    combine_takeoffs,
    default_prices,
    energy_terms,
    price,
    takeoff,
)
from warmside.framing import frame_wall
from warmside.options import LEAVE, BuildUp, Option, apply, offered
from warmside.physics.climate import HourlyClimate
from warmside.promises import (
    PATHS,
    Change,
    DryPath,
    Exposure,
    HeatingCase,
    HouseAir,
    Outside,
    Warm,
    comfort,
    dry,
    dry_years,
    exposure_of,
    found_wet,
    heating_case,
    house_air,
    leakage_removed,
    legal,
    outside_of,
    room_after,
    safe,
    tight,
    unread,
    warm,
    with_presumed,
    worst_joint,
    worth,
)
from warmside.study.comparison import choose
from warmside.study.fields import ends_of, solved
from warmside.study.house_totals import together
from warmside.study.memory import Kept, digest
from warmside.study.parts import (
    Hours,
    OptionStudy,
    Paths,
    Settling,
    Study,
    WallStudy,
    Weights,
)
from warmside.study.settling import AsFound, Surroundings, plan_room, settle
from warmside.survey import Survey, Wall
from warmside.weather import severe_year, usual_year
from warmside.workers import Shared, here, shared
from warmside.works import work_items

Progress = Callable[[str, int, int], None]  # what, done, of how many


def study(
    survey: Survey,
    catalog: Catalog | None = None,
    prices: PriceList | None = None,
    packs: Sequence[CodePack] | None = None,
    progress: Progress | None = None,
    weather: HourlyClimate | None = None,
    fields: bool = True,
    workers: int = 1,
    weights: Weights | None = None,
    kept: Kept | None = None,
    years: int = 1,
    paths: Paths = "all",
    severe: bool = False,
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
        A whole year of hours (`warmside.weather.whole_year`); one made from the station's monthly
        normals when not given.
    fields : bool
        Solve the 3-D field of every wall and option; without it the simple methods judge.
    workers : int
        Processes that share the walls; 1 keeps everything in this one.
    weights : Weights, optional
        What counts how much when options are ranked; the cost alone when not given.
    kept : Kept, optional
        Results of earlier studies; what is unchanged is taken from there.
    years : int
        How often the year is run hour by hour through the walls, from October on; 0 leaves it out.
    paths : str
        "chosen": mid-bay of what is put forward; "all": every option that can be built, mid-bay,
        through the stud and at the worst joint.
    severe : bool
        Judge moisture hour by hour in a year 2 K colder (`warmside.weather.severe_year`); heat and
        money stay those of the mean year.

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
    hours = Hours(years, paths, severe)
    ground = _ground(survey, catalog, prices, packs, fields, weights, hours, weather)
    store = Kept() if kept is None else kept
    with shared(min(workers, len(survey.walls))) as each, ThreadPoolExecutor(1) as beside:
        # the year is made while the workers load the solvers, and begin as soon as they have them
        making = beside.submit(lambda: weather or usual_year(ground.outside.climate))
        as_found = _as_found(ground, store, each)
        year = _with_notes(making.result(), ground, hours, given=weather is not None)
        exposures = _exposures(survey, year, hours)
        case = _case(ground, as_found, year, store)

        def judge(rest: tuple[float, ...]) -> tuple[WallStudy, ...]:
            return _told(_walls(replace(case, rest=rest), exposures, store, each), survey, progress)

        walls, settling = settle(case.air, case.catalog, judge)
    return _whole(case, walls, settling)


def _with_notes(
    year: HourlyClimate, ground: _Ground, hours: Hours, *, given: bool
) -> HourlyClimate:
    """The year with what a reader must know of it besides its own notes."""
    said = ground.outside.climate.said if given else ()
    if hours.severe and hours.years:
        said += ("moisture: judged by a severe year, 2 K colder; heat and money by the mean one",)
    return replace(year, notes=year.notes + said) if said else year


_FEW = 12  # options


@dataclass(frozen=True)
class _Found:
    """A wall as it stands."""

    build_up: BuildUp
    warm: Warm  # in a room whose humidity is not known yet


@dataclass(frozen=True)
class _Ground:
    """What is given before any wall is looked at."""

    survey: Survey
    catalog: Catalog
    prices: PriceList
    packs: tuple[CodePack, ...]
    outside: Outside
    fields: bool
    weights: Weights
    hours: Hours
    key: str  # names the content that one wall alone is judged by


@dataclass(frozen=True)
class _Case(_Ground):
    """What all options of a house share, once its walls as found are known."""

    found: tuple[_Found, ...]
    air: HouseAir
    heating: HeatingCase
    house: str  # names the content of the whole house, weather included
    rest: tuple[float, ...] = ()  # [-] of the leakage that the other walls of the plan remove

    @property
    def around(self) -> Surroundings:
        """What every option is judged against beside its room."""
        return Surroundings(self.air, self.outside, self.heating)


@dataclass(frozen=True)
class _Judged:
    """An option as it was kept, and the house that its air and worth were reckoned in."""

    house: str
    option: OptionStudy


@dataclass(frozen=True)
class _Item:
    """A wall to study."""

    number: int
    kept: Sequence[_Judged | None]  # by option
    exposure: Exposure | None  # None: not hour by hour


def _whole(case: _Case, walls: tuple[WallStudy, ...], settling: Settling) -> Study:
    """The study of all walls, with what is only known of the house as a whole."""
    chosen = [w.chosen for w in walls]
    whole = together(
        chosen, case.survey.house, case.air, case.prices, case.heating, case.catalog,
        case.survey.hazards,
    )  # fmt: skip
    removed = sum(o.change.removed.best for o in chosen)
    return Study(
        survey=case.survey,
        catalog=case.catalog,
        prices=case.prices,
        packs=case.packs,
        room=case.air.room,
        room_after=room_after(case.survey.house, case.air, removed, case.catalog),
        outside=case.outside,
        walls=walls,
        takeoff=combine_takeoffs(tuple(o.quantities for o in chosen)),
        price=whole.price,
        weather=case.air.weather,
        air=case.air,
        tight=whole.tight,
        worth=whole.worth,
        heating=case.heating,
        weights=case.weights,
        settling=settling,
    )


def _ground(
    survey: Survey,
    catalog: Catalog | None,
    prices: PriceList | None,
    packs: Sequence[CodePack] | None,
    fields: bool,
    weights: Weights | None,
    hours: Hours,
    weather: HourlyClimate | None,
) -> _Ground:
    house = survey.house
    known = (catalog or load()).at(house.climate)
    survey = with_presumed(survey, known)
    climate = known.climate(house.climate)
    country = country_of(climate)
    priced = prices or (default_prices(country.currency) if country else default_prices())
    codes = known.packs_for(climate) if packs is None else tuple(packs)
    return _Ground(
        survey,
        known,
        priced,
        codes,
        outside_of(house, climate),
        fields,
        weights or Weights(),
        hours,
        digest(house, survey.hazards, known, priced, codes, fields, hours, weather),
    )


def _as_found(ground: _Ground, kept: Kept, each: Shared) -> Iterator[_Found]:
    """Every wall as it stands; what is missing is begun at once and waited for later."""
    names = [digest("as found", ground.key, wall) for wall in ground.survey.walls]
    there = [kept.get(name) for name in names]
    missing = [number for number, found in enumerate(there) if found is None]
    made = each(partial(_found, ground), missing)

    def waited() -> Iterator[_Found]:
        for name, found in zip(names, there, strict=True):
            one = next(made) if found is None else found
            kept.put(name, one)
            yield one

    return waited()


def _found(ground: _Ground, number: int) -> _Found:
    survey, wall = ground.survey, ground.survey.walls[number]
    frame = frame_wall(wall, survey.house, ground.catalog.lumber)
    build_up = apply(LEAVE, wall, frame, ground.catalog, survey.hazards)
    field = solved(build_up, ends_of(wall, survey.walls)) if ground.fields else None
    # the room is known once all walls are: what hangs on it is judged again
    return _Found(build_up, warm(build_up, unread(survey.house), ground.outside, field))


def _case(ground: _Ground, as_found: Iterable[_Found], year: HourlyClimate, kept: Kept) -> _Case:
    # what the year is made of, or what was given, is in the ground's key
    name = digest("house", ground.key, ground.survey.walls)
    found, shared = tuple(as_found), kept.get(name)
    if shared is None:
        shared = _shared(ground, found, year)
        kept.put(name, shared)
    air, heating = shared
    given = {field.name: getattr(ground, field.name) for field in dataclass_fields(ground)}
    return _Case(**given, found=found, air=air, heating=heating, house=name)


def _shared(
    ground: _Ground, found: tuple[_Found, ...], year: HourlyClimate
) -> tuple[HouseAir, HeatingCase]:
    """Air and heating of the house, to which every wall adds its part."""
    house, catalog = ground.survey.house, ground.catalog
    frames = tuple(f.build_up.frame for f in found)
    air = house_air(house, ground.survey.walls, frames, catalog, year)
    present = sum(f.warm.heat_loss(f.build_up.frame.net_area) for f in found)
    fuel = catalog.fuel(house.heating.fuel)
    terms = energy_terms(ground.prices, fuel)
    heating = heating_case(house, air, fuel, present, terms, ground.outside.design)
    return air, heating


def _told(
    studies: Iterable[WallStudy], survey: Survey, progress: Progress | None
) -> tuple[WallStudy, ...]:
    """All walls in the survey's order; each is told before it is waited for."""
    tell = progress or (lambda _what, _done, _of: None)
    names = [wall.name for wall in survey.walls]
    waiting, walls = iter(studies), []
    for done, name in enumerate(names):
        tell(name, done, len(names))
        walls.append(next(waiting))
    tell("", len(names), len(names))
    return tuple(walls)


def _offered(case: _Case, wall: Wall) -> tuple[Option, ...]:
    wanted = [w for w in case.survey.options if not w.walls or wall.name in w.walls]
    return offered(wall, case.survey.house, case.catalog, wanted)


def _exposures(survey: Survey, year: HourlyClimate, hours: Hours) -> Sequence[Exposure | None]:
    """Sun and rain on every wall; made in this process, where the sun's library is loaded already.

    None where nothing is run hour by hour.
    """
    judging = severe_year(year) if hours.severe else year
    return [exposure_of(wall, judging) if hours.years else None for wall in survey.walls]


def _walls(
    case: _Case, exposures: Sequence[Exposure | None], kept: Kept, each: Shared
) -> Iterator[WallStudy]:
    """Every wall studied, what is kept taken from there."""
    names = []
    for wall in case.survey.walls:
        stem = digest("option", case.key, wall)
        names.append([digest(stem, option) for option in _offered(case, wall)])
    there = [[kept.get(name) for name in options] for options in names]
    missing = sum(judged is None for options in there for judged in options)
    # a few options take less time here than processes take to start
    over = each if missing > _FEW else here
    items = [
        _Item(number, options, exposure)
        for number, (options, exposure) in enumerate(zip(there, exposures, strict=True))
    ]
    studies = over(partial(_study_wall, case), items, partial(_load, case))
    for options, study in zip(names, studies, strict=True):
        for name, option in zip(options, study.options, strict=True):
            kept.put(name, _Judged(case.house, option))
        yield study


def _load(case: _Case, item: _Item) -> float:
    """How long a wall will take: its options that are not kept, each by the frame's size."""
    missing = sum(judged is None for judged in item.kept)
    return missing * case.found[item.number].build_up.frame.net_area


def _study_wall(case: _Case, item: _Item) -> WallStudy:
    wall, found = case.survey.walls[item.number], case.found[item.number]
    rest, wet = case.rest[item.number], found_wet(wall, case.survey.hazards)
    as_found = found.build_up, found.warm, wet
    options = tuple(
        _study_option(option, wall, found, case, rest, as_found)
        if judged is None
        else _in_house(judged, case, rest, as_found)
        for option, judged in zip(_offered(case, wall), item.kept, strict=True)
    )
    options, chosen, why = _through_the_years(options, wall, item.exposure, case)
    return WallStudy(wall, found.build_up.frame, options, chosen, why)


def _through_the_years(
    options: tuple[OptionStudy, ...], wall: Wall, exposure: Exposure | None, case: _Case
) -> tuple[tuple[OptionStudy, ...], str, str]:
    """Options with their hourly years, the one put forward and why.

    What hours show can change what is put forward; then the next one is run too.
    """
    known: dict[object, DryPath] = {}
    every = case.hours.paths == "all"

    # what was put forward before need not be now: only what is asked for is shown
    before = {o.option.id: o for o in options if o.dry.hourly is not None}
    options = tuple(replace(o, dry=o.dry.without_hours()) for o in options)
    if exposure is None:
        return options, *choose(options, case.weights)

    def run(option: OptionStudy) -> OptionStudy:
        if option.option.id in before:
            return before[option.option.id]
        build_up = option.build_up
        joint = worst_joint(build_up, wall, case.air) if every else None
        found = dry_years(
            build_up, exposure, option.room, years=case.hours.years,
            paths=PATHS if every else PATHS[:1], joint=joint, known=known,
        )  # fmt: skip
        return replace(option, dry=option.dry.with_hours(found))

    if every:
        options = tuple(run(o) if o.build_up.can_be_built else o for o in options)
    while True:
        chosen, why = choose(options, case.weights)
        best = next(o for o in options if o.option.id == chosen)
        if best.dry.hourly is not None:
            return options, chosen, why
        options = tuple(run(o) if o is best else o for o in options)


def _in_house(judged: _Judged, case: _Case, rest: float, as_found: AsFound) -> OptionStudy:
    """A kept option in the house and the plan as they are now: other walls may have changed."""
    option = judged.option
    same = judged.house == case.house
    if not same and option.dry.hourly and case.hours.paths == "all":  # the worst joint's pressures
        option = replace(option, dry=option.dry.without_hours())
    # what is removed hangs on the house: the room is that of the house as it is now
    share = leakage_removed(option.build_up, case.air)
    option = replace(option, change=replace(option.change, removed=share))
    room = plan_room(case.air, case.catalog, rest, option)
    if same and room.same_as == option.room.same_as:
        return option
    return case.around.in_room(option, room, as_found)


def _study_option(
    option: Option, wall: Wall, found: _Found, case: _Case, rest: float, as_found: AsFound
) -> OptionStudy:
    frame, leave = found.build_up.frame, not option.kind.worked
    build_up = apply(option, wall, frame, case.catalog, case.survey.hazards)
    worked = not leave and build_up.can_be_built
    ends = ends_of(wall, case.survey.walls)
    field = solved(build_up, ends) if case.fields and worked else None
    share = leakage_removed(build_up, case.air)
    room = room_after(case.survey.house, case.air, rest + share.best, case.catalog)
    before = None if leave else as_found[:2]
    heat = warm(build_up, room, case.outside, found.warm.field if leave else field, before)
    quantities = takeoff(build_up, wall, case.catalog, case.prices) if worked else ()
    cost = price(quantities, case.prices) if worked else None
    foam = case.catalog.foam(option.foam) if option.foam else None
    was, after = found.warm.transmittance, heat.transmittance
    area = frame.net_area
    change = Change(found.warm.heat_loss(area), heat.heat_loss(area), share)
    return OptionStudy(
        build_up=build_up,
        room=room,
        warm=heat,
        dry=dry(build_up, room, case.outside, found_wet(wall, case.survey.hazards)),
        legal=legal(
            case.packs,
            build_up,
            case.outside.climate,
            catalog=case.catalog,
            wall=wall,
            house=case.survey.house,
            hazards=case.survey.hazards,
        ),
        safe=safe(case.survey.hazards, wall, build_up, foam, case.catalog, case.survey.house),
        tight=tight(build_up, found.build_up, case.air, room),
        worth=worth(change, case.heating, float(cost.total) if cost else None),
        comfort=comfort(build_up, found.build_up, (was, after), room, case.outside),
        change=change,
        quantities=quantities,
        price=cost,
        works=work_items(build_up, wall),
    )
