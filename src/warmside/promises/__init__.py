"""What can be promised: physics and catalog become figures with verdicts."""

from warmside.promises.air import HouseAir, JointGain, WallAir, house_air, joint_gains
from warmside.promises.dryness import Dry, FoundWet, dry, found_wet
from warmside.promises.dryness_hourly import (
    PATHS,
    DryPath,
    DryYears,
    Exposure,
    WoodCourse,
    dry_years,
    exposure_of,
)
from warmside.promises.finding import Finding, carried
from warmside.promises.fresh_air import (
    FreshAir,
    HouseTight,
    fresh_air,
    house_tight,
    humidity_limit,
    room_after,
)
from warmside.promises.leak_path import WorstJoint, throttle, worst_joint
from warmside.promises.leakage import JointLeak, WallLeakage, wall_leakage
from warmside.promises.legality import legal
from warmside.promises.money import (
    Three,
    banded,
    conserved_energy_cost,
    present_value_factor,
    recovery_factor,
    simple_payback,
)
from warmside.promises.never import by_person
from warmside.promises.presumed import presumed_hazards, with_presumed
from warmside.promises.room import (
    DAY,
    Living,
    MonthlyAir,
    Outside,
    Room,
    impossible,
    living_of,
    outside_of,
    reading_release,
    room_of,
    unread,
    usual_release,
)
from warmside.promises.safety import safe
from warmside.promises.thermal_comfort import Comfort, comfort
from warmside.promises.tightness import (
    Tight,
    leak_waters,
    leakage_removed,
    seals_joints,
    tight,
)
from warmside.promises.trade_sayings import Saying, trade_sayings
from warmside.promises.value import (
    Change,
    EnergyTerms,
    HeatingCase,
    Worth,
    Years,
    further_money,
    heating_case,
    worth,
)
from warmside.promises.warmth import Coldest, Warm, factor_needed, warm
from warmside.promises.wording import LANGUAGES, Texts, texts
from warmside.wording import Figure, Language, Promise, Standing, Verdict

__all__ = [
    "DAY",
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
    "FoundWet",
    "FreshAir",
    "HeatingCase",
    "HouseAir",
    "HouseTight",
    "JointGain",
    "JointLeak",
    "Language",
    "Living",
    "MonthlyAir",
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
    "WallLeakage",
    "Warm",
    "WoodCourse",
    "WorstJoint",
    "Worth",
    "Years",
    "banded",
    "by_person",
    "carried",
    "comfort",
    "conserved_energy_cost",
    "dry",
    "dry_years",
    "exposure_of",
    "factor_needed",
    "found_wet",
    "fresh_air",
    "further_money",
    "heating_case",
    "house_air",
    "house_tight",
    "humidity_limit",
    "impossible",
    "joint_gains",
    "leak_waters",
    "leakage_removed",
    "legal",
    "living_of",
    "outside_of",
    "present_value_factor",
    "presumed_hazards",
    "reading_release",
    "recovery_factor",
    "room_after",
    "room_of",
    "safe",
    "seals_joints",
    "simple_payback",
    "texts",
    "throttle",
    "tight",
    "trade_sayings",
    "unread",
    "usual_release",
    "wall_leakage",
    "warm",
    "with_presumed",
    "worst_joint",
    "worth",
]
