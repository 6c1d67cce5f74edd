"""Many houses, partly known: which ones first, with what, in which year."""

from warmside.stock.archetype import (
    Archetype,
    Known,
    read_archetype,
    read_archetypes,
    read_surveys,
)
from warmside.stock.files import DiskFullError
from warmside.stock.house import StockHouse, realise
from warmside.stock.indices import Effect, total_effects, worth_of_knowing
from warmside.stock.judgement import Ground, judge
from warmside.stock.programmes import Limits, Offer, Place, Programme, YearPlan, programme
from warmside.stock.read import (
    GOALS,
    Checked,
    Doubt,
    Goal,
    KindRow,
    Ranked,
    Stock,
    ToSurvey,
    checked,
    doubts,
    effects,
    kinds,
    plan,
    ranking,
    read_stock,
    to_survey,
    totals,
)
from warmside.stock.runs import Progress, Summary, Told, run
from warmside.stock.settings import Settings
from warmside.stock.table import Table, open_table
from warmside.stock.unknown import Unknown
from warmside.stock.workers import WorkersLostError

__all__ = [
    "GOALS",
    "Archetype",
    "Checked",
    "DiskFullError",
    "Doubt",
    "Effect",
    "Goal",
    "Ground",
    "KindRow",
    "Known",
    "Limits",
    "Offer",
    "Place",
    "Programme",
    "Progress",
    "Ranked",
    "Settings",
    "Stock",
    "StockHouse",
    "Summary",
    "Table",
    "ToSurvey",
    "Told",
    "Unknown",
    "WorkersLostError",
    "YearPlan",
    "checked",
    "doubts",
    "effects",
    "judge",
    "kinds",
    "open_table",
    "plan",
    "programme",
    "ranking",
    "read_archetype",
    "read_archetypes",
    "read_stock",
    "read_surveys",
    "realise",
    "run",
    "to_survey",
    "total_effects",
    "totals",
    "worth_of_knowing",
]
