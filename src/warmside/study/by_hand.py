"""A study with the options that a person chose, wall by wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from warmside.estimate import combine_takeoffs
from warmside.study.house_totals import together
from warmside.study.parts import Study, WallStudy


def with_choices(study: Study, choices: Mapping[str, str]) -> Study:
    """Put other options forward than the comparison did; the house's sums follow.

    Parameters
    ----------
    study : Study
        The house studied.
    choices : mapping
        Name of a wall -> id of one of its options. Walls and options that the study does not
        have are passed over, since a survey may change after a choice.

    Returns
    -------
    Study
        The same walls and options; takeoff, price, air and worth of those chosen.
    """
    walls = tuple(_chosen(wall, choices.get(wall.wall.name, "")) for wall in study.walls)
    if walls == study.walls:
        return study
    chosen = [wall.chosen for wall in walls]
    house, known = study.survey.house, study.catalog
    whole = together(
        chosen, house, study.air, study.prices, study.heating, known, study.survey.hazards
    )
    return replace(
        study,
        walls=walls,
        takeoff=combine_takeoffs(tuple(o.quantities for o in chosen)),
        price=whole.price,
        tight=whole.tight,
        worth=whole.worth,
    )


def _chosen(wall: WallStudy, id: str) -> WallStudy:
    ids = [o.option.id for o in wall.options if o.build_up.can_be_built]
    if id == wall.chosen_id or id not in ids:
        return wall
    by_comparison = wall.chosen.option.name
    return replace(
        wall,
        chosen_id=id,
        why_chosen=f"Chosen by hand; the comparison put {by_comparison} forward.",
    )
