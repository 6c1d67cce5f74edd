"""The steps of one option on one wall: those of its kind, and those that findings ask for."""

from __future__ import annotations

from warmside.catalog import Catalog
from warmside.options import BuildUp, Job, Sealing, Step
from warmside.survey import Hazard, Wall
from warmside.works import placed, work_items


def sequence(
    build_up: BuildUp,
    wall: Wall,
    hazards: tuple[Hazard, ...],
    passes: int,
    catalog: Catalog,
    sealing: Sealing = "before",
) -> tuple[Step, ...]:
    """The steps of one option on one wall, in order.

    Parameters
    ----------
    build_up : BuildUp
        The option on its wall.
    wall : Wall
        As surveyed.
    hazards : tuple of Hazard
        Of the survey; those of other walls are left out.
    passes : int
        Passes at the thickest place; 0 without foam.
    catalog : Catalog
        Who clears a hazard, and how dry wood must be.
    sealing : {"before", "after"}
        Joints sealed before spraying or after; see `WHY_SEALING`.

    Returns
    -------
    tuple of Step
        Each with its gate; empty where the wall is left as found.
    """
    mine = tuple(h for h in hazards if h.wall in (None, wall.name))
    steps = build_up.option.kind.steps(Job(build_up, wall, mine, passes, sealing, catalog))
    return placed(steps, work_items(build_up, wall))
