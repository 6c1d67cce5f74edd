"""The one typed view of a study: every figure that anybody shows, before units are chosen.

Pages and papers render it, each in its reader's style; nothing is rounded here.
"""

from warmside.study.report.house import HouseReport, conditions, report
from warmside.study.report.parts import Fact, Line, Statement, Sum, sums
from warmside.study.report.plan import PlanReport
from warmside.study.report.wall import (
    FindingReport,
    OptionReport,
    WallReport,
    finding_report,
    wall_report,
)

__all__ = [
    "Fact",
    "FindingReport",
    "HouseReport",
    "Line",
    "OptionReport",
    "PlanReport",
    "Statement",
    "Sum",
    "WallReport",
    "conditions",
    "finding_report",
    "report",
    "sums",
    "wall_report",
]
