"""PVGIS typical year (European Commission, Joint Research Centre), CSV and JSON."""

from __future__ import annotations

import io
from typing import Any, Literal

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate import FloatArray
from warmside.weather.assembly import Records, Station, zone_at
from warmside.weather.formats.text import by_library, frame_column, kept, scale

_YEAR = 8760  # [h]
_SUN = ("ghi", "dni", "dhi")


def read_pvgis_csv(text: str, near: Station | None = None) -> Records:
    """Universal time; the zone is that of the house where it lies near."""
    names = (k for k, line in enumerate(text.splitlines(), 1) if line.startswith("time(UTC)"))
    return _read(text, "csv", next(names, 1), near)


def read_pvgis_json(text: str, near: Station | None = None) -> Records:
    """As the CSV, written as JSON."""
    return _read(text, "json", 1 << 30, near)


def _read(text: str, kind: Literal["csv", "json"], header: int, near: Station | None) -> Records:
    import pvlib

    if kind == "csv":
        _whole(text, header)
    source: Any = io.BytesIO(text.encode()) if kind == "csv" else io.StringIO(text)
    frame, about = by_library(
        lambda: pvlib.iotools.read_pvgis_tmy(source, pvgis_format=kind, map_variables=False),
        text, header, "PVGIS",
    )  # fmt: skip

    def column(name: str) -> FloatArray | None:
        return frame_column(frame, name, header, "PVGIS")

    columns = {
        "temperature": column("T2m"),
        "humidity": column("RH"),
        "wind_speed": column("WS10m"),
        "wind_direction": column("WD10m"),
        "ghi": column("G(h)"),
        "dni": column("Gb(n)"),
        "dhi": column("Gd(h)"),
        "pressure": column("SP"),
        "longwave": column("IR(h)"),
    }
    scale(columns, humidity=0.01)
    latitude, longitude, elevation, offset = by_library(
        lambda: _place(about), text, header, "PVGIS"
    )
    for name in _SUN:
        columns[name] = _over_the_hour(columns[name], offset)
    zone, said = zone_at(latitude, longitude, near)
    station = Station(latitude, longitude, zone, elevation)
    # a state on the hour counts for the hour that ends there
    ends = frame.index.tz_localize(None).to_numpy().astype("datetime64[m]")
    ends = ends + np.timedelta64(round(zone * 60), "m")
    return Records(ends, kept(columns), station, typical=True, notes=said)


def _whole(text: str, header: int) -> None:
    """Refuse fewer hours than the library counts on, and lines of another length."""
    lines = text.splitlines()[header - 1 :]
    names = lines[0].count(",") if lines else 0
    for at, line in enumerate(lines[: _YEAR + 1]):
        if line.count(",") != names:
            read = f"{line.count(',') + 1} cells" if line.strip() else "no more hours"
            allowed = f"{_YEAR} hours of {names + 1} cells"
            raise InputError([Fault("PVGIS file", read, allowed, header + at)])
    if len(lines) < _YEAR + 1:
        read = f"{max(len(lines) - 1, 0)} hours"
        raise InputError([Fault("PVGIS file", read, f"{_YEAR} hours", header + len(lines) - 1)])


def _place(about: dict[str, Any]) -> tuple[float, float, float, float]:
    """Latitude, longitude [deg], elevation [m], and when after the hour the sun is seen [h]."""
    given = about["inputs"]
    given = given.get("location", given)
    # the offset that a file without one has is not known; satellites there look about 10 minutes
    # past the hour, and what an earlier file says, 0.1761, is used in its place (from memory)
    offset = about["inputs"].get(
        "irradiance time offset", given.get("irradiance_time_offset", 0.1761)
    )
    latitude, longitude, elevation = (
        float(given[name]) for name in ("latitude", "longitude", "elevation")
    )
    return latitude, longitude, elevation, float(offset)


def _over_the_hour(seen: FloatArray | None, offset: float) -> FloatArray | None:
    """Sun at the middle of the hour that ends at each stamp, on the line between two looks.

    ``seen`` [W/m2] is the sun at ``offset`` hours after each stamp; the looks on either side of the
    middle are those of this stamp and of the one before.
    """
    if seen is None:
        return None
    share = min(max(0.5 - offset, 0.0), 1.0)  # of the way from the look before to this one
    return np.asarray(np.roll(seen, 1) * (1.0 - share) + seen * share)
