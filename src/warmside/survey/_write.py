"""Writing back: only what changed, with the file's comments and order kept.

Values are replaced in place. Whole tables are put in and taken out as lines of text, because the
notes that stand before the next heading belong to that heading, not to the table above them.
"""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from functools import lru_cache
from itertools import pairwise
from typing import Any

import tomlkit
from pydantic import BaseModel
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT

from warmside import units
from warmside.errors import Fault, InputError
from warmside.survey._file import read
from warmside.survey._models import FILE_NAMES, Survey
from warmside.survey.faults import place, reader_of, unwrapped
from warmside.toml import Path, headings, locate


def write(survey: Survey, original: str = "") -> str:
    """``survey`` as a file: ``original`` with only the changed values replaced.

    Values that did not change keep the text, comments and order they had. Without an original
    a plain file is written. Reading the result gives ``survey`` back.

    Raises
    ------
    InputError
        If ``original`` is not a survey.
    """
    new = _tables(survey)
    if not original.strip():
        return tomlkit.dumps(new)
    old = _tables(read(original))
    text = _structure(original, old, new, ())
    document = _parsed(text)
    _merge(document, old, new)
    return tomlkit.dumps(document)


def update(text: str, changes: Mapping[Path, Any]) -> str:
    """``text`` with the values at the given paths replaced (None takes a key out).

    Paths are file keys or attribute names: ``("wall", 0, "length")``. Values are as typed in the
    file: ``"24 ft"``. A count one past the end of a list adds to it.

    Raises
    ------
    InputError
        If a path does not exist, or the text then has faults.
    """
    named = {_file_path(path): value for path, value in changes.items()}
    by_line = _in_lines(text, named)
    if by_line is not None:
        read(by_line)
        return by_line
    document = _parsed(text)
    for path, value in named.items():
        if value is not None or not _spans(text, path):
            _set(document, path, value)
    text = tomlkit.dumps(document)
    for path, value in reversed(named.items()):
        if value is None:
            text = _cut(text, path)
    read(text)
    return text


def _in_lines(text: str, changes: Mapping[Path, Any]) -> str | None:
    """``text`` with values replaced that have a line to themselves; None where others are asked.

    An edited wall is written at every stroke: its lines are parsed, not the whole house.
    """
    places, lines = _places(text), text.removeprefix("\ufeff").split("\n")
    for path, value in changes.items():
        number, key = places.get(path, 0), path[-1]
        if value is None or not number or not isinstance(key, str):
            return None
        row = lines[number - 1]
        line = row.removesuffix("\r")
        try:
            alone = tomlkit.parse(line)
            if list(alone) != [key] or isinstance(alone[key], list | dict):
                return None
            alone[key] = value
        except (TOMLKitError, ValueError, TypeError):  # what the whole text then tells better
            return None
        lines[number - 1] = tomlkit.dumps(alone) + row[len(line) :]
    return "\n".join(lines)


@lru_cache(maxsize=32)  # the texts that people edit now
def _places(text: str) -> Mapping[Path, int]:
    return dict(locate(text.removeprefix("\ufeff")))


def _file_path(path: Path) -> Path:
    """The path by the file's keys; ``walls`` below an option is such a key itself."""
    return tuple(
        FILE_NAMES.get(p, p) if isinstance(p, str) and not (n and p == "walls") else p
        for n, p in enumerate(path)
    )


def _parsed(text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text.removeprefix("\ufeff"))
    except (TOMLKitError, ValueError, RecursionError) as error:
        fault = Fault("the text", str(error)[:80], "a survey file without faults")
        raise InputError([fault]) from None


def _set(document: Any, path: Path, value: Any) -> None:
    target = document
    try:
        for part, following in pairwise(path):
            if isinstance(part, str) and part not in target:
                target[part] = tomlkit.aot() if isinstance(following, int) else tomlkit.table()
            elif isinstance(part, int) and part == len(target):
                target.append(tomlkit.table())
            target = target[part]
        last = path[-1]
        if value is None:
            del target[last]
        elif isinstance(last, int) and last == len(target):
            target.append(value)
        else:
            target[last] = value
    except (LookupError, TypeError, AttributeError, ValueError, TOMLKitError):
        fault = Fault(place(path, document), "a place the file does not have", "a key of the file")
        raise InputError([fault]) from None


def _tables(record: BaseModel) -> dict[str, Any]:
    """A record as the tables of the file: trade text, defaults left out."""
    tables: dict[str, Any] = {}
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
        if not field.is_required() and value == field.default:
            continue
        reader = reader_of(unwrapped(field.annotation, tuple(field.metadata))[1])
        tables[field.alias or name] = (
            units.exact(value, reader.quantity) if reader and value is not None else _plain(value)
        )
    return tables


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return _tables(value)
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


def _spans(text: str, path: Path) -> list[range]:
    """Line numbers (from 0) of the tables at and below ``path``, without the notes that follow."""
    lines, heads = text.split("\n"), headings(text)
    spans = []
    for i, (line, head) in enumerate(heads):
        if head[: len(path)] != path:
            continue
        end = heads[i + 1][0] - 1 if i + 1 < len(heads) else len(lines)
        own = [n for n in range(line - 1, end) if lines[n].strip()[:1] not in ("", "#")]
        spans.append(range(line - 1, own[-1] + 1))
    return spans


def _cut(text: str, path: Path) -> str:
    """``text`` without the tables at and below ``path``."""
    gone = {n for span in _spans(text, path) for n in span}
    return "\n".join(line for n, line in enumerate(text.split("\n")) if n not in gone)


def _insert(text: str, path: Path, table: dict[str, Any]) -> str:
    """``text`` with one more table in the list at ``path``: after the last, else in its parent."""
    after = _spans(text, path) or _spans(text, path[:-1])
    lines = text.split("\n")
    at = max(span.stop for span in after) if path[:-1] or _spans(text, path) else len(lines)
    heading = [str(part) for part in path if isinstance(part, str)]
    nested: dict[str, Any] = {heading[-1]: [table]}
    for name in reversed(heading[:-1]):
        nested = {name: [nested]}
    rows = tomlkit.dumps(nested).rstrip("\n").split("\n")
    first = rows.index(f"[[{'.'.join(heading)}]]")
    return "\n".join([*lines[:at], "", *rows[first:], *lines[at:]])


def _structure(text: str, old: dict[str, Any], new: dict[str, Any], path: Path) -> str:
    """Put in and take out whole tables, in ``text`` and in ``old`` alike."""
    for key in [*old]:
        below = (*path, key)
        before, after = old[key], new.get(key)
        if after is None and _spans(text, below):
            text = _cut(text, below)
            del old[key]
        elif isinstance(before, dict) and isinstance(after, dict):
            text = _structure(text, before, after, below)
        elif isinstance(before, list) and isinstance(after, list) and _spans(text, below):
            text = _lengthen(text, before, after, below)
    for key, value in new.items():
        tables = isinstance(value, list) and value and all(isinstance(v, dict) for v in value)
        parent_stands = not path or isinstance(path[-1], int)
        if key not in old and tables and parent_stands:
            old[key] = []
            text = _lengthen(text, old[key], value, (*path, key))
    return text


def _lengthen(text: str, old: list[Any], new: list[Any], path: Path) -> str:
    """Bring the list of tables at ``path`` to the length of ``new``."""
    for i, (before, after) in enumerate(zip(old, new, strict=False)):
        text = _structure(text, before, after, (*path, i))
    while len(old) > len(new):
        text = _cut(text, (*path, len(old) - 1))
        old.pop()
    for table in new[len(old) :]:
        text = _insert(text, path, table)
        old.append(table)
    return text


def _merge(table: MutableMapping[str, Any], old: dict[str, Any], new: dict[str, Any]) -> None:
    """Bring ``table`` from ``old`` to ``new``, touching only what differs."""
    for key in old.keys() - new.keys():
        del table[key]
    for key, value in new.items():
        before = old.get(key)
        if value == before:
            continue
        kept = table.get(key)
        if isinstance(kept, MutableMapping) and isinstance(value, dict) and before is not None:
            _merge(kept, before, value)
        elif isinstance(kept, AoT) and before is not None and value:
            _merge_list(kept, before, value)
        else:
            table[key] = value


def _merge_list(kept: AoT, old: list[dict[str, Any]], new: list[dict[str, Any]]) -> None:
    for table, before, after in zip(kept, old, new, strict=True):
        _merge(table, before, after)
