"""How is it done: the crew's day, its plan, its gates and its record.

A plan follows from an option on a wall (``plan_house``). What is written down on site are entries
(``ENTRIES``), each one record of the job, checked by ``accept`` and read back by ``read_log``.
Records are never altered; an amendment is a new record that replaces the old one.
"""

from warmside.site._accept import Ground, accept, parse_entry
from warmside.site._checks import (
    Check,
    Conditions,
    dew_point_spread,
    dry_checks,
    least_surface,
    passes_all,
    spray_checks,
)
from warmside.site._enclosure import (
    Fan,
    ReEntry,
    WorkAir,
    decay_curve,
    fan,
    hours_until,
    opening_flow,
    parts_per_million,
    re_entry,
    remaining,
    work_air,
)
from warmside.site._entries import ENTRIES, Entry
from warmside.site._hours import (
    Hour,
    Window,
    WorkHour,
    WorkRules,
    climate_hours,
    read_forecast,
    surface_share,
    warmest_need,
    windows,
    work_hours,
)
from warmside.site._log import (
    DaySheet,
    GateStanding,
    Log,
    Noted,
    day_sheet,
    quality_checks,
    read_log,
)
from warmside.site._passes import CrewTime, Depth, PassPlan, idle_wait, pass_plan
from warmside.site._plan import WallPlan, build_option, plan_house, plan_wall
from warmside.site._runs import Run, joint_runs
from warmside.site._samples import (
    Sample,
    density,
    density_checks,
    probes_needed,
    sample,
    student,
    thickness_checks,
)
from warmside.site._sequence import WHY_SEALING, Gate, Sealing, Step, sequence
from warmside.site._yield import Group, Learned, Use, learned, own_foam

__all__ = [
    "ENTRIES",
    "WHY_SEALING",
    "Check",
    "Conditions",
    "CrewTime",
    "DaySheet",
    "Depth",
    "Entry",
    "Fan",
    "Gate",
    "GateStanding",
    "Ground",
    "Group",
    "Hour",
    "Learned",
    "Log",
    "Noted",
    "PassPlan",
    "ReEntry",
    "Run",
    "Sample",
    "Sealing",
    "Step",
    "Use",
    "WallPlan",
    "Window",
    "WorkAir",
    "WorkHour",
    "WorkRules",
    "accept",
    "build_option",
    "climate_hours",
    "day_sheet",
    "decay_curve",
    "density",
    "density_checks",
    "dew_point_spread",
    "dry_checks",
    "fan",
    "hours_until",
    "idle_wait",
    "joint_runs",
    "learned",
    "least_surface",
    "opening_flow",
    "own_foam",
    "parse_entry",
    "parts_per_million",
    "pass_plan",
    "passes_all",
    "plan_house",
    "plan_wall",
    "probes_needed",
    "quality_checks",
    "re_entry",
    "read_forecast",
    "read_log",
    "remaining",
    "sample",
    "sequence",
    "spray_checks",
    "student",
    "surface_share",
    "thickness_checks",
    "warmest_need",
    "windows",
    "work_air",
    "work_hours",
]
