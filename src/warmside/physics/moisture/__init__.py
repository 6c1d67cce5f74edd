"""Water in the wall."""

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

__all__ = [
    "CONDENSATE_LIMIT",
    "CONDENSATE_LIMIT_NON_ABSORBING",
    "HUMIDITY_CLASSES",
    "MONTH_SECONDS",
    "Interface",
    "MonthlyBalance",
    "MonthlyConditions",
    "monthly_balance",
    "monthly_conditions",
]
