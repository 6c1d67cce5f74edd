"""Walls of a survey, planned for the crew."""

from __future__ import annotations

from warmside.catalog import Catalog
from warmside.site import WallPlan, build_option, plan_wall
from warmside.survey import Survey


def planned(survey: Survey, catalog: Catalog, name: str, option: str, **more: object) -> WallPlan:
    wall = next(w for w in survey.walls if w.name == name)
    build_up = build_option(survey, wall, option, catalog)
    return plan_wall(build_up, wall, survey, catalog, **more)  # type: ignore[arg-type]
