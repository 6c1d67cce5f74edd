"""Every source of the catalog, for a page where a reader finds where a figure comes from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields

from warmside.catalog._catalog import Catalog
from warmside.catalog._codes import Clause
from warmside.catalog._columns import Kind
from warmside.catalog._hazards import HazardRow
from warmside.catalog._rows import Lumber, MoistureRow, Source, Tag
from warmside.catalog._site import Reminder


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
    ("fills", "source"): "what a state of old fill does to it",
    ("fuels", "source"): "heat content, carbon dioxide",
    ("climates", "source"): "monthly temperatures",
    ("climates", "source_humidity"): "monthly humidity",
    ("climates", "source_design"): "design temperatures, degree-days",
    ("lumber", "source"): "actual size",
    ("moisture", "source_sorption"): "water held at each humidity",
    ("moisture", "source_liquid"): "uptake of liquid water",
    ("hazards", "source"): "what it stops, who clears it",
    ("presumed", "source"): "what is presumed of which years",
    ("never", "source"): "what only a person settles",
    ("words", "source"): "what the trade calls a row otherwise",
    ("usual", "source"): "what is usual of a figure of the survey",
    ("site", "source"): "limit of the working day",
    ("reminders", "source"): "what to wear and mind",
    ("air", "source"): "rate or threshold of the air indoors",
    ("venting", "source"): "how far the pressure indoors may fall",
    ("clauses", "source"): "clause and its threshold",
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
    moisture = catalog.moisture.values()
    rows: dict[Kind, Iterable[object]] = {
        "materials": catalog.materials.values(),
        "foams": catalog.foams.values(),
        "joints": catalog.joints.values(),
        "fills": catalog.fills.values(),
        "fuels": catalog.fuels.values(),
        "climates": catalog.climates.values(),
        "lumber": catalog.lumber,
        "moisture": moisture,
        "hazards": catalog.hazards.values(),
        "presumed": catalog.presumed.values(),
        "never": catalog.never.values(),
        "usual": catalog.usual.values(),
        "words": catalog.words.values(),
        "site": catalog.site,
        "reminders": catalog.reminders,
        "air": catalog.air.values(),
        "venting": catalog.venting.values(),
        "clauses": [clause for pack in catalog.packs.values() for clause in pack.clauses],
    }
    return [
        _line(kind, row, member.name, value)
        for kind, same in rows.items()
        for row in same
        for member in fields(row)  # type: ignore[arg-type]  # every row is a dataclass
        if isinstance(value := getattr(row, member.name), Source)
    ]


def _line(kind: Kind, row: object, member: str, source: Source) -> SourceLine:
    id_, name = _names(row)
    note = str(getattr(row, "note", ""))
    return SourceLine(kind, id_, name, _FIGURES[kind, member], source.text, source.tag, note)


def _names(row: object) -> tuple[str, str]:
    """What a row goes by, and what it is called."""
    if isinstance(row, Lumber):
        id_ = f"{row.nominal} {row.first}-{row.last}"
        return id_, f"{id_} lumber"
    if isinstance(row, MoistureRow):
        return row.material, f"{row.material}, water in it"
    if isinstance(row, Clause):
        return row.number, row.title
    if isinstance(row, HazardRow):
        return row.kind, row.title
    if isinstance(row, Reminder):
        return row.id, row.text
    id_ = str(getattr(row, "id", "") or getattr(row, "kind", ""))
    return id_, str(getattr(row, "name", id_))
