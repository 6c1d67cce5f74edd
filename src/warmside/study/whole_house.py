"""A house studied whole: every wall, every option, judged and priced."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from dataclasses import fields as dataclass_fields
from functools import partial

from warmside.catalog import Catalog, CodePack, country_of, electricity_of, load
from warmside.estimate import (
    Price,
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
    as_it_stands,
    asked_of_closed,
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
    wet_evidence,
    with_presumed,
    worst_joint,
    worth,
)
from warmside.study.comparison import choose
from warmside.study.fields import ends_of, solved
from warmside.study.house import Study
from warmside.study.house_totals import together
from warmside.study.memory import Kept, digest
from warmside.study.parts import (
    Hours,
    OptionStudy,
    Paths,
    Settling,
    WallStudy,
    Weights,
)
from warmside.study.plan import Ground as PlanGround
from warmside.study.plan import Plans, make_plans, takes_part
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
        Judge moisture hour by hour in a year 2 K colder (`warmside.weather.severe_year`), as the
        survey may ask, too; heat and money stay those of the mean year.

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
    hours = Hours(years, paths, severe or survey.house.moisture_year == "severe year")
    ground = _ground(survey, catalog, prices, packs, fields, weights, hours, weather)
    store = Kept() if kept is None else kept
    with shared(min(workers, len(survey.walls))) as each, ThreadPoolExecutor(1) as beside:
        # the year is made while the workers load the solvers, and begin as soon as they have them
        making = beside.submit(lambda: weather or usual_year(ground.outside.climate))
        as_found = _as_found(ground, store, each)
        year = _with_notes(making.result(), ground, hours, given=weather is not None)
        exposures = _exposures(survey, year, hours)
        case = _case(ground, as_found, year, store)
        planned: list[Plans] = []

        def judge(rest: tuple[float, ...]) -> tuple[WallStudy, ...]:
            now = replace(case, rest=rest)
            walls = _told(_walls(now, exposures, store, each), survey, progress)
            walls, plans = _planned(now, walls, exposures, store)
            planned.append(plans)
            return walls

        walls, settling = settle(case.air, case.catalog, judge)
    return _whole(case, walls, settling, planned[-1])


def _with_notes(
    year: HourlyClimate, ground: _Ground, hours: Hours, *, given: bool
) -> HourlyClimate:
    """The year with what a reader must know of it besides its own notes."""
    said = ground.outside.climate.said if given else ()
    if hours.severe and hours.years:
        said += ("moisture: judged by a severe year, 2 K colder; heat and money by the mean one",)
    return replace(year, notes=year.notes + said) if said else year


_FEW = 12  # options
NOT_PLANNED = "The house was not planned yet."


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


def _whole(case: _Case, walls: tuple[WallStudy, ...], settling: Settling, plans: Plans) -> Study:
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
        plans=plans,
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
    power = catalog.fuels.get(electricity_of(ground.outside.climate))
    terms = energy_terms(ground.prices, fuel, power)
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
    return offered(wall, case.survey.house, case.catalog, wanted, case.survey.hazards)


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
    options = _likely_hours(options, wall, item.exposure, case)
    return WallStudy(wall, found.build_up.frame, options, LEAVE.id, NOT_PLANNED)


def _likely_hours(
    options: tuple[OptionStudy, ...], wall: Wall, exposure: Exposure | None, case: _Case
) -> tuple[OptionStudy, ...]:
    """Options with the hours that a plan is likely to ask for, run where the walls are shared out.

    What was put forward before need not be now: only what is asked for is shown.
    """
    if exposure is None:
        return tuple(replace(o, dry=o.dry.without_hours()) for o in options)
    known: dict[object, DryPath] = {}
    if case.hours.paths == "all":
        return tuple(
            _with_hours(o, wall, exposure, case, known) if o.build_up.can_be_built else o
            for o in options
        )
    frame = options[0].build_up.frame
    while True:
        best = _likely(WallStudy(wall, frame, options, LEAVE.id, NOT_PLANNED), case.weights)
        if not best.option.kind.worked or best.dry.hourly is not None:
            return options
        options = tuple(
            _with_hours(o, wall, exposure, case, known) if o is best else o for o in options
        )


def _likely(wall: WallStudy, weights: Weights) -> OptionStudy:
    """What the plan would take if this wall stood alone."""
    if weights != Weights():
        return wall.option(choose(wall.options, weights)[0])
    fit = [o for o in wall.options if takes_part(o, wall) and o.option.kind.worked]

    def net(option: OptionStudy) -> float:
        value = option.worth.net_present_value
        return value[1] if value else float("-inf")

    best = max(fit, key=net, default=wall.as_found)
    return best if best.option.kind.worked and net(best) > 0.0 else wall.as_found


def _with_hours(
    option: OptionStudy,
    wall: Wall,
    exposure: Exposure,
    case: _Case,
    known: dict[object, DryPath],
) -> OptionStudy:
    """An option with its year run hour by hour, if it is not known yet."""
    if option.dry.hourly is not None:
        return option
    every, build_up = case.hours.paths == "all", option.build_up
    joint = worst_joint(build_up, wall, case.air) if every else None
    found = dry_years(
        build_up, exposure, option.room, years=case.hours.years,
        paths=PATHS if every else PATHS[:1], joint=joint, known=known,
    )  # fmt: skip
    return replace(option, dry=option.dry.with_hours(found))


def _planned(
    case: _Case,
    walls: tuple[WallStudy, ...],
    exposures: Sequence[Exposure | None],
    kept: Kept,
) -> tuple[tuple[WallStudy, ...], Plans]:
    """The walls with what the plan puts forward on each.

    What hours show can rule an option out; then the house is planned again.
    """
    ground = PlanGround(case.survey.house, case.air, case.prices, case.heating, case.catalog)
    while True:
        plans = make_plans(walls, ground)
        walls = tuple(_put_forward(wall, plans, case.weights) for wall in walls)
        asked = [
            exposure if wall.chosen.option.kind.worked and wall.chosen.dry.hourly is None else None
            for wall, exposure in zip(walls, exposures, strict=True)
        ]
        if not any(asked):
            return walls, plans
        walls = tuple(
            wall if exposure is None else _chosen_hours(wall, exposure, case, kept)
            for wall, exposure in zip(walls, asked, strict=True)
        )


def _chosen_hours(wall: WallStudy, exposure: Exposure, case: _Case, kept: Kept) -> WallStudy:
    run = _with_hours(wall.chosen, wall.wall, exposure, case, {})
    name = digest(digest("option", case.key, wall.wall), run.option)
    kept.put(name, _Judged(case.house, run))
    options = tuple(run if o.option.id == wall.chosen_id else o for o in wall.options)
    return replace(wall, options=options)


def _put_forward(wall: WallStudy, plans: Plans, weights: Weights) -> WallStudy:
    """By the plan; by the client's own weights where some were given."""
    if weights != Weights():
        chosen, why = choose(wall.options, weights)
        return replace(wall, chosen_id=chosen, why_chosen=why)
    advice = plans.advice_for(wall.wall.name)
    return replace(wall, chosen_id=advice.recommended, why_chosen=str(advice.reason))


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


def _known(cost: Price | None) -> float | None:
    """What an option costs; None where something of it has no price: money does not rank it."""
    return None if cost is None or cost.unpriced else float(cost.total)


def _study_option(
    option: Option, wall: Wall, found: _Found, case: _Case, rest: float, as_found: AsFound
) -> OptionStudy:
    frame, leave = found.build_up.frame, not option.kind.worked
    build_up = apply(option, wall, frame, case.catalog, case.survey.hazards)
    worked = not leave and build_up.can_be_built
    same = leave or build_up.stacks == found.build_up.stacks  # its field is known
    ends = ends_of(wall, case.survey.walls)
    field = solved(build_up, ends) if case.fields and worked and not same else None
    share = leakage_removed(build_up, case.air)
    room = room_after(case.survey.house, case.air, rest + share.best, case.catalog)
    before = None if leave else as_found[:2]
    heat = warm(build_up, room, case.outside, found.warm.field if same else field, before)
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
        legal=asked_of_closed(
            legal(
                case.packs,
                build_up,
                case.outside.climate,
                catalog=case.catalog,
                wall=wall,
                house=case.survey.house,
                hazards=case.survey.hazards,
            ),
            build_up,
        ),
        safe=safe(case.survey.hazards, wall, build_up, foam, case.catalog, case.survey.house),
        tight=tight(build_up, found.build_up, case.air, room),
        worth=worth(change, case.heating, _known(cost)),
        comfort=comfort(build_up, found.build_up, (was, after), room, case.outside),
        change=change,
        quantities=quantities,
        price=cost,
        works=work_items(build_up, wall),
        standing=(
            *wet_evidence(wall, case.survey.hazards, build_up, case.catalog),
            *as_it_stands(wall, case.survey.hazards, build_up),
        ),
    )
