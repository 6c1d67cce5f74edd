"""The open formats: one row each, and nothing else knows their names.

To add one, write its reader beside the others and its row here, and put a small sample into
``weather/samples``; the tests walk through this table.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from warmside.weather.assembly import Records, Station
from warmside.weather.formats.eccc import read_eccc
from warmside.weather.formats.isd_lite import read_isd_lite
from warmside.weather.formats.nsrdb import read_nsrdb
from warmside.weather.formats.plain import read_plain
from warmside.weather.formats.power import read_power
from warmside.weather.formats.pvgis import read_pvgis_csv, read_pvgis_json
from warmside.weather.formats.tmy3 import read_tmy3
from warmside.weather.formats.wy3 import read_wy3

__all__ = ["FORMATS", "Format"]


@dataclass(frozen=True)
class Format:
    """An open format of hourly weather.

    Attributes
    ----------
    id : str
        One word.
    name : str
        As its publisher calls it, and who that is.
    marked : str
        How a file of it is recognised, in words.
    is_it : callable
        Whether the first 8000 characters of a file, in small letters, are of it.
    hours : str
        Its zone, and what moment its stamp means.
    sample : str
        File in ``weather/samples``.
    read : callable
        Text of the file and the place of the house -> ``Records``.
    """

    id: str
    name: str
    marked: str
    is_it: Callable[[str], bool]
    hours: str
    sample: str
    read: Callable[[str, Station | None], Records]


def _line(head: str, number: int) -> str:
    lines = [line for line in head.split("\n", number + 1) if line.strip()]
    return lines[number] if len(lines) > number else ""


def _isd(head: str) -> bool:
    cells = _line(head, 0).split()
    return len(cells) == 12 and all(re.fullmatch(r"-?\d{1,6}", cell) for cell in cells)


def _wy3(head: str) -> bool:
    return _line(head, 0).count(",") >= 8 and bool(re.match(r"[^,]{8}\d{10}", _line(head, 1)))


FORMATS: tuple[Format, ...] = (
    Format(
        "tmy3", "Typical year TMY3, CSV (US National Renewable Energy Laboratory)",
        "a column 'Dry-bulb (C)'", lambda head: "dry-bulb (c)" in head,
        "local standard time, end of the hour", "tmy3.csv.xz", read_tmy3,
    ),
    Format(
        "nsrdb", "National Solar Radiation Data Base, PSM CSV (US)",
        "'Local Time Zone' in its first line", lambda head: "local time zone" in _line(head, 0),
        "the zone that its second line names, a minute within the hour", "nsrdb.csv.xz", read_nsrdb,
    ),
    Format(
        "pvgis-csv", "Typical year of PVGIS, CSV (European Commission)",
        "a line that begins with 'time(UTC)'",
        lambda head: re.search(r"^time\(utc\),", head, re.MULTILINE) is not None,
        "universal time, state on the hour", "pvgis.csv.xz", read_pvgis_csv,
    ),
    Format(
        "pvgis-json", "Typical year of PVGIS, JSON (European Commission)",
        "a JSON object that holds 'inputs' and 'outputs'",
        lambda head: head.lstrip().startswith("{") and '"inputs"' in head,
        "universal time, state on the hour", "pvgis.json.xz", read_pvgis_json,
    ),
    Format(
        "eccc", "Hourly data of Environment and Climate Change Canada, CSV",
        "columns 'Temp (°C)' and 'Date/Time'",
        lambda head: "temp (" in head and "date/time" in head,
        "local standard time, state on the hour", "eccc.csv.xz", read_eccc,
    ),
    Format(
        "isd-lite", "Integrated Surface Data, Lite (US weather service, NOAA)",
        "twelve whole numbers in its first line", _isd,
        "universal time, state on the hour", "isd-lite.txt.xz", read_isd_lite,
    ),
    Format(
        "wy3", "Canadian Weather Energy and Engineering Datasets, record WY3",
        "nine cells of the station, then records with date and hour in columns 9 to 18", _wy3,
        "local standard time, end of the hour", "wy3.txt.xz", read_wy3,
    ),
    Format(
        "power", "Hourly data of NASA POWER, CSV (US space agency)",
        "'NASA/POWER' below '-BEGIN HEADER-'",
        lambda head: "-begin header-" in head and "nasa/power" in head,
        "universal or solar time as its header says, hour that begins at the stamp",
        "power.csv.xz", read_power,
    ),
    Format(
        "plain", "A plain CSV of one's own",
        "a column 'hour_end'",
        lambda head: re.search(r"(^|,)\s*hour_end\s*(,|$)", head, re.MULTILINE) is not None,
        "local standard time, end of the hour", "plain.csv.xz", read_plain,
    ),
)  # fmt: skip
