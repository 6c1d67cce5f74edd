"""Three plans for one house, and what is recommended for each wall, with its reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from warmside.catalog import Catalog
from warmside.estimate import PriceList
from warmside.promises import Finding, HeatingCase, HouseAir
from warmside.study.house_totals import Together, together
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.plan.program import Choice, NoPlanError, best_choice
from warmside.study.plan.saving import KWH, charges_of, heat_of, saving_of
from warmside.study.plan.table import (
    DEEPEST,
    LEAST,
    WORTH,
    Aim,
    Cell,
    Charges,
    Move,
    Saving,
    result,
)
from warmside.survey import House
from warmside.wording import Figure, Sentence, joined, say

_ALL = (-10.0, 10.0)  # [-] of leakage: one cell, since options are judged in the room of the plan
_WARMER = 1.05  # [-] of R as found that an option must reach to count as comfort
_SAME = 1e-6
_WATER = {"wood_moisture_kg_kg", "found_wet"}  # findings that end when the wall is dry
LEAST_ID, WORTH_ID, DEEPEST_ID, DRY_ID = "least", "best worth", "deepest", "once dry"
AIMS = (LEAST_ID, WORTH_ID, DEEPEST_ID)  # of the plans that can be had today
_NAMES = {
    LEAST_ID: "Mend what must be mended",
    WORTH_ID: "Best value",
    DEEPEST_ID: "As deep as is safe and dry",
    DRY_ID: "Best value once everything is dry",
}


@dataclass(frozen=True)
class Frontier:
    """One point of the line of best plans: what a price buys."""

    cost: float  # [currency]
    heat: float  # [J] a year


@dataclass(frozen=True)
class Undone:
    """A wall on which a plan does nothing, and why."""

    wall: str
    why: Sentence


@dataclass(frozen=True)
class Plan:
    """One option for each wall, with the figures of the whole house."""

    id: str
    name: str
    options: Mapping[str, str]  # name of the wall -> id of its option
    whole: Together
    net: float | None  # [currency] net present value; None without prices of fuel and interest
    heat: float  # [J] spared a year
    coldest: float  # [degC] on the room side on the design night
    undone: tuple[Undone, ...]


@dataclass(frozen=True)
class Advice:
    """What is recommended for one wall, why, and what stands beside it."""

    wall: str
    recommended: str  # id
    kind: str  # of that option
    reason: Sentence
    net: float | None  # [currency] by which the house's net present value falls without it
    stopped: bool  # nothing is priced before it is mended
    then: str | None  # id of what looks best once a stopped wall is dry
    beside: str | None  # id of the best option without foam, where foam is recommended


@dataclass(frozen=True)
class Plans:
    """The plans of a house beside each other, and the advice for each of its walls."""

    # least, best worth, deepest, and best worth once wet walls are dry, where any are; the two of
    # worth only where fuel and interest have a price
    plans: tuple[Plan, ...]
    recommended: str  # id of one of them
    advice: tuple[Advice, ...]  # in the order of the walls
    shared: float | None  # [currency] by which the house's figure differs from its walls' sum
    frontier: tuple[Frontier, ...]  # cheap to dear
    gap: float  # [-] of the program's bound that was not proved
    rounds: int  # programs solved

    @property
    def best(self) -> Plan:
        """The one recommended."""
        return next(plan for plan in self.plans if plan.id == self.recommended)

    def plan(self, id: str) -> Plan:
        """The plan with that id."""
        return next(plan for plan in self.plans if plan.id == id)

    def advice_for(self, wall: str) -> Advice:
        """Of the wall with that name."""
        return next(one for one in self.advice if one.wall == wall)


@dataclass(frozen=True)
class Ground:
    """The house that the walls stand in."""

    house: House
    air: HouseAir
    prices: PriceList
    heating: HeatingCase
    catalog: Catalog


def shortfalls(option: OptionStudy, found: OptionStudy) -> tuple[Finding, ...]:
    """What keeps an option out of every plan: it falls short, and is not merely as it was.

    A wall whose bays stay closed may keep what it fell short of before, if that becomes no worse.
    """
    before = {f.key: f for f in found.findings if f.verdict == "falls short"}
    closed = not option.option.kind.opened.bays

    def as_it_was(finding: Finding) -> bool:
        same = before.get(finding.key)
        return (
            closed
            and same is not None
            and finding not in option.standing
            and (_no_worse(finding, same))
        )

    return tuple(
        f
        for f in option.findings
        if f.verdict == "falls short" and f.promise != "worth it" and not as_it_was(f)
    )


def _no_worse(now: Finding, before: Finding) -> bool:
    if now.figure is None or before.figure is None:
        return True
    more = now.figure - before.figure
    return more >= -_SAME if now.limit_is == "least" else more <= _SAME


def is_stopped(wall: WallStudy) -> bool:
    """Whether water was found in the wall: it is mended and dried before anything is priced."""
    return any(f.verdict == "falls short" for f in wall.as_found.standing)


def must_change(wall: WallStudy) -> Finding | None:
    """Why a dry wall cannot be left as it is: a surface that is below its limit today."""
    return next((f for f in wall.as_found.warm.findings if f.verdict == "falls short"), None)


def takes_part(option: OptionStudy, wall: WallStudy) -> bool:
    """Whether a plan may hold the option: it can be built, is priced whole, and keeps its promises.

    What needs a person keeps nothing out: the plan lists it. A missing price does: what has none
    cannot be ranked, and is never taken for cheap.
    """
    kind = option.option.kind
    if not option.build_up.can_be_built:
        return False
    if kind.worked and (option.price is None or option.price.missing):
        return False
    if is_stopped(wall):
        return kind.mends
    return not kind.mends and not shortfalls(option, wall.as_found)


def fits_once_dry(option: OptionStudy, wall: WallStudy) -> bool:
    """Whether a plan may hold the option, or could once the wall is dry."""
    if not is_stopped(wall):
        return takes_part(option, wall)
    kind = option.option.kind
    if kind.mends or not option.build_up.can_be_built:
        return False
    if kind.worked and (option.price is None or option.price.missing):
        return False
    wet = {f.key for f in option.standing} | _WATER
    return all(f.key in wet for f in shortfalls(option, wall.as_found))


def make_plans(walls: Sequence[WallStudy], ground: Ground) -> Plans:
    """The plans of a house, each found exactly, and the advice that follows from them.

    Parameters
    ----------
    walls : sequence of WallStudy
        Studied walls with all their options.
    ground : Ground
        The house that they stand in.

    Returns
    -------
    Plans
        With one option for each wall in each of them.

    Raises
    ------
    NoPlanError
        The solver did not prove its answer.
    """
    heat = heat_of(ground.house, ground.air, ground.heating, ground.catalog)
    saving = saving_of(heat, ground.heating)
    spared: Saving = saving or (lambda less, air: heat(less, air) / KWH)
    charges = charges_of(ground.prices)
    table = tuple(move for wall in walls for move in _moves(wall))
    cells = (Cell(*_ALL, table),)
    aims = {LEAST_ID: LEAST, WORTH_ID: WORTH, DEEPEST_ID: DEEPEST}
    if saving is None:
        del aims[WORTH_ID]
    choices = {id: _found(cells, spared, charges, aim) for id, aim in aims.items()}
    dried = _once_dry(walls, saving, charges)
    if dried is not None:
        choices[DRY_ID] = dried
    recommended = WORTH_ID if saving is not None else LEAST_ID
    best = choices[recommended]
    plans = tuple(
        _plan(id, choice, walls, ground, saving is not None, heat) for id, choice in choices.items()
    )
    made = _Advised(walls, ground, best, dried, saving, charges)
    advice = tuple(made.of(wall) for wall in walls)
    told = {one.wall: one for one in advice}
    plans = tuple(
        replace(plan, undone=tuple(_undone(plan, walls, told, recommended))) for plan in plans
    )
    nets = [one.net for one in advice if one.net is not None]
    return Plans(
        plans=plans,
        recommended=recommended,
        advice=advice,
        shared=best.net - sum(nets) if saving is not None else None,
        frontier=_frontier(cells, spared, charges, heat, choices),
        gap=max(choice.gap for choice in choices.values()),
        rounds=sum(choice.rounds for choice in choices.values()),
    )


def _once_dry(walls: Sequence[WallStudy], saving: Saving | None, charges: Charges) -> Choice | None:
    """What would be worth most if no wall were wet; what the mending costs is not in it."""
    if saving is None or not any(is_stopped(wall) for wall in walls):
        return None
    table = tuple(move for wall in walls for move in _moves(wall, dry=True))
    return _found((Cell(*_ALL, table),), saving, charges, WORTH)


def _found(cells: Sequence[Cell], saving: Saving, charges: Charges, aim: Aim) -> Choice:
    choice = best_choice(cells, saving, charges, aim)
    if choice is None:  # every wall may at least be left as found
        raise NoPlanError("no plan has an option for every wall")
    return choice


def move_of(option: OptionStudy) -> Move:
    """An option as the plan counts it."""
    return Move(
        wall=option.build_up.wall,
        option=option.option.id,
        cost=float(option.price.total) if option.price else 0.0,
        heat=option.change.before - option.change.after,
        air=option.change.removed.best,
        worked=option.option.kind.worked,
    )


def _moves(wall: WallStudy, dry: bool = False) -> list[Move]:
    """What a plan may choose from on one wall; never nothing. ``dry``: as if it were dry."""
    fits = fits_once_dry if dry else takes_part
    fit = [option for option in wall.options if fits(option, wall)]
    found = wall.as_found
    changed = [o for o in fit if o.option.kind.worked]
    if (dry or not is_stopped(wall)) and (must_change(wall) or wall.wall.comfort):
        warmer = [o for o in changed if o.warm.resistance > found.warm.resistance * _WARMER]
        if must_change(wall):
            warmer = [o for o in changed if not any(
                f.verdict == "falls short" for f in o.warm.findings)]  # fmt: skip
        fit = warmer or fit
    return [move_of(option) for option in fit or [found]]


def _plan(
    id: str,
    choice: Choice,
    walls: Sequence[WallStudy],
    ground: Ground,
    valued: bool,
    heat: Saving,
) -> Plan:
    options = {move.wall: move.option for move in choice.moves}
    done = [wall.option(options[wall.wall.name]) for wall in walls]
    whole = together(done, ground.house, ground.air, ground.prices, ground.heating, ground.catalog)
    less, air = sum(m.heat for m in choice.moves), sum(m.air for m in choice.moves)
    return Plan(
        id=id,
        name=_NAMES[id],
        options=options,
        whole=whole,
        net=choice.net if valued else None,
        heat=heat(less, air),
        coldest=min(o.warm.coldest.surface for o in done),
        undone=(),
    )


def _undone(
    plan: Plan, walls: Sequence[WallStudy], told: Mapping[str, Advice], recommended: str
) -> list[Undone]:
    """Walls left in a plan, each with its reason; that of the advice where it is the same."""
    found = []
    for wall in walls:
        name = wall.wall.name
        option = wall.option(plan.options[name])
        if option.option.kind.worked:
            continue
        advice = told[name]
        same = advice.recommended == plan.options[name]
        if same and (plan.id == recommended or advice.stopped):
            why = advice.reason
        elif plan.id == LEAST_ID:
            why = say("Nothing in it must be mended.")
        else:
            why = say("No option loses less heat and keeps every promise.")
        found.append(Undone(name, why))
    return found


@dataclass(frozen=True)
class _Advised:
    """The recommended plan, to be asked about each wall."""

    walls: Sequence[WallStudy]
    ground: Ground
    best: Choice
    dried: Choice | None
    saving: Saving | None
    charges: Charges

    def of(self, wall: WallStudy) -> Advice:
        """What is recommended for one wall, and what it is worth within the plan."""
        name = wall.wall.name
        move = next(m for m in self.best.moves if m.wall == name)
        option = wall.option(move.option)
        nets = self._nets(wall)
        stopped = is_stopped(wall)
        fit = [o for o in wall.options if o.option.kind.worked and fits_once_dry(o, wall)]
        order = sorted(fit, key=lambda o: -nets.get(o.option.id, 0.0))
        then = self._then(wall) if stopped else None
        plain = [o for o in order if o.option.foam is None and o is not option]
        net = nets.get(option.option.id) if self.saving is not None else None
        return Advice(
            wall=name,
            recommended=option.option.id,
            kind=option.option.kind.name,
            reason=self._reason(wall, option, nets, order, then),
            net=0.0 if stopped and net is not None else net,
            stopped=stopped,
            then=then.option.id if then else None,
            beside=plain[0].option.id if plain and option.option.foam else None,
        )

    def _then(self, wall: WallStudy) -> OptionStudy | None:
        """What looks best on a wet wall once it is dry."""
        if self.dried is None:
            return None
        id = next(m.option for m in self.dried.moves if m.wall == wall.wall.name)
        option = wall.option(id)
        return option if option.option.kind.worked else None

    def _nets(self, wall: WallStudy) -> dict[str, float]:
        """By how much each option of a wall lifts the plan's value above leaving it as found."""
        if self.saving is None:
            return {}
        others = [m for m in self.best.moves if m.wall != wall.wall.name]
        nets = {}
        for option in wall.options:
            value, cost = result([*others, move_of(option)], self.saving, self.charges)
            nets[option.option.id] = value - cost
        base = nets[wall.as_found.option.id]
        return {id: value - base for id, value in nets.items()}

    def _reason(
        self,
        wall: WallStudy,
        option: OptionStudy,
        nets: Mapping[str, float],
        order: Sequence[OptionStudy],
        then: OptionStudy | None,
    ) -> Sentence:
        if is_stopped(wall):
            return self._wet(wall, then)
        money = self._money
        if not option.option.kind.worked:
            return self._left(wall, nets, order)
        net, cost = nets.get(option.option.id), float(option.price.total) if option.price else 0.0
        carried = must_change(wall)
        if carried is not None:
            why = joined([carried.reason, say("{option} mends it.", option=option.option.name)])
        elif wall.wall.comfort:
            why = say(
                "The client asks for comfort here: {option} costs {cost}.",
                option=_lower(option.option.name),
                cost=money(cost),
            )
        elif net is None:
            return say("{option} must be done.", option=option.option.name)
        else:
            return say(
                "{option} costs {cost}. Over {years} its savings are worth {net} more than that.",
                option=option.option.name,
                cost=money(cost),
                years=self._years,
                net=money(net),
            )
        if net is not None and net < 0.0:
            lost = say("It does not pay by itself: it costs {net} more than it saves.",
                       net=money(-net))  # fmt: skip
            why = joined([why, lost])
        return why

    def _wet(self, wall: WallStudy, then: OptionStudy | None) -> Sentence:
        wet = [f.reason for f in wall.as_found.standing if f.verdict == "falls short"]
        first = say(
            "Mend the water and dry the wall first. What the mending costs is not known: the trade "
            "that does it gives a price."
        )
        if then is None or then.price is None:
            after = say("After that nothing more pays here; it is judged again when it is dry.")
        else:
            after = say(
                "After that {option} looks best; it is priced and judged again when it is dry.",
                option=_lower(then.option.name),
            )
        return joined([*wet, first, after])

    def _left(
        self, wall: WallStudy, nets: Mapping[str, float], order: Sequence[OptionStudy]
    ) -> Sentence:
        now = Figure(wall.as_found.warm.resistance, "resistance")
        if self.saving is None:
            return say("Leave it: the price file lacks what would tell whether anything pays.")
        fuller = [o for o in order if o.warm.resistance > wall.as_found.warm.resistance * 1.01]
        if not fuller:
            return say("Leave it: at {now} nothing that can be done makes it better.", now=now)
        next_best = fuller[0]
        cost = float(next_best.price.total) if next_best.price else 0.0
        worth = nets[next_best.option.id] + cost
        return say(
            "Leave it: at {now} it does not pay to change it. {option} would cost {cost}, and its "
            "savings over {years} would be worth {worth}.",
            now=now,
            option=next_best.option.name,
            cost=self._money(cost),
            years=self._years,
            worth=self._money(max(worth, 0.0)),
        )

    def _money(self, value: float) -> Figure:
        return Figure(round(value, -1), "money", currency=self.ground.prices.currency)

    @property
    def _years(self) -> Figure:
        terms = self.ground.heating.terms
        return Figure(float(terms.years) if terms else 0.0, "years")


def _lower(name: str) -> str:
    return name[0].lower() + name[1:]


def _frontier(
    cells: Sequence[Cell],
    saving: Saving,
    charges: Charges,
    heat: Saving,
    choices: Mapping[str, Choice],
) -> tuple[Frontier, ...]:
    """Best plans from the cheapest to the deepest, by ever heavier savings."""
    found = [choice for id, choice in choices.items() if id != DRY_ID]
    found += [_found(cells, saving, charges, Aim(w, 1.0)) for w in (0.5, 0.7, 1.4, 2.0, 4.0)]
    points = {
        (round(c.cost, 2), heat(sum(m.heat for m in c.moves), sum(m.air for m in c.moves)))
        for c in found
    }
    line: list[Frontier] = []
    for cost, spared in sorted(points):
        if not line or spared > line[-1].heat + 1e6:
            line.append(Frontier(cost, spared))
    return tuple(line)


def net_of(walls: Sequence[WallStudy], options: Mapping[str, str], ground: Ground) -> float | None:
    """Net present value of any choice of options by the plan's own figures [currency]."""
    heat = heat_of(ground.house, ground.air, ground.heating, ground.catalog)
    saving = saving_of(heat, ground.heating)
    if saving is None:
        return None
    moves = [move_of(wall.option(options[wall.wall.name])) for wall in walls]
    value, cost = result(moves, saving, charges_of(ground.prices))
    return value - cost
