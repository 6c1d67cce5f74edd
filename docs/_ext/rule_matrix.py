"""The clauses of both code packs put to one wall: a table for the page of the promise legal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from warmside.catalog import Climate, load
from warmside.framing import frame_wall
from warmside.options import BuildUp, apply, offered
from warmside.promises import legal
from warmside.survey import AsFound, FoundLayer, House, Wall, Wanted

# degree-days below 18 °C and design temperature of a place of that kind; zones of the US code
PLACES = {
    "Canada": [("", 3500.0, -18.0), ("", 4500.0, -25.0), ("", 5700.0, -33.0), ("", 7500.0, -40.0)],
    "United States": [
        ("2A", 800.0, 0.0), ("4A", 2600.0, -10.0), ("6A", 4200.0, -25.0), ("7", 5200.0, -30.0),
    ],
}  # fmt: skip
OPTIONS = {
    "batts and sealed sheet": Wanted(kind="batt and poly"),
    "2 in of foam": Wanted(kind="closed-cell", thickness=0.0508),
}
HOUSE = House(
    name="h", climate="ottawa", year_built=1965, volume=300.0, indoor_humidity=0.35, bedrooms=3
)
WALL = Wall(
    name="w",
    faces=0.0,
    frame="platform",
    length=3.6,
    height=2.44,
    stud_depth=0.089,
    corner_left="none",
    corner_right="none",
    found=AsFound(
        finish=(FoundLayer(material="gypsum-board"),),
        sheathing=(FoundLayer(material="plywood"),),
        paper="building-paper",
        cladding=FoundLayer(material="wood-bevel-siding"),
    ),
)
SHORT = {
    "holds": "holds",
    "falls short": "**falls short**",
    "needs a person": "a person",
    "does not apply": "n/a",
}


def place(country: str, zone: str, degree_days: float, design: float) -> Climate:
    """A place of that zone; only what clauses ask of it matters."""
    id, region = {"Canada": ("CA", "Ontario"), "United States": ("US", "MN")}[country]
    return replace(
        load().climates["ottawa"], country=id, region=region, zone=zone, degree_days=degree_days,
        design=design,
    )  # fmt: skip


def built(wanted: Wanted, country: str) -> BuildUp:
    """The option on the wall, with the usual foam of the country."""
    if wanted.kind == "closed-cell" and country == "United States":
        wanted = wanted.model_copy(update={"foam": "closed-cell-us"})
    catalog = load()
    frame = frame_wall(WALL, HOUSE, catalog.lumber)
    option = next(
        o
        for o in offered(WALL, HOUSE, catalog, [wanted])
        if o.kind.name == wanted.kind and abs(o.thickness - (wanted.thickness or 0.0)) < 1e-4
    )
    return apply(option, WALL, frame, catalog)


def page() -> str:
    """The tables as Markdown."""
    return "\n".join(matrix())


def matrix() -> Iterator[str]:
    """Lines of Markdown: a table for each pack, a column for each option and place."""
    catalog = load()
    for pack in catalog.packs.values():
        places = [place(pack.country, *row) for row in PLACES[pack.country]]
        heads = [p.zone or f"{p.degree_days:,.0f}" for p in places]
        yield f"\n**{pack.name}** ({'zone' if places[0].zone else 'degree-days'})\n"
        columns = [f"{name}, {head}" for name in OPTIONS for head in heads]
        yield f"| clause | tag | {' | '.join(columns)} |"
        yield f"|---|---|{'---|' * len(columns)}"
        found = [
            legal([pack], built(wanted, pack.country), p, catalog=catalog, wall=WALL, house=HOUSE)
            for wanted in OPTIONS.values()
            for p in places
        ]
        for clause, row in zip(pack.of_walls, zip(*found, strict=True), strict=True):
            tag = clause.source.tag + (f", {clause.recall}" if clause.recall != "read" else "")
            cells = " | ".join(SHORT[finding.verdict] for finding in row)
            yield f"| {clause.number} {clause.title} | {tag} | {cells} |"
