"""The weather outside and the air inside."""

from warmside.physics.climate._hourly import HourlyClimate

__all__ = ["HourlyClimate"]
