"""A person's choices of writing, kept with the person and chosen on a form."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from warmside.errors import Fault, InputError
from warmside.wording import DATES, STEPS, WAYS, Style

# how a country writes what differs from the first way of each kind, until a person chooses
USUAL = {"US": Style(temperature="°F")}
# of the crew's pages: each is there as a whole
LANGUAGES = {"en": "English", "es": "español"}
KEY = "units"  # of the person's setting


def written(kept: Any) -> Style:
    """The choices kept for a person; what is no longer offered falls back to the first way."""
    if not isinstance(kept, Mapping):
        return Style()
    sound = {name: kept[name] for name, choices in offered().items() if kept.get(name) in choices}
    return Style(**sound)


def chosen(typed: Mapping[str, str]) -> Style:
    """The choices of a form; ``InputError`` for what is not offered."""
    faults = [
        Fault(name.replace("_", " "), repr(typed.get(name, ""))[:60], ", ".join(choices))
        for name, choices in offered().items()
        if typed.get(name) not in choices
    ]
    if faults:
        raise InputError(faults)
    return Style(**{name: typed[name] for name in offered()})  # type: ignore[arg-type]


def offered() -> dict[str, tuple[str, ...]]:
    """Every choice that there is, by field."""
    rest = {"step": STEPS, "dates": tuple(DATES), "language": tuple(LANGUAGES)}
    return {kind.replace(" ", "_"): tuple(ways) for kind, ways in WAYS.items()} | rest
