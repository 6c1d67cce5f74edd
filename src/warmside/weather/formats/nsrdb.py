"""National Solar Radiation Data Base, PSM CSV (US National Renewable Energy Laboratory)."""

from __future__ import annotations

import io

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Records, Station
from warmside.weather.formats.text import by_library, frame_column, kept, lines_of, scale


def read_nsrdb(text: str, _near: Station | None = None) -> Records:
    """Two lines of station, one of names, then states at a minute of each hour or half hour.

    Their zone is "Time Zone", that of the place "Local Time Zone". A state within an hour counts
    for that hour, one on the whole hour for the hour that ends there.
    """
    import pvlib

    if len(lines_of(text[:20_000], "NSRDB")) < 4:
        raise InputError([Fault("NSRDB file", "no hours", "station, header, hours")])
    frame, place = by_library(
        lambda: pvlib.iotools.read_nsrdb_psm4(io.StringIO(text), map_variables=False),
        text, 3, "NSRDB",
    )  # fmt: skip

    def column(name: str) -> FloatArray | None:
        return frame_column(frame, name, 3, "NSRDB")

    columns = {
        "temperature": column("Temperature"),
        "dew_point": column("Dew Point"),
        "humidity": column("Relative Humidity"),
        "wind_speed": column("Wind Speed"),
        "wind_direction": column("Wind Direction"),
        "ghi": column("GHI"),
        "dni": column("DNI"),
        "dhi": column("DHI"),
        "pressure": column("Pressure"),
    }
    scale(columns, humidity=0.01, pressure=100.0)
    zone = float(place["Local Time Zone"])
    shift = np.timedelta64(round((zone - float(place["Time Zone"])) * 60), "m")
    stamps = frame.index.tz_localize(None).to_numpy().astype("datetime64[m]") + shift
    hour = stamps.astype("datetime64[h]")
    within = bool((stamps != hour).any())
    ends = hour + np.timedelta64(1, "h") if within else hour
    station = Station(
        place["Latitude"],
        place["Longitude"],
        zone,
        float(place["Elevation"]),
        str(place.get("City", "")),
    )
    typical = np.unique(stamps.astype("datetime64[Y]")).size > 2
    return Records(ends.astype("datetime64[m]"), kept(columns), station, typical=typical)
