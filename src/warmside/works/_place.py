"""Where the steps of found work stand among those of the option."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from warmside.options import Gate, Step
from warmside.wording import joined
from warmside.works._item import WorkItem


def placed(steps: Sequence[Step], items: Iterable[WorkItem]) -> tuple[Step, ...]:
    """All steps in order: each item right before the first step that must wait for it.

    What is done within a step of the option is added to that step and to its gate.

    Parameters
    ----------
    steps : sequence of Step
        Of the kind of option, in order.
    items : iterable of WorkItem
        In the order in which those before the same step are done.

    Raises
    ------
    ValueError
        A kind of option whose order leaves no room between what an item follows and precedes, or
        that lacks the step in which it is done.
    """
    order = list(steps)
    for item in items:
        ids = [step.id for step in order]
        if item.hosted:
            if item.step.id not in ids:
                raise ValueError(f"no step '{item.step.id}' for '{item.key}'")
            place = ids.index(item.step.id)
            order[place] = _within(order[place], item)
            continue
        first = min((ids.index(id) for id in item.before if id in ids), default=None)
        last = max((ids.index(id) for id in item.after if id in ids), default=-1)
        place = last + 1 if first is None else first
        if place <= last:
            raise ValueError(f"no room for '{item.key}' between {ids[last]} and {ids[place]}")
        order.insert(place, item.step)
    return tuple(order)


def _within(step: Step, item: WorkItem) -> Step:
    gate, more = step.gate, item.step.gate
    who = gate.who if str(more.who) in str(gate.who) else joined((gate.who, more.who), "; ")
    asks = gate.asks if str(more.asks) in str(gate.asks) else joined((gate.asks, more.asks))
    untimed = step.untimed and item.step.untimed
    return replace(
        step, do=(*step.do, *item.step.do), gate=replace(gate, who=who, asks=asks), untimed=untimed
    )


def nobody(asks: str = "") -> Gate:
    """Nothing that the step's own gate does not ask already."""
    return Gate("crew lead", asks)
