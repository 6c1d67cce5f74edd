"""What has to be done because of what was found: one file a kind of work, listed here alone."""

from __future__ import annotations

from warmside.options import BuildUp
from warmside.survey import Wall
from warmside.works._item import Trade, Work, WorkItem
from warmside.works._place import placed
from warmside.works.fire_blocks import FIRE_BLOCKS
from warmside.works.pockets import HOLLOW_SPACES, WEIGHT_POCKETS
from warmside.works.sill_stops import SILL_STOPS

# In the order in which works that stand before the same step are done.
WORKS: tuple[Work, ...] = (WEIGHT_POCKETS, HOLLOW_SPACES, FIRE_BLOCKS, SILL_STOPS)

__all__ = [
    "HOLLOW_SPACES",
    "SILL_STOPS",
    "WEIGHT_POCKETS",
    "WORKS",
    "Trade",
    "Work",
    "WorkItem",
    "placed",
    "work_items",
]


def work_items(build_up: BuildUp, wall: Wall) -> tuple[WorkItem, ...]:
    """Everything that an option has to take along on a wall because of what was found there.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to ``wall``.
    wall : Wall
        As surveyed.

    Returns
    -------
    tuple of WorkItem
        Takeoff, price, crew sheet, day record and close-out are made of this one list; empty
        where the wall is left as found or the option cannot be built.
    """
    if not build_up.option.kind.worked or not build_up.can_be_built:
        return ()
    items = (work.item(build_up, wall) for work in WORKS)
    return tuple(item for item in items if item is not None)
