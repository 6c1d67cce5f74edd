"""The price file: a TOML file of the user's own; the one that comes with it is invented."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, get_args

from warmside.errors import Fault, InputError, UnitError
from warmside.estimate.parts import ROUGH_WOOD, EnergyRow, PriceList, PriceRow, RowKind, Travel
from warmside.estimate.price_table import price_text
from warmside.estimate.terms import NUMBERS, USUAL_STAGES, Contractor, Stage, Terms
from warmside.estimate.trade_units import choices, per
from warmside.options import KINDS, Trade
from warmside.promises import FinishedJob
from warmside.toml import parse
from warmside.units import parse as parse_quantity
from warmside.works import WORKS

TRADES: tuple[Trade, ...] = get_args(Trade)
_HIGHEST = Decimal(10) ** 7
_SIZE_LIMIT = 250_000  # bytes
_FAULT_LIMIT = 50  # faults that are told; a file with more is no price file
_HEAD = (
    "title", "invented", "currency", "place", "margin", "mark_up", "minimum_charge", "discount",
    "rough_wood",
)  # fmt: skip

# unit of each price row; those in _WITH_ITEM may carry an item: "batt:glass-batt"
_UNITS: dict[RowKind, dict[str, str]] = {
    "material": {
        "foam_closed_cell": "board ft",
        "foam_open_cell": "board ft",
        "sealant_300ml": "cartridge",
        "backer_rod": "m",
        "box_gasket": "each",
        "masking": "m2",
        "finish_sheet": "sheet",
        "plaster": "m2",
        "paint": "m2",
        "vapour_control": "m2",
        "batt": "m2",
        "furring": "m",
        "jamb_extension": "each",
        "sheathing_sheet": "sheet",
        "exterior_board": "m2",
        "membrane": "m2",
        "cladding": "m2",
        **{group: unit for kind in KINDS.values() for group, unit in kind.bought.items()},
        **{group: unit for work in WORKS for group, unit in work.bought.items()},
    },
    "labour": {"labour": "h"},
    "disposal": {"fill_bag": "bag", "bin": "bin", "abatement": "each"},
    "rate": {
        task.key: f"h/{task.unit}"
        for tasks in (*(k.tasks for k in KINDS.values()), *(work.tasks for work in WORKS))
        for task in tasks
    },
}
_WITH_ITEM = {
    "foam_closed_cell", "foam_open_cell", "finish_sheet", "plaster", "paint", "vapour_control",
    "batt", "furring", "jamb_extension", "sheathing_sheet", "exterior_board", "membrane",
    "cladding", "bin", "abatement", "labour",
    *(group for kind in KINDS.values() for group in kind.bought),
    *(group for work in WORKS for group in work.bought),
}  # fmt: skip
_KINDS: tuple[RowKind, ...] = ("material", "labour", "disposal", "fixed", "rate")


def read_prices(source: Path | str) -> PriceList:
    """Price list of a file, or of its text.

    Parameters
    ----------
    source : Path or str
        A ``Path`` is a file; a ``str`` is the text itself.

    Returns
    -------
    PriceList
        Checked; numbers are decimals as written.

    Raises
    ------
    InputError
        Every fault of the file, each with its row, what was read and what is allowed.
    """
    text = _read_text(source) if isinstance(source, Path) else source
    return _Reader(text).read()


_BY_FOOT = {"m": "ft", "m2": "ft2", "m3": "yd3", "kg": "lb", "L": "gal", "km": "mile"}
_ROW = re.compile(r'((?:price|hours) = )([\d.]+), unit = "(h/)?(' + "|".join(_BY_FOOT) + r')"')


def default_text(currency: str = "CAD", region: str = "") -> str:
    """Text of the invented price file that comes with the program.

    Its figures are invented in every currency alike; in dollars of the United States they stand
    for feet, pounds and gallons.

    Parameters
    ----------
    currency : str
        ISO 4217 code, put at its head.
    region : str
        Province of the house, whose taxes then apply; elsewhere than in Canada one invented tax.
    """
    text = (files("warmside.estimate") / "data" / "prices.toml").read_text(encoding="utf-8")
    taxed = region if f'\nplace = "{region}"' in text else "ON"
    place = taxed if currency == "CAD" else "elsewhere"
    for key, ours, theirs in (("place", "ON", place), ("currency", "CAD", currency)):
        text = text.replace(f'{key} = "{ours}"', f'{key} = "{theirs}"', 1)  # at the head alone
    return _by_foot(text) if currency == "USD" else text


def _by_foot(text: str) -> str:
    """Goods and hours for the units that the trade of the United States counts in."""

    def row(found: re.Match[str]) -> str:
        head, amount, hours, unit = found.groups()
        ours = _BY_FOOT[unit]
        amount = Decimal(amount) / per(unit, ours)
        return f'{head}{float(f"{amount:.2g}"):g}, unit = "{hours or ""}{ours}"'

    goods, fuels = text.split("[energy]")
    return f"{_ROW.sub(row, goods)}[energy]{fuels}"


@cache
def default_prices(currency: str = "CAD", region: str = "") -> PriceList:
    """The invented price list that comes with the program; see ``default_text``."""
    return read_prices(default_text(currency, region))


def write_default(path: Path) -> Path:
    """Write a copy of the invented price file for the user to make his own.

    Parameters
    ----------
    path : Path
        A file that does not exist yet.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    InputError
        The file exists, or cannot be written.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(default_text())
    except FileExistsError:
        allowed = "a file that does not exist yet, so that no prices are lost"
        raise InputError([Fault("price file", f"'{path}', which exists", allowed)]) from None
    except OSError as error:
        fault = Fault("price file", f"'{path}' ({error.strerror})", "a file that can be written")
        raise InputError([fault]) from None
    return path


def _read_text(path: Path) -> str:
    try:
        if path.suffix.lower() in (".csv", ".xlsx"):
            return price_text(path)
        with path.open("rb") as file:
            raw = file.read(_SIZE_LIMIT + 1)
        return raw.decode("utf-8-sig", "strict" if len(raw) <= _SIZE_LIMIT else "replace")
    except OSError as error:
        fault = Fault("price file", f"'{path}' ({error.strerror})", "a file that can be read")
        raise InputError([fault]) from None
    except UnicodeDecodeError:
        raise InputError([Fault("price file", f"'{path}'", "text in UTF-8")]) from None


@dataclass(frozen=True)
class _Number:
    """A field that holds a number, and how it may look."""

    key: str
    highest: Decimal
    allowed: str


_MARK_UP = _Number("mark_up", Decimal(10), "a share of cost from 0 to 10, such as 0.25")
_MARGIN = _Number("margin", Decimal("0.9"), "a share of the price from 0 to 0.9, such as 0.2")
_OFF = _Number("discount", Decimal("0.9"), "a share from 0 to 0.9, such as 0.05")
_WAY = _Number("distance", Decimal(5000), "one way, from 0 to 5000")
_FREE = _Number("free", Decimal(5000), "what is not charged, from 0 to 5000")
_EACH_WAY = _Number("price", Decimal(1000), "an amount of money for one unit of the way")
_TAX = _Number("rate", Decimal(1), "a share from 0 to 1, such as 0.13")
_ROUGH = _Number("rough_wood", Decimal(5), "a share of the sealant from 0 to 5, such as 0.12")
_MINIMUM = _Number("minimum_charge", _HIGHEST, "an amount of money, 0 or more")
_MONEY = _Number("price", _HIGHEST, "an amount of money, 0 or more, such as 1.35")
_RISE = _Number("rise", Decimal("0.5"), "a share a year from 0 to 0.5, such as 0.02")
_DISCOUNT = _Number("discount_rate", Decimal("0.5"), "a share a year from 0 to 0.5, such as 0.04")
_YEARS, _USUAL_YEARS = (1, 60), 30
# what the trade sells fuel by (`sold_as`); an own fuel may be sold by another
_ENERGY_UNIT, _ENERGY_UNITS = (
    re.compile(r"[A-Za-z][A-Za-z0-9]{0,19}"),
    "m3, ccf, therm, L, gal (United States), kWh, cord",
)
_MOST_HEAT = 1e15  # [J] of a house in a year
_HOLDBACK = _Number("holdback", Decimal("0.5"), "a share from 0 to 0.5, such as 0.10")
_SHARE = _Number("share", Decimal(1), "a share of the price from 0 to 1, such as 0.15")
_HOURS = _Number("hours", Decimal(1000), "hours per unit from 0 to 1000, such as 0.02")


class _Reader:
    """Reads one text, gathering every fault."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.faults: list[Fault] = []

    def read(self) -> PriceList:
        data = self._parse()
        known = (
            *_HEAD, "tax", "subcontract", "travel", *_KINDS, "energy", "saving", "contractor",
            "terms", "stage", "finished",
        )  # fmt: skip
        self._unknown("", data, known)
        discount, years = self._saving(data)
        trades, subcontract = self._subcontract(data)
        place = self._place(data)
        prices = PriceList(
            currency=self._currency(data),
            title=self._text(data, "title", "title"),
            invented=self._invented(data),
            rows=tuple(row for kind in _KINDS for row in self._rows(kind, data)),
            mark_up=self._mark_up(data),
            taxes=tuple(self._taxes(data, place)),
            rough=self._number("rough_wood", data, _ROUGH, ROUGH_WOOD),
            minimum=self._number("minimum_charge", data, _MINIMUM, Decimal(0)),
            energy=tuple(self._energy(data)),
            discount=discount,
            years=years,
            finished=tuple(self._finished(data)),
            contractor=self._contractor(data),
            terms=self._terms(data),
            subcontracted=trades,
            subcontract=subcontract,
            reduction=self._number("discount", data, _OFF, Decimal(0)),
            travel=self._travel(data),
            place=place,
        )
        if self.faults:
            raise InputError(self.faults)
        return prices

    def _parse(self) -> dict[str, Any]:
        allowed = "TOML, one row a line"
        return parse(self.text, "price file", _SIZE_LIMIT, allowed, parse_float=Decimal)

    def _fault(self, place: str, read: str, allowed: str) -> None:
        self.faults.append(Fault(place, read, allowed, self._line(place)))
        if len(self.faults) >= _FAULT_LIMIT:
            raise InputError(self.faults)

    def _line(self, place: str) -> int | None:
        """Line on which the row or key of ``place`` starts, where it can be found."""
        kind, _, key = place.partition(",")[0].rpartition(".")
        table = None
        for number, line in enumerate(self.text.splitlines(), 1):
            if header := re.match(r"\s*\[+\s*([^\]]*?)\s*\]", line):
                table = header.group(1)
                if table == place.partition(",")[0]:
                    return number
            elif (table or "") == kind and re.match(
                rf"""\s*["']?{re.escape(key)}["']?\s*=""", line
            ):
                return number
        return None

    def _unknown(self, place: str, table: Mapping[str, Any], known: tuple[str, ...]) -> None:
        for key in table:
            if key not in known:
                where = f"{place}, {_word(key)}" if place else _word(key)
                self._fault(where, f"unknown key '{_word(key)}'", _allowed(key, known))

    def _text(self, table: Mapping[str, Any], key: str, place: str) -> str:
        value = table.get(key)
        if isinstance(value, str) and 0 < len(value.strip()) <= 200 and value.isprintable():
            return value.strip()
        self._fault(place, _shown(table, key), "a line of text of 1 to 200 characters")
        return ""

    def _currency(self, data: Mapping[str, Any]) -> str:
        value = data.get("currency")
        if isinstance(value, str) and re.fullmatch("[A-Z]{3}", value):
            return value
        allowed = "a currency code of three capitals (ISO 4217), such as CAD"
        self._fault("currency", _shown(data, "currency"), allowed)
        return ""

    def _invented(self, data: Mapping[str, Any]) -> bool:
        value = data.get("invented", False)
        if not isinstance(value, bool):
            self._fault("invented", _shown(data, "invented"), "true or false")
        return value is True

    def _number(
        self, place: str, table: Mapping[str, Any], field: _Number, default: Decimal | None = None
    ) -> Decimal:
        value = table.get(field.key, default)
        if isinstance(value, int | Decimal) and not isinstance(value, bool):
            number = Decimal(value)
            if number.is_finite() and 0 <= number <= field.highest:
                return abs(number)  # no minus before a zero
        self._fault(place, _shown(table, field.key), field.allowed)
        return Decimal(0)

    def _mark_up(self, data: Mapping[str, Any]) -> Decimal:
        """What is added to cost: as such, or as the margin ``m`` of the price, ``m / (1 - m)``."""
        if "margin" in data and "mark_up" in data:
            self._fault("mark_up", "mark_up and margin", "one of the two")
        if "margin" in data:
            margin = self._number("margin", data, _MARGIN)
            return margin / (1 - margin)
        return self._number("mark_up", data, _MARK_UP)

    def _place(self, data: Mapping[str, Any]) -> str:
        return self._text(data, "place", "place") if "place" in data else ""

    def _taxes(self, data: Mapping[str, Any], place: str) -> list[tuple[str, Decimal]]:
        """Taxes that hold everywhere, and those of the ``place`` named at the head."""
        taxes = data.get("tax", [])
        if not isinstance(taxes, list) or not all(isinstance(tax, dict) for tax in taxes):
            self._fault("tax", _shown(data, "tax"), "[[tax]] with name and rate")
            return []
        found: list[tuple[str, Decimal]] = []
        seen: set[tuple[str, str]] = set()
        places: set[str] = set()
        for number, tax in enumerate(taxes, 1):
            where = f"tax {number}"
            self._unknown(where, tax, ("name", "rate", "place"))
            name = self._text(tax, "name", f"{where}, name")
            of = self._text(tax, "place", f"{where}, place") if "place" in tax else ""
            if name and (name, of) in seen:
                self._fault(f"{where}, name", f"'{name}' a second time", "each tax once")
            seen.add((name, of))
            places |= {of} if of else set()
            rate = self._number(f"{where}, rate", tax, _TAX)
            if of in ("", place):
                found.append((name, rate))
        if places and place not in places:
            read = f"'{place}'" if place else "nothing"
            self._fault("place", read, f"one that a [[tax]] names: {', '.join(sorted(places))}")
        return found

    def _subcontract(self, data: Mapping[str, Any]) -> tuple[tuple[Trade, ...], Decimal]:
        """Trades that others do, and what is added to what they cost."""
        if "subcontract" not in data:
            return (), Decimal(0)
        table = self._table(data, "subcontract")
        self._unknown("subcontract", table, ("trades", "mark_up"))
        trades = table.get("trades", [])
        if not isinstance(trades, list) or any(trade not in TRADES for trade in trades):
            self._fault("subcontract, trades", _shown(table, "trades"), ", ".join(TRADES[1:]))
            trades = []
        rate = self._number("subcontract, mark_up", table, _MARK_UP)
        return tuple(dict.fromkeys(trades)), rate

    def _travel(self, data: Mapping[str, Any]) -> Travel | None:
        if "travel" not in data:
            return None
        table = self._table(data, "travel")
        self._unknown("travel", table, ("distance", "free", "trips", "price", "unit"))
        unit, trips = table.get("unit", "km"), table.get("trips", 1)
        if unit not in ("km", "mile"):
            self._fault("travel, unit", _shown(table, "unit"), '"km" or "mile"')
        if isinstance(trips, bool) or not isinstance(trips, int) or not 0 <= trips <= 200:
            self._fault("travel, trips", _shown(table, "trips"), "a whole number from 0 to 200")
            trips = 0
        return Travel(
            self._number("travel, distance", table, _WAY, Decimal(0)),
            self._number("travel, free", table, _FREE, Decimal(0)),
            trips,
            self._number("travel, price", table, _EACH_WAY, Decimal(0)),
            str(unit),
        )

    def _rows(self, kind: RowKind, data: Mapping[str, Any]) -> list[PriceRow]:
        table = data.get(kind, {})
        if not isinstance(table, dict):
            self._fault(kind, _shown(data, kind), f"a table [{kind}] with one row a line")
            return []
        return [row for key in table if (row := self._row(kind, key, table))]

    def _energy(self, data: Mapping[str, Any]) -> list[EnergyRow]:
        table = self._table(data, "energy")
        rows = []
        for key, row in table.items():
            place = f"energy.{_word(key)}"
            if not isinstance(row, dict):
                allowed = '{ price = 0.55, unit = "m3", rise = 0.02 }'
                self._fault(place, _shown(table, key), allowed)
                continue
            self._unknown(place, row, ("price", "unit", "rise"))
            if not _ENERGY_UNIT.fullmatch(str(row.get("unit", ""))):
                allowed = f"the unit of the catalog's fuel, such as {_ENERGY_UNITS}"
                self._fault(f"{place}, unit", _shown(row, "unit"), allowed)
            price = self._number(f"{place}, price", row, _MONEY)
            rise = self._number(f"{place}, rise", row, _RISE, Decimal(0))
            rows.append(EnergyRow(key, str(row.get("unit", "")), price, rise))
        return rows

    def _saving(self, data: Mapping[str, Any]) -> tuple[Decimal | None, int]:
        """Discount rate and years; without the table, savings are not valued over years."""
        if "saving" not in data:
            return None, _USUAL_YEARS
        table = self._table(data, "saving")
        self._unknown("saving", table, ("discount_rate", "years"))
        rate = self._number("saving, discount_rate", table, _DISCOUNT)
        years = table.get("years", _USUAL_YEARS)
        low, high = _YEARS
        if isinstance(years, bool) or not isinstance(years, int) or not low <= years <= high:
            allowed = f"a whole number from {low} to {high}"
            self._fault("saving, years", _shown(table, "years"), allowed)
            years = _USUAL_YEARS
        return rate, years

    def _finished(self, data: Mapping[str, Any]) -> list[FinishedJob]:
        """Jobs whose saving was measured by bills before and after."""
        jobs = data.get("finished", [])
        if not isinstance(jobs, list) or not all(isinstance(job, dict) for job in jobs):
            allowed = "[[finished]] with job, computed and measured"
            self._fault("finished", _shown(data, "finished"), allowed)
            return []
        found = []
        for number, job in enumerate(jobs, 1):
            place = f"finished {number}"
            self._unknown(place, job, ("job", "computed", "measured", "calibrated"))
            name = self._text(job, "job", f"{place}, job")
            computed, measured = (
                self._heat(job, key, f"{place}, {key}", least)
                for key, least in (("computed", 1.0), ("measured", -1e15))
            )
            calibrated = job.get("calibrated", False)
            if not isinstance(calibrated, bool):
                self._fault(f"{place}, calibrated", _shown(job, "calibrated"), "true or false")
            elif computed and measured is not None:
                found.append(FinishedJob(name, computed, measured, calibrated))
        return found

    def _heat(self, table: Mapping[str, Any], key: str, place: str, least: float) -> float | None:
        """Heat of a year [J] with its unit."""
        value = table.get(key)
        if isinstance(value, str):
            with suppress(UnitError):
                heat = parse_quantity(value, "energy")
                if least <= heat <= _MOST_HEAT:
                    return heat
        self._fault(place, _shown(table, key), 'heat of a year with its unit: "5400 kWh"')
        return None

    def _contractor(self, data: Mapping[str, Any]) -> Contractor:
        table = self._table(data, "contractor")
        known = tuple(field.name for field in fields(Contractor))
        self._unknown("contractor", table, known)
        return Contractor(
            **{key: self._text(table, key, f"contractor, {key}") for key in known if key in table}
        )

    def _terms(self, data: Mapping[str, Any]) -> Terms:
        table = self._table(data, "terms")
        self._unknown("terms", table, (*NUMBERS, "holdback"))
        whole = {key: self._whole(table, key) for key in NUMBERS if key in table}
        holdback = self._number("terms, holdback", table, _HOLDBACK, Decimal(0))
        return Terms(**whole, holdback=holdback, stages=self._stages(data))

    def _whole(self, table: Mapping[str, Any], key: str) -> int:
        value, (low, high) = table[key], NUMBERS[key]
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        allowed = f"a whole number from {low} to {high}"
        self._fault(f"terms, {key}", _shown(table, key), allowed)
        return low

    def _stages(self, data: Mapping[str, Any]) -> tuple[Stage, ...]:
        """When which share is due; the usual ones where the file names none."""
        rows = data.get("stage", [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self._fault("stage", _shown(data, "stage"), "[[stage]] with name and share")
            return USUAL_STAGES
        stages = []
        for number, row in enumerate(rows, 1):
            place = f"stage {number}"
            self._unknown(place, row, ("name", "share"))
            name = self._text(row, "name", f"{place}, name")
            stages.append(Stage(name, self._number(f"{place}, share", row, _SHARE)))
        whole = sum((stage.share for stage in stages), Decimal(0))
        if stages and whole != 1:
            self._fault("stage", f"shares of {whole} in all", "shares that add up to 1 exactly")
        return tuple(stages) or USUAL_STAGES

    def _table(self, data: Mapping[str, Any], key: str) -> dict[str, Any]:
        table = data.get(key, {})
        if isinstance(table, dict):
            return table
        self._fault(key, _shown(data, key), f"a table [{key}]")
        return {}

    def _row(self, kind: RowKind, key: str, table: Mapping[str, Any]) -> PriceRow | None:
        place = f"{kind}.{_word(key)}"
        unit = self._unit_of(kind, key, place)
        row = table[key]
        field = _HOURS if kind == "rate" else _MONEY
        if not isinstance(row, dict):
            allowed = f'{{ {field.key} = ..., unit = "{unit or "..."}" }}'
            self._fault(place, _shown(table, key), allowed)
            return None
        self._unknown(place, row, (field.key, "unit", "name", "note", "trade", "own"))
        chosen = row.get("unit")
        if unit is not None and chosen not in choices(unit):
            allowed = " or ".join(f'"{one}"' for one in choices(unit))
            self._fault(f"{place}, unit", _shown(row, "unit"), allowed)
            chosen = unit
        trade, own = row.get("trade"), row.get("own", False)
        if trade is not None and trade not in TRADES:
            self._fault(f"{place}, trade", _shown(row, "trade"), ", ".join(TRADES))
        if not isinstance(own, bool):
            self._fault(f"{place}, own", _shown(row, "own"), "true or false")
        price = self._number(f"{place}, {field.key}", row, field)
        name, note = (
            self._text(row, word, f"{place}, {word}") if word in row else ""
            for word in ("name", "note")
        )
        factor = per(unit, str(chosen)) if unit is not None else Decimal(1)
        return PriceRow(
            key, name or key.replace("_", " "), str(chosen or ""), price, kind, note, factor,
            trade, own is True,
        )  # fmt: skip

    def _unit_of(self, kind: RowKind, key: str, place: str) -> str | None:
        if kind == "fixed":  # rows of the user's own naming, charged once for a house
            if re.fullmatch(r"[a-z][a-z0-9_]{0,39}", key):
                return "house"
            self._fault(
                place, f"'{_word(key)}'", "small letters, digits and _, such as mobilisation"
            )
            return None
        known = _UNITS[kind]
        group, colon, item = key.partition(":")
        unit = known.get(group) if (not colon or (item and group in _WITH_ITEM)) else None
        tasks = list(_UNITS["rate"])
        if unit is None or (kind == "labour" and colon and item not in tasks):
            items = [f"labour:{task}" for task in tasks] if kind == "labour" else []
            self._fault(place, f"unknown row '{_word(key)}'", _allowed(key, known, items))
            return None
        return unit


def _allowed(key: str, known: Iterable[str], more: Iterable[str] = ()) -> str:
    """What is known, and which of it (or of ``more``) is nearest to ``key``."""
    names = tuple(known)
    near = get_close_matches(key[:40], (*names, *more), 1, 0.5)
    return ", ".join(names) + (f"; nearest: {near[0]}" if near else "")


def _shown(table: Mapping[str, Any], key: str) -> str:
    """What stands in the table, short enough to print."""
    if key not in table:
        return "nothing"
    value = table[key]
    words = f"'{value}'" if isinstance(value, Decimal) else repr(value)
    return words if len(words) <= 60 else words[:57] + "..."


def _word(key: str) -> str:
    """A key as it may be printed: without control characters, not long."""
    return "".join(c if c.isprintable() else "?" for c in key[:60])
