"""A plain CSV of one's own: a line of names with their units, then one line an hour."""

from __future__ import annotations

from warmside.errors import Fault, InputError
from warmside.weather.assembly import Records, Station
from warmside.weather.formats.text import (
    column,
    kept,
    lines_of,
    metadata,
    snow_is_no_rain,
    times_of,
)

TIME = "hour_end"
# name in the file -> column, factor, offset to SI
NAMES: dict[str, tuple[str, float, float]] = {
    "temperature_c": ("temperature", 1.0, 0.0),
    "temperature_f": ("temperature", 5 / 9, -160 / 9),
    "dew_point_c": ("dew_point", 1.0, 0.0),
    "dew_point_f": ("dew_point", 5 / 9, -160 / 9),
    "humidity_percent": ("humidity", 0.01, 0.0),
    "wind_m_s": ("wind_speed", 1.0, 0.0),
    "wind_km_h": ("wind_speed", 1 / 3.6, 0.0),
    "wind_mph": ("wind_speed", 0.44704, 0.0),
    "wind_from_deg": ("wind_direction", 1.0, 0.0),
    "sun_w_m2": ("ghi", 1.0, 0.0),
    "direct_sun_w_m2": ("dni", 1.0, 0.0),
    "diffuse_sun_w_m2": ("dhi", 1.0, 0.0),
    "pressure_hpa": ("pressure", 100.0, 0.0),
    "longwave_w_m2": ("longwave", 1.0, 0.0),
    "cloud_percent": ("cloud", 0.01, 0.0),
    "rain_mm": ("rain", 1.0, 0.0),
    "rain_in": ("rain", 25.4, 0.0),
}
_PLACE = ("latitude_deg", "longitude_deg", "utc_h", "elevation_m")


def read_plain(text: str, near: Station | None = None) -> Records:
    """Local standard time; ``hour_end`` is the end of the hour, ISO 8601.

    Lines before the names may say where it was: ``# latitude_deg: 45.3`` and so on; without them
    it is taken to be at the house.
    """
    lines = lines_of(text, "CSV")
    said = dict(_comment(line.cells[0]) for line in lines if line.cells[0].lstrip().startswith("#"))
    lines = [line for line in lines if not line.cells[0].lstrip().startswith("#")]
    if len(lines) < 2:
        raise InputError([Fault("CSV file", "no hours", "a line of names and hourly lines")])
    header = [cell.strip().lower() for cell in lines[0].cells]
    body = lines[1:]
    unknown = [name for name in header if name and name != TIME and name not in NAMES]
    if TIME not in header or unknown:
        read = f"no {TIME}" if TIME not in header else ", ".join(unknown[:6])
        allowed = ", ".join((TIME, *NAMES))
        raise InputError([Fault("CSV file, names", read, allowed, lines[0].number)])
    at = header.index(TIME)
    cells = [line.cells[at].strip() if at < len(line.cells) else "" for line in body]
    ends = times_of([c.replace(" ", "T")[:16] for c in cells], [n.number for n in body], "CSV")
    columns = {}
    for k, name in enumerate(header):
        if name in NAMES:
            target, factor, offset = NAMES[name]
            if target in columns:
                raise InputError(
                    [
                        Fault(
                            f"CSV file, column {name}",
                            "a second one",
                            f"one {target}",
                            lines[0].number,
                        )
                    ]
                )
            values = column(body, header, k, "CSV")
            columns[target] = None if values is None else values * factor + offset
    snow_is_no_rain(columns)
    station, notes = _station(said, near)
    return Records(ends, kept(columns), station, notes=notes)


def _comment(cell: str) -> tuple[str, str]:
    name, _, value = cell.lstrip(" #").partition(":")
    return name.strip().lower(), value.strip()


def _station(said: dict[str, str], near: Station | None) -> tuple[Station, tuple[str, ...]]:
    if all(name in said for name in _PLACE[:3]):
        cells = [said[name] for name in _PLACE[:3]] + [said.get("elevation_m", "0")]
        latitude, longitude, zone, elevation = metadata(cells, "CSV", 1)
        return Station(latitude, longitude, zone, elevation, said.get("name", "")), ()
    if near is None:
        allowed = "lines such as # latitude_deg: 45.3, # longitude_deg: -75.7, # utc_h: -5"
        raise InputError([Fault("CSV file", "no place in it", allowed)])
    return near, ("place: the file names none; that of the house is taken",)
