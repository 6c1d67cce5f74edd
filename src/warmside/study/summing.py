"""What is only known of the house as a whole, over what is put forward on its walls."""

from __future__ import annotations

from dataclasses import replace

from warmside.estimate import combine_takeoffs
from warmside.promises import room_after
from warmside.study.house import Study
from warmside.study.house_totals import together


def summed(study: Study) -> Study:
    """The study with takeoff, price, air, worth and room after of what it puts forward by now."""
    chosen, survey = [wall.chosen for wall in study.walls], study.survey
    whole = together(
        chosen, survey.house, study.air, study.prices, study.heating, study.catalog, survey.hazards
    )
    removed = sum(option.change.removed.best for option in chosen)
    return replace(
        study,
        takeoff=combine_takeoffs(tuple(o.quantities for o in chosen)),
        price=whole.price,
        tight=whole.tight,
        worth=whole.worth,
        room_after=room_after(survey.house, study.air, removed, study.catalog),
    )
