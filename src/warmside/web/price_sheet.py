"""The table of the prices as its page lays it out: sections in order, each row by its own name."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from warmside.catalog import Catalog
from warmside.errors import Fault
from warmside.estimate import COLUMNS
from warmside.options import KINDS
from warmside.works import WORKS

Row = tuple[str, ...]
_PART, _KEY, _VALUE, _UNIT, _TRADE, _NAME, _RISE, _, _NOTE = range(len(COLUMNS))


@dataclass(frozen=True)
class Line:
    """One row: its number in the whole table, what to call it, what explains it, its cells."""

    number: int
    label: str
    hint: str
    key: str
    value: str
    unit: str
    trade: str
    rise: str
    answers: tuple[tuple[str, str], ...] = ()  # what may be chosen; any text where empty
    decimal: bool = True


@dataclass(frozen=True)
class Section:
    """A part of the price file under its title; a column without a head is not shown."""

    part: str
    title: str
    value: str
    unit: str = ""
    trade: bool = False
    rise: str = ""
    open: bool = False
    lines: tuple[Line, ...] = ()

    @property
    def amounts(self) -> bool:
        """Whether its values are numbers under each other, not texts."""
        return self.value != "value"

    def holds(self, cells: Collection[str]) -> bool:
        """Whether one of these cells is in it."""
        return any(cell.startswith(f"{line.number}.") for line in self.lines for cell in cells)


_SECTIONS = (
    Section("head", "The list", "value", open=True),
    Section("labour", "What an hour costs", "price", "by", trade=True, open=True),
    Section("material", "Goods", "price", "by", trade=True, open=True),
    Section("rate", "Hours for one unit of work", "hours", "by", trade=True),
    Section("disposal", "Disposal", "price", "by", trade=True),
    Section("fixed", "Once for the house", "price", "by", trade=True),
    Section("subcontract", "Trades that others do for you", "value"),
    Section("travel", "Travel", "value"),
    Section("tax", "Taxes; the place named in the list decides which apply", "share", "place"),
    Section("stage", "When which share of the price is due", "share"),
    Section("terms", "Terms", "value"),
    Section("contractor", "At the head of every paper", "value"),
    Section("energy", "Fuel, as the client pays it", "price", "by", rise="rise a year, share"),
    Section("saving", "Savings over years", "value"),
)
# rows of one value: label, and its unit or what it is a share of
_SHARE = "as a share; 0.25 is 25 %"
_SINGLE = {
    ("head", "title"): ("Name of the list", "printed beside every price"),
    ("head", "invented"): ("Prices are invented", "every paper says so"),
    ("head", "currency"): ("Currency", "three capitals, such as CAD or USD"),
    ("head", "place"): ("Province or state", "taxes that name it apply"),
    ("head", "mark_up"): ("Mark-up on cost", _SHARE),
    ("head", "margin"): ("Margin of the price", _SHARE),
    ("head", "minimum_charge"): ("Least charge for a house", "before taxes"),
    ("head", "rough_wood"): ("Sealant beyond the beads' geometry", _SHARE),
    ("head", "discount"): ("Discount on cost and mark-up", _SHARE),
    ("subcontract", "trades"): ("Trades", "semicolons between"),
    ("subcontract", "mark_up"): ("Mark-up on what they ask", _SHARE),
    ("travel", "distance"): ("Distance, each way", "in the unit below"),
    ("travel", "free"): ("Not charged, of each way", "in the unit below"),
    ("travel", "trips"): ("Trips", ""),
    ("travel", "price"): ("Price for one unit", ""),
    ("travel", "unit"): ("Unit", "km or mile"),
    ("saving", "discount_rate"): ("What money earns elsewhere, a year", _SHARE),
    ("saving", "years"): ("Years that count", "years"),
    ("contractor", "name"): ("Name", ""),
    ("contractor", "licence"): ("Licence", ""),
    ("contractor", "phone"): ("Phone", ""),
    ("contractor", "address"): ("Address", ""),
    ("contractor", "email"): ("E-mail", ""),
    ("contractor", "tax_number"): ("Tax number", ""),
    ("contractor", "mark"): ("Your own mark", "a picture file beside the price file"),
    ("terms", "valid_days"): ("An offer stands for", "days"),
    ("terms", "start_weeks"): ("From signature to first day of work", "weeks"),
    ("terms", "crew"): ("Crew", "people"),
    ("terms", "hours_a_day"): ("Working day", "hours"),
    ("terms", "holdback"): ("Kept back of every invoice", _SHARE),
    ("terms", "holdback_days"): ("Until it is paid", "days"),
    ("terms", "warranty_years"): ("Warranty on the work", "years"),
    ("terms", "cancel_days"): ("Time to cancel after signing", "days"),
}
_TEXTS = {"title", "currency", "place", "trades", "unit"}
_YES_NO = (("true", "yes"), ("false", "no"))


def sheet(rows: tuple[Row, ...], known: Catalog) -> tuple[Section, ...]:
    """Rows of a price table under their sections, in the order of the page.

    Parameters
    ----------
    rows : tuple of Row
        Under ``COLUMNS``, as ``table_of`` gives them.
    known : Catalog
        Names the fuels.
    """
    tasks = task_names()
    fuels = {id: fuel.name for id, fuel in known.fuels.items()}
    lines: dict[str, list[Line]] = {}
    for number, row in enumerate(rows):
        lines.setdefault(row[_PART], []).append(_line(number, row, tasks, fuels))
    return tuple(
        replace(section, lines=tuple(lines[section.part]))
        for section in _SECTIONS
        if section.part in lines
    )


def task_names() -> dict[str, str]:
    """Every task that a price list may hold hours of, by its key."""
    of_kinds = {task.key: task.name for kind in KINDS.values() for task in kind.tasks}
    return of_kinds | {task.key: task.name for work in WORKS for task in work.tasks}


def _line(number: int, row: Row, tasks: Mapping[str, str], fuels: Mapping[str, str]) -> Line:
    part, key = row[_PART], row[_KEY]
    label, hint = _named(row, tasks, fuels)
    return Line(
        number, label, hint, key, row[_VALUE], row[_UNIT], row[_TRADE], row[_RISE],
        _YES_NO if (part, key) == ("head", "invented") else (),
        part != "contractor" and key not in _TEXTS,
    )  # fmt: skip


def _named(row: Row, tasks: Mapping[str, str], fuels: Mapping[str, str]) -> tuple[str, str]:
    """What a row is called, and what tells it from its neighbours."""
    part, key, name, note = row[_PART], row[_KEY], row[_NAME], row[_NOTE]
    if (part, key) in _SINGLE:
        return _SINGLE[(part, key)]
    if part == "rate":
        return name or tasks.get(key, _words(key)), note
    if part == "energy":
        return fuels.get(key, _words(key)), note
    _, colon, item = key.partition(":")
    if part == "labour":
        of = tasks.get(item, _words(item)) if colon else "all other work"
        return name or _words(key), "; ".join(text for text in (of, note) if text)
    return name or _words(key), "; ".join(text for text in (_words(item), note) if text)


def _words(key: str) -> str:
    return key.replace("_", " ").replace("-", " ")


def at_cells(faults: tuple[Fault, ...], sections: tuple[Section, ...]) -> dict[Fault, str]:
    """Faults of a table that was typed, by the labels of the page; each with its cell's name."""
    cells: dict[str, tuple[Section, Line]] = {}
    for section in sections:
        for count, line in enumerate(section.lines, 1):
            for place in (
                f"row {line.number}", f"{section.part}.{line.key}", f"{section.part}, {line.key}",
                f"{section.part} {count}", *([line.key] if section.part == "head" else []),
            ):  # fmt: skip
                cells.setdefault(place, (section, line))
    return dict(_at_cell(fault, cells) for fault in faults)


def _at_cell(fault: Fault, cells: Mapping[str, tuple[Section, Line]]) -> tuple[Fault, str]:
    place, _, column = fault.place.rpartition(", ")
    if fault.place.startswith("price table, ") and fault.line is not None:
        there = cells.get(f"row {fault.line - 2}")  # its head is line 1, its first row line 2
    else:
        there = cells.get(fault.place) or cells.get(place)
    if there is None:
        return replace(fault, line=None), ""
    section, line = there
    told = replace(fault, place=f"{section.title.partition(';')[0]}: {line.label}", line=None)
    return told, f"{line.number}.{column if column in ('unit', 'trade', 'rise') else 'value'}"
