"""One wall of a studied house while somebody edits it: judged in the room of the last plan.

First every option at once by the simple methods; then each by its field, what is put forward
first; then the hours. Between two steps somebody else may be served, or the rest be left undone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Literal

from warmside.estimate import PriceList
from warmside.identity import Same
from warmside.options import LEAVE, Option
from warmside.physics.conduction import WallHeat
from warmside.promises import (
    Change,
    WallLeakage,
    Warm,
    comfort,
    exposure_of,
    house_air,
    wall_leakage,
    warm,
    with_presumed,
    worth,
)
from warmside.study.comparison import choose
from warmside.study.fields import ends_of, solved
from warmside.study.hours import HourlyRuns
from warmside.study.house import Study
from warmside.study.house_totals import Together, heating_of, together
from warmside.study.memory import Kept, digest
from warmside.study.money import priced
from warmside.study.parts import Hours, OptionStudy, WallStudy, Weights
from warmside.study.whole_house import FoundWall, WallCase, found_wall, options_of, study_option
from warmside.survey import Survey, Wall, without_notes
from warmside.wording import say
from warmside.workers import here

State = Literal["quick", "3-D", "whole"]
_MOST_PATHS = 600  # remembered through the year


@dataclass(frozen=True)
class Seen:
    """What has become known: some options of the wall, and the house with what is put forward."""

    options: tuple[OptionStudy, ...]
    put_forward: str  # id; "" before all are looked at
    house: Together | None = None  # only where its sums changed
    complete: bool = False  # whether these are all options


@dataclass(frozen=True)
class Ground:
    """A studied house that edits of its walls stand on, and what was computed of them before."""

    study: Study
    name: str = ""  # of whoever keeps it
    kept: Kept = field(default_factory=Kept)
    # by what a wall faces, and by its wettest reading
    runs: dict[tuple[float, float], HourlyRuns] = field(default_factory=dict)

    def holds(self, survey: Survey) -> bool:
        """Whether ``survey`` is of the same house, whatever its walls are by now."""
        mine, other = without_notes(self.study.survey), _known(survey, self.study)
        return (mine.house, mine.hazards, mine.options) == (
            other.house,
            other.hazards,
            other.options,
        )


def state_of(option: OptionStudy) -> State:
    """By what an option is judged so far; nothing more comes to one that cannot be built."""
    if not option.build_up.can_be_built or option.dry.hourly is not None:
        return "whole"
    return "3-D" if option.warm.field is not None else "quick"


def follow(
    ground: Ground, survey: Survey, number: int, prices: PriceList, shown: str = ""
) -> Iterator[Seen | None]:
    """Judge one wall of ``survey`` step by step.

    Parameters
    ----------
    ground : Ground
        The house as it was studied last; it must hold ``survey``.
    survey : Survey
        As it is edited.
    number : int
        Of the wall, from 0.
    prices : PriceList
        The contractor's, as they are by now.
    shown : str
        Id of the option that somebody looks at: it comes first.

    Yields
    ------
    Seen or None
        First the option shown, then all, each as far as it is known; later single ones that have
        become better known. None: a step was done that changed nothing to be shown.
    """
    edit = _Edit.of(ground, survey, number, prices)
    offers = options_of(edit.case, edit.wall)
    first = next((option for option in offers if option.id == shown), None)
    if first is not None:
        yield Seen((edit.quick(first),), "")
    options = tuple(map(edit.quick, offers))
    put_forward = edit.put_forward(options)
    yield Seen(options, put_forward, edit.house(options, put_forward), complete=True)
    ranks = {put_forward: 2, shown: 1, LEAVE.id: 0}  # others are compared with the wall as found
    order = sorted(options, key=lambda o: ranks.get(o.option.id, 3))
    last = order
    for step in (edit.with_field, edit.with_hours):
        known = []
        for option in last:
            better = step(option)
            known.append(better)
            if better is option:
                yield None
                continue
            edit.keep(better)
            house = None
            if step == edit.with_field and option.option.id == put_forward:
                house = edit.house((*known, *last), put_forward)
            yield Seen((better,), put_forward, house)
        last = known


@dataclass(frozen=True)
class _Priced:
    """An option, and the prices that it was reckoned by."""

    money: str  # their digest
    prices: PriceList
    option: OptionStudy


@dataclass
class _Edit:
    """A wall as it is edited, with all that it is judged by."""

    ground: Ground
    case: WallCase
    number: int
    stem: str  # names what the wall's options are judged by, money apart
    money: str  # names the prices
    names: dict[Option, str] = field(default_factory=dict)  # that options are kept under

    @classmethod
    def of(cls, ground: Ground, survey: Survey, number: int, prices: PriceList) -> _Edit:
        """The case of the edited house: its air and heating with the walls as they are now."""
        study, kept = ground.study, ground.kept
        survey = _known(survey, study)
        removed = {w.wall.name: w.chosen.change.removed.best for w in study.walls}
        wall = survey.walls[number]
        rest = sum(removed.get(w.name, 0.0) for w in survey.walls if w is not wall)
        hours = Hours(severe=study.hours.severe)
        bare = WallCase(
            survey, study.catalog, prices, study.packs, study.outside, False, Weights(), hours, "",
            (), study.air, study.heating, "", (),
        )  # fmt: skip
        found = tuple(_as_found(bare, n, ground) for n in range(len(survey.walls)))
        stem = digest("one wall", survey.walls, number, rest)
        money = _name_of(Same(prices))
        unedited = without_notes(study.survey).walls == survey.walls
        air = study.air if unedited else kept.get(stem)
        if air is None:
            frames = [one.build_up.frame for one in found]
            joints = [_joints(bare, f, w, kept) for f, w in zip(found, survey.walls, strict=True)]
            air = house_air(
                survey.house, survey.walls, frames, study.catalog, study.weather, joints=joints
            )
            kept.put(stem, air)
        others = tuple(rest if n == number else 0.0 for n in range(len(found)))
        case = replace(bare, found=found, air=air, rest=others)
        edit = cls(ground, case, number, stem, money)
        there = kept.get(edit._name(LEAVE)) or edit._studied.get(LEAVE)
        edit._found_is(there.option.warm) if there else edit.heat()
        return edit

    @property
    def wall(self) -> Wall:
        """As it is edited."""
        return self.case.survey.walls[self.number]

    @property
    def found(self) -> FoundWall:
        """The wall as it stands."""
        return self.case.found[self.number]

    def heat(self) -> None:
        """What savings are judged by, from the heat that the walls lose as found."""
        study, case = self.ground.study, self.case
        present = sum(f.warm.heat_loss(f.build_up.frame.net_area) for f in case.found)
        heating = heating_of(
            case.survey.house, case.air, case.prices, study.catalog, study.outside, present
        )
        self.case = replace(case, heating=heating)

    def quick(self, option: Option) -> OptionStudy:
        """An option as far as it was known, else by the simple methods."""
        there = self.ground.kept.get(self._name(option)) or self._studied.get(option)
        if there is None:
            rest = self.case.rest[self.number]
            one = study_option(option, self.wall, self.found, self.case, rest)
            one = replace(one, dry=one.dry.without_hours())
        elif there.money == self.money:
            one = there.option
        else:
            one = self._worth(priced(there.option, self.wall, self.case.catalog, there.prices,
                                     self.case.prices))  # fmt: skip
        self.keep(one)
        return one

    @cached_property
    def _studied(self) -> Mapping[Option, _Priced]:
        """Options of the last study, where no wall was edited since; by which prices."""
        study = self.ground.study
        if without_notes(study.survey).walls != self.case.survey.walls:
            return {}
        money, prices = _name_of(Same(study.prices)), study.prices
        options = study.walls[self.number].options
        return {one.option: _Priced(money, prices, one) for one in options}

    def put_forward(self, options: Sequence[OptionStudy]) -> str:
        """What the last plan puts forward on this wall; what ranks first where it has no such."""
        last = {w.wall.name: w.chosen_id for w in self.ground.study.walls}.get(self.wall.name)
        if any(o.option.id == last and o.build_up.can_be_built for o in options):
            return str(last)
        return choose(options, Weights())[0]

    def house(self, options: Sequence[OptionStudy], put_forward: str) -> Together:
        """The house with the last plan on its other walls."""
        case, chosen = self.case, [next(o for o in options if o.option.id == put_forward)]
        names = {w.name for w in case.survey.walls} - {self.wall.name}
        chosen += [self._elsewhere(w) for w in self.ground.study.walls if w.wall.name in names]
        return together(
            chosen, case.survey.house, case.air, case.prices, case.heating, case.catalog,
            case.survey.hazards,
        )  # fmt: skip

    def _elsewhere(self, wall: WallStudy) -> OptionStudy:
        """What the last plan puts forward on another wall, by the prices of now."""
        one, study, kept = wall.chosen, self.ground.study, self.ground.kept
        name = digest("elsewhere", wall.wall.name, one.option, self.money)
        there: OptionStudy | None = kept.get(name)
        if there is None:
            there = priced(one, wall.wall, self.case.catalog, study.prices, self.case.prices)
            kept.put(name, there)
        return there

    def with_field(self, option: OptionStudy) -> OptionStudy:
        """The option judged by its field; the wall as found comes first, others compare with it."""
        if state_of(option) == "whole" or option.warm.field is not None:
            if option.option.id == LEAVE.id:
                self._found_is(option.warm)
            return option
        leave = option.option.id == LEAVE.id
        same = option.build_up.stacks == self.found.build_up.stacks
        heat = self.found.warm.field if same and not leave else self._field(option)
        case, as_found = self.case, (self.found.build_up, self.found.warm)
        judged = warm(option.build_up, option.room, case.outside, heat, None if leave else as_found)
        if leave:
            self._found_is(judged)
        area = self.found.build_up.frame.net_area
        change = Change(
            self.found.warm.heat_loss(area), judged.heat_loss(area), option.change.removed
        )
        through = self.found.warm.transmittance, judged.transmittance
        built = option.build_up, self.found.build_up
        return self._worth(
            replace(
                option,
                warm=judged,
                change=change,
                comfort=comfort(*built, through, option.room, case.outside),
            )
        )

    def with_hours(self, option: OptionStudy) -> OptionStudy:
        """The option judged by the hours of a year on every path."""
        if state_of(option) == "whole":
            return option
        case = self.case
        shown = WallStudy(
            self.wall, self.found.build_up.frame, (option,), option.option.id, say("")
        )
        return self._runs(case).of_all((shown,))[0].options[0]

    def keep(self, option: OptionStudy) -> None:
        """Keep an option as far as it is known, and by which prices."""
        known = _Priced(self.money, self.case.prices, option)
        self.ground.kept.put(self._name(option.option), known)

    def _name(self, option: Option) -> str:
        if option not in self.names:
            self.names[option] = digest("option", self.stem, option)
        return self.names[option]

    def _worth(self, option: OptionStudy) -> OptionStudy:
        return replace(option, worth=worth(option.change, self.case.heating, option.cost))

    def _found_is(self, judged: Warm) -> None:
        """The wall as it stands is known better; what others save is reckoned from it."""
        better = replace(self.found, warm=judged)
        found = list(self.case.found)
        found[self.number] = better
        self.case = replace(self.case, found=tuple(found))
        self.heat()

    def _field(self, option: OptionStudy) -> WallHeat:
        """The field of a build-up: one that was solved before where heat flows as it did."""
        return solved(option.build_up, ends_of(self.wall, self.case.survey.walls))

    def _runs(self, case: WallCase) -> HourlyRuns:
        """Hours of walls that face as this one and are as wet: no path is run twice for them."""
        name = self.wall.faces, self.wall.wettest
        there = self.ground.runs.get(name)
        if there is None:
            year = case.hours.year(self.ground.study.weather)
            there = HourlyRuns((exposure_of(self.wall, year),), case.hours, case.air, here)
        while len(there.known) > _MOST_PATHS:
            there.known.pop(next(iter(there.known)))
        self.ground.runs[name] = runs = replace(there, air=case.air)
        return runs


@lru_cache(maxsize=32)  # a price list is long, and one wall after another is edited by it
def _name_of(prices: Same[PriceList]) -> str:
    return digest(prices.value)


def _known(survey: Survey, study: Study) -> Survey:
    return without_notes(with_presumed(survey, study.catalog))


def _as_found(case: WallCase, number: int, ground: Ground) -> FoundWall:
    """A wall as it stands: as it was studied, else by the simple methods."""
    wall = case.survey.walls[number]
    last = next((w for w in ground.study.walls if w.wall.name == wall.name), None)
    if last is not None and last.wall.model_copy(update={"notes": ""}) == wall:
        return FoundWall(last.as_found.build_up, last.as_found.warm)
    name = digest("as found", wall)
    found: FoundWall | None = ground.kept.get(name)
    if found is None:
        found = found_wall(case, number)
        ground.kept.put(name, found)
    return found


def _joints(case: WallCase, found: FoundWall, wall: Wall, kept: Kept) -> WallLeakage:
    name = digest("joints", wall)
    there: WallLeakage | None = kept.get(name)
    if there is None:
        there = wall_leakage(found.build_up.frame, case.catalog)
        kept.put(name, there)
    return there
