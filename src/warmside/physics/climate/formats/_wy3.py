"""CWEEDS, record WY3."""

from __future__ import annotations

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Station, assemble
from warmside.physics.climate._hourly import FloatArray, HourlyClimate
from warmside.physics.climate.formats._text import (
    Source,
    metadata,
    number,
    text_of,
    times_of,
)


def read_wy3(source: Source) -> HourlyClimate:
    """CWEEDS record WY3 (Environment and Climate Change Canada): local standard time, end of hour.

    Irradiance in kJ/m2 over the hour. The columns of temperature and wind are from memory.
    """
    lines = [line for line in text_of(source).splitlines() if line.strip()]
    if len(lines) < 2:
        raise InputError([Fault("WY3 file", f"{len(lines)} lines", "a header and hourly records")])
    top = [cell.strip() for cell in lines[0].split(",")]
    if len(top) < 9:
        raise InputError([Fault("WY3 file", lines[0][:80], "9 cells of the station", line=1)])
    latitude, longitude, zone, elevation = metadata(top[5:9], "WY3", 1)
    body = lines[1:]
    stamps = [f"{r[8:12]}-{r[12:14]}-{r[14:16]}" for r in body]
    try:
        ends = np.array([int(r[16:18]) for r in body])
    except ValueError:
        raise InputError([Fault("WY3 file", "an hour that is no number", "01 to 24")]) from None

    def field(first: int, last: int, factor: float) -> FloatArray:
        values = np.array([number(r[first - 1 : last].strip() or "x") for r in body])
        return np.where(np.abs(values) >= 9999.0, np.nan, values) * factor

    cloud = field(113, 114, 0.1)
    columns = {
        "ghi": field(23, 26, 1 / 3.6),
        "dni": field(29, 32, 1 / 3.6),
        "dhi": field(35, 38, 1 / 3.6),
        "pressure": field(88, 92, 10.0),
        "temperature": field(94, 97, 0.1),
        "dew_point": field(99, 102, 0.1),
        "wind_direction": field(104, 106, 1.0),
        "wind_speed": field(108, 111, 0.1),
        "cloud": np.where(cloud > 1.0, np.nan, cloud),
    }
    times = times_of(stamps, "WY3") + (ends - 1).astype("timedelta64[h]")
    years = np.unique(times.astype("datetime64[Y]"))
    station = Station(latitude, longitude, zone, elevation, top[1])
    return assemble(times, columns, station, typical=years.size > 1)
