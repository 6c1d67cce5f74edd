"""Environment and Climate Change Canada, hourly CSV."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from warmside.errors import Fault, InputError
from warmside.weather.assembly import Records, Station, zone_at
from warmside.weather.formats.text import (
    Line,
    column,
    find,
    kept,
    lines_of,
    metadata,
    number,
    scale,
    snow_is_no_rain,
    times_of,
)


def read_eccc(text: str, near: Station | None = None) -> Records:
    """Hourly CSV, one month or several after each other; local standard time.

    An observation on the hour counts for the hour that ends there. The files hold neither sun nor
    zone.
    """
    lines = lines_of(text, "ECCC")
    top = next((k for k, line in enumerate(lines) if _is_header(line)), None)
    if top is None:
        raise InputError([Fault("ECCC file", "no column 'Temp (°C)'", "its header line")])
    header = [cell.strip() for cell in lines[top].cells]
    for line in lines[top + 1 :]:
        if _is_header(line) and [cell.strip() for cell in line.cells] != header:
            allowed = "files of one kind after each other"
            raise InputError([Fault("ECCC file, header", "another one", allowed, line.number)])
    body = [line for line in lines[top + 1 :] if len(line.cells) > 5 and not _is_header(line)]
    when = find(header, "Date/Time")
    if when is None or not body:
        raise InputError([Fault("ECCC file", "no dates or no hours", "hourly lines")])
    stamps = [line.cells[when][:16].replace(" ", "T") for line in body]
    columns = {
        name: column(body, header, find(header, start), "ECCC")
        for name, start in (
            ("temperature", "Temp ("), ("dew_point", "Dew Point Temp ("),
            ("humidity", "Rel Hum ("), ("wind_speed", "Wind Spd ("),
            ("wind_direction", "Wind Dir ("), ("pressure", "Stn Press ("),
            ("rain", "Precip. Amount ("),
        )
    }  # fmt: skip
    if columns["rain"] is not None and not np.isfinite(columns["rain"]).any():
        columns["rain"] = None  # the column is there, but few stations fill it
    scale(columns, humidity=0.01, pressure=1000.0, wind_direction=10.0, wind_speed=1 / 3.6)
    snow_is_no_rain(columns)
    direction = columns["wind_direction"]
    if direction is not None:  # blank where the air is calm
        columns["wind_direction"] = np.where(np.isfinite(direction), direction, 0.0)
    latitude, longitude, elevation, name = _place(lines[:top], header, body[0])
    zone, said = zone_at(latitude, longitude, near)
    station = Station(latitude, longitude, zone, elevation, name)
    ends = times_of(stamps, [line.number for line in body], "ECCC")
    return Records(ends, kept(columns), station, notes=said)


def _is_header(line: Line) -> bool:
    return find(line.cells, "Temp (") is not None


def _place(
    above: Sequence[Line], header: Sequence[str], first: Line
) -> tuple[float, float, float, str]:
    """Latitude, longitude, elevation, name: of the first record, or from above the header."""
    lon, lat, name = find(header, "Longitude"), find(header, "Latitude"), find(header, "Station")
    if lon is not None and lat is not None:
        place = metadata([first.cells[lat], first.cells[lon]], "ECCC", first.number)
        return place[0], place[1], 0.0, first.cells[name] if name is not None else ""
    top = {line.cells[0].strip(): line.cells[1].strip() for line in above if len(line.cells) == 2}
    place = metadata([top.get("Latitude", ""), top.get("Longitude", "")], "ECCC", 1)
    try:
        elevation = number(top.get("Elevation", "0"))
    except ValueError:
        elevation = 0.0
    return place[0], place[1], elevation, top.get("Station Name", "")
