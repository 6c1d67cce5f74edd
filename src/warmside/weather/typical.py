"""The hourly typical years that come with the program, one packed file a station.

Nine columns of whole numbers over 8760 hours, differenced in time: temperature, dew point, wind and
its direction, global, diffuse and direct sun, rain, pressure; TMY3 of the US National Renewable
Energy Laboratory, 2008 (NREL/TP-581-43156).
"""

from __future__ import annotations

import lzma
from importlib import resources

import numpy as np

from warmside.catalog import Climate
from warmside.physics.climate import FloatArray, HourlyClimate
from warmside.physics.humid_air import saturation_over_water
from warmside.weather.assembly import Records, Station, assemble

HOURS = 8760
YEAR = 2021  # an ordinary year to set its months in
_SCALES = (("temperature", 0.1), ("dew_point", 0.1), ("wind_speed", 0.1), ("wind_direction", 10.0),
           ("ghi", 1.0), ("dhi", 1.0), ("dni", 1.0), ("rain", 0.1), ("pressure", 100.0),
)  # fmt: skip


def unpacked(name: str) -> dict[str, FloatArray]:
    """Columns of a station's packed year in SI, each of shape (8760,)."""
    path = resources.files("warmside.weather") / "hours" / f"{name}.xz"
    steps = np.frombuffer(lzma.decompress(path.read_bytes()), "<i2").reshape(len(_SCALES), HOURS)
    table = np.cumsum(steps, axis=1, dtype=np.int16)
    return {name: table[k] * scale for k, (name, scale) in enumerate(_SCALES)}


def typical_year(climate: Climate) -> HourlyClimate:
    """The typical year of a station, its months moved to the station's normals.

    A typical month is one that was, up to 3 K off the normal: every hour of it is moved by the
    difference of the means, at the same relative humidity. Its rain is multiplied by the year's
    normal over its own.
    """
    columns = unpacked(climate.hours)
    ends = np.datetime64(f"{YEAR}-01-01", "h") + np.arange(1, HOURS + 1)
    month = (ends - 1).astype("datetime64[M]").astype(int) % 12
    t = columns["temperature"]
    moved = np.array([climate.mean[m] - t[month == m].mean() for m in range(12)])
    dew = np.minimum(columns.pop("dew_point"), t)
    humidity = saturation_over_water(dew) / saturation_over_water(t)
    said = [
        "hours: the station's typical year (TMY3), each month moved to its normal mean, by "
        f"{moved.min():+.1f} to {moved.max():+.1f} K, at the same relative humidity"
    ]
    columns |= {"temperature": t + moved[month], "humidity": humidity}
    if climate.rain is not None and climate.typical_rain:
        factor = sum(climate.rain) / climate.typical_rain
        columns["rain"] = columns["rain"] * factor
        said.append(f"rain: that of the typical year times {factor:.2f}, to the normal of the year")
    zone = climate.utc_offset
    station = Station(
        climate.latitude, climate.longitude,
        round(climate.longitude / 15.0) if zone is None else zone,
        climate.elevation, climate.name,
    )  # fmt: skip
    return assemble(Records(ends, columns, station, notes=(*said, *climate.said)))
