"""Water in the wall: month by month (ISO 13788) and hour by hour (EN 15026)."""

from warmside.physics.moisture._criteria import (
    ashrae_160_2009,
    corrosion_hours,
    days_above,
    drying_days,
    frost_hours,
    liquid_hours,
    running_mean,
)
from warmside.physics.moisture._decay import Decay, critical_time, decay
from warmside.physics.moisture._judged import MONTHS, JudgedInterface, WoodLayer
from warmside.physics.moisture._layered import hygro_material, moisture_of, slabs_of
from warmside.physics.moisture._leaks import deposit, hole_flow, round_hole, stack_pressure
from warmside.physics.moisture._materials import HygroMaterial
from warmside.physics.moisture._mesh import Mesh, Slab, mesh
from warmside.physics.moisture._monthly import (
    CONDENSATE_LIMIT,
    CONDENSATE_LIMIT_NON_ABSORBING,
    HUMIDITY_CLASSES,
    MONTH_SECONDS,
    Interface,
    MonthlyBalance,
    MonthlyConditions,
    monthly_balance,
    monthly_conditions,
)
from warmside.physics.moisture._mould import (
    MOULD,
    MOULD_LIMIT,
    critical_humidity,
    first_growth_weeks,
    greatest_index,
    mould_index,
    visible_growth_weeks,
)
from warmside.physics.moisture._simulation import (
    Balance,
    Forcing,
    Run,
    Settings,
    right_hand_side,
    simulate,
)
from warmside.physics.moisture._wall import (
    PathName,
    WallYears,
    WetStart,
    meter_start,
    wall_years,
)
from warmside.physics.moisture._warm import warm
from warmside.physics.moisture._wood import humidity_of_wood, wood_equilibrium

__all__ = [
    "CONDENSATE_LIMIT",
    "CONDENSATE_LIMIT_NON_ABSORBING",
    "HUMIDITY_CLASSES",
    "MONTHS",
    "MONTH_SECONDS",
    "MOULD",
    "MOULD_LIMIT",
    "Balance",
    "Decay",
    "Forcing",
    "HygroMaterial",
    "Interface",
    "JudgedInterface",
    "Mesh",
    "MonthlyBalance",
    "MonthlyConditions",
    "PathName",
    "Run",
    "Settings",
    "Slab",
    "WallYears",
    "WetStart",
    "WoodLayer",
    "ashrae_160_2009",
    "corrosion_hours",
    "critical_humidity",
    "critical_time",
    "days_above",
    "decay",
    "deposit",
    "drying_days",
    "first_growth_weeks",
    "frost_hours",
    "greatest_index",
    "hole_flow",
    "humidity_of_wood",
    "hygro_material",
    "liquid_hours",
    "mesh",
    "meter_start",
    "moisture_of",
    "monthly_balance",
    "monthly_conditions",
    "mould_index",
    "right_hand_side",
    "round_hole",
    "running_mean",
    "simulate",
    "slabs_of",
    "stack_pressure",
    "visible_growth_weeks",
    "wall_years",
    "warm",
    "wood_equilibrium",
]
