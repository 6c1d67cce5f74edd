"""The screening of one house: what each option saves, costs and risks, without fields or hours.

The same steps as a study without them, less what is only told to a reader; a test holds the two
against each other to the last digit. What does not change between draws is made once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from warmside.catalog import Catalog, electricity_of
from warmside.estimate import Price, PriceList, energy_terms, price, takeoff
from warmside.framing import Frame, frame_wall
from warmside.options import Option, apply, offered
from warmside.physics.airflow import Band
from warmside.physics.assembly import Layer, Stack
from warmside.physics.climate import HourlyClimate
from warmside.physics.conduction import ISO_SURFACE_FILMS, combined, profile
from warmside.physics.moisture import monthly_balance
from warmside.promises import (
    Change,
    Outside,
    Room,
    WallLeakage,
    factor_needed,
    heating_case,
    house_air,
    outside_of,
    room_after,
    seals_joints,
    wall_leakage,
    with_presumed,
)
from warmside.promises.dryness import TRACE
from warmside.study import together
from warmside.survey import AsFound, Hazard, Survey, Wall
from warmside.weather import usual_year

NOTHING = Band(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Outcome:
    """One option on every wall that can take it; "leave" for the house as it stands."""

    option: str  # id
    resistance: float  # [m2 K/W] all walls together
    heat: float  # [J] saved a year
    money: float  # [currency] saved a year, 0 where there is no price of the fuel
    carbon: float  # [kg] of carbon dioxide saved a year
    cost: float  # [currency]
    cold: bool  # a surface falls short against mould or dew
    wet: bool  # water gathers beyond its limit, or stays


@dataclass(frozen=True)
class Made:
    """An option on a wall, as far as neither the room nor the house's air has a say."""

    option: str
    area: float  # [m2] of the wall without openings
    resistance: float  # [m2 K/W] of the framed wall
    factor: float  # [-] of the coldest place, pockets apart
    paths: tuple[tuple[int, bool], ...]  # numbers of paths at the bench; whether within reach
    price: Price | None
    seals: bool

    @property
    def conductance(self) -> float:
        """Heat through the wall [W/K]."""
        return 1.0 / self.resistance * self.area


@dataclass(frozen=True)
class _Work:
    """What ``together`` asks of an option on a wall."""

    change: Change
    price: Price | None


_Key = tuple[Wall, int]  # a wall, and the year that its house was built in


class Workbench:
    """What one house's draws share; thrown away with the house."""

    def __init__(
        self,
        catalog: Catalog,
        prices: PriceList,
        weather: Mapping[str, HourlyClimate] | None = None,
    ) -> None:
        self.catalog, self.prices = catalog, prices
        self._weather = weather or {}
        self._frames: dict[_Key, Frame] = {}
        self._joints: dict[_Key, WallLeakage] = {}
        self._made: dict[tuple[Wall, int, tuple[Hazard, ...]], tuple[Made, ...]] = {}
        self._numbers: dict[tuple[Layer, ...], int] = {}
        self.paths: list[Stack] = []  # every path met, once

    def year(self, climate: str) -> HourlyClimate:
        """The hours of a climate: those of its file, else a year made of its normals."""
        return year_of(self.catalog, climate, self._weather)

    def put(self, survey: Survey, wall: Wall, frame: Frame) -> None:
        """Take a wall that is framed already."""
        self._frames[_framed(wall), survey.house.year_built] = frame

    def frame(self, survey: Survey, wall: Wall) -> Frame:
        """The wall framed."""
        key = _framed(wall), survey.house.year_built
        if key not in self._frames:
            self._frames[key] = frame_wall(wall, survey.house, self.catalog.lumber)
        return self._frames[key]

    def joints(self, survey: Survey, wall: Wall) -> WallLeakage:
        """The joints of the wall, as leaky as their rows say."""
        key = _framed(wall), survey.house.year_built
        if key not in self._joints:
            self._joints[key] = wall_leakage(self.frame(survey, wall), self.catalog)
        return self._joints[key]

    def made(self, survey: Survey, wall: Wall) -> tuple[Made, ...]:
        """The wall as found, then every option of it."""
        survey = with_presumed(survey, self.catalog)
        key = wall, survey.house.year_built, survey.hazards
        if key not in self._made:
            options = offered(wall, survey.house, self.catalog, survey.options, survey.hazards)
            frame = self.frame(survey, wall)
            self._made[key] = tuple(self._make(o, survey, wall, frame) for o in options)
        return self._made[key]

    def _make(self, option: Option, survey: Survey, wall: Wall, frame: Frame) -> Made:
        build_up = apply(option, wall, frame, self.catalog, survey.hazards)
        worked = option.kind.worked and build_up.can_be_built
        lines = takeoff(build_up, wall, self.catalog, self.prices) if worked else ()
        stacks = build_up.stacks
        return Made(
            option=option.id,
            area=frame.net_area,
            resistance=combined(stacks).resistance,
            factor=_coldest(stacks),
            paths=self._paths(stacks),
            price=price(lines, self.prices) if worked else None,
            seals=seals_joints(build_up),
        )

    def _paths(self, stacks: Sequence[Stack]) -> tuple[tuple[int, bool], ...]:
        """Paths that differ in their layers; whether one of them lies within reach."""
        none_within_reach = all(s.kind == "pocket" for s in stacks)
        found: dict[int, bool] = {}
        for stack in stacks:
            number = self._numbers.setdefault(stack.sheets, len(self.paths))
            if number == len(self.paths):
                self.paths.append(Stack("bay", 1.0, stack.sheets))
            within = stack.kind != "pocket" or none_within_reach
            found[number] = found.get(number, False) or within
        return tuple(found.items())


def year_of(catalog: Catalog, climate: str, weather: Mapping[str, HourlyClimate]) -> HourlyClimate:
    """The hours of a climate: those given for it, or for all (""), else made of its normals."""
    given = weather.get(climate, weather.get(""))
    return usual_year(catalog.climate(climate)) if given is None else given


def _framed(wall: Wall) -> Wall:
    """The wall as far as its framing follows from it: what was found in it has no say."""
    return wall.model_copy(update={"found": AsFound()})


def _coldest(stacks: Sequence[Stack]) -> float:
    """Temperature factor of the coldest path within reach [-]."""
    reached = [s for s in stacks if s.kind != "pocket"] or stacks
    return min(profile(s, 1.0, 0.0, ISO_SURFACE_FILMS).surface for s in reached)


def screen(survey: Survey, bench: Workbench) -> tuple[Outcome, ...]:
    """Screen a house: the house as it stands, then every option on all walls that can take it.

    Parameters
    ----------
    survey : Survey
        The house; its own ``options`` are looked at.
    bench : Workbench
        Catalog, prices, and what earlier draws of the house have made.

    Returns
    -------
    tuple of Outcome
        Equal to the figures of a study without fields and hours.

    Raises
    ------
    WarmsideError
        A wall that cannot be framed, a room colder than outdoors: as a study would.
    """
    house, catalog = survey.house, bench.catalog
    climate = catalog.climate(house.climate)
    outside = outside_of(house, climate)
    frames = [bench.frame(survey, wall) for wall in survey.walls]
    joints = [bench.joints(survey, wall) for wall in survey.walls]
    air = house_air(house, survey.walls, frames, catalog, bench.year(house.climate), joints=joints)
    made = [bench.made(survey, wall) for wall in survey.walls]
    as_found = sum(options[0].conductance for options in made)
    fuel = catalog.fuel(house.heating.fuel)
    power = catalog.fuels.get(electricity_of(climate))
    terms = energy_terms(bench.prices, fuel, power)
    case = heating_case(house, air, fuel, as_found, terms, outside.design)
    removed = [air.walls[wall.name].removed for wall in survey.walls]
    judges: dict[object, _Judge] = {}  # by what a wall feels of the room
    outcomes = []
    for id in dict.fromkeys(one.option for options in made for one in options):
        on = [_on(options, id) for options in made]
        works = [
            _work(one, options[0], share)
            for one, options, share in zip(on, made, removed, strict=True)
        ]
        sealed = sum(work.change.removed.best for work in works)
        room = room_after(house, air, sealed, catalog)
        judge = judges.setdefault(room.same_as, _Judge(room, outside, bench.paths))
        done = together(works, house, air, bench.prices, case, catalog)
        outcomes.append(
            Outcome(
                option=id,
                resistance=sum(m.area for m in on) / sum(m.area / m.resistance for m in on),
                heat=done.worth.heat.best,
                money=done.worth.money.best if done.worth.money else 0.0,
                carbon=done.worth.co2.best,
                cost=float(done.price.total) if done.price.total else 0.0,
                cold=any(judge.cold(m) for m in on),
                wet=any(judge.wet(m) for m in on),
            )
        )
    return tuple(outcomes)


def _on(options: Sequence[Made], id: str) -> Made:
    """The option on one wall, or the wall as found where it cannot be done."""
    return next((m for m in options if m.option == id and m.price is not None), options[0])


def _work(made: Made, found: Made, removed: Band) -> _Work:
    removed = removed if made.seals else NOTHING
    return _Work(Change(found.conductance, made.conductance, removed), made.price)


class _Judge:
    """Surfaces and water of one draw's room and winter; paths alike are balanced once."""

    def __init__(self, room: Room, outside: Outside, paths: Sequence[Stack]) -> None:
        climate = outside.climate
        self._rise, self._design = room.temperature - outside.design, outside.design
        self._needed, self._dew = factor_needed(room, outside.coldest_month), room.dew_point
        self._air = room.monthly(climate)
        self._paths = paths
        self._water: dict[int, tuple[float, float, bool]] = {}

    def cold(self, made: Made) -> bool:
        """Whether the coldest place moulds in the coldest month or drips on the design night."""
        surface = self._design + self._rise * made.factor
        return made.factor < self._needed or surface <= self._dew

    def wet(self, made: Made) -> bool:
        """Whether water gathers beyond its limit in the worst path within reach, or stays."""
        waters = [(*self._of(number), within) for number, within in made.paths]
        beyond = any(not within_limit for _, _, within_limit, reached in waters if reached)
        return beyond or max(w[1] for w in waters) >= TRACE

    def _of(self, number: int) -> tuple[float, float, bool]:
        """Most water and water left after a year [kg/m2] in a path; whether within its limit."""
        if number not in self._water:
            found = monthly_balance(self._paths[number], self._air)
            self._water[number] = found.peak, found.residual, found.within_limit
        return self._water[number]
