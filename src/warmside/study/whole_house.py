"""A house studied whole: every wall, every option, judged and priced."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from dataclasses import fields as dataclass_fields
from functools import partial

from warmside.catalog import Catalog, CodePack, currency_of, load, region_of
from warmside.estimate import (
    PriceList,
    combine_takeoffs,
    default_prices,
    price,
    takeoff,
)
from warmside.framing import frame_wall
from warmside.options import LEAVE, BuildUp, Option, apply, offered
from warmside.physics.climate import HourlyClimate
from warmside.promises import (
    WET_HAZARDS,
    Change,
    Finding,
    HeatingCase,
    HouseAir,
    Outside,
    Warm,
    as_it_stands,
    asked_of_closed,
    comfort,
    dry,
    exposure_of,
    found_wet,
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
    worth,
)
from warmside.study.comparison import choose
from warmside.study.fields import ends_of, solved
from warmside.study.hours import HourlyRuns
from warmside.study.house import Study
from warmside.study.house_totals import heating_of, together
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
from warmside.study.plan import Plans, best_options, make_plans, stops
from warmside.study.settling import Surroundings, others, plan_room, sealed, settle
from warmside.survey import Survey, Wall
from warmside.weather import usual_year
from warmside.wording import plain
from warmside.workers import Shared, here, shared, unsearched
from warmside.works import work_items

Progress = Callable[[str, int, int], None]  # which option, how many are done, of how many


@unsearched()
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
        Called with the option that is worked on, how many are done, and how many there are.
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
        case = _case(ground, as_found, year, store)
        runs = _runs(case, year, each, store)
        dry = _as_if_dry(replace(case, rest=others(sealed(case.air))), store, each)
        course = _Course.of(case, store, each, runs)

        def judge(rest: tuple[float, ...], whole: bool = False) -> tuple[WallStudy, ...]:
            now = replace(case, rest=rest)
            walls = _chosen(now, _walls(now, course, progress), course, whole=whole)
            _keep(now, walls, course)
            return walls

        every = partial(judge, whole=True) if runs and hours.paths == "all" else None
        walls, settling = settle(case.air, case.catalog, judge, every)
        dried = tuple(dry)
    plans = make_plans(walls, course.ground, {wall.wall.name: wall for wall in dried})
    walls = tuple(put_forward(wall, plans, case.weights) for wall in walls)
    return _whole(case, walls, settling, plans, dried)


def _with_notes(
    year: HourlyClimate, ground: _Ground, hours: Hours, *, given: bool
) -> HourlyClimate:
    """The year with what a reader must know of it besides its own notes."""
    said = ground.outside.climate.said if given else ()
    if hours.severe and hours.years:
        said += ("moisture: judged by a severe year, 2 K colder; heat and money by the mean one",)
    return replace(year, notes=year.notes + said) if said else year


_FEW = 12  # options
NOT_PLANNED = plain("The house was not planned yet.")


@dataclass(frozen=True)
class FoundWall:
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
class WallCase(_Ground):
    """What all options of a house share, once its walls as found are known."""

    found: tuple[FoundWall, ...]
    air: HouseAir
    heating: HeatingCase
    house: str  # names the content of the whole house, weather included
    rest: tuple[float, ...] = ()  # [-] of the leakage that the other walls of the plan remove

    @property
    def around(self) -> Surroundings:
        """What every option is judged against beside its room."""
        return Surroundings(self.air, self.outside)

    @property
    def planned(self) -> PlanGround:
        """What its plans are made from."""
        return PlanGround(self.survey.house, self.air, self.prices, self.heating, self.catalog)


@dataclass(frozen=True)
class _Judged:
    """An option as it was kept, and the house that its air and worth were reckoned in."""

    house: str
    option: OptionStudy


@dataclass(frozen=True)
class _Course:
    """What the rounds of one study share."""

    kept: Kept
    each: Shared
    runs: HourlyRuns | None  # None where nothing is run hour by hour
    ground: PlanGround
    offers: Sequence[Sequence[Option]]  # of each wall
    names: Sequence[Sequence[str]]  # under which each of them is kept

    @classmethod
    def of(cls, case: WallCase, kept: Kept, each: Shared, runs: HourlyRuns | None) -> _Course:
        """The rounds of a house before the first of them."""
        offers = [options_of(case, wall) for wall in case.survey.walls]
        return cls(kept, each, runs, case.planned, offers, _names(case, offers))


@dataclass(frozen=True)
class _Item:
    """One option on the walls that are judged with it anew: alike, they share what is solved."""

    options: tuple[Option, ...]  # of one id, on each of the walls
    walls: tuple[int, ...]  # numbers


def _whole(
    case: WallCase,
    walls: tuple[WallStudy, ...],
    settling: Settling,
    plans: Plans,
    dried: tuple[WallStudy, ...],
) -> Study:
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
        hours=case.hours,
        dried=dried,
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
    priced = prices or default_prices(currency_of(climate), region_of(climate))
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


def _as_found(ground: _Ground, kept: Kept, each: Shared) -> Iterator[FoundWall]:
    """Every wall as it stands; what is missing is begun at once and waited for later."""
    names = [digest("as found", ground.key, wall) for wall in ground.survey.walls]
    there = [kept.get(name) for name in names]
    missing = [number for number, found in enumerate(there) if found is None]
    made = each(partial(found_wall, ground), missing)

    def waited() -> Iterator[FoundWall]:
        for name, found in zip(names, there, strict=True):
            one = next(made) if found is None else found
            kept.put(name, one)
            yield one

    return waited()


def found_wall(ground: _Ground, number: int) -> FoundWall:
    """A wall before any work: its framing, build-up and leaks."""
    survey, wall = ground.survey, ground.survey.walls[number]
    frame = frame_wall(wall, survey.house, ground.catalog.lumber)
    build_up = apply(LEAVE, wall, frame, ground.catalog, survey.hazards)
    field = solved(build_up, ends_of(wall, survey.walls)) if ground.fields else None
    # the room is known once all walls are: what hangs on it is judged again
    return FoundWall(build_up, warm(build_up, unread(survey.house), ground.outside, field))


def _case(
    ground: _Ground, as_found: Iterable[FoundWall], year: HourlyClimate, kept: Kept
) -> WallCase:
    # what the year is made of, or what was given, is in the ground's key
    name = digest("house", ground.key, ground.survey.walls)
    found, shared = tuple(as_found), kept.get(name)
    if shared is None:
        shared = _shared(ground, found, year)
        kept.put(name, shared)
    air, heating = shared
    given = {field.name: getattr(ground, field.name) for field in dataclass_fields(ground)}
    return WallCase(**given, found=found, air=air, heating=heating, house=name)


def _shared(
    ground: _Ground, found: tuple[FoundWall, ...], year: HourlyClimate
) -> tuple[HouseAir, HeatingCase]:
    """Air and heating of the house, to which every wall adds its part."""
    house, catalog = ground.survey.house, ground.catalog
    frames = tuple(f.build_up.frame for f in found)
    air = house_air(house, ground.survey.walls, frames, catalog, year)
    present = sum(f.warm.heat_loss(f.build_up.frame.net_area) for f in found)
    return air, heating_of(house, air, ground.prices, catalog, ground.outside, present)


def options_of(case: WallCase, wall: Wall) -> tuple[Option, ...]:
    """The usual options of a wall and those that the survey adds."""
    wanted = [w for w in case.survey.options if not w.walls or wall.name in w.walls]
    return offered(wall, case.survey.house, case.catalog, wanted, case.survey.hazards)


def _runs(case: WallCase, year: HourlyClimate, each: Shared, kept: Kept) -> HourlyRuns | None:
    """Hours to be run; None where nothing is run hour by hour.

    Sun and rain on the walls are made in this process, which has loaded the sun's library already.
    """
    if not case.hours.years:
        return None
    judging = case.hours.year(year)
    exposures = [exposure_of(wall, judging) for wall in case.survey.walls]
    known = kept.get(name := digest("hours", judging)) or {}
    kept.put(name, known)  # filled while the study runs
    return HourlyRuns(exposures, case.hours, case.air, each, known)


def _walls(case: WallCase, course: _Course, progress: Progress | None) -> tuple[WallStudy, ...]:
    """Every wall studied, what is kept taken from there."""
    walls, offers = case.survey.walls, course.offers
    judged = [[course.kept.get(name) for name in names] for names in course.names]
    made = _made(case, offers, judged, course.each, progress)
    studies = []
    for number, (wall, offer) in enumerate(zip(walls, offers, strict=True)):
        options = tuple(
            made[number, option.id] if one is None else _in_house(one, case, number)
            for option, one in zip(offer, judged[number], strict=True)
        )
        frame = case.found[number].build_up.frame
        studies.append(WallStudy(wall, frame, options, LEAVE.id, NOT_PLANNED))
    return tuple(studies)


def _names(case: WallCase, offers: Sequence[Sequence[Option]]) -> list[list[str]]:
    """Under what name each option of each wall is kept."""
    stems = [digest("option", case.key, wall) for wall in case.survey.walls]
    return [
        [digest(stem, option) for option in offer]
        for stem, offer in zip(stems, offers, strict=True)
    ]


def _made(
    case: WallCase,
    offers: Sequence[Sequence[Option]],
    judged: Sequence[Sequence[_Judged | None]],
    each: Shared,
    progress: Progress | None,
) -> dict[tuple[int, str], OptionStudy]:
    """Options that are not kept, by wall and id; one option on all walls is one share of work."""
    missing: dict[str, list[tuple[Option, int]]] = {}
    for number, (offer, there) in enumerate(zip(offers, judged, strict=True)):
        for option, one in zip(offer, there, strict=True):
            if one is None:
                missing.setdefault(option.id, []).append((option, number))
    items = [
        _Item(tuple(option for option, _ in on), tuple(number for _, number in on))
        for on in missing.values()
    ]
    # a few options take less time here than processes take to start
    over = each if sum(len(item.walls) for item in items) > _FEW else here
    tell = progress or (lambda _what, _done, _of: None)
    made: dict[tuple[int, str], OptionStudy] = {}
    studies = over(partial(_study_alike, case), items, partial(_load, case))
    for done, item in enumerate(items):
        tell(item.options[0].name, done, len(items))  # before it is waited for
        made |= {
            (number, new.option.id): new
            for number, new in zip(item.walls, next(studies), strict=True)
        }
    if items:
        tell("", len(items), len(items))
    return made


def _load(case: WallCase, item: _Item) -> float:
    """How long an option will take: by the size of its walls; nothing is solved to leave one."""
    if item.options[0].id == LEAVE.id:
        return 0.0
    return sum(case.found[number].build_up.frame.net_area for number in item.walls)


def _study_alike(case: WallCase, item: _Item) -> list[OptionStudy]:
    return [
        study_option(option, case.survey.walls[number], case.found[number], case, case.rest[number])
        for option, number in zip(item.options, item.walls, strict=True)
    ]


def _keep(case: WallCase, walls: Sequence[WallStudy], course: _Course) -> None:
    """Keep every option for the next round, and for whoever studies the house again."""
    kept = course.kept
    for wall, names in zip(walls, course.names, strict=True):
        for option, name in zip(wall.options, names, strict=True):
            kept.put(name, _Judged(case.house, option))


def _chosen(
    case: WallCase, walls: tuple[WallStudy, ...], course: _Course, *, whole: bool
) -> tuple[WallStudy, ...]:
    """The walls with the option that is put forward on each; the ``whole`` with all hours.

    What hours show can rule an option out; then it is chosen again.
    """
    runs = course.runs
    if runs and whole:
        walls = runs.of_all(walls)
    elif runs is None:
        walls = tuple(_without_hours(wall) for wall in walls)
    while True:
        ids = _best(walls, course.ground, case.weights)
        walls = tuple(replace(wall, chosen_id=id) for wall, id in zip(walls, ids, strict=True))
        run = runs.of_chosen(walls, told=whole) if runs else walls
        if run is walls:  # nothing was asked for
            return walls
        walls = run


def _best(walls: Sequence[WallStudy], ground: PlanGround, weights: Weights) -> Sequence[str]:
    """Ids by the plan; by the client's own weights where some were given."""
    if weights != Weights():
        return [choose(wall.options, weights)[0] for wall in walls]
    return best_options(walls, ground)


def _as_if_dry(case: WallCase, kept: Kept, each: Shared) -> Iterator[WallStudy]:
    """Walls that water stops, as if nothing wet had been found in them; begun at once.

    By the month and the simple methods. It tells what looks best once the wall is dry; then it is
    studied anew.
    """
    both = enumerate(zip(case.survey.walls, case.found, strict=True))
    numbers = [n for n, (wall, found) in both if stops(_standing(case, wall, found.build_up))]
    names = [digest("as if dry", case.key, case.survey.walls[n]) for n in numbers]
    there = [kept.get(name) for name in names]
    missing = [n for n, one in zip(numbers, there, strict=True) if one is None]
    made = (each if len(missing) > 1 else here)(partial(_dried, case), missing)

    def waited() -> Iterator[WallStudy]:
        for number, name, known in zip(numbers, names, there, strict=True):
            found, judged = known or next(made)
            now = _dry_case(case, number, found)
            options = tuple(_in_house(one, now, number) for one in judged)
            kept.put(name, (found, tuple(_Judged(case.house, one) for one in options)))
            frame, wall = found.build_up.frame, now.survey.walls[number]
            yield WallStudy(wall, frame, options, LEAVE.id, NOT_PLANNED)

    return waited()


def _dried(case: WallCase, number: int) -> tuple[FoundWall, list[_Judged]]:
    """One wall as if it were dry: as found, and its options."""
    now = _dry_case(case, number)
    wall, found = now.survey.walls[number], now.found[number]
    return found, [
        _Judged(case.house, study_option(option, wall, found, now, case.rest[number]))
        for option in options_of(now, wall)
    ]


def _dry_case(case: WallCase, number: int, found: FoundWall | None = None) -> WallCase:
    """The house with one of its walls as if it were dry, by the simple methods."""
    wall = case.survey.walls[number]
    found_dry = wall.found.model_copy(update={"fill_state": "dry"})
    as_found = found_dry if wall.found.wet_fill else wall.found  # what slumped stays so
    dry_wall = wall.model_copy(update={"readings": (), "found": as_found})
    walls = (*case.survey.walls[:number], dry_wall, *case.survey.walls[number + 1 :])
    hazards = tuple(h for h in case.survey.hazards if h.kind not in WET_HAZARDS)
    survey = case.survey.model_copy(update={"walls": walls, "hazards": hazards})
    there = replace(case, survey=survey, fields=False, hours=replace(case.hours, years=0))
    found = found or found_wall(there, number)
    return replace(there, found=(*case.found[:number], found, *case.found[number + 1 :]))


def _without_hours(wall: WallStudy) -> WallStudy:
    options = tuple(replace(o, dry=o.dry.without_hours()) for o in wall.options)
    return replace(wall, options=options)


def put_forward(wall: WallStudy, plans: Plans, weights: Weights) -> WallStudy:
    """As `_best`, and why."""
    if weights != Weights():
        chosen, why = choose(wall.options, weights)
        return replace(wall, chosen_id=chosen, why_chosen=plain(why))
    advice = plans.advice_for(wall.wall.name)
    return replace(wall, chosen_id=advice.recommended, why_chosen=advice.reason)


def _in_house(judged: _Judged, case: WallCase, number: int) -> OptionStudy:
    """A kept option in the house and the plan as they are now: other walls may have changed."""
    option, same = judged.option, judged.house == case.house
    if not same:
        if option.dry.hourly and case.hours.paths == "all":  # the worst joint's pressures
            option = replace(option, dry=option.dry.without_hours())
        # what is removed and saved hangs on the house: the room is that of the house as it is now
        change = replace(option.change, removed=leakage_removed(option.build_up, case.air))
        saved = worth(change, case.heating, option.cost)
        option = replace(option, change=change, worth=saved)
    room = plan_room(case.air, case.catalog, case.rest[number], option)
    if same and room.same_as == option.room.same_as:
        return option
    wall, found = case.survey.walls[number], case.found[number]
    as_found = found.build_up, found.warm, found_wet(wall, case.survey.hazards)
    return case.around.in_room(option, room, as_found)


def study_option(
    option: Option, wall: Wall, found: FoundWall, case: WallCase, rest: float
) -> OptionStudy:
    """One option judged by the simple methods in the case's room."""
    frame, leave = found.build_up.frame, not option.kind.worked
    build_up = apply(option, wall, frame, case.catalog, case.survey.hazards)
    worked = not leave and build_up.can_be_built
    same = leave or build_up.stacks == found.build_up.stacks  # its field is known
    ends = ends_of(wall, case.survey.walls)
    field = solved(build_up, ends) if case.fields and worked and not same else None
    share = leakage_removed(build_up, case.air)
    room = room_after(case.survey.house, case.air, rest + share.best, case.catalog)
    before = None if leave else (found.build_up, found.warm)
    heat = warm(build_up, room, case.outside, found.warm.field if same else field, before)
    works = work_items(build_up, wall)
    quantities = takeoff(build_up, wall, case.catalog, case.prices, items=works) if worked else ()
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
                found=found.build_up,
            ),
            build_up,
        ),
        safe=safe(case.survey.hazards, wall, build_up, foam, case.catalog, case.survey.house),
        tight=tight(build_up, found.build_up, case.air, room),
        worth=worth(change, case.heating, cost.known if cost else None),
        comfort=comfort(build_up, found.build_up, (was, after), room, case.outside),
        change=change,
        quantities=quantities,
        price=cost,
        works=works,
        standing=_standing(case, wall, build_up),
    )


def _standing(case: WallCase, wall: Wall, build_up: BuildUp) -> tuple[Finding, ...]:
    """What was found in a wall and stands against every promise of a build-up of it."""
    hazards = case.survey.hazards
    return (
        *wet_evidence(wall, hazards, build_up, case.catalog),
        *as_it_stands(wall, hazards, build_up),
    )
