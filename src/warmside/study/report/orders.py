"""What is ordered: goods of the supplier, and the work of each trade. No price, cost or hours."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from warmside.options import Trade
from warmside.study.house import Study
from warmside.study.parts import WallStudy
from warmside.study.report.passage import BLANK, Passage
from warmside.wording import Figure, Sentence, amount_by_unit, say
from warmside.works import WorkItem, work_items

OWN: Trade = "own crew"
_WHOLE_IN = ("m", "m2", "m3", "kg", "L", "board ft")  # bought by measure, rounded up to one
_NEVER = ("labour", "fixed", "bin")  # hours, sums for the house, what is rented


@dataclass(frozen=True)
class Order:
    """One order: to whom, and what it says."""

    to: str  # a trade; "materials" is the supplier of the own crew
    passages: tuple[Passage, ...]


@dataclass
class _Ware:
    name: str
    unit: str
    amount: float
    walls: list[str]


def orders(study: Study) -> tuple[Order, ...]:
    """The orders of what is put forward: materials first, then trade by trade.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    walls = [wall for wall in study.worked if wall.chosen.price]
    goods, tasks = _goods(walls), _tasks(walls)
    items = [(wall.wall.name, item) for wall in walls for item in _items(wall)]
    trades = dict.fromkeys([*tasks, *goods, *(item.trade for _, item in items)])
    found = [Order("materials", tuple(_supply(goods[OWN])))] if goods.get(OWN) else []
    for trade in trades:
        if trade != OWN:
            mine = [(wall, item) for wall, item in items if item.trade == trade]
            work = tasks.get(trade, {})
            found.append(Order(trade, tuple(_trade(work, goods.get(trade, {}), mine))))
    return tuple(found)


def _items(wall: WallStudy) -> tuple[WorkItem, ...]:
    return work_items(wall.chosen.build_up, wall.wall)


def _goods(walls: list[WallStudy]) -> dict[str, dict[str, _Ware]]:
    """What is bought by trade and key, in the unit that it is bought by."""
    found: dict[str, dict[str, _Ware]] = {}
    for wall in walls:
        assert wall.chosen.price is not None  # noqa: S101 - asked by the caller
        for line in wall.chosen.price.lines:
            if line.quantity.group in _NEVER:
                continue
            wares = found.setdefault(line.trade, {})
            ware = wares.setdefault(
                line.quantity.key, _Ware(line.quantity.name, line.unit, 0.0, [])
            )
            ware.amount += float(line.amount)
            if line.amount and wall.wall.name not in ware.walls:
                ware.walls.append(wall.wall.name)
    return found


def _tasks(walls: list[WallStudy]) -> dict[str, dict[str, list[str]]]:
    """Names of tasks by trade, each with its walls; never their hours."""
    found: dict[str, dict[str, list[str]]] = {}
    for wall in walls:
        assert wall.chosen.price is not None  # noqa: S101 - asked by the caller
        for line in wall.chosen.price.lines:
            if line.quantity.group == "labour":
                where = found.setdefault(line.trade, {}).setdefault(line.quantity.name, [])
                if wall.wall.name not in where:
                    where.append(wall.wall.name)
    return found


def bought(amount: float, unit: str) -> Figure:
    """An amount as it is bought: whole sheets and cartridges, whole metres, never less."""
    whole = float(math.ceil(round(amount, 6)))
    if unit in _WHOLE_IN:
        return Figure(whole, "number", unit=unit)
    return amount_by_unit(whole, unit)


def _supply(wares: dict[str, _Ware]) -> Iterator[Passage]:
    yield Passage("What we order", head=_HEAD, table=_table(wares))
    yield Passage(
        "Deliver",
        (
            say("To the house, on: {blank}", blank=BLANK),
            say("Keep foam, sealant and paint from frost and sun. Keep board and batts dry."),
            say("Send the listing and the safety data sheet of every product with it."),
            say("Another product only after we agree in writing: the listing decides."),
        ),
    )


_HEAD = ("What", "How much", "For")


def _table(wares: dict[str, _Ware]) -> tuple[tuple[str | Figure, ...], ...]:
    return tuple(
        (ware.name, bought(ware.amount, ware.unit), ", ".join(ware.walls))
        for ware in wares.values()
        if ware.amount > 0
    )


def _trade(
    work: dict[str, list[str]], wares: dict[str, _Ware], items: list[tuple[str, WorkItem]]
) -> Iterator[Passage]:
    names = {name: list(walls) for name, walls in work.items()}
    own_words: dict[str, list[str]] = {}  # works that no priced task tells
    for wall, item in items:
        if item.own_offer or not item.tasks:
            own_words.setdefault(item.name, []).append(wall)
    rows = tuple((name, ", ".join(walls)) for name, walls in (names | own_words).items())
    if rows:
        yield Passage("What you do", head=("Work", "Walls"), table=rows)
    told = dict.fromkeys(text for _, item in items for text in item.step.do)
    if told:
        yield Passage("How it is done", tuple(told))
    if any(ware.amount > 0 for ware in wares.values()):
        yield Passage("What you bring", head=_HEAD, table=_table(wares))
    done = tuple(
        dict.fromkeys(
            say("{work}: {accepted}", work=item.name, accepted=item.accepted) for _, item in items
        )
    )
    if done:
        yield Passage("It is done when", done)
    yield Passage("Stop and call us", (_STOP, _CODE), safety=True)
    yield Passage(
        "To be filled in",
        (
            say("Your price: {blank}", blank=BLANK),
            say("From {blank} to {blank2}", blank=BLANK, blank2=BLANK),
            say("Your licence and insurance: {blank}", blank=BLANK),
        ),
    )


_STOP: Sentence = say(
    "Stop at anything that is not in this order: rot, water, live wires, gas, old loose fill."
)
_CODE: Sentence = say("Local code and the local official decide. Your licence covers this work.")
