"""Which hours of the coming days can be worked, from a forecast or a climate, hour by hour."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.options import BuildUp
from warmside.physics.climate import HourlyClimate
from warmside.physics.humid_air import relative_humidity, vapour_pressure
from warmside.site.checks import dew_point_spread
from warmside.weather import Station, format_of, read_weather
from warmside.wording import Figure, Sentence, say

MOST_HOURS = 24 * 16
_OFF = "outside working hours"
INSIDE_FILM, OUTSIDE_FILM = 0.13, 0.04  # [m2 K/W] ISO 6946, horizontal heat flow
_LARGEST = 2_000_000  # [characters]
_RANGES = {"temperature_c": (-70.0, 60.0), "humidity_percent": (0.0, 100.0),
           "wind_m_s": (0.0, 90.0)}  # fmt: skip


@dataclass(frozen=True)
class Hour:
    """Weather of one hour from ``at`` on, local time; temperature [degC], wind [m/s]."""

    at: datetime
    temperature: float
    humidity: float  # [-]
    wind: float | None = None


def read_forecast(text: str) -> tuple[Hour, ...]:
    """Hours of a CSV with the columns ``time``, ``temperature_c``, ``humidity_percent`` and,
    where the work is outside, ``wind_m_s``.

    Times are local, ISO 8601 ("2026-11-25T07:00"); other columns are passed over.

    Raises
    ------
    InputError
        Every fault with its line: a missing column, a value out of range, hours out of order, more
        than 16 days.
    """
    if len(text) > _LARGEST:
        raise InputError([Fault("forecast", f"{len(text)} characters", f"up to {_LARGEST}")])
    rows = csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    try:
        names = [(name or "").strip().lower() for name in rows.fieldnames or ()]
        rows.fieldnames = names
        lacking = [n for n in ("time", "temperature_c", "humidity_percent") if n not in names]
        if lacking:
            read = ", ".join(names)[:80] or "nothing"
            allowed = "a line of headers: time, temperature_c, humidity_percent, wind_m_s"
            raise InputError([Fault("forecast", read, allowed, 1)])
        return _hours_of(rows)
    except csv.Error as error:
        raise InputError([Fault("forecast", str(error), "CSV", rows.line_num)]) from None


def _hours_of(rows: csv.DictReader[str]) -> tuple[Hour, ...]:
    hours: list[Hour] = []
    faults: list[Fault] = []
    for row in rows:
        if len(hours) >= MOST_HOURS or len(faults) >= 50:
            break
        found = _hour(row, rows.line_num, faults)
        if found is None:
            continue
        if hours and found.at <= hours[-1].at:
            faults.append(
                Fault("forecast, time", found.at.isoformat(), "later than the line above",
                      rows.line_num)
            )  # fmt: skip
        hours.append(found)
    if not hours and not faults:
        faults.append(Fault("forecast", "no hours", "one line for every hour"))
    if faults:
        raise InputError(faults)
    return tuple(hours)


def _hour(row: dict[str, str], line: int, faults: list[Fault]) -> Hour | None:
    try:
        at = datetime.fromisoformat((row.get("time") or "").strip()).replace(tzinfo=None)
    except ValueError:
        read = repr((row.get("time") or "")[:40])
        faults.append(Fault("forecast, time", read, "such as 2026-11-25T07:00", line))
        return None
    values: dict[str, float | None] = {}
    for name, (low, high) in _RANGES.items():
        cell = (row.get(name) or "").strip()
        if not cell and name == "wind_m_s":
            values[name] = None
            continue
        try:
            value = float(cell)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            allowed = f"a number from {low:g} to {high:g}"
            faults.append(Fault(f"forecast, {name}", repr(cell[:40]), allowed, line))
            return None
        values[name] = value
    temperature, percent = values["temperature_c"], values["humidity_percent"]
    assert temperature is not None and percent is not None  # noqa: S101, PT018 - only wind may be
    return Hour(at, temperature, percent / 100, values["wind_m_s"])


def hours_from(
    text: str, first: date, days: int = 7, near: Station | None = None
) -> tuple[Hour, ...]:
    """Coming hours from a forecast, or from weather in an open format.

    A typical or past year in any of ``warmside.weather.FORMATS`` stands for the days from ``first``
    on (`climate_hours`), in the local standard time of its place, or of the house ``near`` where
    the file does not say; anything else is a forecast (`read_forecast`).

    Raises
    ------
    InputError
        A text that is none of these, or a fault in it.
    """
    if format_of(text) is None:
        return read_forecast(text)
    return climate_hours(read_weather(text, near), first, days)


def climate_hours(climate: HourlyClimate, first: date, days: int = 7) -> tuple[Hour, ...]:
    """The same days of a year of weather, as if they were to come.

    Parameters
    ----------
    climate : HourlyClimate
        Hours of a station, read from an open format or made from normals.
    first : date
        First day wanted; its month and day count, not its year.
    days : int
        Days, 1 to 16.

    Raises
    ------
    InputError
        None of these days is among the hours.
    """
    start = (climate.time0.month, climate.time0.day)
    year = climate.time0.year + ((first.month, first.day) < start)
    day = min(first.day, 28) if first.month == 2 else first.day
    begin = datetime(year, first.month, day)
    skip = int((begin - climate.time0).total_seconds() // 3600)
    hours = []
    for k in range(max(skip, 0), min(skip + 24 * days, climate.hours)):
        at = datetime(first.year, first.month, first.day) + timedelta(hours=k - skip)
        hours.append(Hour(at, float(climate.temperature[k]), float(climate.humidity[k]),
                          float(climate.wind_speed[k])))  # fmt: skip
    if not hours:
        last = climate.time0 + timedelta(hours=climate.hours)
        read = f"{climate.time0:%Y-%m-%d} to {last:%Y-%m-%d}"
        raise InputError([Fault("hourly weather", read, f"the days from {first:%m-%d} on")])
    return tuple(hours)


@dataclass(frozen=True)
class WorkRules:
    """How the work area is kept, and when people work.

    ``surface_share`` is the share of the way from outdoors to indoors at which the sprayed surface
    stands: 0 outdoors, 1 at the room's temperature; see `surface_share`.
    """

    family: str
    room: float = 20.0  # [degC] the work area is heated to this
    surface_share: float = 0.7  # [-]
    outside: bool = False  # sprayed from outside: the surface and the wind are the weather's
    start: int = 7  # [h] of the day
    end: int = 18  # [h]


@dataclass(frozen=True)
class WorkHour:
    """One hour judged."""

    hour: Hour
    surface: float  # [degC]
    spread: float  # [K] above the dew point of the air of the work area
    humidity: float  # [-] of the air of the work area
    reasons: tuple[str | Sentence, ...]  # why it cannot be worked; empty where it can

    @property
    def workable(self) -> bool:
        """Whether foam may be sprayed."""
        return not self.reasons

    @property
    def in_hours(self) -> bool:
        """Whether it lies in the working day."""
        return _OFF not in self.reasons


def surface_share(build_up: BuildUp) -> float:
    """Where the surface to be sprayed stands between outdoors (0) and the room (1) [-].

    ``f = (R_out + R_layers) / (R_in + R_out + R_layers)`` with the layers outside the studs as
    found, the wall open to the room, ``R_in`` 0.13 and ``R_out`` 0.04 m2 K/W (ISO 6946). Air
    layers are left out: the surface is then taken a little too cold.

    Parameters
    ----------
    build_up : BuildUp
        The option on its wall.
    """
    bay = next((s for s in build_up.stacks if s.kind == "bay"), build_up.stacks[0])
    resistance = 0.0
    for layer in bay.layers:
        outside = layer.role in ("sheathing", "paper", "cladding")
        if outside and layer.conductivity and not layer.vented:
            resistance += layer.thickness / layer.conductivity
    behind = OUTSIDE_FILM + resistance
    return behind / (INSIDE_FILM + behind)


def work_hours(hours: tuple[Hour, ...], rules: WorkRules, catalog: Catalog) -> tuple[WorkHour, ...]:
    """Every hour judged against the gates of spraying.

    Indoors the fan draws outdoor air through the work area, so that its vapour pressure is taken
    as that outdoors, warmed to the room's temperature; the surface is
    ``t_o + f (t_room - t_o)``. Outside, air and surface are the weather's.

    Parameters
    ----------
    hours : tuple of Hour
        A forecast or a climate.
    rules : WorkRules
        How the work area is kept.
    catalog : Catalog
        Limits of the working day.
    """
    return tuple(_judged(hour, rules, catalog) for hour in hours)


def _judged(hour: Hour, rules: WorkRules, catalog: Catalog) -> WorkHour:
    air, humidity, surface = hour.temperature, hour.humidity, hour.temperature
    if not rules.outside:
        air = max(rules.room, hour.temperature)
        vapour = vapour_pressure(hour.temperature, max(hour.humidity, 0.01))
        humidity = min(relative_humidity(air, vapour), 1.0)
        surface = hour.temperature + rules.surface_share * (air - hour.temperature)
    spread = dew_point_spread(air, humidity, surface)
    return WorkHour(hour, surface, spread, humidity,
                    tuple(_reasons(hour, rules, catalog, surface, spread, humidity)))  # fmt: skip


def _reasons(
    hour: Hour,
    rules: WorkRules,
    catalog: Catalog,
    surface: float,
    spread: float,
    humidity: float,
) -> Iterator[str | Sentence]:
    if not rules.start <= hour.at.hour < rules.end:
        yield _OFF
    limit = catalog.site_figure("substrate-temperature", rules.family)
    if surface < limit.least:
        yield say(
            "surface too cold: {surface}, {least} at least",
            surface=Figure(surface, "temperature"),
            least=Figure(limit.least, "temperature"),
        )
    if surface > limit.most:
        yield say(
            "surface too warm: {surface}, {most} at most",
            surface=Figure(surface, "temperature"),
            most=Figure(limit.most, "temperature"),
        )
    least = catalog.site_figure("dew-point-spread").least
    if spread < least:
        yield say(
            "surface only {spread} above the dew point, {least} at least",
            spread=Figure(spread, "difference"),
            least=Figure(least, "difference"),
        )
    most = catalog.site_figure("air-humidity").most
    if humidity > most:
        yield say(
            "too humid: {humidity}, {most} at most",
            humidity=Figure(humidity, "share"),
            most=Figure(most, "share"),
        )
    if rules.outside:
        wind = catalog.site_figure("wind").most
        if hour.wind is None:
            yield "wind not in the forecast"
        elif hour.wind > wind:
            yield say("too much wind: {wind}, {most} at most", wind=Figure(hour.wind, "wind"),
                      most=Figure(wind, "wind"))  # fmt: skip


@dataclass(frozen=True)
class Window:
    """Hours in a row that can be worked, from ``start`` to before ``end``."""

    start: datetime
    end: datetime

    @property
    def hours(self) -> float:
        """How long [h]."""
        return (self.end - self.start).total_seconds() / 3600


def windows(judged: tuple[WorkHour, ...]) -> tuple[Window, ...]:
    """Workable hours joined where they follow each other."""
    found: list[Window] = []
    for one in judged:
        if not one.workable:
            continue
        end = one.hour.at + timedelta(hours=1)
        if found and found[-1].end == one.hour.at:
            found[-1] = Window(found[-1].start, end)
        else:
            found.append(Window(one.hour.at, end))
    return tuple(found)


def warmest_need(hours: tuple[Hour, ...], rules: WorkRules, catalog: Catalog) -> float | None:
    """Room temperature at which every working hour's surface is warm enough [degC].

    ``t_room = (t_least - (1 - f) t_o) / f`` at the coldest working hour; None outside, or where no
    hour lies in the working day. More than about 30 degC is told as it is: then wait.
    """
    cold = [h.temperature for h in hours if rules.start <= h.at.hour < rules.end]
    if rules.outside or not cold or rules.surface_share <= 0:
        return None
    least = catalog.site_figure("substrate-temperature", rules.family).least
    share = rules.surface_share
    return (least - (1 - share) * min(cold)) / share
