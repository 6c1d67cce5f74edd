"""Canadian Weather Energy and Engineering Datasets (CWEEDS), record WY3."""

from __future__ import annotations

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Records, Station
from warmside.weather.formats.text import metadata, number, times_of


def read_wy3(text: str, _near: Station | None = None) -> Records:
    """Fixed columns, local standard time, each hour named by its end (01 to 24).

    Irradiance in kJ/m2 over the hour. The columns of temperature and wind are from memory.
    """
    lines = [(k, line) for k, line in enumerate(text.splitlines(), 1) if line.strip()]
    if len(lines) < 2:
        raise InputError([Fault("WY3 file", f"{len(lines)} lines", "a header and hourly records")])
    top = [cell.strip() for cell in lines[0][1].split(",")]
    if len(top) < 9:
        raise InputError([Fault("WY3 file", lines[0][1][:80], "9 cells of the station", line=1)])
    latitude, longitude, zone, elevation = metadata(top[5:9], "WY3", 1)
    body = lines[1:]
    for at, record in body:
        if (
            not (record[16:18].isascii() and record[16:18].isdigit())
            or not 1 <= int(record[16:18]) <= 24
        ):
            raise InputError([Fault("WY3 file, hour", repr(record[16:18]), "01 to 24", at)])
    stamps = [f"{r[8:12]}-{r[12:14]}-{r[14:16]}" for _, r in body]
    ends = np.array([int(r[16:18]) for _, r in body])

    def field(name: str, first: int, last: int, factor: float) -> FloatArray:
        values = np.full(len(body), np.nan)
        for k, (at, record) in enumerate(body):
            cell = record[first - 1 : last]
            try:
                values[k] = number(cell)
            except ValueError:
                place = f"WY3 file, columns {first} to {last} ({name})"
                raise InputError([Fault(place, repr(cell), "a number, or nothing", at)]) from None
        missing = 10.0 ** max(last - first + 1, 4) - 1.0  # all nines
        return np.where(np.abs(values) >= missing, np.nan, values) * factor

    cloud = field("cloud", 113, 114, 0.1)
    columns = {
        "ghi": field("sun", 23, 26, 1 / 3.6),
        "dni": field("direct sun", 29, 32, 1 / 3.6),
        "dhi": field("diffuse sun", 35, 38, 1 / 3.6),
        "pressure": field("pressure", 88, 92, 10.0),
        "temperature": field("temperature", 94, 97, 0.1),
        "dew_point": field("dew point", 99, 102, 0.1),
        "wind_direction": field("wind direction", 104, 106, 1.0),
        "wind_speed": field("wind speed", 108, 111, 0.1),
        "cloud": np.where(cloud > 1.0, np.nan, cloud),
    }
    days = times_of(stamps, [at for at, _ in body], "WY3")
    years = np.unique(days.astype("datetime64[Y]"))
    station = Station(latitude, longitude, zone, elevation, top[1])
    times = days + ends.astype("timedelta64[h]")
    return Records(times, columns, station, typical=years.size > 1)
