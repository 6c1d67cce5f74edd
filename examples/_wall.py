"""The one wall that several examples share: 2x4 studs, boards, paper, siding, one window."""

from __future__ import annotations

from warmside.catalog import Catalog
from warmside.framing import frame_wall
from warmside.options import BuildUp, apply, offered
from warmside.physics.assembly import Stack
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall, Wanted


def foamed(inches: float, rows: Catalog, sheathing: str = "board-sheathing") -> BuildUp:
    """The wall with closed-cell foam of so many inches in its bays, joints sealed."""
    house = House(name="h", climate="ottawa", year_built=1955, volume=300.0)
    found = AsFound(
        sheathing=(FoundLayer(material=sheathing),), paper="building-paper",
        cladding=FoundLayer(material="wood-bevel-siding"),
    )  # fmt: skip
    window = Opening(name="window", left=2.4, sill=0.9, width=0.8, height=1.1)
    wall = Wall(
        name="w", faces=0.0, frame="platform", length=4.2, height=2.44, found=found,
        openings=(window,),
    )  # fmt: skip
    wanted = Wanted(kind="closed-cell", thickness=inches * 0.0254)
    option = offered(wall, house, rows, [wanted])[-1]
    return apply(option, wall, frame_wall(wall, house, rows.lumber), rows)


def largest_bay(built: BuildUp) -> Stack:
    """The layers through most of the wall."""
    return max((s for s in built.stacks if s.kind == "bay"), key=lambda stack: stack.area)
