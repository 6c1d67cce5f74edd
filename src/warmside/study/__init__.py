"""One house: every wall, every option, what it does and what it costs."""

from warmside.study._check import check
from warmside.study._json import to_json
from warmside.study._study import OptionStudy, Progress, Study, WallStudy, study
from warmside.study._thickness import ThicknessCurve, ThicknessStep, thickness_curve

__all__ = [
    "OptionStudy",
    "Progress",
    "Study",
    "ThicknessCurve",
    "ThicknessStep",
    "WallStudy",
    "check",
    "study",
    "thickness_curve",
    "to_json",
]
