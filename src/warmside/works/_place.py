"""Where the steps of found work stand among those of the option."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from warmside.options import Step
from warmside.works._item import WorkItem


def placed(steps: Sequence[Step], items: Iterable[WorkItem]) -> tuple[Step, ...]:
    """All steps in order: each item right before the first step that must wait for it.

    Parameters
    ----------
    steps : sequence of Step
        Of the kind of option, in order.
    items : iterable of WorkItem
        In the order in which those before the same step are done.

    Raises
    ------
    ValueError
        A kind of option whose order leaves no room between what an item follows and precedes.
    """
    order = list(steps)
    for item in items:
        ids = [step.id for step in order]
        first = min((ids.index(id) for id in item.before if id in ids), default=None)
        last = max((ids.index(id) for id in item.after if id in ids), default=-1)
        place = last + 1 if first is None else first
        if place <= last:
            raise ValueError(f"no room for '{item.key}' between {ids[last]} and {ids[place]}")
        order.insert(place, item.step)
    return tuple(order)
