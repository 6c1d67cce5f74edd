"""Every source of the catalog, for a page where a reader finds where a figure comes from."""

from __future__ import annotations

from dataclasses import dataclass, fields

from warmside.catalog._catalog import Catalog
from warmside.catalog._columns import KINDS, Kind
from warmside.catalog._rows import Source, Tag


@dataclass(frozen=True)
class SourceLine:
    """One source of one row, and which of its figures it stands for."""

    kind: Kind
    row: str  # id of the row
    name: str
    figures: str
    text: str
    tag: Tag
    note: str


_FIGURES = {
    ("materials", "source_heat"): "conductivity, density, specific heat, emissivity",
    ("materials", "source_vapour"): "vapour permeability",
    ("foams", "source_heat"): "conductivity by thickness, density, specific heat",
    ("foams", "source_vapour"): "vapour permeability by thickness",
    ("foams", "source_use"): "passes, waiting, air barrier, yield, losses",
    ("joints", "source"): "leakage open and sealed",
    ("fuels", "source"): "heat content, carbon dioxide",
    ("climates", "source"): "monthly temperatures",
    ("climates", "source_humidity"): "monthly humidity",
    ("climates", "source_design"): "design temperatures, degree-days",
    ("lumber", "source"): "actual size",
}


def sources(catalog: Catalog) -> list[SourceLine]:
    """Every source of every row, in the order of the catalog.

    Parameters
    ----------
    catalog : Catalog
        The catalog, own rows included.

    Returns
    -------
    list of SourceLine
        One line per source; a material has two, heat and vapour.
    """
    lines = []
    for kind in KINDS:
        rows = getattr(catalog, kind)
        for row in rows if kind == "lumber" else rows.values():
            for member in fields(row):
                value = getattr(row, member.name)
                if isinstance(value, Source):
                    lines.append(_line(kind, row, member.name, value))
    return lines


def _line(kind: Kind, row: object, member: str, source: Source) -> SourceLine:
    if kind == "lumber":
        id_ = f"{row.nominal} {row.first}-{row.last}"  # type: ignore[attr-defined]
        name = f"{id_} lumber"
    else:
        id_, name = row.id, row.name  # type: ignore[attr-defined]
    note: str = row.note  # type: ignore[attr-defined]
    return SourceLine(kind, id_, name, _FIGURES[kind, member], source.text, source.tag, note)
