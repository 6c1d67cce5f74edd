"""Climate normals as Environment and Climate Change Canada gives them out: one station, CSV.

The names of the file's lines are from memory; a line that is not there is told as missing.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.humid_air import saturation_pressure
from warmside.weather.assembly import Station, zone_at
from warmside.weather.rows import BASE, Figures, Months

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_LINES = {
    "mean": "daily average (", "high": "daily maximum (", "low": "daily minimum (",
    "vapour": "average vapour pressure (kpa", "morning": "average relative humidity - 0600",
    "afternoon": "average relative humidity - 1500", "wind": "speed (km/h", "rain": "rainfall (mm",
    "heating": "below 18 ",
}  # fmt: skip
# January's 2.5 and 1 % below its mean daily minimum [K], as for the places of the table
_BELOW = (9.2, 10.9)
_ANGLE = re.compile(r"(\d{1,3})\s*°\s*(\d{1,2})\s*['’]\s*(?:([\d.]+)\s*[\"”]*)?\s*([NSEW])")


def is_normals(text: str) -> bool:
    """Whether a text is such a file."""
    head = text[:20_000].lower()
    return "daily average (" in head and "daily maximum (" in head and "jan" in head


def read_normals(text: str, near: Station | None = None) -> Figures:
    """Monthly normals of a station.

    Humidity is by the mean vapour pressure, else the mean of 6:00 and 15:00, else the dew point at
    the daily minimum; design nights are derived from the daily minimum, each said in the notes.

    Raises
    ------
    InputError
        No position, no line of temperatures, a cell that is no number, with its line.
    """
    rows = _rows(text)
    missing = [_LINES[name] + "..." for name in ("mean", "high", "low") if name not in rows]
    if missing:
        raise InputError([Fault("normals file", f"no line {', '.join(missing)}", "all three")])
    latitude, longitude = _position(text)
    zone, said = zone_at(latitude, longitude, near)
    mean, low = rows["mean"], rows["low"]
    humidity, how = _humidity(rows)
    height = re.search(r"\b(-?\d+(?:\.\d+)?)\s*m\b", text[:4000])
    heating = rows.get("heating")
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    total = sum(heating) if heating else sum(
        max(BASE - t, 0.0) * n for t, n in zip(mean, days, strict=True)
    )  # fmt: skip
    wind = rows.get("wind")
    return Figures(
        Station(latitude, longitude, zone, float(height[1]) if height else 0.0),
        mean, rows["high"], low, humidity, low[0] - _BELOW[0], low[0] - _BELOW[1], total,
        "monthly normals", tuple(v / 3.6 for v in wind) if wind else None, rows.get("rain"),
        (*said, how, "design nights: 9.2 and 10.9 K below January's mean daily minimum (±4 K)"),
    )  # fmt: skip


def _rows(text: str) -> dict[str, Months]:
    """Lines that are used, twelve figures each; the first of a name counts."""
    found: dict[str, Months] = {}
    first: int | None = None
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff")))
    for cells in reader:
        names = [cell.strip().lower()[:3] for cell in cells]
        if first is None:
            first = next(
                (k for k in range(len(names)) if tuple(names[k : k + 12]) == _MONTHS), None
            )
            continue
        title = cells[0].strip().lower() if cells else ""
        for name, begins in _LINES.items():
            if title.startswith(begins) and name not in found:
                values = [
                    _number(cell, reader.line_num, title) for cell in cells[first : first + 12]
                ]
                if len(values) == 12 and np.isfinite(values).all():
                    found[name] = tuple(values)
    if first is None:
        raise InputError([Fault("normals file", "no line Jan, Feb ... Dec", "a file of normals")])
    return found


def _number(cell: str, line: int, title: str) -> float:
    bare = cell.strip()
    try:
        return float(bare) if bare else np.nan
    except ValueError:
        place = f"normals file, {title[:40]}"
        raise InputError([Fault(place, repr(bare[:40]), "a number, or nothing", line)]) from None


def _position(text: str) -> tuple[float, float]:
    angles = {side: (d, m, s) for d, m, s, side in _ANGLE.findall(text[:4000])}
    north, east = (next((s for s in pair if s in angles), "") for pair in ("NS", "EW"))
    if not north or not east:
        allowed = "degrees and minutes such as 49°55' N, 97°14' W"
        raise InputError([Fault("normals file", "no position", allowed)])

    def degrees(side: str) -> float:
        d, m, s = angles[side]
        return (-1 if side in "SW" else 1) * (float(d) + float(m) / 60 + float(s or 0) / 3600)

    return degrees(north), degrees(east)


def _humidity(rows: Mapping[str, Months]) -> tuple[Months, str]:
    mean = np.array(rows["mean"])
    if "vapour" in rows:
        values = 1000.0 * np.array(rows["vapour"]) / saturation_pressure(mean)
        how = "humidity: by the mean vapour pressure"
    elif "morning" in rows and "afternoon" in rows:
        values = 0.005 * (np.array(rows["morning"]) + np.array(rows["afternoon"]))
        how = "humidity: mean of 6:00 and 15:00"
    else:
        values = saturation_pressure(np.array(rows["low"])) / saturation_pressure(mean)
        how = "humidity: none in the file; the dew point is taken at the daily minimum (±2 K)"
    return tuple(float(v) for v in np.clip(values, 0.2, 0.98)), how
