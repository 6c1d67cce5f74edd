"""PVGIS typical year, CSV."""

from __future__ import annotations

import csv

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Station, assemble
from warmside.physics.climate._hourly import HourlyClimate
from warmside.physics.climate.formats._text import (
    Source,
    column,
    find,
    kept,
    number,
    scale,
    text_of,
    times_of,
)


def read_pvgis(source: Source, utc_offset: float) -> HourlyClimate:
    """PVGIS typical-year CSV (European Union); times in universal time."""
    text = text_of(source)
    lines = text.splitlines()
    start = next((k for k, line in enumerate(lines) if line.startswith("time(UTC)")), None)
    if start is None:
        raise InputError([Fault("PVGIS file", "no line time(UTC),...", "its header")])
    place = {"Latitude": 0.0, "Longitude": 0.0, "Elevation": 0.0}
    for line in lines[:start]:
        for name in place:
            if line.startswith(name):
                place[name] = number(line.split(":")[-1].strip())
    rows = list(csv.reader(lines[start:]))
    header = rows[0]
    body = [r for r in rows[1:] if len(r) >= 9 and r[0][:4].isdigit()]
    stamps = [f"{r[0][:4]}-{r[0][4:6]}-{r[0][6:8]}T{r[0][9:11]}:{r[0][11:13]}" for r in body]
    times = times_of(stamps, "PVGIS") + np.timedelta64(round(utc_offset * 60), "m")
    columns = {
        "temperature": column(body, find(header, "T2m")),
        "humidity": column(body, find(header, "RH")),
        "wind_speed": column(body, find(header, "WS10m")),
        "wind_direction": column(body, find(header, "WD10m")),
        "ghi": column(body, find(header, "G(h)")),
        "dni": column(body, find(header, "Gb(n)")),
        "dhi": column(body, find(header, "Gd(h)")),
        "pressure": column(body, find(header, "SP")),
        "longwave": column(body, find(header, "IR(h)")),
    }
    scale(columns, humidity=0.01)
    station = Station(place["Latitude"], place["Longitude"], utc_offset, place["Elevation"])
    return assemble(times, kept(columns), station, typical=True)
