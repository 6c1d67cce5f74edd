"""What has to be done because of what was found: one file a kind of work, listed here alone."""

from __future__ import annotations

from warmside.options import BuildUp, Trade
from warmside.survey import Wall
from warmside.works._item import Work, WorkItem
from warmside.works._place import placed
from warmside.works.clearances import (
    DRAWINGS,
    FLUES_AND_GAS,
    OLD_WIRING,
    OTHER_HAZARDS,
    SAMPLES,
)
from warmside.works.fire_blocks import FIRE_BLOCKS, blocks_close_it
from warmside.works.lead import CLEANING, CONTAINMENT
from warmside.works.pockets import HOLLOW_SPACES, WEIGHT_POCKETS
from warmside.works.rooms import (
    BASEBOARD_HEATERS,
    PRIMER,
    PROTECTION,
    RADIATORS,
    TRIM_OFF,
    TRIM_ON,
)
from warmside.works.services import BOX_EXTENDERS, PIPES, PIPES_OF_CLOSED_WALLS
from warmside.works.sill_stops import SILL_STOPS
from warmside.works.site_work import HEAT_AND_AIR, MAKE_SAFE, READINGS, SMOKE
from warmside.works.whole_house import (
    HAND_OVER,
    HOUSE_WORKS,
    RE_ENTRY,
    SET_UP,
    HouseWork,
    house_works,
)

# In the order in which works that stand before the same step are done.
WORKS: tuple[Work, ...] = (
    MAKE_SAFE, OLD_WIRING, FLUES_AND_GAS, SAMPLES, DRAWINGS, OTHER_HAZARDS, PIPES_OF_CLOSED_WALLS,
    PROTECTION, CONTAINMENT, RADIATORS[0], BASEBOARD_HEATERS[0], TRIM_OFF,
    READINGS, PIPES, BOX_EXTENDERS,
    WEIGHT_POCKETS, HOLLOW_SPACES, FIRE_BLOCKS, SILL_STOPS, HEAT_AND_AIR, SMOKE,
    PRIMER, TRIM_ON, RADIATORS[1], BASEBOARD_HEATERS[1], CLEANING,
)  # fmt: skip

__all__ = [
    "HAND_OVER",
    "HOLLOW_SPACES",
    "HOUSE_WORKS",
    "RE_ENTRY",
    "SET_UP",
    "SILL_STOPS",
    "WEIGHT_POCKETS",
    "WORKS",
    "HouseWork",
    "Trade",
    "Work",
    "WorkItem",
    "blocks_close_it",
    "house_works",
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
