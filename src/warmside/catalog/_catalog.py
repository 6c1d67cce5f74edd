"""The catalog as one object; see ``load``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cached_property
from typing import TypeVar

from warmside.catalog._rows import Climate, Foam, Fuel, JointRow, Lumber, Material
from warmside.errors import UnknownRowError

Row = TypeVar("Row")


@dataclass(frozen=True)
class Catalog:
    """Everything known before a house is seen, by id.

    The look-ups raise ``UnknownRowError`` with the nearest ids.
    """

    materials: Mapping[str, Material]
    foams: Mapping[str, Foam]
    joints: Mapping[str, JointRow]
    fuels: Mapping[str, Fuel]
    climates: Mapping[str, Climate]
    lumber: tuple[Lumber, ...]
    own_files: tuple[str, ...] = field(default=())  # files of the user's own rows

    def material(self, id: str) -> Material:
        """Look up a material or membrane."""
        return _row("material", self.materials, id)

    def foam(self, id: str) -> Foam:
        """Look up a sprayed foam."""
        return _row("foam", self.foams, id)

    def joint(self, id: str) -> JointRow:
        """Look up a joint or hole by the id of its row."""
        return _row("joint", self.joints, id)

    def for_kind(self, kind: str) -> JointRow:
        """Look up the row that serves joints of ``kind``, as the framing names it."""
        return _row("kind of joint", self._by_kind, kind)

    @cached_property
    def _by_kind(self) -> Mapping[str, JointRow]:
        return {k: row for row in reversed(tuple(self.joints.values())) for k in row.kinds}

    def fuel(self, id: str) -> Fuel:
        """Look up a fuel."""
        return _row("fuel", self.fuels, id)

    def climate(self, id: str) -> Climate:
        """Look up a station."""
        return _row("climate", self.climates, id)

    def stud(self, nominal: str, year: int) -> Lumber:
        """Look up the actual size of ``nominal`` lumber, such as "2x4", in a house of ``year``."""
        of_size = [row for row in self.lumber if row.nominal == nominal]
        for row in of_size:
            if row.first <= year <= row.last:
                return row
        if of_size:
            spans = tuple(f"{row.first}-{row.last}" for row in of_size)
            raise UnknownRowError("lumber", f"{nominal} of {year}", spans)
        raise UnknownRowError(
            "lumber", nominal, _near(nominal, {row.nominal for row in self.lumber})
        )


def _row(kind: str, rows: Mapping[str, Row], id: str) -> Row:
    try:
        return rows[id]
    except (KeyError, TypeError):
        raise UnknownRowError(kind, str(id), _near(str(id), rows)) from None


def _near(name: str, known: Iterable[str]) -> tuple[str, ...]:
    return tuple(get_close_matches(name[:100].lower(), sorted(known), n=3, cutoff=0.5))
