"""Any CSV with one header line."""

from __future__ import annotations

from collections.abc import Mapping

from warmside.errors import Fault, InputError
from warmside.physics.climate._assemble import Station, assemble
from warmside.physics.climate._hourly import HourlyClimate
from warmside.physics.climate.formats._text import (
    Source,
    column,
    rows_of,
    text_of,
    times_of,
)


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
    rows = rows_of(text_of(source), "CSV")
    header = [cell.strip() for cell in rows[0]]
    missing = [name for name in (time, *names.values()) if name not in header]
    if missing:
        raise InputError([Fault("CSV file, header", f"no {missing}", f"of {header[:30]}", line=1)])
    body = rows[1:]
    at = header.index(time)
    times = times_of(
        [r[at].strip().replace(" ", "T")[:16] if at < len(r) else "" for r in body], "CSV"
    )
    columns = {}
    for name, title in names.items():
        values = column(body, header.index(title))
        if values is not None:
            columns[name] = values * (factors or {}).get(name, 1.0) + (offsets or {}).get(name, 0.0)
    return assemble(times, columns, station)
