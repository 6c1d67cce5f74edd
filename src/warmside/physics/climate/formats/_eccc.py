"""Environment and Climate Change Canada, hourly CSV."""

from __future__ import annotations

from collections.abc import Sequence

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
    number,
    rows_of,
    scale,
    snow_is_no_rain,
    text_of,
    times_of,
)


def read_eccc(sources: Sequence[Source] | str | bytes, utc_offset: float) -> HourlyClimate:
    """Hourly CSV of Environment and Climate Change Canada: one file or the months of a year.

    Local standard time; the files hold no sun.
    """
    given: Sequence[Source] = [sources] if isinstance(sources, (str, bytes)) else sources
    station: Station | None = None
    stamps: list[str] = []
    table: list[list[str]] = []
    header: list[str] = []
    for source in given:
        rows = rows_of(text_of(source), "ECCC")
        top = next((k for k, r in enumerate(rows) if find(r, "Temp (") is not None), None)
        if top is None:
            raise InputError([Fault("ECCC file", "no column 'Temp (°C)'", "its header line")])
        if header and [c.strip() for c in rows[top]] != header:
            raise InputError([Fault("ECCC files", "different headers", "files of one kind")])
        header = [c.strip() for c in rows[top]]
        body = [r for r in rows[top + 1 :] if len(r) > 5]
        when = find(header, "Date/Time")
        if when is None or not body:
            raise InputError([Fault("ECCC file", "no dates or no hours", "hourly lines")])
        stamps += [r[when][:16].replace(" ", "T") for r in body]
        table += body
        station = station or _eccc_station(rows, header, body, utc_offset)
    if station is None:
        raise InputError([Fault("ECCC files", "none", "one or more")])
    columns = {
        "temperature": column(table, find(header, "Temp (")),
        "dew_point": column(table, find(header, "Dew Point Temp (")),
        "humidity": column(table, find(header, "Rel Hum (")),
        "wind_speed": column(table, find(header, "Wind Spd (")),
        "wind_direction": column(table, find(header, "Wind Dir (")),
        "pressure": column(table, find(header, "Stn Press (")),
        "rain": column(table, find(header, "Precip. Amount (")),
    }
    scale(columns, humidity=0.01, pressure=1000.0, wind_direction=10.0, wind_speed=1 / 3.6)
    snow_is_no_rain(columns)
    direction = columns["wind_direction"]
    if direction is not None:  # blank where the air is calm
        columns["wind_direction"] = np.where(np.isfinite(direction), direction, 0.0)
    return assemble(times_of(stamps, "ECCC"), kept(columns), station)


def _eccc_station(
    rows: Sequence[Sequence[str]], header: Sequence[str], body: Sequence[Sequence[str]], zone: float
) -> Station:
    lon, lat, name = find(header, "Longitude"), find(header, "Latitude"), find(header, "Station")
    if lon is not None and lat is not None:
        place = metadata([body[0][lat], body[0][lon]], "ECCC", 2)
        return Station(place[0], place[1], zone, 0.0, body[0][name] if name is not None else "")
    top = {r[0].strip(): r[1].strip() for r in rows if len(r) == 2}
    place = metadata([top.get("Latitude", ""), top.get("Longitude", "")], "ECCC", 1)
    return Station(
        place[0], place[1], zone, number(top.get("Elevation", "0")), top.get("Station Name", "")
    )
