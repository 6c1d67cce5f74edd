"""Lengths in a form as people type them: a number alone is in the field's unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from warmside import units
from warmside.web.fields import Field, Layout
from warmside.wording import Style


def with_units(typed: Mapping[str, str], layout: Layout, write: Style) -> dict[str, str]:
    """What was typed, its lengths with their units written out: ``2 6`` as ``2 ft 6 in``."""
    found = dict(typed)
    for name, field in _fields(found, layout):
        found[name] = typed_length(found[name], field, write)
    return found


def typed_length(text: str, field: Field, write: Style) -> str:
    """One length with its unit written out."""
    return units.typed_length(text, "mm" if write.metric_lengths else field.bare)


def _fields(typed: Mapping[str, str], layout: Layout) -> Iterator[tuple[str, Field]]:
    """Every length that was typed, with its field."""
    single = {f.name: f for group in layout.groups for f in group.fields}
    in_rows = {(rows.key, f.name): f for rows in layout.rows for f in rows.fields}
    for name in typed:
        key, _, rest = name.partition(".")
        field = single.get(name) or in_rows.get((key, rest.partition(".")[2]))
        if field and field.quantity == "length":
            yield name, field
