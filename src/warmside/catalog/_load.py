"""``load``: the built-in catalog, with the user's own rows over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from warmside.catalog._build import Row, build, overlapping
from warmside.catalog._catalog import Catalog
from warmside.catalog._cells import Cells
from warmside.catalog._columns import KINDS, Kind
from warmside.catalog._files import Reading, files_in, read_file
from warmside.catalog._rows import JointRow, Lumber, Tag
from warmside.errors import CatalogError

R = TypeVar("R")

BUILT_IN = (
    "materials.csv",
    "foams.toml",
    "joints.csv",
    "fuels.csv",
    "climates.toml",
    "lumber.csv",
)


def load(own: Path | str | None = None) -> Catalog:
    """Load the built-in catalog, with the rows of ``own`` over it.

    Parameters
    ----------
    own : path or str, optional
        The user's own rows: a CSV file named after its class (``our-materials.csv``), a TOML file
        of ``[[materials]]``, ``[[foams]]`` ... tables, or a folder of such files. Columns as in
        the built-in files. A row with the id of a built-in row replaces it; lumber rows replace
        all built-in rows of their nominal size. The tag of an own row is "own figure" unless one
        is stated; a source must be.

    Returns
    -------
    Catalog
        All rows in SI. The built-in part is read once.

    Raises
    ------
    CatalogError
        With every fault found, each naming file, row and column, what was read, what is allowed.
    """
    if own is None:
        return _built_in()
    return _merged(_built_in(), Path(own))


@dataclass
class _Shelf:
    """Rows by class and key, and where each was read."""

    rows: dict[Kind, dict[str, Row]] = field(default_factory=lambda: {kind: {} for kind in KINDS})

    def of(self, kind: Kind) -> dict[str, Any]:
        return self.rows[kind]


@cache
def _built_in() -> Catalog:
    reading = Reading()
    folder = resources.files("warmside.catalog") / "data"
    for name in BUILT_IN:
        read_file(folder / name, name, reading)
    shelf = _shelved(reading, default_tag=None)
    return Catalog(
        materials=shelf.of("materials"),
        foams=shelf.of("foams"),
        joints=shelf.of("joints"),
        fuels=shelf.of("fuels"),
        climates=shelf.of("climates"),
        lumber=tuple(shelf.of("lumber").values()),
    )


def _merged(base: Catalog, own: Path) -> Catalog:
    reading = Reading()
    paths = files_in(own)
    for path in paths:
        read_file(path, path.name, reading)
    shelf = _shelved(reading, default_tag="own figure")
    lumber: list[Lumber] = list(shelf.of("lumber").values())
    replaced = {row.nominal for row in lumber}
    return Catalog(
        materials=_over(base.materials, shelf.of("materials")),
        foams=_over(base.foams, shelf.of("foams")),
        joints=_over(base.joints, _kinds_kept(base.joints, shelf.of("joints"))),
        fuels=_over(base.fuels, shelf.of("fuels")),
        climates=_over(base.climates, shelf.of("climates")),
        lumber=(*lumber, *(row for row in base.lumber if row.nominal not in replaced)),
        own_files=tuple(str(path) for path in paths),
    )


def _over(base: Mapping[str, R], own: Mapping[str, R]) -> dict[str, R]:
    """Own rows first, so that they are found first."""
    return {**own, **{key: row for key, row in base.items() if key not in own}}


def _kinds_kept(base: Mapping[str, JointRow], own: Mapping[str, JointRow]) -> dict[str, JointRow]:
    """An own row in place of a built-in one serves the same kinds, unless it names its own."""
    return {
        key: replace(row, kinds=base[key].kinds) if key in base and not row.kinds else row
        for key, row in own.items()
    }


def _shelved(reading: Reading, default_tag: Tag | None) -> _Shelf:
    """Every row of ``reading``, built; all faults raised together."""
    shelf = _Shelf()
    kinds: dict[str, str] = {}
    for raw in reading.rows:
        cells = Cells(raw, reading, default_tag=default_tag)
        row = build(raw.kind, cells)
        if row is None:
            continue
        key = f"{row.nominal} {row.first}" if isinstance(row, Lumber) else row.id
        if key in shelf.rows[raw.kind]:
            cells.refuse("id", key, "each id once")
        shelf.rows[raw.kind][key] = row
        if isinstance(row, JointRow):
            _claim(row, kinds, cells)
    _refuse_overlap(shelf, reading)
    if reading.faults:
        raise CatalogError(reading.faults)
    return shelf


def _claim(row: JointRow, kinds: dict[str, str], cells: Cells) -> None:
    for kind in row.kinds:
        if kind in kinds:
            cells.refuse("kinds", kind, f"each kind once; row '{kinds[kind]}' has it")
        kinds[kind] = row.id


def _refuse_overlap(shelf: _Shelf, reading: Reading) -> None:
    pair = overlapping(list(shelf.of("lumber").values()))
    if pair is not None:
        a, b = pair
        years = f"{a.first}-{a.last} and {b.first}-{b.last}"
        reading.refuse(f'lumber, row "{a.nominal}", column first_year', years, "years apart")
