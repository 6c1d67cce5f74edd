"""NOAA Integrated Surface Data, Lite."""

from __future__ import annotations

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Station, assemble
from warmside.physics.climate._hourly import FloatArray, HourlyClimate
from warmside.physics.climate.formats._text import (
    Source,
    kept,
    snow_is_no_rain,
    text_of,
    times_of,
)


def read_isd_lite(source: Source, station: Station) -> HourlyClimate:
    """NOAA ISD-Lite, fixed width, universal time; pressure there is at sea level."""
    lines = [line for line in text_of(source).splitlines() if line.strip()]
    try:
        table = np.array([[int(v) for v in line.split()[:12]] for line in lines], dtype=np.float64)
    except ValueError:
        raise InputError(
            [Fault("ISD-Lite file", "cells that are no whole numbers", "12 a line")]
        ) from None
    if table.ndim != 2 or table.shape[1] < 11:
        raise InputError([Fault("ISD-Lite file", "lines of different length", "12 numbers a line")])
    table[table == -9999] = np.nan
    stamps = [f"{int(r[0]):04}-{int(r[1]):02}-{int(r[2]):02}T{int(r[3]):02}:00" for r in table]
    times = times_of(stamps, "ISD-Lite") + np.timedelta64(round(station.utc_offset * 60), "m")
    rain = np.where(table[:, 10] < 0, 0.0, table[:, 10] * 0.1)
    calm = np.where(np.isfinite(table[:, 7]), table[:, 7], 0.0)
    columns: dict[str, FloatArray | None] = {
        "temperature": table[:, 4] * 0.1,
        "dew_point": table[:, 5] * 0.1,
        "pressure": table[:, 6] * 10.0 * np.exp(-station.elevation / 8434.0),
        "wind_direction": calm,
        "wind_speed": table[:, 8] * 0.1,
        "cloud": np.where(
            table[:, 9] <= 8, table[:, 9] / 8.0, np.where(table[:, 9] == 9, 1.0, np.nan)
        ),
        "rain": np.nan_to_num(rain),
    }
    snow_is_no_rain(columns)
    return assemble(times, kept(columns), station)
