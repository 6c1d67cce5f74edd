"""National Solar Radiation Data Base, PSM CSV."""

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
    text_of,
    times_of,
)


def read_nsrdb(source: Source) -> HourlyClimate:
    """NSRDB PSM CSV (US National Solar Radiation Data Base): two lines of station, then hours."""
    rows = rows_of(text_of(source), "NSRDB")
    if len(rows) < 4:
        raise InputError([Fault("NSRDB file", f"{len(rows)} lines", "station, header, hours")])
    named = dict(zip(rows[0], rows[1], strict=False))
    try:
        place = metadata(
            [named["Latitude"], named["Longitude"], named["Local Time Zone"], named["Elevation"]],
            "NSRDB", 2,
        )  # fmt: skip
    except KeyError as missing:
        raise InputError([Fault("NSRDB file, station", f"no {missing}", "it", line=1)]) from None
    header, body = rows[2], rows[3:]
    times = times_of(
        [f"{r[0]}-{int(r[1]):02}-{int(r[2]):02}T{int(r[3]):02}:{int(r[4]):02}" for r in body],
        "NSRDB",
    )
    zone = metadata([named.get("Time Zone", named["Local Time Zone"])], "NSRDB", 2)[0]
    times = times + np.timedelta64(round((place[2] - zone) * 60), "m")
    columns = {
        "temperature": column(body, find(header, "Temperature")),
        "dew_point": column(body, find(header, "Dew Point")),
        "humidity": column(body, find(header, "Relative Humidity")),
        "wind_speed": column(body, find(header, "Wind Speed")),
        "wind_direction": column(body, find(header, "Wind Direction")),
        "ghi": column(body, find(header, "GHI")),
        "dni": column(body, find(header, "DNI")),
        "dhi": column(body, find(header, "DHI")),
        "pressure": column(body, find(header, "Pressure")),
    }
    scale(columns, humidity=0.01, pressure=100.0)
    years = np.unique(times.astype("datetime64[Y]"))
    station = Station(place[0], place[1], place[2], place[3], named.get("City", ""))
    return assemble(times, kept(columns), station, typical=years.size > 2)
