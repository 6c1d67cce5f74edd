"""Figures and sentences as plain data and back, so that pages can write them anew."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any

from warmside.wording.figure import Figure, Source
from warmside.wording.sentence import Sentence

_KINDS = {"figure": Figure, "source": Source}


def to_plain(value: Any) -> Any:
    """Dataclasses, tuples and mappings as JSON-able data; figures and sentences are told apart."""
    if value is None or type(value) in (str, float, int, bool):
        return value
    if isinstance(value, Sentence):
        parts = {name: to_plain(part) for name, part in value.parts}
        return {"sentence": value.template, "parts": parts} if parts else value.template
    if isinstance(value, (Figure, Source)):
        kept = {name: getattr(value, name) for name in _names(type(value))}
        name = "figure" if isinstance(value, Figure) else "source"
        return {name: {k: to_plain(v) for k, v in kept.items() if v not in (None, "")}}
    if is_dataclass(value) and not isinstance(value, type):
        return {name: to_plain(getattr(value, name)) for name in _names(type(value))}
    if isinstance(value, (list, tuple)):
        return [to_plain(item) for item in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: to_plain(item) for key, item in value.items()}
    return value


_NAMES: dict[type, tuple[str, ...]] = {}  # fields by the kind of dataclass


def _names(kind: type) -> tuple[str, ...]:
    """The fields of a kind of dataclass, looked up once."""
    if kind not in _NAMES:
        _NAMES[kind] = tuple(field.name for field in fields(kind))
    return _NAMES[kind]


def from_plain(read: dict[str, Any]) -> Any:
    """The ``object_hook`` that makes figures and sentences of what `to_plain` wrote."""
    if read.keys() == {"sentence", "parts"}:  # other tables may have a sentence of their own
        return Sentence(read["sentence"], tuple(read["parts"].items()))
    for name, kind in _KINDS.items():
        if read.keys() == {name} and isinstance(read[name], dict):
            return kind(**read[name])
    return read
