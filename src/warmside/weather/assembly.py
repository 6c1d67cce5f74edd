"""From raw records to an hourly year: one order, gaps found, derived columns.

Gaps of up to ``SHORT`` hours are closed with a straight line, of up to ``DAYS`` days with the same
hours of the days before and after, weighted by nearness. Longer ones are refused with their dates.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from math import asin, cos, radians, sin, sqrt

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.climate import (
    RANGES,
    FloatArray,
    HourlyClimate,
    cloud_from_clearness,
    sky_temperature_from_cloud,
    sky_temperature_from_longwave,
    split_sun,
    sun_from_range,
)
from warmside.physics.humid_air import saturation_over_water

SHORT = 6  # [h]
DAYS = 3  # [d]
FAULTS_MOST = 12
SUN_GUESSED = "sun: estimated from the daily range of temperature, since the source has none"
STANDARD_LAPSE = 8434.0  # scale height of the standard atmosphere near the ground [m]

WORDS = {
    "dew_point": "dew point", "wind_speed": "wind", "wind_direction": "wind direction",
    "ghi": "sun", "dni": "direct sun", "dhi": "diffuse sun", "longwave": "long-wave from the sky",
}  # fmt: skip

Times = npt.NDArray[np.datetime64]


@dataclass(frozen=True)
class Station:
    """Where the weather was recorded.

    Attributes
    ----------
    latitude, longitude : float
        North and east positive [deg].
    utc_offset : float
        Local standard time minus universal time [h].
    elevation : float
        [m].
    name : str
        As its source names it.
    """

    latitude: float
    longitude: float
    utc_offset: float
    elevation: float = 0.0
    name: str = ""


@dataclass(frozen=True)
class Records:
    """What a reader found in a file, in SI, before gaps are closed.

    Attributes
    ----------
    ends : numpy.ndarray
        End of the hour of each record, local standard time, datetime64, in any order.
    columns : Mapping[str, FloatArray]
        NaN where missing: ``temperature`` [degC], one of ``humidity`` [-] and ``dew_point``
        [degC], and any of ``wind_speed`` [m/s], ``wind_direction`` [deg], ``ghi``, ``dni``,
        ``dhi`` [W/m2], ``pressure`` [Pa], ``longwave`` [W/m2], ``cloud`` [-], ``rain``
        [kg/(m2 h)].
    station : Station
        The place.
    typical : bool
        Months of different years: all are set into one year of 365 days.
    notes : tuple[str, ...]
        What the reader had to assume, in plain sentences.
    """

    ends: Times
    columns: Mapping[str, FloatArray]
    station: Station
    typical: bool = False
    notes: tuple[str, ...] = ()


NEAR = 300.0  # [km] within which a house's zone is taken for that of a file that names none
EARTH = 6371.0  # [km]


def distance(a: Station, b: Station) -> float:
    """Great circle between two places [km]."""
    north, east = radians(b.latitude - a.latitude), radians(b.longitude - a.longitude)
    across = cos(radians(a.latitude)) * cos(radians(b.latitude)) * sin(east / 2.0) ** 2
    return 2.0 * EARTH * asin(min(sqrt(sin(north / 2.0) ** 2 + across), 1.0))


def zone_at(
    latitude: float, longitude: float, near: Station | None
) -> tuple[float, tuple[str, ...]]:
    """Local standard time less universal time [h] at a place whose file does not say, and a note.

    That of the house where it stands within 300 km; else the whole hour by the longitude.
    """
    here = Station(latitude, longitude, 0.0)
    if near is not None and distance(here, near) <= NEAR:
        return near.utc_offset, (f"hours: set to the zone of the house, UTC{near.utc_offset:+g}",)
    zone = float(round(longitude / 15.0))
    return zone, (f"hours: set to UTC{zone:+g}, the zone by the longitude, since nothing says it",)


def assemble(records: Records) -> HourlyClimate:
    """Hourly weather from records in any order.

    Raises
    ------
    InputError
        No records, no temperature or humidity, gaps that are too long (with their dates).
    """
    station = records.station
    starts = records.ends - np.timedelta64(1, "h")
    said = list(records.notes)
    times, columns = _in_order(starts, records.columns, typical=records.typical)
    faults: list[Fault] = []
    for name, values in columns.items():
        least, most, _ = RANGES.get(name, (-np.inf, np.inf, ""))
        wild = int((np.isfinite(values) & ((values < least) | (values > 1.0001 * most))).sum())
        if wild:
            values_are = "values" if wild != 1 else "value"
            said.append(f"{WORDS.get(name, name)}: {wild} {values_are} out of range left out")
            columns[name] = np.where((values >= least) & (values <= 1.0001 * most), values, np.nan)
    gaps: dict[int, list[str]] = {}
    filled = {
        name: _filled(name, times, values, faults, gaps)
        for name, values in columns.items()
        if np.isfinite(values).any()
    }
    if "temperature" not in filled or not {"humidity", "dew_point"} & set(filled):
        there = ", ".join(WORDS.get(name, name) for name in filled) or "nothing that can be used"
        faults = [Fault("hourly weather", there, "temperature, and humidity or dew point")]
    if faults:
        raise InputError(faults[:FAULTS_MOST])
    said += [
        f"{', '.join(named)}: {count} missing hour{'s' if count != 1 else ''} filled"
        for count, named in gaps.items()
    ]
    return _derived(times, filled, station, said)


def _in_order(
    times: Times, columns: Mapping[str, FloatArray], *, typical: bool
) -> tuple[Times, dict[str, FloatArray]]:
    """Whole hours in order, records of one hour averaged, missing hours as NaN."""
    hours = times.astype("datetime64[h]")
    if hours.size == 0 or np.isnat(hours).any():
        raise InputError(
            [Fault("hourly weather", "no records, or times missing", "one record an hour")]
        )
    if typical:
        month_day = hours - hours.astype("datetime64[Y]")
        leap = (hours.astype("datetime64[M]").astype(int) % 12 == 1) & (
            (hours.astype("datetime64[D]") - hours.astype("datetime64[M]")).astype(int) == 28
        )
        after = hours.astype("datetime64[Y]").astype(int) % 4 == 2  # 1970 + 2 = 1972
        late = month_day >= np.timedelta64(59 * 24, "h")
        month_day = month_day - np.where(after & late, 24, 0).astype("timedelta64[h]")
        hours = (np.datetime64("2021", "h") + month_day)[~leap]
        columns = {k: v[~leap] for k, v in columns.items()}
    first, last = hours.min(), hours.max()
    count = int((last - first).astype(int)) + 1
    if count > 366 * 24 * 40:
        raise InputError([Fault("hourly weather", f"{first} to {last}", "at most 40 years")])
    index = (hours - first).astype(np.int64)
    result: dict[str, FloatArray] = {}
    for name, values in columns.items():
        good = np.isfinite(values)
        total = np.bincount(index[good], values[good], minlength=count)
        number = np.bincount(index[good], minlength=count)
        with np.errstate(invalid="ignore"):
            result[name] = np.where(number > 0, total / np.maximum(number, 1), np.nan)
    return first + np.arange(count), result


def _filled(
    name: str,
    times: Times,
    values: FloatArray,
    faults: list[Fault],
    gaps: dict[int, list[str]],
) -> FloatArray:
    """Close short gaps, the column named in ``gaps`` by their hours; long ones in ``faults``."""
    missing = np.flatnonzero(~np.isfinite(values))
    if missing.size == 0:
        return values
    runs = np.split(missing, np.flatnonzero(np.diff(missing) > 1) + 1)
    good = np.flatnonzero(np.isfinite(values))
    result = values.copy()
    dropped = 0 if name in ("rain",) else DAYS * 24
    for run in runs:
        if run.size <= SHORT:
            result[run] = np.interp(run, good, values[good])
        elif run.size <= dropped and run[0] >= 24 and run[-1] + 24 < values.size:
            result[run] = _days_beside(values, run)
        elif name == "rain":
            result[run] = 0.0
        if not np.isfinite(result[run]).all():
            faults.append(
                Fault(
                    f"hourly {name}, {times[run[0]].item():%Y-%m-%d %H:%M} to "
                    f"{times[run[-1]].item():%Y-%m-%d %H:%M}",
                    f"{run.size} hours missing",
                    f"gaps of up to {DAYS} days",
                )
            )
    gaps.setdefault(missing.size, []).append(WORDS.get(name, name))
    return result


def _days_beside(values: FloatArray, run: npt.NDArray[np.int64]) -> FloatArray:
    """The same hours of the days before and after a gap, weighted by nearness."""
    before, after = run[0] - 24, run[-1] + 1
    phase = (run - run[0]) % 24
    left = values[before + phase]
    right = values[after + (run - after) % 24]
    share = (run - run[0] + 1) / (run.size + 1)
    return np.asarray(left + share * (right - left))


def _derived(
    times: Times, columns: dict[str, FloatArray], station: Station, said: list[str]
) -> HourlyClimate:
    """Columns that the source lacks, from those it has."""
    t = columns["temperature"]
    time0: datetime = times[0].astype("datetime64[s]").item()
    if "humidity" in columns:
        humidity = np.clip(columns["humidity"], 0.01, 1.0)
    else:
        vapour = saturation_over_water(np.clip(columns["dew_point"], -99.0, 60.0))
        humidity = np.clip(vapour / saturation_over_water(t), 0.01, 1.0)
    pressure = columns.get("pressure")
    if pressure is None:
        pressure = np.full(t.size, 101_325.0 * np.exp(-station.elevation / STANDARD_LAPSE))
        said.append("pressure: standard atmosphere at the elevation")
    ghi = columns.get("ghi")
    if ghi is None:
        ghi = sun_from_range(time0, t, station.latitude, station.longitude, station.utc_offset)
        said.append(SUN_GUESSED)
    ghi = np.maximum(ghi, 0.0)
    dni, dhi = columns.get("dni"), columns.get("dhi")
    if dni is None or dhi is None:
        dni, dhi = split_sun(time0, ghi, station.latitude, station.longitude, station.utc_offset)
        said.append("sun: split into direct and diffuse (Erbs)")
    sky = _sky(time0, columns, humidity, ghi, station, said)
    for name, value, unit in (
        ("wind_speed", 3.0, " m/s"),
        ("wind_direction", 270.0, " degrees"),
        ("rain", 0.0, ""),
    ):
        if name not in columns:
            columns[name] = np.full(t.size, value)
            said.append(
                f"{WORDS.get(name, name)}: {value:g}{unit} throughout, since the source has none"
            )
    return HourlyClimate(
        time0, t, humidity, np.maximum(columns["wind_speed"], 0.0),
        columns["wind_direction"] % 360.0, ghi, np.maximum(dni, 0.0), np.maximum(dhi, 0.0),
        pressure, sky, np.maximum(columns["rain"], 0.0),
        station.latitude, station.longitude, station.utc_offset, station.elevation, station.name,
        tuple(said),
    )  # fmt: skip


def _sky(
    time0: datetime,
    columns: dict[str, FloatArray],
    humidity: FloatArray,
    ghi: FloatArray,
    station: Station,
    said: list[str],
) -> FloatArray:
    t = columns["temperature"]
    if "longwave" in columns:
        return sky_temperature_from_longwave(columns["longwave"])
    cloud = columns.get("cloud")
    if cloud is None:
        cloud = cloud_from_clearness(
            time0, ghi, station.latitude, station.longitude, station.utc_offset
        )
        said.append("cloud: estimated from the day's clearness")
    return sky_temperature_from_cloud(t, humidity, np.clip(cloud, 0.0, 1.0))
