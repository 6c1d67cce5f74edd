"""Three plans for one house, and what is recommended for each wall, with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
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
from warmside.survey import House, HousePart
from warmside.wording import Figure, Sentence, joined, say

_ALL = (-10.0, 10.0)  # [-] of leakage: one cell, since options are judged in the room of the plan
_WARMER = 1.05  # [-] of R as found that an option must reach to count as comfort
_SAME = 1e-6
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
    quotes: tuple[HousePart, ...]  # parts beside the walls that other trades better
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
    heat = heat_of(ground.house, ground.air, ground.heating, ground.catalog)
    saving = saving_of(heat, ground.heating)
    spared: Saving = saving or (lambda less, air: heat(less, air) / KWH)
    charges = charges_of(ground.prices)
    quoted = _quoted(ground.house)
    table = (*(move for wall in walls for move in _moves(wall)), *quoted)
    cells = (Cell(*_ALL, table),)
    aims = {LEAST_ID: LEAST, WORTH_ID: WORTH, DEEPEST_ID: DEEPEST}
    if saving is None:
        del aims[WORTH_ID]
    choices = {id: _found(cells, spared, charges, aim) for id, aim in aims.items()}
    as_dry = tuple((dried or {}).get(wall.wall.name, wall) for wall in walls)
    once_dry = _once_dry(walls, as_dry, quoted, saving, charges)
    if once_dry is not None:
        choices[DRY_ID] = once_dry
    recommended = WORTH_ID if saving is not None else LEAST_ID
    best = choices[recommended]
    plans = tuple(
        _plan(id, choice, as_dry if id == DRY_ID else walls, ground, saving is not None, heat)
        for id, choice in choices.items()
    )
    made = _Advised({w.wall.name: w for w in as_dry}, ground, best, once_dry, saving, charges)
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
    nets = [one.net for one in advice if one.net is not None]
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
        frontier=_frontier(cells, spared, charges, heat, choices),
        gap=max(choice.gap for choice in choices.values()),
        rounds=sum(choice.rounds for choice in choices.values()),
    )


def _once_dry(
    walls: Sequence[WallStudy],
    as_dry: Sequence[WallStudy],
    quoted: Sequence[Move],
    saving: Saving | None,
    charges: Charges,
) -> Choice | None:
    """What would be worth most if no wall were wet; what the mending costs is not in it."""
    if saving is None or not any(is_stopped(wall) for wall in walls):
        return None
    table = (*(move for wall in as_dry for move in _moves(wall)), *quoted)
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


def _moves(wall: WallStudy) -> list[Move]:
    """What a plan may choose from on one wall; never nothing."""
    fit = [option for option in wall.options if takes_part(option, wall)]
    found = wall.as_found
    changed = [o for o in fit if o.option.kind.worked]
    if not is_stopped(wall) and (must_change(wall) or wall.wall.comfort):
        warmer = [o for o in changed if o.warm.resistance > found.warm.resistance * _WARMER]
        if must_change(wall):
            warmer = [o for o in changed if not any(
                f.verdict == "falls short" for f in o.warm.findings)]  # fmt: skip
        fit = warmer or fit
    return [move_of(option) for option in fit or [found]]


_QUOTE, _AS_OFFERED = "part ", "as offered"


def _quoted(house: House) -> tuple[Move, ...]:
    """What other trades offer: each is taken as it stands, or left."""
    moves = []
    for number, part in enumerate(house.parts):
        if part.price is not None:
            name = f"{_QUOTE}{number}"
            moves.append(Move(name, "leave", 0.0, 0.0, 0.0, worked=False))
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
    valued: bool,
    heat: Saving,
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
class _Worth:
    """One option of a wall within the plan, against leaving the wall as it was found."""

    saved: float  # [currency] worth today
    cost: float  # [currency]

    @property
    def net(self) -> float:
        """Net present value [currency]."""
        return self.saved - self.cost


@dataclass(frozen=True)
class _Advised:
    """The recommended plan, to be asked about each wall."""

    walls: Mapping[str, WallStudy]  # stopped ones studied as if they were dry
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
        worths = self._worths(wall)
        if is_stopped(wall):
            then = self._then(wall)
            return Advice(
                wall=name,
                recommended=option.option.id,
                kind=option.option.kind.name,
                reason=self._wet(wall, then),
                net=None if self.saving is None else 0.0,
                stopped=True,
                then=then.option.id if then else None,
                beside=None,
            )
        fit = [o for o in wall.options if o.option.kind.worked and takes_part(o, wall)]
        if worths:
            fit.sort(key=lambda o: -worths[o.option.id].net)
        plain = [o for o in fit if o.option.foam is None and o is not option]
        beside = plain[0] if plain and option.option.foam else None
        return Advice(
            wall=name,
            recommended=option.option.id,
            kind=option.option.kind.name,
            reason=self._reason(wall, option, worths, fit, beside),
            net=worths[option.option.id].net if worths else None,
            stopped=False,
            then=None,
            beside=beside.option.id if beside else None,
        )

    def _then(self, wall: WallStudy) -> OptionStudy | None:
        """What looks best on a wet wall once it is dry."""
        if self.dried is None:
            return None
        name = wall.wall.name
        id = next(m.option for m in self.dried.moves if m.wall == name)
        option = self.walls[name].option(id)
        return option if option.option.kind.worked else None

    def _worths(self, wall: WallStudy) -> dict[str, _Worth]:
        """What each option of a wall saves and costs within the plan; nothing without prices."""
        saving = self.saving
        if saving is None:
            return {}
        others = [m for m in self.best.moves if m.wall != wall.wall.name]

        def of(option: OptionStudy) -> tuple[float, float]:
            return result([*others, move_of(option)], saving, self.charges)

        saved, cost = of(wall.as_found)
        return {
            option.option.id: _Worth(value - saved, charge - cost)
            for option in wall.options
            for value, charge in [of(option)]
        }

    def _reason(
        self,
        wall: WallStudy,
        option: OptionStudy,
        worths: Mapping[str, _Worth],
        order: Sequence[OptionStudy],
        beside: OptionStudy | None,
    ) -> Sentence:
        if not option.option.kind.worked:
            return self._left(wall, worths, order)
        own = worths.get(option.option.id)
        cost = self._money(own.cost if own else _price(option))
        carried = must_change(wall)
        if carried is not None:
            mended = say(
                "{option} for {cost} puts that right.", option=option.option.name, cost=cost
            )
            why = joined([carried.reason, mended])
        elif wall.wall.comfort:
            why = say(
                "The client asks for comfort here: {option} for {cost}.",
                option=_lower(option.option.name),
                cost=cost,
            )
        elif own is None:
            return say("{option} must be done.", option=option.option.name)
        else:
            why = say(
                "{option} for {cost}: over {years} the savings are worth {net} more than that.",
                option=option.option.name,
                cost=cost,
                years=self._years,
                net=self._money(own.net),
            )
        parts = [why]
        if own is not None and own.net < 0.0:
            lost = say(
                "It does not pay by itself: it costs {net} more than it saves.",
                net=self._money(-own.net),
            )
            parts.append(lost)
        if own is not None and beside is not None:
            parts.append(self._without_foam(own, worths[beside.option.id], beside))
        return joined(parts)

    def _without_foam(self, own: _Worth, other: _Worth, beside: OptionStudy) -> Sentence:
        """The best that another trade would do, beside foam."""
        return say(
            "Without foam the best is {option} for {cost}, worth {less} less over the years.",
            option=_lower(beside.option.name),
            cost=self._money(other.cost),
            less=self._money(max(own.net - other.net, 0.0)),
        )

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
        self, wall: WallStudy, worths: Mapping[str, _Worth], order: Sequence[OptionStudy]
    ) -> Sentence:
        now = Figure(wall.as_found.warm.resistance, "resistance")
        if not worths:
            return say("Leave it: the price file lacks what would tell whether anything pays.")
        fuller = [o for o in order if o.warm.resistance > wall.as_found.warm.resistance * 1.01]
        if not fuller:
            left = say("Leave it: at {now} nothing that can be done makes it better.", now=now)
        else:
            own = worths[fuller[0].option.id]
            left = say(
                "Leave it: at {now} no change pays. The best of them, {option}, would cost {cost} "
                "in all for savings worth {worth} over {years}.",
                now=now,
                option=_lower(fuller[0].option.name),
                cost=self._money(own.cost),
                years=self._years,
                worth=self._money(max(own.saved, 0.0)),
            )
        return joined([left, *self._watched(wall)])

    def _watched(self, wall: WallStudy) -> list[Sentence]:
        """What the wall falls short of today, and will go on to: nobody promises it dry."""
        damp = [f.name for f in wall.as_found.dry.findings if f.verdict == "falls short"]
        if not damp:
            return []
        what = say(
            "By the sums it is not dry as it stands ({what}), and left alone it stays so: read the "
            "wood in one place, and again in late winter.",
            what=_lower(damp[0]),
        )
        return [what]

    def _money(self, value: float) -> Figure:
        return Figure(round(value, -1), "money", currency=self.ground.prices.currency)

    @property
    def _years(self) -> Figure:
        terms = self.ground.heating.terms
        return Figure(float(terms.years) if terms else 0.0, "years")


def _price(option: OptionStudy) -> float:
    return float(option.price.total) if option.price else 0.0


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
