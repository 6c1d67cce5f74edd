"""Readers of open hourly formats. Each takes text or bytes and gives back the hours."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import IO

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Station, Times, assemble
from warmside.physics.climate._hourly import FloatArray, HourlyClimate

Source = str | bytes | IO[str] | IO[bytes]
MISSING = (9999.0, 99999.0)  # beside -9900 and -9999
LARGEST = 200_000_000  # [characters]


def text_of(source: Source) -> str:
    """The text of ``source``: UTF-8, else the code page of older government files."""
    raw = source if isinstance(source, (str, bytes)) else source.read(LARGEST + 1)
    if len(raw) > LARGEST:
        raise InputError([Fault("weather file", f"over {LARGEST} characters", "one station")])
    if isinstance(raw, str):
        return raw.removeprefix("\ufeff")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def _rows(text: str, what: str) -> list[list[str]]:
    rows = [row for row in csv.reader(io.StringIO(text)) if row]
    if len(rows) < 2:
        raise InputError([Fault(f"{what} file", f"{len(rows)} lines", "a header and hourly lines")])
    return rows


def _number(cell: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        return np.nan
    return np.nan if value <= -9000.0 or value in MISSING else value


def _column(rows: Sequence[Sequence[str]], index: int | None) -> FloatArray | None:
    if index is None:
        return None
    return np.array([_number(row[index]) if index < len(row) else np.nan for row in rows])


def _find(header: Sequence[str], *names: str) -> int | None:
    """Index of the first header cell that starts with one of ``names``."""
    for name in names:
        for k, cell in enumerate(header):
            if cell.strip().lower().startswith(name.lower()):
                return k
    return None


def _metadata(cells: Sequence[str], what: str, line: int) -> list[float]:
    try:
        return [float(cell) for cell in cells]
    except ValueError:
        raise InputError(
            [Fault(f"{what} file", f"{cells}", "latitude, longitude, zone, elevation", line=line)]
        ) from None


def _times(parts: Sequence[str], what: str) -> Times:
    try:
        return np.array(parts, dtype="datetime64[m]")
    except ValueError as fault:
        raise InputError([Fault(f"{what} file, time", f"{fault}", "a date and hour")]) from None


def _kept(columns: Mapping[str, FloatArray | None]) -> dict[str, FloatArray]:
    return {name: values for name, values in columns.items() if values is not None}


def read_tmy3(source: Source) -> HourlyClimate:
    """Typical year, TMY3 CSV (US National Renewable Energy Laboratory, 2008).

    Hours 01:00 to 24:00, local standard time, end of the hour.
    """
    rows = _rows(text_of(source), "TMY3")
    top, header, body = rows[0], rows[1], rows[2:]
    if len(top) < 7:
        raise InputError([Fault("TMY3 file", ",".join(top)[:80], "7 cells of the station", line=1)])
    zone, latitude, longitude, elevation = _metadata(top[3:7], "TMY3", 1)
    dates = _times([f"{r[0][6:10]}-{r[0][0:2]}-{r[0][3:5]}" for r in body], "TMY3")
    ends = np.array([int(r[1][:2]) for r in body])
    columns = {
        "temperature": _column(body, _find(header, "Dry-bulb (C)")),
        "dew_point": _column(body, _find(header, "Dew-point (C)")),
        "humidity": _column(body, _find(header, "RHum (%)")),
        "wind_speed": _column(body, _find(header, "Wspd (m/s)")),
        "wind_direction": _column(body, _find(header, "Wdir (degrees)")),
        "ghi": _column(body, _find(header, "GHI (W/m^2)")),
        "dni": _column(body, _find(header, "DNI (W/m^2)")),
        "dhi": _column(body, _find(header, "DHI (W/m^2)")),
        "pressure": _column(body, _find(header, "Pressure (mbar)")),
        "cloud": _column(body, _find(header, "TotCld (tenths)")),
        "rain": _column(body, _find(header, "Lprecip depth (mm)")),
    }
    # The depths are tenths of a millimetre whatever the header says: taken as millimetres, the
    # year at Greensboro would have 8000 of them. Only depths over one hour can be used.
    _scale(columns, humidity=0.01, pressure=100.0, cloud=0.1, rain=0.1)
    span = _column(body, _find(header, "Lprecip quantity (hr)"))
    if span is not None and columns["rain"] is not None:
        columns["rain"] = np.where(span == 1.0, columns["rain"], 0.0)
    times = dates + (ends - 1).astype("timedelta64[h]")
    _snow_is_no_rain(columns)
    station = Station(latitude, longitude, zone, elevation, top[1].strip())
    return assemble(times, _kept(columns), station, typical=True)


def _scale(columns: dict[str, FloatArray | None], **factors: float) -> None:
    for name, factor in factors.items():
        values = columns.get(name)
        if values is not None:
            columns[name] = values * factor


def _snow_is_no_rain(columns: dict[str, FloatArray | None]) -> None:
    rain, t = columns.get("rain"), columns.get("temperature")
    if rain is not None and t is not None:
        columns["rain"] = np.where(t > 0.0, np.nan_to_num(rain), 0.0)


def read_nsrdb(source: Source) -> HourlyClimate:
    """NSRDB PSM CSV (US National Solar Radiation Data Base): two lines of station, then hours."""
    rows = _rows(text_of(source), "NSRDB")
    if len(rows) < 4:
        raise InputError([Fault("NSRDB file", f"{len(rows)} lines", "station, header, hours")])
    named = dict(zip(rows[0], rows[1], strict=False))
    try:
        place = _metadata(
            [named["Latitude"], named["Longitude"], named["Local Time Zone"], named["Elevation"]],
            "NSRDB", 2,
        )  # fmt: skip
    except KeyError as missing:
        raise InputError([Fault("NSRDB file, station", f"no {missing}", "it", line=1)]) from None
    header, body = rows[2], rows[3:]
    times = _times(
        [f"{r[0]}-{int(r[1]):02}-{int(r[2]):02}T{int(r[3]):02}:{int(r[4]):02}" for r in body],
        "NSRDB",
    )
    zone = _metadata([named.get("Time Zone", named["Local Time Zone"])], "NSRDB", 2)[0]
    times = times + np.timedelta64(round((place[2] - zone) * 60), "m")
    columns = {
        "temperature": _column(body, _find(header, "Temperature")),
        "dew_point": _column(body, _find(header, "Dew Point")),
        "humidity": _column(body, _find(header, "Relative Humidity")),
        "wind_speed": _column(body, _find(header, "Wind Speed")),
        "wind_direction": _column(body, _find(header, "Wind Direction")),
        "ghi": _column(body, _find(header, "GHI")),
        "dni": _column(body, _find(header, "DNI")),
        "dhi": _column(body, _find(header, "DHI")),
        "pressure": _column(body, _find(header, "Pressure")),
    }
    _scale(columns, humidity=0.01, pressure=100.0)
    years = np.unique(times.astype("datetime64[Y]"))
    station = Station(place[0], place[1], place[2], place[3], named.get("City", ""))
    return assemble(times, _kept(columns), station, typical=years.size > 2)


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
                place[name] = _number(line.split(":")[-1].strip())
    rows = list(csv.reader(lines[start:]))
    header = rows[0]
    body = [r for r in rows[1:] if len(r) >= 9 and r[0][:4].isdigit()]
    stamps = [f"{r[0][:4]}-{r[0][4:6]}-{r[0][6:8]}T{r[0][9:11]}:{r[0][11:13]}" for r in body]
    times = _times(stamps, "PVGIS") + np.timedelta64(round(utc_offset * 60), "m")
    columns = {
        "temperature": _column(body, _find(header, "T2m")),
        "humidity": _column(body, _find(header, "RH")),
        "wind_speed": _column(body, _find(header, "WS10m")),
        "wind_direction": _column(body, _find(header, "WD10m")),
        "ghi": _column(body, _find(header, "G(h)")),
        "dni": _column(body, _find(header, "Gb(n)")),
        "dhi": _column(body, _find(header, "Gd(h)")),
        "pressure": _column(body, _find(header, "SP")),
        "longwave": _column(body, _find(header, "IR(h)")),
    }
    _scale(columns, humidity=0.01)
    station = Station(place["Latitude"], place["Longitude"], utc_offset, place["Elevation"])
    return assemble(times, _kept(columns), station, typical=True)


def read_eccc(sources: Sequence[Source] | str | bytes, utc_offset: float) -> HourlyClimate:
    """Hourly CSV of Environment and Climate Change Canada: one file or the months of a year.

    Local standard time; the files hold no sun.
    """
    given: Sequence[Source] = [sources] if isinstance(sources, (str, bytes)) else sources
    station: Station | None = None
    stamps: list[str] = []
    table: list[list[str]] = []
    header: list[str] = []
    for source in given:
        rows = _rows(text_of(source), "ECCC")
        top = next((k for k, r in enumerate(rows) if _find(r, "Temp (") is not None), None)
        if top is None:
            raise InputError([Fault("ECCC file", "no column 'Temp (°C)'", "its header line")])
        if header and [c.strip() for c in rows[top]] != header:
            raise InputError([Fault("ECCC files", "different headers", "files of one kind")])
        header = [c.strip() for c in rows[top]]
        body = [r for r in rows[top + 1 :] if len(r) > 5]
        when = _find(header, "Date/Time")
        if when is None or not body:
            raise InputError([Fault("ECCC file", "no dates or no hours", "hourly lines")])
        stamps += [r[when][:16].replace(" ", "T") for r in body]
        table += body
        station = station or _eccc_station(rows, header, body, utc_offset)
    if station is None:
        raise InputError([Fault("ECCC files", "none", "one or more")])
    columns = {
        "temperature": _column(table, _find(header, "Temp (")),
        "dew_point": _column(table, _find(header, "Dew Point Temp (")),
        "humidity": _column(table, _find(header, "Rel Hum (")),
        "wind_speed": _column(table, _find(header, "Wind Spd (")),
        "wind_direction": _column(table, _find(header, "Wind Dir (")),
        "pressure": _column(table, _find(header, "Stn Press (")),
        "rain": _column(table, _find(header, "Precip. Amount (")),
    }
    _scale(columns, humidity=0.01, pressure=1000.0, wind_direction=10.0, wind_speed=1 / 3.6)
    _snow_is_no_rain(columns)
    direction = columns["wind_direction"]
    if direction is not None:  # blank where the air is calm
        columns["wind_direction"] = np.where(np.isfinite(direction), direction, 0.0)
    return assemble(_times(stamps, "ECCC"), _kept(columns), station)


def _eccc_station(
    rows: Sequence[Sequence[str]], header: Sequence[str], body: Sequence[Sequence[str]], zone: float
) -> Station:
    lon, lat, name = _find(header, "Longitude"), _find(header, "Latitude"), _find(header, "Station")
    if lon is not None and lat is not None:
        place = _metadata([body[0][lat], body[0][lon]], "ECCC", 2)
        return Station(place[0], place[1], zone, 0.0, body[0][name] if name is not None else "")
    top = {r[0].strip(): r[1].strip() for r in rows if len(r) == 2}
    place = _metadata([top.get("Latitude", ""), top.get("Longitude", "")], "ECCC", 1)
    return Station(
        place[0], place[1], zone, _number(top.get("Elevation", "0")), top.get("Station Name", "")
    )


def read_wy3(source: Source) -> HourlyClimate:
    """CWEEDS record WY3 (Environment and Climate Change Canada): local standard time, end of hour.

    Irradiance in kJ/m2 over the hour. The columns of temperature and wind are from memory.
    """
    lines = [line for line in text_of(source).splitlines() if line.strip()]
    if len(lines) < 2:
        raise InputError([Fault("WY3 file", f"{len(lines)} lines", "a header and hourly records")])
    top = [cell.strip() for cell in lines[0].split(",")]
    if len(top) < 9:
        raise InputError([Fault("WY3 file", lines[0][:80], "9 cells of the station", line=1)])
    latitude, longitude, zone, elevation = _metadata(top[5:9], "WY3", 1)
    body = lines[1:]
    stamps = [f"{r[8:12]}-{r[12:14]}-{r[14:16]}" for r in body]
    try:
        ends = np.array([int(r[16:18]) for r in body])
    except ValueError:
        raise InputError([Fault("WY3 file", "an hour that is no number", "01 to 24")]) from None

    def field(first: int, last: int, factor: float) -> FloatArray:
        values = np.array([_number(r[first - 1 : last].strip() or "x") for r in body])
        return np.where(np.abs(values) >= 9999.0, np.nan, values) * factor

    cloud = field(113, 114, 0.1)
    columns = {
        "ghi": field(23, 26, 1 / 3.6),
        "dni": field(29, 32, 1 / 3.6),
        "dhi": field(35, 38, 1 / 3.6),
        "pressure": field(88, 92, 10.0),
        "temperature": field(94, 97, 0.1),
        "dew_point": field(99, 102, 0.1),
        "wind_direction": field(104, 106, 1.0),
        "wind_speed": field(108, 111, 0.1),
        "cloud": np.where(cloud > 1.0, np.nan, cloud),
    }
    times = _times(stamps, "WY3") + (ends - 1).astype("timedelta64[h]")
    years = np.unique(times.astype("datetime64[Y]"))
    station = Station(latitude, longitude, zone, elevation, top[1])
    return assemble(times, columns, station, typical=years.size > 1)


def read_isd_lite(source: Source, station: Station) -> HourlyClimate:
    """NOAA ISD-Lite, fixed width, universal time; pressure there is at sea level."""
    lines = [line for line in text_of(source).splitlines() if line.strip()]
    try:
        table = np.array([[int(v) for v in line.split()[:12]] for line in lines], dtype=np.float64)
    except ValueError:
        raise InputError(
            [Fault("ISD-Lite file", "cells that are no whole numbers", "12 a line")]
        ) from None
    if table.ndim != 2 or table.shape[1] < 11:
        raise InputError([Fault("ISD-Lite file", "lines of different length", "12 numbers a line")])
    table[table == -9999] = np.nan
    stamps = [f"{int(r[0]):04}-{int(r[1]):02}-{int(r[2]):02}T{int(r[3]):02}:00" for r in table]
    times = _times(stamps, "ISD-Lite") + np.timedelta64(round(station.utc_offset * 60), "m")
    rain = np.where(table[:, 10] < 0, 0.0, table[:, 10] * 0.1)
    calm = np.where(np.isfinite(table[:, 7]), table[:, 7], 0.0)
    columns: dict[str, FloatArray | None] = {
        "temperature": table[:, 4] * 0.1,
        "dew_point": table[:, 5] * 0.1,
        "pressure": table[:, 6] * 10.0 * np.exp(-station.elevation / 8434.0),
        "wind_direction": calm,
        "wind_speed": table[:, 8] * 0.1,
        "cloud": np.where(
            table[:, 9] <= 8, table[:, 9] / 8.0, np.where(table[:, 9] == 9, 1.0, np.nan)
        ),
        "rain": np.nan_to_num(rain),
    }
    _snow_is_no_rain(columns)
    return assemble(times, _kept(columns), station)


def read_columns(
    source: Source,
    station: Station,
    time: str,
    names: Mapping[str, str],
    factors: Mapping[str, float] | None = None,
    offsets: Mapping[str, float] | None = None,
) -> HourlyClimate:
    """Any CSV with one header line.

    Parameters
    ----------
    source : str, bytes or file
        The text.
    station : Station
        The place.
    time : str
        Header of the column of times, ISO 8601, start of the hour, local standard time.
    names : Mapping[str, str]
        Column of ``assemble`` -> header here.
    factors, offsets : Mapping[str, float]
        ``value = cell * factor + offset``, by column of ``assemble``.
    """
    rows = _rows(text_of(source), "CSV")
    header = [cell.strip() for cell in rows[0]]
    missing = [name for name in (time, *names.values()) if name not in header]
    if missing:
        raise InputError([Fault("CSV file, header", f"no {missing}", f"of {header[:30]}", line=1)])
    body = rows[1:]
    at = header.index(time)
    times = _times(
        [r[at].strip().replace(" ", "T")[:16] if at < len(r) else "" for r in body], "CSV"
    )
    columns = {}
    for name, title in names.items():
        values = _column(body, header.index(title))
        if values is not None:
            columns[name] = values * (factors or {}).get(name, 1.0) + (offsets or {}).get(name, 0.0)
    return assemble(times, columns, station)
