"""Checking cells: from what was read to texts and numbers inside their ranges."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from warmside.catalog._columns import COLUMNS, Column
from warmside.catalog._files import RawRow, Reading, shown
from warmside.catalog._near import nearest
from warmside.catalog._rows import Source, Tag

_NAME = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*\Z")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?\Z", re.ASCII)


class Cells:
    """The checked cells of one row; a faulty or missing one is noted in the reading.

    A getter of a faulty cell raises ``KeyError``: a row with faults is never built.
    """

    def __init__(self, raw: RawRow, reading: Reading, *, default_tag: Tag | None) -> None:
        self._raw = raw
        self._reading = reading
        self._values: dict[str, Any] = {}
        self._faulty: set[str] = set()
        for column in COLUMNS[raw.kind]:
            self._take(column, default_tag)

    @property
    def place(self) -> str:
        """File and line of the row."""
        line = "" if self._raw.line is None else f", line {self._raw.line}"
        return f"{self._raw.file}{line}"

    @property
    def sound(self) -> bool:
        """Whether no fault has been noted for this row."""
        return not self._faulty

    def faulty(self, *columns: str) -> bool:
        """Whether a fault has been noted for any of ``columns``."""
        return not self._faulty.isdisjoint(columns)

    def holds(self, *columns: str) -> bool:
        """Whether each of ``columns`` has a value in its form and range."""
        return all(column in self._values for column in columns)

    def refuse(self, column: str, read: object, allowed: str) -> None:
        """Note a fault of this row."""
        self._faulty.add(column)
        line = self._raw.line_of(column)
        self._reading.refuse(self._raw.place(column), shown(read), allowed, line)

    def text(self, column: str) -> str:
        """A text, empty where left out."""
        return str(self._values.get(column, ""))

    def number(self, column: str, unit: float = 1.0) -> float:
        """A number in SI: the cell times ``unit``."""
        return float(self._values[column]) * unit

    def optional(self, column: str, unit: float = 1.0) -> float | None:
        """A number in SI, or None where left out."""
        return self.number(column, unit) if self.holds(column) else None

    def months(self, column: str) -> tuple[float, ...]:
        """Twelve numbers."""
        return tuple(self._values[column])

    def pairs(self, column: str) -> tuple[tuple[float, float], ...]:
        """Pairs of (thickness [mm], value)."""
        return tuple(self._values[column])

    def tables(self, column: str) -> tuple[Mapping[str, object], ...]:
        """Inline tables."""
        return tuple(self._values[column])

    def source(self, suffix: str = "") -> Source:
        """The source and its tag."""
        return Source(self.text(f"source{suffix}"), self._values[f"tag{suffix}"])

    def ordered(self, *columns: str) -> None:
        """Refuse the row unless the numbers of ``columns`` rise (equal is allowed)."""
        if not self.holds(*columns):
            return
        values = [self.number(column) for column in columns]
        if sorted(values) != values:
            self.refuse(columns[1], f"{values[1]:g}", f"{' <= '.join(columns)} in this order")

    def within(self, column: str, value: float, span: tuple[float, float], what: str) -> None:
        """Refuse ``column`` if the figure it leads to lies outside the range of its class."""
        low, high = span
        if not low <= value <= high:
            self.refuse(column, f"{value:g} {what}", f"between {low:g} and {high:g} for its class")

    def _take(self, column: Column, default_tag: Tag | None) -> None:
        value = self._raw.cells.get(column.name)
        if value is None or (isinstance(value, str) and not value.strip()):
            if column.name.startswith("tag") and default_tag is not None:
                self._values[column.name] = default_tag
            elif column.required:
                self.refuse(column.name, "nothing", column.allowed)
            return
        checked = _checked(value, column)
        if checked is None:
            near = nearest(value, column.words) if isinstance(value, str) else ""
            self.refuse(column.name, value, column.allowed + near)
        else:
            self._values[column.name] = checked


def is_name(text: str) -> bool:
    """Whether a text can be the id of a row."""
    return len(text) <= 60 and bool(_NAME.match(text))


def _checked(value: object, column: Column) -> object:
    """The value in its form, or None if it does not fit ``column``."""
    if column.form in ("name", "text"):
        return _checked_text(value, column)
    if column.form in ("number", "whole"):
        return _checked_number(value, column)
    if not isinstance(value, list):
        return None
    if column.form == "tables":
        return tuple(value) if all(isinstance(one, dict) for one in value) else None
    return _checked_months(value, column) if column.form == "months" else _pairs(value, column)


def _checked_text(value: object, column: Column) -> str | None:
    if not isinstance(value, str) or len(value) > column.longest:
        return None
    text = value.replace("\u00a0", " ").strip()
    if not text.isprintable():
        return None
    # a spreadsheet would run a text that begins like this
    if text[0] in "=+-@|" and text != "-":  # "-" is the unit of a share
        return None
    if column.form == "name" and not is_name(text):
        return None
    return text if not column.words or text in column.words else None


def _checked_number(value: object, column: Column) -> float | None:
    if isinstance(value, str) and _NUMBER.match(value.strip()):
        number = float(value)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:
            return None
    else:
        return None
    if not math.isfinite(number) or not column.low <= number <= column.high:
        return None
    if column.form == "whole" and number != int(number):
        return None
    return number


def _checked_months(value: list[object], column: Column) -> tuple[float, ...] | None:
    numbers = [_checked_number(item, column) for item in value]
    found = tuple(number for number in numbers if number is not None)
    return found if len(value) == len(found) == 12 else None


def _pairs(value: list[object], column: Column) -> tuple[tuple[float, float], ...] | None:
    thickness = Column("thickness", "number", 1.0, 600.0)
    pairs: list[tuple[float, float]] = []
    for item in value:
        if not isinstance(item, list) or len(item) != 2:
            return None
        x, y = _checked_number(item[0], thickness), _checked_number(item[1], column)
        if x is None or y is None or (pairs and x <= pairs[-1][0]):
            return None
        pairs.append((x, y))
    return tuple(pairs) or None
