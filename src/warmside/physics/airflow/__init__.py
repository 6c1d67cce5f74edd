"""Leaks, fan tests, infiltration."""

from warmside.physics.airflow._air import (
    STANDARD_DENSITY,
    air_density,
    air_viscosity,
    flow_coefficient,
    leakage_area,
)
from warmside.physics.airflow._fan_test import (
    FanConditions,
    FanTestResult,
    PowerLaw,
    both_directions,
    fan_test,
    single_point,
)
from warmside.physics.airflow._infiltration import (
    LeakageShares,
    basic_infiltration,
    depressurisation,
    enhanced_infiltration,
    stack_factor,
    stack_pressure,
    wind_at_height,
    wind_factor,
    wind_pressure,
    with_fans,
)

__all__ = [
    "STANDARD_DENSITY",
    "FanConditions",
    "FanTestResult",
    "LeakageShares",
    "PowerLaw",
    "air_density",
    "air_viscosity",
    "basic_infiltration",
    "both_directions",
    "depressurisation",
    "enhanced_infiltration",
    "fan_test",
    "flow_coefficient",
    "leakage_area",
    "single_point",
    "stack_factor",
    "stack_pressure",
    "wind_at_height",
    "wind_factor",
    "wind_pressure",
    "with_fans",
]
