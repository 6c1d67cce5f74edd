"""Typical year, TMY3 CSV."""

from __future__ import annotations

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Station, assemble
from warmside.physics.climate._hourly import HourlyClimate
from warmside.physics.climate.formats._text import (
    Source,
    column,
    find,
    kept,
    metadata,
    rows_of,
    scale,
    snow_is_no_rain,
    text_of,
    times_of,
)


def read_tmy3(source: Source) -> HourlyClimate:
    """Typical year, TMY3 CSV (US National Renewable Energy Laboratory, 2008).

    Hours 01:00 to 24:00, local standard time, end of the hour.
    """
    rows = rows_of(text_of(source), "TMY3")
    top, header, body = rows[0], rows[1], rows[2:]
    if len(top) < 7:
        raise InputError([Fault("TMY3 file", ",".join(top)[:80], "7 cells of the station", line=1)])
    zone, latitude, longitude, elevation = metadata(top[3:7], "TMY3", 1)
    dates = times_of([f"{r[0][6:10]}-{r[0][0:2]}-{r[0][3:5]}" for r in body], "TMY3")
    ends = np.array([int(r[1][:2]) for r in body])
    columns = {
        "temperature": column(body, find(header, "Dry-bulb (C)")),
        "dew_point": column(body, find(header, "Dew-point (C)")),
        "humidity": column(body, find(header, "RHum (%)")),
        "wind_speed": column(body, find(header, "Wspd (m/s)")),
        "wind_direction": column(body, find(header, "Wdir (degrees)")),
        "ghi": column(body, find(header, "GHI (W/m^2)")),
        "dni": column(body, find(header, "DNI (W/m^2)")),
        "dhi": column(body, find(header, "DHI (W/m^2)")),
        "pressure": column(body, find(header, "Pressure (mbar)")),
        "cloud": column(body, find(header, "TotCld (tenths)")),
        "rain": column(body, find(header, "Lprecip depth (mm)")),
    }
    # The depths are tenths of a millimetre whatever the header says: taken as millimetres, the
    # year at Greensboro would have 8000 of them. Only depths over one hour can be used.
    scale(columns, humidity=0.01, pressure=100.0, cloud=0.1, rain=0.1)
    span = column(body, find(header, "Lprecip quantity (hr)"))
    if span is not None and columns["rain"] is not None:
        columns["rain"] = np.where(span == 1.0, columns["rain"], 0.0)
    times = dates + (ends - 1).astype("timedelta64[h]")
    snow_is_no_rain(columns)
    station = Station(latitude, longitude, zone, elevation, top[1].strip())
    return assemble(times, kept(columns), station, typical=True)
