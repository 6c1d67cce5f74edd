"""Hourly data of NASA POWER, CSV (US National Aeronautics and Space Administration)."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Records, Station, Times, zone_at
from warmside.weather.formats.text import (
    Line,
    column,
    find,
    kept,
    lines_of,
    scale,
    snow_is_no_rain,
    times_of,
)

_END = "-end header-"
_MISSING = -998.0  # -999 stands for none
_COLUMNS = {
    "temperature": "T2M", "dew_point": "T2MDEW", "humidity": "RH2M", "wind_speed": "WS10M",
    "wind_direction": "WD10M", "pressure": "PS", "ghi": "ALLSKY_SFC_SW_DWN",
    "dni": "ALLSKY_SFC_SW_DNI", "dhi": "ALLSKY_SFC_SW_DIFF", "longwave": "ALLSKY_SFC_LW_DWN",
    "rain": "PRECTOTCORR",
}  # fmt: skip
_SUN = ("ghi", "dni", "dhi", "longwave")


def read_power(text: str, near: Station | None = None) -> Records:
    """Means over the hour that begins at the stamp, by universal or by solar time.

    Solar time is the whole hour by the longitude; both are set to the zone of the house where it
    is near. A model's cell of some 50 km, not a station. The form of the file is from memory.
    """
    lines = lines_of(text, "POWER")
    end = next((k for k, n in enumerate(lines) if n.cells[0].strip().lower() == _END), None)
    if end is None or len(lines) < end + 3:
        raise InputError([Fault("POWER file", "no line -END HEADER- with hours below", "both")])
    head = "\n".join(",".join(line.cells) for line in lines[:end])
    latitude, longitude = (_number(head, name) for name in ("latitude", "longitude"))
    header, body = [cell.strip() for cell in lines[end + 1].cells], lines[end + 2 :]
    columns: dict[str, FloatArray | None] = {}
    for name, title in _COLUMNS.items():
        values = column(body, header, header.index(title) if title in header else None, "POWER")
        columns[name] = None if values is None else np.where(values < _MISSING, np.nan, values)
    if "MJ" in head:  # the community of agriculture is told its sun so
        scale(columns, **dict.fromkeys(_SUN, 1e6 / 3600.0))
    scale(columns, humidity=0.01, pressure=1000.0)
    snow_is_no_rain(columns)
    zone, said = zone_at(latitude, longitude, near)
    told = round(longitude / 15.0) if re.search(r"\bin\s+lst\b", head, re.IGNORECASE) else 0.0
    hours = _stamps(header, body) + np.timedelta64(1, "h")
    ends = hours + np.timedelta64(round((zone - told) * 60), "m")
    height = re.search(r"=\s*(-?[\d.]+)\s*meters", head, re.IGNORECASE)
    station = Station(latitude, longitude, zone, float(height[1]) if height else 0.0)
    notes = (*said, "place: a cell of some 50 km of a weather model, not a station")
    return Records(ends, kept(columns), station, notes=notes)


def _number(head: str, name: str) -> float:
    found = re.search(rf"\b{name}\s+(-?\d+(?:\.\d+)?)", head, re.IGNORECASE)
    if not found:
        raise InputError([Fault("POWER file, header", f"no {name}", "the line Location")])
    return float(found[1])


def _stamps(header: Sequence[str], body: Sequence[Line]) -> Times:
    at = [find(header, name) for name in ("YEAR", "MO", "DY", "HR")]
    if None in at:
        raise InputError([Fault("POWER file, names", ",".join(header)[:60], "YEAR,MO,DY,HR")])
    stamps = []
    for line in body:
        cells = [line.cells[k].strip() if k < len(line.cells) else "" for k in at if k is not None]
        stamps.append(f"{cells[0]}-{cells[1]:0>2}-{cells[2]:0>2}T{cells[3]:0>2}:00")
    return times_of(stamps, [line.number for line in body], "POWER")
