"""A study with the options that a person chose, wall by wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from warmside.promises import (
    BOUND,
    LIKELY,
    PATHS,
    DryYears,
    dry_years,
    exposure_of,
    found_wet,
    with_presumed,
    worst_joint,
)
from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.settling import Surroundings, others, plan_room
from warmside.study.summing import summed
from warmside.survey import Survey
from warmside.wording import plain


def with_notes(study: Study, survey: Survey) -> Study:
    """The study under a survey whose notes alone have changed; nothing is computed again."""
    survey = with_presumed(survey, study.catalog)
    walls = zip(study.walls, survey.walls, strict=True)
    return replace(study, survey=survey, walls=tuple(replace(w, wall=now) for w, now in walls))


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
    walls = _in_their_rooms(study, walls)
    return summed(replace(study, walls=walls))


def _in_their_rooms(study: Study, walls: tuple[WallStudy, ...]) -> tuple[WallStudy, ...]:
    """Every option in the room of the plan chosen; the hours of what is chosen run again there."""
    around = Surroundings(study.air, study.outside)
    plan = [wall.chosen.change.removed.best for wall in walls]
    judged = []
    for wall, rest in zip(walls, others(plan), strict=True):
        found = (
            wall.as_found.build_up,
            wall.as_found.warm,
            found_wet(wall.wall, study.survey.hazards),
        )
        options = []
        for option in wall.options:
            room = plan_room(study.air, study.catalog, rest, option)
            here = option
            if room.same_as != option.room.same_as:
                here = around.in_room(option, room, found)
            if option.option.id == wall.chosen_id:
                here = _run_again(here, option.dry.hourly, wall, study)
            options.append(here)
        judged.append(replace(wall, options=tuple(options)))
    return tuple(judged)


def _run_again(
    option: OptionStudy, hours: DryYears | None, wall: WallStudy, study: Study
) -> OptionStudy:
    """The hours of what is chosen in its room, the bound of its joint among them."""
    if hours is None or (option.dry.hourly is hours and BOUND in hours.asked):
        return option
    exposure = exposure_of(wall.wall, study.weather)
    at_joint = LIKELY in hours.asked
    paths = PATHS if at_joint else PATHS[:1]
    joint = worst_joint(option.build_up, wall.wall, study.air) if at_joint else None
    run = dry_years(
        option.build_up, exposure, option.room, years=hours.years, paths=paths, joint=joint
    )
    return replace(option, dry=option.dry.with_hours(run))


def _chosen(wall: WallStudy, id: str) -> WallStudy:
    ids = [o.option.id for o in wall.options if o.build_up.can_be_built]
    if id == wall.chosen_id or id not in ids:
        return wall
    by_comparison = wall.chosen.option.name
    return replace(
        wall,
        chosen_id=id,
        why_chosen=plain(f"Chosen by hand; the comparison put {by_comparison} forward."),
    )
