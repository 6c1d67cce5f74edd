"""Places of North America: monthly figures of open government data, looked up in any usual way.

The table is read when the first place is asked for. What a station lacks is borrowed from a named
neighbour within a stated distance or derived by a named rule, and said in the row; where neither
serves it stays missing.
"""

from __future__ import annotations

import csv
import io
import lzma
import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from importlib import resources
from math import asin, cos, exp, radians, sin, sqrt

from warmside.catalog._rows import Climate, Source, Tag
from warmside.errors import UnknownRowError

Months = tuple[float, ...]

# How far a neighbour may be [km], and how much higher or lower [m]
HUMIDITY_WITHIN, WIND_WITHIN, ROSE_WITHIN, RAIN_WITHIN, HIGHER = 150.0, 150.0, 250.0, 100.0, 300.0
# Dew point below the mean temperature in freezing months, at most [K]: 4.0 and 4.3 in winters of
# two cold stations with hourly files; computed
FREEZING_SPREAD = 4.2
_SAME_PLACE = 2.0  # [km]
PLACE_WITHIN = 300.0  # [km] from a position or a ZIP area to the station that stands for it
# January's 2.5 and 1 % below its mean daily minimum [K]: mean of 125 US stations whose January is
# below freezing, standard deviation 3.7 K; computed
BELOW_MINIMUM, BELOW_MINIMUM_1 = 9.2, 10.9
EARTH = 6371.0  # [km]
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

_SOURCES: dict[str, tuple[str, Tag]] = {
    "ccd": ("US National Oceanic and Atmospheric Administration, Comparative Climatic Data 2018, "
            "normals 1981-2010", "published"),
    "ccd+tmy3dir": ("US National Oceanic and Atmospheric Administration, Comparative Climatic Data "
                    "2018, mean of the record", "published"),
    "tmy3": ("mean of one typical year, not a normal: TMY3, US National Renewable Energy "
             "Laboratory 2008 (NREL/TP-581-43156)", "computed"),
    "eccc-page": ("Environment and Climate Change Canada, climate normals {years} (Open Government "
                  "Licence - Canada)", "published"),
    "eccc-weathercan": ("Environment and Climate Change Canada, climate normals {years} (Open "
                        "Government Licence - Canada)", "second-hand"),
    "eccc-xml": ("Environment and Climate Change Canada, climate normals {years} (Open Government "
                 "Licence - Canada)", "second-hand"),
    "eccc-daily": ("own means {years} of daily values of Environment and Climate Change Canada "
                   "(Open Government Licence - Canada)", "computed"),
    "eccc-hourly": ("own means {years}, six years only, of hourly values of Environment and "
                    "Climate Change Canada (Open Government Licence - Canada)", "computed"),
    "eccc": ("Environment and Climate Change Canada, climate normals {years} (Open Government "
             "Licence - Canada)", "second-hand"),
    "erbs": ("from the monthly means by the method of Erbs", "computed"),
    "cligen": ("US Department of Agriculture, long-term statistics of the nearest station",
               "published"),
}  # fmt: skip
_BASIS = {
    "tmy3": "design nights: 2.5 and 1 % of January's hours of one typical year, milder than a "
            "code's figure; write the code's own as design_temperature",
    "hours": "design nights: 2.5 and 1 % of January's hours of six years; write the code's own as "
             "design_temperature",
    "days": "design night: 2.5 % of January's daily means, milder than its hours; write the code's "
            "own as design_temperature",
    "": "design nights: derived, 9.2 and 10.9 K below January's mean daily minimum (±4 K); write "
        "the code's own as design_temperature",
}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """A station of the table as it stands there, cells as text, "" where it has none."""

    id: str
    name: str
    region: str
    latitude: float  # [deg]
    longitude: float  # [deg]
    elevation: float  # [m]
    cells: Mapping[str, str]

    def months(self, name: str) -> Months | None:
        """Twelve figures (192 of a rose), None where the station has none."""
        text = self.cells[name]
        return tuple(float(cell) for cell in text.split(" ")) if text else None


@cache
def places() -> tuple[Place, ...]:
    """Every place of the table."""
    packed = (resources.files("warmside.catalog") / "data" / "places.csv.xz").read_bytes()
    rows = csv.DictReader(io.StringIO(lzma.decompress(packed).decode("utf-8")))
    return tuple(
        Place(row["id"], row["name"], row["region"], float(row["lat"]), float(row["lon"]),
              float(row["elevation_m"] or 0.0), row)
        for row in rows
    )  # fmt: skip


def find_place(key: str, rows: Iterable[str] = ()) -> Climate:
    """The climate of a place of the table.

    Parameters
    ----------
    key : str
        Its id ("minneapolis-st-paul-mn"), its name with or without the state ("Duluth, MN"), one
        letter of which may be wrong; a ZIP code or its first three figures ("558"); or a position
        in degrees ("46.8, -92.1").
    rows : iterable of str
        Ids of other rows, named among the nearest.

    Raises
    ------
    UnknownRowError
        No such place, several of that name, or no station within 300 km of the position.
    """
    text = key.strip() if isinstance(key, str) else ""
    position = re.fullmatch(r"(-?\d{1,2}(?:\.\d+)?)\s*[,; ]\s*(-?\d{1,3}(?:\.\d+)?)", text)
    if position:
        return _nearest(float(position[1]), float(position[2]), text)
    if re.fullmatch(r"\d{3}(\d\d(-\d{4})?)?", text):
        return _of_zip(text)
    return _named(text, tuple(rows))


def _named(text: str, rows: tuple[str, ...]) -> Climate:
    wanted = _slug(text[:100])
    by_id = {place.id: place for place in places()}
    if wanted in by_id:
        return climate_of(by_id[wanted])
    same = [place for place in places() if _town(place) == wanted]
    if not same and len(wanted) > 3:  # "minneapolis" of "minneapolis-st-paul"
        same = [p for p in places() if p.id.startswith(wanted + "-") and not _older(p)]
    if len(same) == 1:
        return climate_of(same[0])
    if same:
        raise UnknownRowError("climate", text, tuple(place.id for place in same))
    towns: dict[str, list[Place]] = {}
    for place in places():
        for name in (place.id, _town(place)):
            towns.setdefault(name, []).append(place)
    close = [name for name in towns if one_letter(wanted, name)]
    if len(close) == 1 and len(towns[close[0]]) == 1:
        place = towns[close[0]][0]
        return climate_of(place, (f"place: '{text[:60]}' was taken as {place.name}",))
    known = sorted({*towns, *rows})
    near = close or get_close_matches(wanted, known, n=3, cutoff=0.5)
    names = [p.id for name in near for p in towns.get(name, ())] or list(near)
    names += [name for name in near if name in rows and name not in names]
    raise UnknownRowError("climate", text, tuple(dict.fromkeys(names))[:5])


def _of_zip(text: str) -> Climate:
    prefix = int(text[:3])
    for first, last, state, latitude, longitude in _prefixes():
        if first <= prefix <= last:
            # a ZIP code is of the United States: their money and code, whoever's station is near
            american = [place for place in places() if place.cells["country"] == "US"]
            return _nearest(latitude, longitude, f"ZIP {text[:3]}", american, state)
    raise UnknownRowError("climate", text, ())


@cache
def _prefixes() -> tuple[tuple[int, int, str, float, float], ...]:
    """First and last prefix of a mail area, its state, and where the middle one of its codes is, to
    60 km (from memory, held against an open table of the postal service's codes)."""
    path = resources.files("warmside.catalog") / "data" / "zip_prefixes.csv"
    rows = csv.reader(path.read_text("utf-8").splitlines()[1:])
    return tuple((int(a), int(b), state, float(c), float(d)) for a, b, state, c, d in rows)


def _nearest(
    latitude: float,
    longitude: float,
    said: str,
    among: Sequence[Place] | None = None,
    state: str = "",
) -> Climate:
    """The climate of the nearest place; money and code are those of ``state`` where it is known."""
    among = places() if among is None else among
    far = [(_km(latitude, longitude, place), place) for place in among if not _older(place)]
    distance, place = min(far, key=lambda one: one[0])
    if distance > PLACE_WITHIN:
        near = tuple(p.id for _, p in sorted(far, key=lambda one: one[0])[:3])
        raise UnknownRowError("climate", said, near)
    how = " (the middle of that mail area)" if said.startswith("ZIP") else ""
    where = f"{place.name}, {place.region}, {distance:.0f} km from {said}{how}"
    law = f"are those of {state}" if state else "follow it"
    found = climate_of(place, (f"place: {where}, is the nearest; money and code {law}",))
    return replace(found, jurisdiction=state)


def _older(place: Place) -> bool:
    """An older edition of a place that stands in the table twice."""
    return re.search(r"-\d{4}-\d{4}$", place.id) is not None


def _town(place: Place) -> str:
    return place.id.removesuffix("-" + place.region.lower())


def _slug(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain.replace("'", "")).strip("-")


def one_letter(a: str, b: str) -> bool:
    """Whether one letter put in, taken out, changed or swapped makes one of the other."""
    if abs(len(a) - len(b)) > 1 or min(len(a), len(b)) < 4:
        return False
    k = next((k for k, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    rest = a[k:], b[k:]
    return (
        rest[0][1:] == rest[1][1:]
        or rest[0][1:] == rest[1]
        or rest[0] == rest[1][1:]
        or (rest[0][:2] == rest[1][1::-1] and rest[0][2:] == rest[1][2:])
    )


def _km(latitude: float, longitude: float, place: Place) -> float:
    north, east = radians(place.latitude - latitude), radians(place.longitude - longitude)
    across = cos(radians(latitude)) * cos(radians(place.latitude)) * sin(east / 2.0) ** 2
    return 2.0 * EARTH * asin(min(sqrt(sin(north / 2.0) ** 2 + across), 1.0))


def climate_of(place: Place, said: tuple[str, ...] = ()) -> Climate:
    """The row of a place: its own figures, then what is borrowed or derived, each said."""
    notes = list(said)
    mean, high, low = _temperatures(place, notes)
    humidity, source_humidity = _humidity(place, mean, low, notes)
    design, design_1 = _design(place, low, notes)
    wind, rain, sun = _wind(place, notes), _rain(place, mean, notes), place.months("sun_kwh_m2_d")
    if sun is None:
        notes.append("sun: none recorded; from the daily range of temperature (±12 %)")
    rose, driven = _rose(place, notes)
    typical = place.cells["typical_rain"].split(" ")[0]
    temperature = _source(place.cells["temperature_source"])
    sources = (("wind", "wind_source"), ("rain", "rain_source"), ("sun", "sun_source"),
               ("rose", "rose_source"))  # fmt: skip
    return Climate(
        id=place.id, name=place.name, region=place.region, latitude=place.latitude,
        longitude=place.longitude, elevation=place.elevation, mean=mean, daily_max=high,
        daily_min=low, humidity=humidity, design=design, design_1=design_1,
        degree_days=_degree_days(place, mean), source=temperature,
        source_humidity=source_humidity, source_design=_design_source(place),
        country=place.cells["country"], zone=place.cells["zone"],
        utc_offset=float(place.cells["utc_h"]), wind=wind, rain=rain, sun=sun, rose=rose,
        driven_rain=driven, typical_rain=float(typical) if typical else None,
        hours=place.cells["hours"], said=tuple(notes),
        sources=tuple(
            (what, _source(place.cells[column])) for what, column in sources if place.cells[column]
        ),
    )  # fmt: skip


def completed(row: Climate) -> Climate:
    """A row of figures with the rain, wind and rose of places beside it, each borrowed said.

    What the row has, and what a place of the table was already told to lack, stays as it is.
    """
    missing = {
        "rain": row.rain is None, "wind": row.wind is None, "wind direction": row.rose is None
    }  # fmt: skip
    told = tuple(what for what in missing if any(note.startswith(f"{what}:") for note in row.said))
    missing = {what: lacks and what not in told for what, lacks in missing.items()}
    if not any(missing.values()):
        return row
    here = Place(row.id, row.name, row.region, row.latitude, row.longitude, row.elevation,
                 defaultdict(str))  # fmt: skip
    notes: list[str] = []
    if missing["rain"]:
        row = replace(row, rain=_rain(here, row.mean, notes))
    if missing["wind"]:
        row = replace(row, wind=_wind(here, notes))
    if missing["wind direction"]:
        rose, driven = _rose(here, notes)
        row = replace(row, rose=rose, driven_rain=row.driven_rain or driven)
    return replace(row, said=(*row.said, *notes))


def _source(code: str) -> Source:
    """Text and tag of a source by its code in the table, such as "eccc-page 1971-2000"."""
    stem = re.split(r"[ :]", code, maxsplit=1)[0]
    years = re.search(r"\d{4}-\d{4}", code)
    text, tag = _SOURCES[stem]
    return Source(text.format(years=years[0] if years else ""), tag)


def _temperatures(place: Place, notes: list[str]) -> tuple[Months, Months, Months]:
    mean, high, low = (place.months(f"{name}_c") for name in ("mean", "max", "min"))
    if mean is None or high is None:
        raise UnknownRowError("climate", place.id, ())
    if low is None:
        low = tuple(2.0 * m - h for m, h in zip(mean, high, strict=True))
        notes.append("daily minimum: none in the source; twice the mean less the maximum")
    return mean, high, low


def _humidity(place: Place, mean: Months, low: Months, notes: list[str]) -> tuple[Months, Source]:
    """Relative humidity [-]: recorded, by a neighbour's dew point, or by the daily minimum."""
    own = place.months("humidity")
    if own is not None:
        return own, _source(place.cells["humidity_source"])
    found = _neighbour(
        place, HUMIDITY_WITHIN, lambda one: bool(one.cells["dew_c"]) and bool(one.cells["min_c"])
    )
    if found:
        distance, other = found
        dew, floor = other.months("dew_c") or low, other.months("min_c") or low
        dew = tuple(t + d - f for t, d, f in zip(low, dew, floor, strict=True))
        notes.append(
            f"humidity: none recorded; the dew point stands to the daily minimum as at "
            f"{_from(other, distance)} (±2 K)"
        )
        source = Source(f"borrowed from {other.name}", "computed")
    else:
        dew = tuple(
            max(d, t - FREEZING_SPREAD) if t < 0.0 else d for d, t in zip(low, mean, strict=True)
        )
        notes.append("humidity: none recorded; the dew point is taken at the daily minimum (±2 K)")
        source = Source(
            "dew point at the daily minimum, FAO Irrigation and Drainage Paper 56", "from memory"
        )
    values = (
        min(max(_saturation(d) / _saturation(t), 0.2), 0.98) for d, t in zip(dew, mean, strict=True)
    )
    return tuple(round(value, 3) for value in values), source


def _from(other: Place, distance: float) -> str:
    """A neighbour by its name; its distance, unless it is another record of the same place."""
    return f"{other.name}, {distance:.0f} km off" if distance >= _SAME_PLACE else other.name


def _saturation(t: float) -> float:
    """Over water [Pa], Magnus form (from memory); only ratios of it are used."""
    return 610.94 * exp(17.625 * t / (243.04 + t))


def _design(place: Place, low: Months, notes: list[str]) -> tuple[float, float]:
    """Nights that 2.5 and 1 % of January's hours are colder than [degC]."""
    basis = place.cells["design_basis"]
    notes.append(_BASIS[basis])
    if not place.cells["design_c"]:
        return round(low[0] - BELOW_MINIMUM, 1), round(low[0] - BELOW_MINIMUM_1, 1)
    first = float(place.cells["design_c"])
    second = place.cells["design_1_c"]
    return first, float(second) if second else first - (BELOW_MINIMUM_1 - BELOW_MINIMUM)


def _design_source(place: Place) -> Source:
    if place.cells["design_basis"] == "tmy3":
        return _source("tmy3")
    return Source("computed from the station's own temperatures", "computed")


def _degree_days(place: Place, mean: Months) -> float:
    """Below 18 degC [K d]; of a sum below 18.3 degC, a day that is heated counts 0.3 K less."""
    total, base = float(place.cells["hdd"]), float(place.cells["hdd_base_c"])
    heated = sum(days for t, days in zip(mean, DAYS, strict=True) if t < 18.0)
    return round(max(total - (base - 18.0) * heated, 0.0))


def _wind(place: Place, notes: list[str]) -> Months | None:
    own = place.months("wind_m_s")
    if own is not None:
        return own
    found = _neighbour(place, WIND_WITHIN, lambda one: bool(one.cells["wind_m_s"]))
    if found:
        distance, other = found
        notes.append(f"wind: none recorded; that of {_from(other, distance)}")
        return other.months("wind_m_s")
    notes.append("wind: none recorded here or near; 4 m/s in every month is taken")
    return None


def _rain(place: Place, mean: Months, notes: list[str]) -> Months | None:
    """Liquid [mm a month]."""
    own = place.months("rain_mm")
    if own is not None:
        return own
    total = place.months("precipitation_mm")
    if total is not None:
        notes.append("rain: the source does not tell it from snow; shared by the month's mean")
        return tuple(
            round(p * min(max((t + 4.0) / 8.0, 0.0), 1.0), 1)
            for p, t in zip(total, mean, strict=True)
        )
    found = _neighbour(place, RAIN_WITHIN, lambda one: bool(one.cells["rain_mm"]))
    if found:
        distance, other = found
        notes.append(f"rain: none recorded; that of {_from(other, distance)}")
        return other.months("rain_mm")
    notes.append("rain: none recorded here or near; 70 mm a month is taken")
    return None


def _rose(
    place: Place, notes: list[str]
) -> tuple[tuple[tuple[float, ...], ...] | None, tuple[float, ...] | None]:
    """Shares of the wind by sector and month, and driven rain by the wall's orientation."""
    found = _neighbour(
        place, ROSE_WITHIN, lambda one: bool(one.cells["rose_per_mille"]), itself=True
    )
    if found is None:
        notes.append(
            "wind direction: none recorded here or near; mostly westerly "
            "is taken, so that no wall's driven rain can be told from another's"
        )
        return None, None
    distance, other = found
    if other is not place:
        notes.append(
            f"wind direction and driven rain by orientation: as at {_from(other, distance)}"
        )
    flat = other.months("rose_per_mille") or ()
    months = [flat[16 * m : 16 * m + 16] for m in range(12)]
    return tuple(tuple(share / sum(month) for share in month) for month in months), other.months(
        "driven_rain"
    )


def _neighbour(
    place: Place, within: float, has: Callable[[Place], bool], *, itself: bool = False
) -> tuple[float, Place] | None:
    """The nearest place that has something, within so many kilometres and 300 m of height."""
    if itself and has(place):
        return 0.0, place
    near = (
        (_km(place.latitude, place.longitude, one), one)
        for one in places()
        if one is not place and has(one) and abs(one.elevation - place.elevation) <= HIGHER
    )
    best = min(near, key=lambda one: one[0], default=None)
    return best if best is not None and best[0] <= within else None
