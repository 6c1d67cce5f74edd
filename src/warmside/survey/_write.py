"""Writing back: only what changed, with the file's comments and order kept."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from itertools import pairwise
from typing import Any

import tomlkit
from pydantic import BaseModel
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT

from warmside import units
from warmside.errors import Fault, InputError
from warmside.survey._faults import _bare, place, reader_of
from warmside.survey._file import read
from warmside.survey._lines import Path
from warmside.survey._models import FILE_NAMES, Survey


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
    document = _parsed(original)
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
    document = _parsed(text)
    for path, value in changes.items():
        _set(
            document, tuple(FILE_NAMES.get(p, p) if isinstance(p, str) else p for p in path), value
        )
    changed = tomlkit.dumps(document)
    read(changed)
    return changed


def _parsed(text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
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
        reader = reader_of(_bare(field.annotation, tuple(field.metadata))[1])
        tables[field.alias or name] = (
            units.exact(value, reader.quantity) if reader and value is not None else _plain(value)
        )
    return tables


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return _tables(value)
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


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
    for i, (before, after) in enumerate(zip(old, new, strict=False)):
        _merge(kept[i], before, after)
    for _ in range(len(new), len(old)):
        del kept[-1]
    for extra in new[len(old) :]:
        kept.append(tomlkit.item(extra))
