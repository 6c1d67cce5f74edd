"""A stock so small that a house takes a tenth of a second: one wall, two options."""

from __future__ import annotations

from pathlib import Path

from warmside.stock import Archetype, Known, read_archetype

TEXT = """
[house]
name = "shed"
climate = "ottawa"
year_built = 1950
floor_area = "400 ft2"
volume = "3200 ft3"
people = 2

[house.heating]
fuel = "natural-gas"
efficiency = 0.8

[[unknown]]
field = "house.fan_test.flow_50"
name = "fan test"
triangular = ["600 CFM50", "900 CFM50", "1500 CFM50"]

[[unknown]]
field = "house.indoor_humidity"
name = "room humidity"
normal = ["40 %", "8 %"]

[[unknown]]
field = "wall.found.fill"
name = "fill"
choice = ["", "cellulose-loose"]
weights = [3, 1]

[[wall]]
name = "front"
faces = "N"
frame = "platform"
length = "8 ft"
height = "8 ft"
corner_left = "none"
corner_right = "none"

[[wall.opening]]
name = "window"
left = "3 ft"
sill = "3 ft"
width = "2 ft"
height = "3 ft"

[wall.found]
finish = ["alkyd-paint", "plaster-on-wood-lath"]
sheathing = ["board-sheathing"]
paper = "building-paper"
cladding = "wood-bevel-siding"

[[option]]
only = true
kind = "closed-cell"
thickness = "2 in"

[[option]]
kind = "foam and batt"
"""


def archetypes() -> dict[str, Archetype]:
    return {"shed": read_archetype(TEXT, "shed")}


def houses(count: int) -> list[Known]:
    return [Known(k + 2, f"H{k}", "shed", (("house.year_built", 1940 + k),)) for k in range(count)]


def write_table(path: Path, lines: list[str]) -> Path:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path
