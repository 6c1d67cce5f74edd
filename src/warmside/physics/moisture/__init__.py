"""Water in the wall: month by month (ISO 13788) and hour by hour (EN 15026)."""

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
from warmside.physics.moisture._simulation import Balance, Forcing, Run, Settings, simulate

__all__ = [
    "CONDENSATE_LIMIT",
    "CONDENSATE_LIMIT_NON_ABSORBING",
    "HUMIDITY_CLASSES",
    "MONTH_SECONDS",
    "Balance",
    "Forcing",
    "HygroMaterial",
    "Interface",
    "Mesh",
    "MonthlyBalance",
    "MonthlyConditions",
    "Run",
    "Settings",
    "Slab",
    "mesh",
    "monthly_balance",
    "monthly_conditions",
    "simulate",
]
