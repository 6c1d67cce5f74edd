"""Three plans for one house, and what is recommended for each wall, with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from warmside.study.house_totals import Together, together
from warmside.study.parts import WallStudy
from warmside.study.plan.advice import Advice, Advised, Undone
from warmside.study.plan.eligible import is_stopped, move_of, moves_of
from warmside.study.plan.net import Net, doubt_of
from warmside.study.plan.program import Choice
from warmside.study.plan.saving import Ground
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
from warmside.survey import House, HousePart
from warmside.wording import say

_ALL = (-10.0, 10.0)  # [-] of leakage: one cell, since options are judged in the room of the plan
LEAST_ID, WORTH_ID, DEEPEST_ID, DRY_ID = "least", "best worth", "deepest", "once dry"
_AIMS = {LEAST_ID: LEAST, WORTH_ID: WORTH, DEEPEST_ID: DEEPEST}
AIMS = tuple(_AIMS)  # of the plans that can be had today
_NAMES = {
    LEAST_ID: "Least work",
    WORTH_ID: "Best value",
    DEEPEST_ID: "As deep as stays safe and dry",
    DRY_ID: "Best value once everything is dry",
}


@dataclass(frozen=True)
class Frontier:
    """One point of the line of best plans: what a price buys."""

    cost: float  # [currency]
    heat: float  # [J] a year


@dataclass(frozen=True)
class Plan:
    """One option for each wall, with the figures of the whole house."""

    id: str
    name: str
    options: Mapping[str, str]  # name of the wall -> id of its option
    quotes: tuple[HousePart, ...]  # parts beside the walls that other trades better
    whole: Together
    net: Net | None  # net present value; None without prices of fuel and interest
    heat: float  # [J] spared a year
    coldest: float  # [degC] on the room side on the design night
    undone: tuple[Undone, ...]


@dataclass(frozen=True)
class QuoteAdvice:
    """Another trade's offer for a part beside the walls, judged as the walls are."""

    part: HousePart
    taken: bool  # whether the recommended plan holds it
    net: float | None  # [currency] by which it lifts the plan's net present value


@dataclass(frozen=True)
class Plans:
    """The plans of a house beside each other, and the advice for each of its walls."""

    # least, best worth, deepest, and best worth once wet walls are dry, where any are; the two of
    # worth only where fuel and interest have a price
    plans: tuple[Plan, ...]
    recommended: str  # id of one of them
    advice: tuple[Advice, ...]  # in the order of the walls
    once: float | None  # [currency] charged once for the house, in no wall's figure
    shared: float | None  # [currency] by which the house is worth more than its walls' sum, beside
    quotes: tuple[QuoteAdvice, ...]  # what other trades offer, as surveyed
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


def best_options(walls: Sequence[WallStudy], ground: Ground) -> tuple[str, ...]:
    """Id of the option on each wall that the recommended one of `make_plans` would hold.

    Raises
    ------
    NoPlanError
        The solver did not prove its answer.
    """
    aim = _AIMS[_recommended(ground)]
    chosen = {move.wall: move.option for move in ground.choice(_cells(walls, ground), aim).moves}
    return tuple(chosen[wall.wall.name] for wall in walls)


def _recommended(ground: Ground) -> str:
    return LEAST_ID if ground.saving is None else WORTH_ID


def _cells(walls: Sequence[WallStudy], ground: Ground) -> tuple[Cell, ...]:
    """What a plan may hold: one cell."""
    moves = (move for wall in walls for move in moves_of(wall))
    return (Cell(*_ALL, (*moves, *_quoted(ground.house))),)


def make_plans(
    walls: Sequence[WallStudy], ground: Ground, dried: Mapping[str, WallStudy] | None = None
) -> Plans:
    """The plans of a house, each found exactly, and the advice that follows from them.

    Parameters
    ----------
    walls : sequence of WallStudy
        Studied walls with all their options.
    ground : Ground
        The house that they stand in.
    dried : mapping, optional
        Walls that are stopped, by name, studied as if they were dry.

    Returns
    -------
    Plans
        With one option for each wall in each of them.

    Raises
    ------
    NoPlanError
        The solver did not prove its answer.
    """
    saving, charges = ground.saving, ground.charges
    cells = _cells(walls, ground)
    choices = {
        id: ground.choice(cells, aim)
        for id, aim in _AIMS.items()
        if id != WORTH_ID or saving is not None
    }
    as_dry = tuple((dried or {}).get(wall.wall.name, wall) for wall in walls)
    once_dry = _once_dry(walls, as_dry, ground)
    if once_dry is not None:
        choices[DRY_ID] = once_dry
    recommended = _recommended(ground)
    best = choices[recommended]
    plans = tuple(
        _plan(id, choice, as_dry if id == DRY_ID else walls, ground)
        for id, choice in choices.items()
    )
    made = Advised({w.wall.name: w for w in as_dry}, ground, best, once_dry, saving, charges)
    advice = tuple(made.of(wall) for wall in walls)
    told = {one.wall: one for one in advice}
    plans = tuple(
        replace(
            plan,
            undone=tuple(_undone(plan, as_dry if plan.id == DRY_ID else walls, told, recommended)),
        )
        for plan in plans
    )
    quotes = tuple(_quote_advice(best, ground.house, saving, charges))
    nets = [one.net.best for one in advice if one.net is not None]
    nets += [one.net for one in quotes if one.net is not None and one.taken]
    worked = sum(move.worked for move in best.moves)
    # with one wall worked on the charge stands in that wall's figure
    once = None if saving is None else charges.once if worked > 1 else 0.0
    return Plans(
        plans=plans,
        recommended=recommended,
        advice=advice,
        quotes=quotes,
        once=once,
        shared=best.net - sum(nets) + once if once is not None else None,
        frontier=_frontier(cells, ground, choices),
        gap=max(choice.gap for choice in choices.values()),
        rounds=sum(choice.rounds for choice in choices.values()),
    )


def _once_dry(
    walls: Sequence[WallStudy], as_dry: Sequence[WallStudy], ground: Ground
) -> Choice | None:
    """What would be worth most if no wall were wet; what the mending costs is not in it."""
    if ground.saving is None or not any(is_stopped(wall) for wall in walls):
        return None
    return ground.choice(_cells(as_dry, ground), WORTH)


_QUOTE, _AS_OFFERED = "part ", "as offered"


def _quoted(house: House) -> tuple[Move, ...]:
    """What other trades offer: each is taken as it stands, or left."""
    moves = []
    for number, part in enumerate(house.parts):
        if part.price is not None:
            name = f"{_QUOTE}{number}"
            moves.append(Move(name, "not taken", 0.0, 0.0, 0.0, worked=False))
            moves.append(Move(name, _AS_OFFERED, part.price, part.spared, part.seals, worked=False))
    return tuple(moves)


def _taken(choice: Choice, house: House) -> tuple[HousePart, ...]:
    """The offers that a choice holds."""
    names = [move.wall for move in choice.moves if move.option == _AS_OFFERED]
    return tuple(p for k, p in enumerate(house.parts) if f"{_QUOTE}{k}" in names)


def _quote_advice(
    best: Choice, house: House, saving: Saving | None, charges: Charges
) -> Iterator[QuoteAdvice]:
    """Each offer, and by how much it lifts the plan."""
    offers = {move.wall: move for move in _quoted(house) if move.option == _AS_OFFERED}
    for number, part in enumerate(house.parts):
        offer = offers.get(f"{_QUOTE}{number}")
        if offer is None:
            continue
        net = None
        if saving is not None:
            rest = [move for move in best.moves if move.wall != offer.wall]
            value, cost = result([*rest, offer], saving, charges)
            without, less = result(rest, saving, charges)
            net = value - cost - without + less
        yield QuoteAdvice(part, offer in best.moves, net)


def _plan(
    id: str,
    choice: Choice,
    walls: Sequence[WallStudy],
    ground: Ground,
) -> Plan:
    chosen = {move.wall: move.option for move in choice.moves}
    options = {wall.wall.name: chosen[wall.wall.name] for wall in walls}
    done = [wall.option(options[wall.wall.name]) for wall in walls]
    quotes = _taken(choice, ground.house)
    whole = together(
        done, ground.house, ground.air, ground.prices, ground.heating, ground.catalog,
        quotes=quotes,
    )  # fmt: skip
    less, air = sum(m.heat for m in choice.moves), sum(m.air for m in choice.moves)
    return Plan(
        id=id,
        name=_NAMES[id],
        options=options,
        quotes=quotes,
        whole=whole,
        net=Net.of(choice.saving, choice.cost, doubt_of(whole.worth)) if ground.saving else None,
        heat=ground.heat(less, air),
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


def _frontier(
    cells: Sequence[Cell], ground: Ground, choices: Mapping[str, Choice]
) -> tuple[Frontier, ...]:
    """Best plans from the cheapest to the deepest, by ever heavier savings."""
    found = [choice for id, choice in choices.items() if id != DRY_ID]
    found += [ground.choice(cells, Aim(w, 1.0)) for w in (0.5, 0.7, 1.4, 2.0, 4.0)]
    points = {
        (round(c.cost, 2), ground.heat(sum(m.heat for m in c.moves), sum(m.air for m in c.moves)))
        for c in found
    }
    line: list[Frontier] = []
    for cost, spared in sorted(points):
        if not line or spared > line[-1].heat + 1e6:
            line.append(Frontier(cost, spared))
    return tuple(line)


def net_of(walls: Sequence[WallStudy], options: Mapping[str, str], ground: Ground) -> float | None:
    """Net present value of any choice of options by the plan's own figures [currency]."""
    saving = ground.saving
    if saving is None:
        return None
    moves = [move_of(wall.option(options[wall.wall.name])) for wall in walls]
    value, cost = result(moves, saving, ground.charges)
    return value - cost
