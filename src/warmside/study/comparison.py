"""Options side by side: ranked by what counts, the least that keeps its promises, the next step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from warmside.options import LEAVE
from warmside.physics.airflow import Band
from warmside.promises import (
    Promise,
    Standing,
    Three,
    Years,
    banded,
    found_wet,
    further_money,
    room_after,
)
from warmside.study.house import Study
from warmside.study.house_totals import together
from warmside.study.parts import OptionStudy, WallStudy, Weights
from warmside.study.settling import Surroundings
from warmside.wording import PROMISES, Figure, Sentence, joined, listed, lowered, say, worst

Verdicts = tuple[tuple[Promise, Standing], ...]
_MARKS = {"holds": 1.0, "needs a person": 0.5, "not judged": 0.5, "falls short": 0.0,
          "does not apply": 1.0}  # fmt: skip
PER_WALL = "per wall"  # id of the row of the house where each wall has its own option


@dataclass(frozen=True)
class Compared:
    """One option of a wall among the others; ``rank`` 1 is put forward, 0 is the wall as found."""

    id: str
    name: str
    rank: int
    score: float  # [-] 0 to 1, by the weights; 0 where it cannot be built
    keeps: bool  # it can be built and falls short of no promise (worth it apart)
    verdicts: Verdicts
    resistance: float  # [m2 K/W] whole framed wall
    cost: float | None
    saving: Band | None  # [currency] a year


@dataclass(frozen=True)
class NextStep:
    """What the next dearer option that keeps its promises buys beyond the one before it."""

    id: str  # of the dearer
    beyond: str  # id of the one before
    further_resistance: float  # [m2 K/W]
    further_cost: float
    further_saving: Three | None  # [currency] a year
    changes: tuple[tuple[Promise, Standing, Standing], ...]  # promises whose verdict changes
    sentence: Sentence


@dataclass(frozen=True)
class WallComparison:
    """Every option of one wall; the wall as found first, then by rank."""

    wall: str
    rows: tuple[Compared, ...]
    least: str | None  # id of the least costly option that keeps every promise
    steps: tuple[NextStep, ...]  # from the least upwards, each dearer and warmer
    sentence: Sentence


@dataclass(frozen=True)
class HouseRow:
    """One option on every wall that can take it, or each wall's own."""

    id: str
    name: str
    walls: int  # that get it; the others are left as found
    of_walls: int
    keeps: bool  # no wall falls short (those left as found are not judged)
    verdicts: Verdicts  # the worst of the walls that get it
    resistance: float  # [m2 K/W] of all walls together
    cost: float | None
    saving: Band | None  # [currency] a year
    payback: Years | None  # [years] early, best, late; None: never


@dataclass(frozen=True)
class Comparison:
    """The house as found, each wall's own option, then one kind across all walls, least first."""

    weights: Weights
    walls: tuple[WallComparison, ...]
    rows: tuple[HouseRow, ...]
    sentence: Sentence


def choose(options: Sequence[OptionStudy], weights: Weights) -> tuple[str, str]:
    """Id of the option put forward, and why in one sentence.

    Promises come before weights: an option that falls short of one ranks below all that do not.
    """
    order = _ranked(options, weights)
    if not order:
        return options[0].option.id, "No option can be built on this wall as it was found."
    best = order[0]
    if not best.keeps_its_promises:
        short = [p for p in PROMISES if p != "worth it" and best.verdict(p) == "falls short"]
        why = (
            f"No option keeps every promise here. This one falls short of the fewest limits beside "
            f"those of money: it is not {listed(short)} as it stands."
        )
    elif weights == Weights():
        why = "The least costly option that falls short of none of its promises"
        why += ", money apart." if best.verdict("worth it") == "falls short" else "."
    else:
        why = f"The first by {weights.words} of those that fall short of none of their promises"
        why += ", money apart." if best.verdict("worth it") == "falls short" else "."
    return best.option.id, why


def compare(study: Study, weights: Weights | None = None) -> Comparison:
    """All options against all promises, for every wall and for the house.

    Parameters
    ----------
    study : Study
        The house studied.
    weights : Weights, optional
        What counts how much; those of the study when not given.

    Returns
    -------
    Comparison
        Ranked rows, and what each next step buys.
    """
    by = weights or study.weights
    walls = tuple(compare_wall(wall, by, study.prices.currency) for wall in study.walls)
    chosen = [
        wall.chosen if by == study.weights else wall.option(choose(wall.options, by)[0])
        for wall in study.walls
    ]
    rows = _house_rows(study, chosen)
    return Comparison(by, walls, rows, _house_sentence(rows, study.prices.currency))


def compare_wall(wall: WallStudy, weights: Weights, currency: str) -> WallComparison:
    """All options of one wall against all promises; see `compare`."""
    order = _ranked(wall.options, weights)
    scores = _scores(order, weights)
    unbuilt = [o for o in wall.options[1:] if o not in order]
    found = _row(wall.as_found, 0, 0.0)
    ranked = [_row(o, k, s) for k, (o, s) in enumerate(zip(order, scores, strict=True), 1)]
    rest = [_row(o, len(order) + k, 0.0) for k, o in enumerate(unbuilt, 1)]
    keeping = sorted((o for o in order if o.keeps_its_promises), key=_cost)
    steps = _steps(keeping, currency)
    return WallComparison(
        wall=wall.wall.name,
        rows=(found, *ranked, *rest),
        least=keeping[0].option.id if keeping else None,
        steps=steps,
        sentence=_wall_sentence(keeping, steps, currency),
    )


def _ranked(options: Sequence[OptionStudy], weights: Weights) -> list[OptionStudy]:
    """Options that can be built and priced, the best first."""
    priced = [o for o in options if o.price is not None and o.build_up.can_be_built]
    scores = dict(zip((o.option.id for o in priced), _scores(priced, weights), strict=True))
    return sorted(priced, key=lambda o: (o.shortfalls, -scores[o.option.id], _cost(o)))


def _scores(options: Sequence[OptionStudy], weights: Weights) -> list[float]:
    """Weighted mean of marks from 0 to 1, each relative to the best of these options."""
    if not options:
        return []
    marks = {
        "warm": _shares([o.warm.resistance for o in options]),
        "tight": _shares([o.tight.removed.best for o in options]),
        "worth it": _shares([_heat_for_money(o) for o in options]),
        "cost": _shares([1.0 / max(_cost(o), 1e-9) for o in options]),
    }
    for promise in ("dry", "legal", "safe"):
        marks[promise] = [_MARKS[o.verdict(promise)] for o in options]
    by = weights.by_name()
    total = sum(by.values())
    return [sum(by[n] * marks[n][k] for n in by) / total for k in range(len(options))]


def _shares(values: list[float]) -> list[float]:
    most = max(values)
    return [value / most if most > 0.0 else 0.0 for value in values]


def _heat_for_money(option: OptionStudy) -> float:
    return max(option.worth.heat.best, 0.0) / max(_cost(option), 1e-9)


def _cost(option: OptionStudy) -> float:
    return float(option.price.total) if option.price else 0.0


def _row(option: OptionStudy, rank: int, score: float) -> Compared:
    return Compared(
        id=option.option.id,
        name=option.option.name,
        rank=rank,
        score=score,
        keeps=option.option.kind.worked and option.keeps_its_promises,
        verdicts=_verdicts(option),
        resistance=option.warm.resistance,
        cost=_cost(option) if option.price else None,
        saving=option.worth.money,
    )


def _verdicts(option: OptionStudy) -> Verdicts:
    return tuple((promise, option.verdict(promise)) for promise in PROMISES)


def _steps(keeping: Sequence[OptionStudy], currency: str) -> tuple[NextStep, ...]:
    """From the least costly upwards, passing over what costs more and is no warmer."""
    steps: list[NextStep] = []
    last = keeping[0] if keeping else None
    for option in keeping[1:]:
        if last is None or option.warm.resistance <= last.warm.resistance + 1e-6:
            continue
        steps.append(_step(last, option, currency))
        last = option
    return tuple(steps)


def _step(before: OptionStudy, after: OptionStudy, currency: str) -> NextStep:
    changes = tuple(
        (promise, was, now)
        for (promise, was), (_, now) in zip(_verdicts(before), _verdicts(after), strict=True)
        if was != now
    )
    saving = further_money(after.worth, before.worth)
    resistance = after.warm.resistance - before.warm.resistance
    cost = _cost(after) - _cost(before)
    yearly = (
        say(" and {saving} a year", saving=banded(saving, "money", currency)) if saving else say("")
    )
    return NextStep(
        id=after.option.id,
        beyond=before.option.id,
        further_resistance=resistance,
        further_cost=cost,
        further_saving=saving,
        changes=changes,
        sentence=say(
            "{option} instead of {before} costs {cost} more and adds {resistance}{yearly}"
            "{changes}.",
            option=after.option.name,
            before=lowered(before.option.name),
            cost=Figure(cost, "money", currency=currency),
            resistance=Figure(resistance, "resistance"),
            yearly=yearly,
            changes="".join(f"; {p}: {was} becomes {now}" for p, was, now in changes),
        ),
    )


def _wall_sentence(
    keeping: Sequence[OptionStudy], steps: Sequence[NextStep], currency: str
) -> Sentence:
    if not keeping:
        return say("No option keeps every promise on this wall.")
    least = keeping[0]
    told = say(
        "{option} is the cheapest that keeps every promise: {cost}, {resistance}.",
        option=least.option.name,
        cost=Figure(_cost(least), "money", currency=currency),
        resistance=Figure(least.warm.resistance, "resistance"),
    )
    return joined([told, steps[0].sentence if steps else "Nothing dearer is warmer."])


def _house_rows(study: Study, chosen: Sequence[OptionStudy]) -> tuple[HouseRow, ...]:
    found = [wall.as_found for wall in study.walls]
    names = {o.option.id: o.option.name for w in study.walls for o in w.options[1:]}
    kinds = []
    for id, name in names.items():
        on = [next((o for o in w.options if o.option.id == id and o.price), w.as_found)
              for w in study.walls]  # fmt: skip
        kinds.append(_house_row(id, name, on, study))
    kinds = [row for row in kinds if row.walls]
    kinds.sort(key=lambda row: (row.of_walls - row.walls, not row.keeps, row.cost or 0.0))
    return (
        _house_row(LEAVE.id, study.walls[0].as_found.option.name, found, study),
        _house_row(PER_WALL, "Each wall its own best option", list(chosen), study),
        *kinds,
    )


def _house_row(id: str, name: str, options: Sequence[OptionStudy], study: Study) -> HouseRow:
    options = _in_their_room(options, study)
    done = [o for o in options if o.price is not None]
    whole = (
        together(
            options,
            study.survey.house,
            study.air,
            study.prices,
            study.heating,
            study.catalog,
            study.survey.hazards,
        )
        if done
        else None
    )
    area = sum(o.build_up.frame.net_area for o in options)
    return HouseRow(
        id=id,
        name=name,
        walls=len(done),
        of_walls=len(options),
        keeps=bool(done) and all(o.keeps_its_promises for o in done),
        verdicts=tuple((p, worst(o.verdict(p) for o in done or options)) for p in PROMISES),
        resistance=area / sum(o.build_up.frame.net_area / o.warm.resistance for o in options),
        cost=float(whole.price.total) if whole else None,
        saving=whole.worth.money if whole else None,
        payback=whole.worth.payback if whole else None,
    )


def _in_their_room(options: Sequence[OptionStudy], study: Study) -> list[OptionStudy]:
    """Options of one plan; judged again where its room is more humid than the one they stood in."""
    around = Surroundings(study.air, study.outside)
    room = room_after(
        study.survey.house,
        study.air,
        sum(o.change.removed.best for o in options),
        study.catalog,
    )
    found = (
        (w.as_found.build_up, w.as_found.warm, found_wet(w.wall, study.survey.hazards))
        for w in study.walls
    )
    return [
        around.in_room(option, room, before) if room.humidity > option.room.humidity else option
        for option, before in zip(options, found, strict=True)
    ]


def _house_sentence(rows: Sequence[HouseRow], currency: str) -> Sentence:
    own = rows[1]
    if own.cost is None and any(row.walls for row in rows[2:]):
        return say("The plan leaves every wall as it is.")
    if own.cost is None:
        return say("No wall of the house can take any of the options.")
    told = say(
        "Best option for each wall: {cost}, average {resistance}.",
        cost=Figure(own.cost, "money", currency=currency),
        resistance=Figure(own.resistance, "resistance"),
    )
    same = next((r for r in rows[2:] if r.walls == r.of_walls and r.keeps), None)
    if same is None or same.cost is None:
        return joined([told, "No one option keeps every promise on all walls."])
    if same.cost == own.cost:
        best = say("{option} is the best on all of them.", option=same.name)
        return joined([told, best])
    single = say(
        "The cheapest single option for all walls is {option}: {cost}, {resistance}.",
        option=lowered(same.name),
        cost=Figure(same.cost, "money", currency=currency),
        resistance=Figure(same.resistance, "resistance"),
    )
    return joined([told, single])
