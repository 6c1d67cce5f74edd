"""``load``: the built-in catalog, with the user's own rows over it."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib import resources
from pathlib import Path

from warmside.catalog._catalog import Catalog
from warmside.catalog._cells import is_name
from warmside.catalog._codes import CodePack
from warmside.catalog._columns import COLUMNS
from warmside.catalog._files import (
    RawRow,
    Reading,
    files_in,
    parsed,
    read_file,
    read_text,
    shown,
    text_of,
    toml_rows,
)
from warmside.catalog._merge import merged, with_clauses
from warmside.catalog._near import nearest
from warmside.catalog._shelf import Shelf
from warmside.errors import CatalogError, Fault

BUILT_IN = (
    "materials.csv",
    "moisture.csv",
    "foams.toml",
    "joints.csv",
    "fills.toml",
    "hazards.toml",
    "site.toml",
    "usual.toml",
    "words.csv",
    "air.toml",
    "fuels.csv",
    "climates.toml",
    "lumber.csv",
)
LARGEST_PACK = 262_144  # bytes


def load(own: Path | str | None = None) -> Catalog:
    """Load the built-in catalog, with the rows of ``own`` over it.

    Parameters
    ----------
    own : path or str, optional
        The user's own rows: a TOML file of ``[[material]]``, ``[[foam]]``, ``[[moisture]]``,
        ``[[hazard]]``, ``[[clause]]`` ... tables, a CSV file named after its class
        (``our-materials.csv``), or a folder of such files. Columns as in the built-in files. A row
        with the name of a built-in row replaces it; lumber rows replace all built-in rows of their
        nominal size. The tag of an own row is "own figure" unless one is stated; a source must be.

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
    reading, paths = Reading(), files_in(Path(own))
    for path in paths:
        read_file(path, path.name, reading)
    return merged(Shelf(reading, "own figure"), _built_in(), tuple(str(path) for path in paths))


def load_text(text: str, name: str = "own-rows.toml") -> Catalog:
    """Load the built-in catalog with own rows over it that are a text in TOML.

    Raises
    ------
    CatalogError
        As ``load`` does, the text called ``name``.
    """
    reading = Reading()
    read_text(text, name, reading)
    return merged(Shelf(reading, "own figure"), _built_in(), (name,))


@cache
def _built_in() -> Catalog:
    reading = Reading()
    folder = resources.files("warmside.catalog") / "data"
    for name in BUILT_IN:
        read_file(folder / name, name, reading)
    codes = (file for file in (folder / "codes").iterdir() if file.name.endswith(".toml"))
    for file in sorted(codes, key=lambda file: file.name):
        _take_pack(file.read_text(encoding="utf-8"), file.name, reading)
    return merged(Shelf(reading, None), None)


def read_code_pack(text: str, name: str = "code pack") -> CodePack:
    """Read a code pack from TOML text.

    Parameters
    ----------
    text : str
        The file's text: ``id``, ``name``, ``country``, ``edition``, ``closing``, and its
        ``[[clause]]`` tables.
    name : str
        What to call it in faults.

    Returns
    -------
    CodePack
        The pack, every clause complete.

    Raises
    ------
    CatalogError
        Every fault found, with its line and the clause it stands in.
    """
    reading = Reading()
    _take_pack(text, name, reading)
    (pack,) = with_clauses(Shelf(reading, "own figure"), {}).values()
    return pack


def chosen_packs(catalog: Catalog, names: Iterable[str | Path]) -> tuple[CodePack, ...]:
    """Packs by the ids of the catalog's, or by the user's own files.

    Parameters
    ----------
    catalog : Catalog
        What is known.
    names : iterable of str or path
        An id such as ``us-irc-2021``, or a TOML file.

    Returns
    -------
    tuple of CodePack
        In that order.

    Raises
    ------
    CatalogError
        A name that is neither, one pack twice, or a file with faults, each with its clause.
    """
    found: dict[str, CodePack] = {}
    for name in names:
        pack = _chosen(catalog, name)
        if pack.id in found:
            raise CatalogError([Fault("code packs", f"{pack.id} twice", "each pack once")])
        found[pack.id] = pack
    return tuple(found.values())


def _chosen(catalog: Catalog, name: str | Path) -> CodePack:
    if str(name) in catalog.packs:
        return catalog.packs[str(name)]
    path = Path(name)
    if not path.is_file():
        allowed = f"a file, or one of {', '.join(catalog.packs)}"
        raise CatalogError([Fault("code packs", f"'{name}'", allowed)])
    reading = Reading()
    text = text_of(path, path.name, reading, LARGEST_PACK)
    if text is None:
        raise CatalogError(reading.faults)
    return read_code_pack(text, path.name)


def _take_pack(text: str, name: str, reading: Reading) -> None:
    """Rows of a file that is one code pack: its head, and its clauses."""
    data = parsed(text, name, reading, LARGEST_PACK)
    if data is None:
        return
    tables, lines = data
    head = {key: value for key, value in tables.items() if key != "clause"}
    reading.rows.append(RawRow("packs", name, head, 1, lines))
    known = {column.name for column in COLUMNS["packs"]}
    for key in head.keys() - known:
        allowed = ", ".join(sorted(known)) + ", [[clause]]" + nearest(key, (*known, "clause"))
        reading.refuse(f"{name}, {shown(key)}", "an unknown key", allowed, lines.get((key,)))
    # a pack without a name that can be used has that fault alone, not one for every clause
    id = head.get("id")
    pack = id if isinstance(id, str) and is_name(id) else "pack"
    toml_rows("clauses", "clause", tables.get("clause", []), name, reading, lines, {"pack": pack})
