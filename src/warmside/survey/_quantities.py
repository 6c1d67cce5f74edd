"""Field types of the survey: SI floats inside, trade units parsed at this door."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

Length = Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]  # [m]
Position = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]  # [m]
Area = Annotated[float, Field(gt=0, le=10_000, allow_inf_nan=False)]  # [m2]
Volume = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]  # [m3]
Temperature = Annotated[float, Field(ge=-70, le=60, allow_inf_nan=False)]  # [degC]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]  # [-]
MoistureContent = Annotated[float, Field(ge=0, le=3, allow_inf_nan=False)]  # [kg/kg]
MoistureRate = Annotated[float, Field(ge=0, le=1e-2, allow_inf_nan=False)]  # [kg/s]
Flow = Annotated[float, Field(gt=0, le=50, allow_inf_nan=False)]  # [m3/s]
Pressure = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False)]  # [Pa]
Azimuth = Annotated[float, Field(ge=0, lt=360, allow_inf_nan=False)]  # [deg] clockwise from north
