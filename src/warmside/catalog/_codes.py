"""Code packs: clauses as data, each with edition, paraphrase, threshold and tag."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any, Literal, get_args

from warmside.catalog._rows import Climate, Source, Tag
from warmside.errors import CatalogError, Fault

RuleKind = Literal[
    "wall_rsi_least",  # effective resistance of the whole wall, by degree-days [m2 K/W]
    "vapour_permeance_most",  # tightest layer on the warm side [kg/(m2 s Pa)]
    "outboard_ratio_least",  # resistance outside / inside a tight layer, by degree-days [-]
    "foam_rsi_least",  # resistance of the foam itself, by degree-days [m2 K/W]
    "air_barrier",
    "foam_covered",
    "cavity_filled",
    "person",  # a statement that a person must confirm
]
AppliesTo = Literal["new work", "new and altered walls", "alterations"]
Band = tuple[float, float, float]  # degree-days from, below, value
_BANDED = ("wall_rsi_least", "outboard_ratio_least", "foam_rsi_least")
_TEXTS = ("number", "title", "paraphrase", "applies_to", "rule", "source", "tag")
_NUMBERS = ("limit", "most_permeance", "from_degree_days")
MOST_BYTES = 262_144


@dataclass(frozen=True)
class Clause:
    """One clause of a code, in our own words.

    ``bands`` holds (degree-days from, degree-days below, value); ``limit`` one value for all.
    """

    number: str
    title: str
    paraphrase: str
    applies_to: AppliesTo
    rule: RuleKind
    source: Source
    bands: tuple[Band, ...] = ()
    limit: float | None = None
    most_permeance: float | None = None  # [kg/(m2 s Pa)]
    from_degree_days: float = 0.0  # [K d]
    asks: str = ""

    def value_at(self, degree_days: float) -> float | None:
        """Threshold at ``degree_days`` [K d], or None where the clause asks for nothing."""
        if degree_days < self.from_degree_days:
            return None
        if self.limit is not None:
            return self.limit
        for low, high, value in self.bands:
            if low <= degree_days < high:
                return value
        return None


@dataclass(frozen=True)
class CodePack:
    """The clauses of one code, and the sentence that always closes them."""

    id: str
    name: str
    country: str
    edition: str
    closing: str
    clauses: tuple[Clause, ...]


def read_code_pack(text: str, name: str = "code pack") -> CodePack:
    """Read a code pack from TOML text.

    Parameters
    ----------
    text : str
        The file's text.
    name : str
        What to call it in faults.

    Returns
    -------
    CodePack
        The pack, every clause complete.

    Raises
    ------
    CatalogError
        Every fault found, with the clause it stands in.
    """
    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise CatalogError([Fault(name, "a file above 256 KiB", "at most 256 KiB")])
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise CatalogError([Fault(name, str(error), "a TOML file")]) from error
    faults: list[Fault] = []
    head = {key: _text(data, key, name, faults) for key in ("id", "name", "country", "edition")}
    closing = _text(data, "closing", name, faults)
    rows = data.get("clause", [])
    if not isinstance(rows, list) or not rows:
        faults.append(Fault(name, "no [[clause]]", "at least one clause"))
        rows = []
    clauses = [_clause(row, f"{name}, clause {k}", faults) for k, row in enumerate(rows, 1)]
    if faults:
        raise CatalogError(faults)
    return CodePack(**head, closing=closing, clauses=tuple(c for c in clauses if c is not None))


def code_packs() -> dict[str, CodePack]:
    """The packs that come with the program, by id."""
    folder = resources.files("warmside.catalog").joinpath("data", "codes")
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    packs = (read_code_pack(f.read_text(encoding="utf-8"), f.name) for f in files)
    return {pack.id: pack for pack in packs}


_CANADA = frozenset({
    "Alberta", "British Columbia", "Manitoba", "New Brunswick", "Newfoundland and Labrador",
    "Northwest Territories", "Nova Scotia", "Nunavut", "Ontario", "Prince Edward Island", "Quebec",
    "Saskatchewan", "Yukon",
})  # fmt: skip


def packs_for(climate: Climate) -> tuple[CodePack, ...]:
    """The packs that a house at ``climate`` is judged by when none is asked for.

    Canada's in a province or territory of Canada, by the station's region; elsewhere all.
    """
    packs = tuple(code_packs().values())
    if climate.region in _CANADA:
        return tuple(pack for pack in packs if pack.country == "Canada")
    return packs


def chosen_packs(names: Iterable[str | Path]) -> tuple[CodePack, ...]:
    """Packs by the ids of built-in ones, or by the user's own files.

    Parameters
    ----------
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
        pack = _chosen(name)
        if pack.id in found:
            raise CatalogError([Fault("code packs", f"{pack.id} twice", "each pack once")])
        found[pack.id] = pack
    return tuple(found.values())


def _chosen(name: str | Path) -> CodePack:
    built_in = code_packs()
    if str(name) in built_in:
        return built_in[str(name)]
    path = Path(name)
    if not path.is_file():
        allowed = f"a file, or one of {', '.join(built_in)}"
        raise CatalogError([Fault("code packs", f"'{name}'", allowed)])
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        read = f"byte {error.start} is no UTF-8"
        raise CatalogError([Fault(path.name, read, "a text file in UTF-8")]) from error
    return read_code_pack(text, path.name)


def _text(row: dict[str, Any], key: str, place: str, faults: list[Fault]) -> str:
    value = row.get(key)
    if not isinstance(value, str) or not value.strip() or len(value) > 2000:
        faults.append(Fault(f"{place}, {key}", repr(value)[:80], "a text of 1 to 2000 letters"))
        return ""
    return value


def _clause(row: object, place: str, faults: list[Fault]) -> Clause | None:
    if not isinstance(row, dict):
        faults.append(Fault(place, repr(row)[:80], "a [[clause]] table"))
        return None
    before = len(faults)
    words = {key: _text(row, key, place, faults) for key in _TEXTS}
    for key, allowed in (("rule", RuleKind), ("applies_to", AppliesTo), ("tag", Tag)):
        if words[key] and words[key] not in get_args(allowed):
            faults.append(Fault(f"{place}, {key}", words[key], " | ".join(get_args(allowed))))
    unknown = set(row) - {*_TEXTS, *_NUMBERS, "bands", "asks"}
    faults += [Fault(f"{place}, {key}", "an unknown field", ", ".join(_TEXTS)) for key in unknown]
    numbers = {key: _number(row, key, place, faults) for key in _NUMBERS if key in row}
    bands = _bands(row.get("bands", []), place, faults)
    if words["rule"] in _BANDED and not bands:
        faults.append(Fault(f"{place}, bands", "none", "[from, below, value] by degree-days"))
    if words["rule"] == "vapour_permeance_most" and "limit" not in numbers:
        faults.append(Fault(f"{place}, limit", "none", "a permeance in kg/(m2 s Pa)"))
    asks = _text(row, "asks", place, faults) if "asks" in row else ""
    if len(faults) > before:
        return None
    source = Source(words.pop("source"), words.pop("tag"))  # type: ignore[arg-type]
    return Clause(**words, **numbers, source=source, bands=bands, asks=asks)  # type: ignore[arg-type]


def _number(row: dict[str, Any], key: str, place: str, faults: list[Fault]) -> float:
    value = row[key]
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1e6:
        faults.append(Fault(f"{place}, {key}", repr(value)[:80], "a number above 0"))
        return 0.0
    return float(value)


def _bands(rows: Any, place: str, faults: list[Fault]) -> tuple[Band, ...]:
    bands: list[Band] = []
    for row in rows if isinstance(rows, list) else [rows]:
        good = isinstance(row, list) and len(row) == 3
        good = good and all(
            isinstance(v, int | float) and not isinstance(v, bool) and 0 <= v < 1e6 for v in row
        )
        if not good or row[0] >= row[1] or row[2] <= 0:
            faults.append(Fault(f"{place}, bands", repr(row)[:80], "[from, below, value above 0]"))
            continue
        if bands and row[0] < bands[-1][1]:
            faults.append(Fault(f"{place}, bands", repr(row)[:80], "bands in order, no overlap"))
            continue
        bands.append((float(row[0]), float(row[1]), float(row[2])))
    return tuple(bands)
