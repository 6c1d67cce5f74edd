"""One house: every wall, every option, what it does and what it costs."""

from typing import TYPE_CHECKING, Any

from warmside.study.answers import Answer, answers
from warmside.study.by_hand import with_choices, with_notes
from warmside.study.chances import Chance, Spread, WallSpread, spread
from warmside.study.checking import accept, check, survey_schema
from warmside.study.comparison import (
    Compared,
    Comparison,
    HouseRow,
    NextStep,
    WallComparison,
    compare,
    compare_wall,
)
from warmside.study.house import Study
from warmside.study.house_totals import Together, Work, together
from warmside.study.json import json_text
from warmside.study.memory import Kept
from warmside.study.money import by_prices, usual_prices, with_prices
from warmside.study.parts import OptionStudy, WallStudy, Weights
from warmside.study.thickness import ThicknessCurve, ThicknessStep, thickness_curve
from warmside.study.whole_house import Progress, study

if TYPE_CHECKING:
    from warmside.study.proven import KeptPromise, Proven, ProvenWall, Remedy, measure, prove

__all__ = [
    "Answer",
    "Chance",
    "Compared",
    "Comparison",
    "HouseRow",
    "Kept",
    "KeptPromise",
    "NextStep",
    "OptionStudy",
    "Progress",
    "Proven",
    "ProvenWall",
    "Remedy",
    "Spread",
    "Study",
    "ThicknessCurve",
    "ThicknessStep",
    "Together",
    "WallComparison",
    "WallSpread",
    "WallStudy",
    "Weights",
    "Work",
    "accept",
    "answers",
    "by_prices",
    "check",
    "compare",
    "compare_wall",
    "json_text",
    "measure",
    "prove",
    "spread",
    "study",
    "survey_schema",
    "thickness_curve",
    "together",
    "usual_prices",
    "with_choices",
    "with_notes",
    "with_prices",
]


def __getattr__(name: str) -> Any:
    """What judges the finished work brings the room of proof along, only when it is asked for."""
    if name in __all__:  # and not there yet
        from warmside.study import proven

        return getattr(proven, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
