"""Between a survey's text and a form: what to show, and what was changed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from warmside.errors import Fault
from warmside.web import cached
from warmside.web.fields import Field, Layout, Rows

Path = tuple[str | int, ...]
_MOST_ROWS = 200
_ROW = re.compile("[0-9]{1,4}")


@dataclass(frozen=True)
class Shown:
    """A field as the page shows it."""

    field: Field
    name: str
    text: str
    whole: bool = True  # False: holds more than the form can show, so it is only read here
    fault: str = ""


@dataclass(frozen=True)
class ShownRow:
    """One row of a list; the last one is empty, to be filled in."""

    name: str
    cells: tuple[Shown, ...]
    remove: str  # name of the box that takes the row out; "" for the empty one
    label: str


@dataclass(frozen=True)
class ShownRows:
    """A list of rows with its title."""

    rows: Rows
    shown: tuple[ShownRow, ...]

    @property
    def count(self) -> int:
        """Rows that are there."""
        return sum(bool(row.remove) for row in self.shown)

    @property
    def wrong(self) -> bool:
        """Whether a fault is told in one of them, so that the list stands open."""
        return any(cell.fault for row in self.shown for cell in row.cells)


@dataclass(frozen=True)
class ShownForm:
    """The whole form."""

    groups: tuple[tuple[str, tuple[Shown, ...]], ...]
    lists: tuple[ShownRows, ...]


@dataclass(frozen=True)
class Both:
    """A field that somebody else changed meanwhile: how it was, what they and you wrote."""

    where: str
    was: str
    theirs: str
    mine: str
    dropped: bool = False  # rows were added or taken out: yours has no sure place any more

    @property
    def clash(self) -> bool:
        """Whether you changed it too, and otherwise."""
        return self.mine not in (self.was, self.theirs)


class Edit:
    """A form over the table at ``place`` of a survey text.

    Parameters
    ----------
    text : str
        The survey, as the form was or will be filled from it.
    place : tuple
        Path of the table: ``("house",)``, ``("wall", 0)``.
    layout : Layout
        Its fields.
    """

    def __init__(self, text: str, place: Path, layout: Layout) -> None:
        self._all = cached.parsed(text)
        self._place, self._layout = place, layout
        table: Any = self._all
        for part in place:
            table = table[part] if isinstance(part, int) else table.get(part, {})
        self._table: Mapping[str, Any] = table

    def shown(
        self,
        typed: Mapping[str, str] | None = None,
        faults: tuple[Fault, ...] = (),
        rows_of: Mapping[str, str] | None = None,
    ) -> ShownForm:
        """The form, filled from the survey or from what was ``typed``, faults beside fields."""
        rows_of = rows_of or typed or {}
        groups = tuple(
            (group.title, tuple(self._cell(f, f.name, self._table, typed, faults, self._place)
                                for f in group.fields))
            for group in self._layout.groups
        )  # fmt: skip
        lists = tuple(self._list(rows, typed, faults, rows_of) for rows in self._layout.rows)
        return ShownForm(groups, lists)

    def fields_of(
        self, faults: tuple[Fault, ...], typed: Mapping[str, str] | None = None
    ) -> dict[Fault, str]:
        """Name of the field in which each fault is to be mended, where the form has it."""
        named = {(*self._place, *f.path): f.name for g in self._layout.groups for f in g.fields}
        for rows in self._layout.rows:
            for n in self._numbers(rows, typed):
                place, first = self._row_place(rows, n, typed), f"{rows.key}.{n}."
                named |= {(*place, *f.path): first + f.name for f in rows.fields}
                named[place] = first + rows.fields[0].name
        found = {}
        for fault in faults:
            ends = (fault.path[:k] for k in range(len(fault.path), 0, -1))
            name = next((named[end] for end in ends if end in named), "")
            if name:
                found[fault] = name
        return found

    def texts(self, rows_of: Mapping[str, str] | None = None) -> dict[str, tuple[str, str]]:
        """Every field by its name: what it is called, and its text.

        ``rows_of`` is a form whose added rows are counted in, with nothing in them.
        """
        form, found = self.shown(rows_of=rows_of), dict[str, tuple[str, str]]()
        for _, cells in form.groups:
            found |= {cell.name: (cell.field.label, cell.text) for cell in cells}
        for rows in form.lists:
            for row in rows.shown:
                label = row.label or f"another {rows.rows.one}"
                found |= {c.name: (f"{label}, {c.field.label}", c.text) for c in row.cells}
        return found

    def counts(self) -> dict[str, int]:
        """Rows of each list."""
        return {rows.key: len(self._rows(rows)[0]) for rows in self._layout.rows}

    def changes(self, typed: Mapping[str, str]) -> dict[Path, Any]:
        """What was typed that differs from the survey, by the survey's paths."""
        found: dict[Path, Any] = {}
        for group in self._layout.groups:
            for field in group.fields:
                for path, value in _changed(field, field.name, self._table, typed):
                    found[(*self._place, *path)] = value
        for rows in self._layout.rows:
            found |= self._row_changes(rows, typed)
        return found

    def _row_changes(self, rows: Rows, typed: Mapping[str, str]) -> dict[Path, Any]:
        found: dict[Path, Any] = {}
        there, base = self._rows(rows)
        for n, row in enumerate(there):
            if typed.get(f"{rows.key}.{n}.remove"):
                found[(*base, n)] = None
                continue
            for field in rows.fields:
                for path, value in _changed(field, f"{rows.key}.{n}.{field.name}", row, typed):
                    found[(*base, n, *path)] = value
        for n, new in enumerate(self._added(rows, typed).values(), len(there)):
            found[(*base, n)] = new
        return found

    def row_numbers(self, typed: Mapping[str, str]) -> dict[str, str]:
        """Rows of the survey that the form makes, ``opening.2``, by their names in the form."""
        found = {}
        for rows in self._layout.rows:
            kept = [n for n in range(len(self._rows(rows)[0]))
                    if not typed.get(f"{rows.key}.{n}.remove")]  # fmt: skip
            for place, n in enumerate([*kept, *self._added(rows, typed)]):
                found[f"{rows.key}.{place}"] = f"{rows.key}.{n}"
        return found

    def _added(self, rows: Rows, typed: Mapping[str, str]) -> dict[int, dict[str, Any]]:
        """Rows that the survey does not have, by their numbers in the form."""
        found: dict[int, dict[str, Any]] = {}
        for n in self._new_numbers(rows, typed):
            new: dict[str, Any] = {}
            for field in rows.fields:
                for path, value in _changed(field, f"{rows.key}.{n}.{field.name}", {}, typed):
                    new[str(path[0])] = value
            if any(f.kind != "choice" and f.path[0] in new for f in rows.fields):
                found[n] = new
        return found

    def _new_numbers(self, rows: Rows, typed: Mapping[str, str]) -> list[int]:
        """Numbers of rows beyond the survey's that a form has, full or empty."""
        told = (name.split(".", 2) for name in typed if name.startswith(f"{rows.key}."))
        numbers = {int(n[1]) for n in told if len(n) == 3 and _ROW.fullmatch(n[1])}
        first = len(self._rows(rows)[0])
        return sorted(n for n in numbers if first <= n < first + _MOST_ROWS)

    def _numbers(self, rows: Rows, typed: Mapping[str, str] | None) -> list[int]:
        """Numbers of all rows to show: the survey's, those added, and an empty one."""
        count, added = len(self._rows(rows)[0]), list(self._added(rows, typed or {}))
        return [*range(count), *added, max(added, default=count - 1) + 1]

    def _rows(self, rows: Rows) -> tuple[list[Mapping[str, Any]], Path]:
        holder, place = (self._all, ()) if rows.of_survey else (self._table, self._place)
        there = holder.get(rows.key, [])
        tables: list[Mapping[str, Any]]
        tables = [r for r in there if isinstance(r, dict)] if isinstance(there, list) else []
        return tables[:_MOST_ROWS], (*place, rows.key)

    def _row_place(self, rows: Rows, n: int, typed: Mapping[str, str] | None) -> Path:
        """Where row ``n`` stands in the survey once the rows to be taken out are gone."""
        base, gone = self._rows(rows)[1], typed or {}
        if gone.get(f"{rows.key}.{n}.remove"):
            return (*base, "taken out")
        count = len(self._rows(rows)[0])
        if n >= count:
            n = count + sum(k < n for k in self._added(rows, gone))
        return (*base, n - sum(bool(gone.get(f"{rows.key}.{k}.remove")) for k in range(n)))

    def _list(
        self,
        rows: Rows,
        typed: Mapping[str, str] | None,
        faults: tuple[Fault, ...],
        rows_of: Mapping[str, str],
    ) -> ShownRows:
        there, _ = self._rows(rows)
        shown = []
        for n in self._numbers(rows, rows_of):
            row = there[n] if n < len(there) else {}
            place = self._row_place(rows, n, typed)
            cells = tuple(
                self._cell(f, f"{rows.key}.{n}.{f.name}", row, typed, faults, place)
                for f in rows.fields
            )
            there_already = n < len(there)
            label = (typed or {}).get(f"{rows.key}.{n}.name", "").strip()
            if there_already:
                label = str(row.get("name") or f"{rows.one} {n + 1}")
            remove = f"{rows.key}.{n}.remove" if there_already else ""
            shown.append(ShownRow(f"{rows.key}.{n}", cells, remove, label))
        return ShownRows(rows, tuple(shown))

    @staticmethod
    def _cell(
        field: Field,
        name: str,
        table: Mapping[str, Any],
        typed: Mapping[str, str] | None,
        faults: tuple[Fault, ...],
        place: Path,
    ) -> Shown:
        text, whole = _text(field, table)
        if typed is not None and whole:
            text = typed.get(name, "")
        return Shown(field, name, text, whole, _fault_of((*place, *field.path), faults))


def merged(
    before: Edit, now: Edit, typed: Mapping[str, str]
) -> tuple[dict[str, str], tuple[Both, ...]]:
    """A form that was typed while another was quicker.

    Parameters
    ----------
    before, now : Edit
        The form as it was begun from, and as it stands.
    typed : mapping
        What was sent.

    Returns
    -------
    tuple
        What to go on from: what you changed as you typed it, the rest as it stands; and every
        field that the other changed.
    """
    old, new, told = before.texts(typed), now.texts(), list[Both]()
    kept, rows = dict(typed), now.counts()
    shifted = {key for key, count in before.counts().items() if count != rows[key]}
    for name in {**new, **old}:
        label, theirs = new.get(name) or (old[name][0], "")
        was, mine = old.get(name, (label, ""))[1], " ".join(typed.get(name, "").split())
        same, lost = mine == " ".join(was.split()), name.partition(".")[0] in shifted
        if same or lost:
            kept[name] = theirs
        if was != theirs or (lost and not same):
            told.append(Both(label, was, theirs, mine, lost and not same))
    for key in shifted:  # a row that was to be taken out may be another now
        kept = {k: v for k, v in kept.items() if not (k.startswith(f"{key}.") and k not in new)}
    return kept, tuple(told)


def _fault_of(path: Path, faults: tuple[Fault, ...]) -> str:
    """What is wrong at ``path`` of the survey, or below it."""
    told = (f for f in faults if f.path[: len(path)] == path)
    return next((f"read {fault.read}; allowed: {fault.allowed}" for fault in told), "")


def _value(field: Field, table: Mapping[str, Any]) -> Any:
    value: Any = table
    for key in field.path:
        value = value.get(key) if isinstance(value, Mapping) else None
    return value


def _text(field: Field, table: Mapping[str, Any]) -> tuple[str, bool]:
    """A value as a form shows it, and whether that is all of it."""
    value = _value(field, table)
    if value is None:
        return "", True
    if isinstance(value, bool):
        return ("yes" if value else ""), True
    if isinstance(value, str | int | float):
        return str(value), True
    if field.kind == "names" and all(isinstance(v, str) for v in value):
        return ", ".join(value), True
    return "more than fits here: see the survey text", False


def _changed(
    field: Field, name: str, table: Mapping[str, Any], typed: Mapping[str, str]
) -> Iterator[tuple[tuple[str, ...], Any]]:
    if name not in typed and field.kind != "check":
        return
    before, whole = _text(field, table)
    now = typed.get(name, "").strip()
    if field.kind != "long":
        now = " ".join(now.split())
    if not whole or now == before.strip():
        return
    if field.kind == "check":
        yield field.path, bool(now)
    elif not now:
        if _value(field, table) is not None:
            yield field.path, None
    elif field.kind == "names":
        yield field.path, [part for part in (p.strip() for p in now.split(",")) if part]
    else:
        yield field.path, _as_before(now, _value(field, table))


def _as_before(text: str, before: Any) -> Any:
    """A number stays a number in the file; a decimal comma is one too."""
    if isinstance(before, bool) or not isinstance(before, int | float):
        return text
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return text
    if number != number or abs(number) > 1e12:
        return text
    return int(number) if number == int(number) else number
