"""The season's heat and its worth."""

from warmside.physics.energy._comfort import Seat, seat
from warmside.physics.energy._fuel import fuel_amount
from warmside.physics.energy._saving import heat_over, heated_difference
from warmside.physics.energy._season import (
    HOUR,
    Season,
    Thermostat,
    degree_days,
    degree_seconds,
    design_loss,
    season,
)

__all__ = [
    "HOUR",
    "Season",
    "Seat",
    "Thermostat",
    "degree_days",
    "degree_seconds",
    "design_loss",
    "fuel_amount",
    "heat_over",
    "heated_difference",
    "season",
    "seat",
]
