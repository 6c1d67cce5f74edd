"""How materials hold and draw water, and how a row of another material stands in."""

from __future__ import annotations

from dataclasses import replace

from warmside.catalog._cells import Cells
from warmside.catalog._rows import HUMIDITIES, Foam, Material, MoistureRow
from warmside.physics.assembly import Timber

MOST_WATER = 1000.0  # [kg/m3] no pore holds more than water itself
WOOD_FREE = 30.0  # [%] about fibre saturation; wood in contact with water holds more
BOARD_TAKES_UP = 9.5  # [%] at 80 % humidity; own figure
POINTS = tuple(f"at_{h * 100:.0f}_percent" for h in HUMIDITIES)


def check_moisture(cells: Cells) -> None:
    """Refuse points that fall, that are missing, or that free saturation does not exceed."""
    if not cells.holds("curve"):
        return
    wood = cells.text("curve") == "wood"
    for point in POINTS:
        if wood == cells.holds(point) and not cells.faulty(point):
            read, allowed = ("a value", "nothing: wood has its own curve") if wood else (
                "nothing", "water at this humidity, percent of the dry mass"
            )  # fmt: skip
            cells.refuse(point, read, allowed)
    cells.ordered(*POINTS)
    if cells.holds("free_percent"):
        most = WOOD_FREE if wood else cells.number(POINTS[-1]) if cells.holds(POINTS[-1]) else 0.0
        if cells.number("free_percent") <= most:
            read = f"{cells.number('free_percent'):g}"
            cells.refuse("free_percent", read, f"more than {most:g}, what damp air alone gives")


def moisture(cells: Cells) -> MoistureRow:
    """The row of ``cells``."""
    wood = cells.text("curve") == "wood"
    return MoistureRow(
        material=cells.text("material"),
        curve="wood" if wood else "points",
        points=() if wood else tuple(cells.number(point, 0.01) for point in POINTS),
        free=cells.number("free_percent", 0.01),
        absorption=cells.number("absorption_kg_m2s05"),
        conductivity_per_water=cells.number("conductivity_per_water_w_m2_kgk"),
        mould_class=cells.text("mould_class"),  # type: ignore[arg-type]  # checked with its column
        timber=_timber(cells, wood),
        source_sorption=cells.source("_sorption"),
        source_liquid=cells.source("_liquid"),
        note=cells.text("note"),
    )


def _timber(cells: Cells, wood: bool) -> Timber:
    """As the row says; else by what it takes up and grows: what is sensitive and holds more at 80 %
    than gypsum or paper does is board made of wood."""
    if cells.holds("timber"):
        return cells.text("timber")  # type: ignore[return-value]  # checked with its column
    if wood:
        return "solid"
    hungry = cells.number("at_80_percent") >= BOARD_TAKES_UP
    return "board" if hungry and cells.text("mould_class") == "sensitive" else "none"


def stand_in(row: Material | Foam, other: Material | Foam, known: MoistureRow) -> MoistureRow:
    """The moisture row of ``other`` for ``row``, said to be an assumption."""
    return replace(
        known,
        material=row.id,
        assumed=f"{row.name} is taken to hold and draw water as {other.name} does.",
    )


def most_water(row: Material | Foam, moisture: MoistureRow) -> float:
    """Water that the row holds in contact with liquid water [kg/m3]."""
    density = row.in_place_density if isinstance(row, Foam) else row.density
    return moisture.free * density
