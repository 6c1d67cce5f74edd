"""NOAA Integrated Surface Data, Lite."""

from __future__ import annotations

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Records, Station
from warmside.weather.formats.text import kept, snow_is_no_rain, times_of

_CELLS = 12


def read_isd_lite(text: str, near: Station | None = None) -> Records:
    """Twelve numbers a line, universal time; pressure there is at sea level.

    An observation on the hour counts for the hour that ends there. The file names no place: it is
    taken to be that of the house.
    """
    if near is None:
        raise InputError(
            [Fault("ISD-Lite file", "no place in it", "the place of a house, to set it at")]
        )
    numbers, rows = [], []
    for at, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            cells = [int(cell) for cell in line.split()]
        except ValueError:
            cells = []
        if len(cells) != _CELLS or not all(abs(cell) < 1 << 31 for cell in cells):
            allowed = f"{_CELLS} whole numbers"
            raise InputError([Fault("ISD-Lite file", repr(line[:60]), allowed, at)])
        numbers.append(at)
        rows.append(cells)
    if not rows:
        raise InputError([Fault("ISD-Lite file", "no lines", "one line an hour")])
    table = np.array(rows, dtype=np.float64)
    table[table == -9999] = np.nan
    stamps = [f"{r[0]:04}-{r[1]:02}-{r[2]:02}T{r[3]:02}:00" for r in rows]
    ends = times_of(stamps, numbers, "ISD-Lite") + np.timedelta64(round(near.utc_offset * 60), "m")
    depth = table[:, 10]
    rain = (
        np.where(depth < 0, 0.0, depth * 0.1) if np.isfinite(depth).any() else None
    )  # -1: a trace
    sky = table[:, 9]
    columns: dict[str, FloatArray | None] = {
        "temperature": table[:, 4] * 0.1,
        "dew_point": table[:, 5] * 0.1,
        "pressure": table[:, 6] * 10.0 * np.exp(-near.elevation / 8434.0),
        "wind_direction": np.where(np.isfinite(table[:, 7]), table[:, 7], 0.0),  # calm
        "wind_speed": table[:, 8] * 0.1,
        "cloud": np.where(sky <= 8, sky / 8.0, np.where(sky == 9, 1.0, np.nan)),
        "rain": rain,
    }
    snow_is_no_rain(columns)
    filled = {name: values for name, values in kept(columns).items() if np.isfinite(values).any()}
    return Records(
        ends, filled, near, notes=("place: the file names none; that of the house is taken",)
    )
