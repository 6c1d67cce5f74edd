"""The plan for the house: one option for each wall, found exactly over the house's own figures."""

from warmside.study.plan.advice import Advice
from warmside.study.plan.eligible import drier_air, is_stopped, must_change, stops, takes_part
from warmside.study.plan.net import Net
from warmside.study.plan.plans import (
    AIMS,
    DRY_ID,
    Plan,
    Plans,
    QuoteAdvice,
    best_options,
    make_plans,
    net_of,
)
from warmside.study.plan.program import Choice, NoPlanError, best_choice
from warmside.study.plan.saving import Ground
from warmside.study.plan.table import DEEPEST, LEAST, WORTH, Aim, Cell, Charges, Move, result

__all__ = [
    "AIMS",
    "DEEPEST",
    "DRY_ID",
    "LEAST",
    "WORTH",
    "Advice",
    "Aim",
    "Cell",
    "Charges",
    "Choice",
    "Ground",
    "Move",
    "Net",
    "NoPlanError",
    "Plan",
    "Plans",
    "QuoteAdvice",
    "best_choice",
    "best_options",
    "drier_air",
    "is_stopped",
    "make_plans",
    "must_change",
    "net_of",
    "result",
    "stops",
    "takes_part",
]
