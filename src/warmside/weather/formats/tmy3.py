"""Typical year, TMY3 CSV (US National Renewable Energy Laboratory, 2008)."""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Records, Station, Times
from warmside.weather.formats.text import (
    by_library,
    frame_column,
    kept,
    metadata,
    refuse_words,
    scale,
    snow_is_no_rain,
)

# Rain gauges there measure hundredths of an inch: in tenths of a millimetre only these depths occur
_GAUGE = np.unique(np.round(2.54 * np.arange(1, 4000)))
_ON_GAUGE = 0.7  # share of depths; of whole millimetres about 0.39 would be among them by chance
_FEW = 20


def read_tmy3(text: str, _near: Station | None = None) -> Records:
    """Hours 01:00 to 24:00, local standard time, each named by its end."""
    import pvlib

    top = text.split("\n", 1)[0].split(",")
    if len(top) < 7:
        raise InputError([Fault("TMY3 file", ",".join(top)[:80], "7 cells of the station", line=1)])
    zone, latitude, longitude, elevation = metadata(top[3:7], "TMY3", 1)
    refuse_words(text, 2, "TMY3")
    frame, _ = by_library(
        lambda: pvlib.iotools.read_tmy3(io.StringIO(text), map_variables=False), text, 2, "TMY3"
    )

    def column(name: str) -> FloatArray | None:
        return frame_column(frame, name, 2, "TMY3")

    columns = {
        "temperature": column("Dry-bulb (C)"),
        "dew_point": column("Dew-point (C)"),
        "humidity": column("RHum (%)"),
        "wind_speed": column("Wspd (m/s)"),
        "wind_direction": column("Wdir (degrees)"),
        "ghi": column("GHI (W/m^2)"),
        "dni": column("DNI (W/m^2)"),
        "dhi": column("DHI (W/m^2)"),
        "pressure": column("Pressure (mbar)"),
        "cloud": column("TotCld (tenths)"),
        "rain": column("Lprecip depth (mm)"),
    }
    said: tuple[str, ...] = ()
    span, depth = column("Lprecip quantity (hr)"), columns["rain"]
    if depth is not None and np.isfinite(depth).any():
        if span is not None:  # only depths over one hour can be used
            depth = np.where(span == 1.0, depth, 0.0)
        factor, said = _rain_unit(depth)
        columns["rain"] = depth * factor
    else:
        columns["rain"] = None
    scale(columns, humidity=0.01, pressure=100.0, cloud=0.1)
    snow_is_no_rain(columns)
    ends = _ends(frame)
    station = Station(latitude, longitude, zone, elevation, top[1].strip(' "'))
    return Records(ends, kept(columns), station, typical=True, notes=said)


def _ends(frame: Any) -> Times:
    """End of each hour as it stands in the file.

    Not the library's: it puts the last hour of February of a leap year into March.
    """
    days = frame["Date (MM/DD/YYYY)"].str
    dates = (days[6:10] + "-" + days[0:2] + "-" + days[3:5]).to_numpy(dtype="datetime64[m]")
    hours = frame["Time (HH:MM)"].str[0:2].astype(int).to_numpy()
    return np.asarray(dates + hours.astype("timedelta64[h]"))


def _rain_unit(depth: FloatArray) -> tuple[float, tuple[str, ...]]:
    """What makes millimetres of the depths, and what is said of it.

    Headed "Lprecip depth (mm)", the column holds tenths of a millimetre in every file at hand: the
    year at Boston has 8,676 of them, its published normal is 1,112 mm (NOAA, 1981-2010).
    """
    wet = depth[np.nan_to_num(depth) > 0.0]
    if (wet != np.round(wet)).any():
        return 1.0, ()
    told = "rain: the file's depths are taken as tenths of a millimetre, whatever its header says"
    if wet.size >= _FEW and np.isin(wet, _GAUGE).mean() >= _ON_GAUGE:
        return 0.1, (f"{told}: they are hundredths of an inch so written",)
    return 0.1, (f"{told}, as in all files of this kind that are known here",)
