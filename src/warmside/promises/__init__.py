"""What can be promised: physics and catalog become figures with verdicts."""

from warmside.promises._air import HouseAir, JointGain, WallAir, house_air, joint_gains
from warmside.promises._comfort import Comfort, comfort
from warmside.promises._dry import Dry, dry
from warmside.promises._dry_hourly import (
    PATHS,
    DryPath,
    DryYears,
    Exposure,
    WoodCourse,
    dry_years,
    exposure_of,
)
from warmside.promises._figure import Figure, figure_of, limit_of, shown
from warmside.promises._finding import Finding, Promise, Standing, Verdict
from warmside.promises._fresh_air import HouseTight, house_tight
from warmside.promises._legal import legal
from warmside.promises._money import (
    Three,
    banded,
    conserved_energy_cost,
    present_value_factor,
    recovery_factor,
    simple_payback,
)
from warmside.promises._room import Outside, Room, outside_of, room_of
from warmside.promises._safe import safe
from warmside.promises._sayings import Saying, trade_sayings
from warmside.promises._texts import LANGUAGES, Language, Texts, texts
from warmside.promises._tight import (
    Tight,
    WorstJoint,
    leak_waters,
    seals_joints,
    tight,
    worst_joint,
)
from warmside.promises._warm import Coldest, Warm, factor_needed, warm
from warmside.promises._worth import (
    Change,
    EnergyTerms,
    HeatingCase,
    Worth,
    Years,
    further_money,
    heating_case,
    worth,
)

__all__ = [
    "LANGUAGES",
    "PATHS",
    "Change",
    "Coldest",
    "Comfort",
    "Dry",
    "DryPath",
    "DryYears",
    "EnergyTerms",
    "Exposure",
    "Figure",
    "Finding",
    "HeatingCase",
    "HouseAir",
    "HouseTight",
    "JointGain",
    "Language",
    "Outside",
    "Promise",
    "Room",
    "Saying",
    "Standing",
    "Texts",
    "Three",
    "Tight",
    "Verdict",
    "WallAir",
    "Warm",
    "WoodCourse",
    "WorstJoint",
    "Worth",
    "Years",
    "banded",
    "comfort",
    "conserved_energy_cost",
    "dry",
    "dry_years",
    "exposure_of",
    "factor_needed",
    "figure_of",
    "further_money",
    "heating_case",
    "house_air",
    "house_tight",
    "joint_gains",
    "leak_waters",
    "legal",
    "limit_of",
    "outside_of",
    "present_value_factor",
    "recovery_factor",
    "room_of",
    "safe",
    "seals_joints",
    "shown",
    "simple_payback",
    "texts",
    "tight",
    "trade_sayings",
    "warm",
    "worst_joint",
    "worth",
]
