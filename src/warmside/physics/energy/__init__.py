"""The season's heat and its worth."""

from warmside.physics.energy._bills import LEAST_PERIODS, BillFit, fit_bills
from warmside.physics.energy._comfort import Seat, seat
from warmside.physics.energy._fuel import fuel_amount
from warmside.physics.energy._ground import buried_wall
from warmside.physics.energy._saving import heat_over, heated_difference
from warmside.physics.energy._season import (
    AIR_HEAT,
    HOUR,
    Season,
    Thermostat,
    degree_days,
    degree_seconds,
    design_loss,
    season,
)

__all__ = [
    "AIR_HEAT",
    "HOUR",
    "LEAST_PERIODS",
    "BillFit",
    "Season",
    "Seat",
    "Thermostat",
    "buried_wall",
    "degree_days",
    "degree_seconds",
    "design_loss",
    "fit_bills",
    "fuel_amount",
    "heat_over",
    "heated_difference",
    "season",
    "seat",
]
