"""What the trade says of a foamed wall seen with the bays open, beside what is computed.

``./bench trade``: 2x4 studs, 50 mm of closed-cell foam, 23 degC in the room, -20 degC outside.
"""

from __future__ import annotations

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.conduction import WallField, wall_field
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall

ROOM, OUTSIDE = 23.0, -20.0
SAID = {  # common practice, no source
    "bay": "foam within about 2 K of room air",
    "stud": "a few kelvin below the foam, hard to see",
    "double stud": "as studs",
    "plate": "as studs",
    "header": "hollow: clearly colder than the foam",
    "sill": "-",
    "post": "-",
    "pocket": "hollow posts: clearly colder than the foam",
}
NOTE = """
Where they differ: studs that stand out of the foam are warmed on three sides, so that their faces
are as warm as the foam, and they are coldest where they meet it. A hollow header with wood on both
sides is only about a kelvin below the foam; it is the hollow that foam cannot reach in a post, with
nothing but boards behind it, that shows."""


def open_wall(header: str) -> WallField:
    """A wall of 3.6 m with a window under a ``doubled`` (solid) or ``box`` (hollow) header."""
    catalog = load()
    house = House(name="trade", climate="north-bay", year_built=1964, volume=300)
    wall = Wall.model_validate(
        {
            "name": "open", "faces": 0, "frame": "platform", "length": 3.6, "height": 2.44,
            "header": header,
            "found": AsFound(
                finish=(FoundLayer(material="plaster-on-wood-lath"),),
                sheathing=(FoundLayer(material="board-sheathing"),),
                paper="building-paper",
                cladding=FoundLayer(material="wood-bevel-siding"),
            ),
            "openings": (Opening(name="window", left=1.0, sill=0.9, width=0.9, height=1.2),),
        }
    )  # fmt: skip
    frame = frame_wall(wall, house, catalog.lumber)
    option = next(o for o in offered(wall, house, catalog) if o.id == "cc-51")
    built = apply(option, wall, frame, catalog)
    return wall_field(built.assembly, state="open bays", cells=400_000)


def main() -> None:
    for header in ("doubled", "box"):
        wall = open_wall(header)
        print(f"\n{header} header, {wall.field.grid.cells} cells; room side, degC "
              f"(air {ROOM:g} / {OUTSIDE:g})")  # fmt: skip
        print(f"{'':14}{'mean':>7}{'coldest':>9}{'below air':>11}   the saying")
        for kind in wall.by_kind:
            mean, low = (
                OUTSIDE + (ROOM - OUTSIDE) * factor
                for factor in (kind.mean_factor, kind.lowest_factor)
            )
            said = SAID.get(kind.kind, "-")
            print(f"{kind.kind:14}{mean:7.1f}{low:9.1f}{ROOM - mean:11.1f}   {said}")
        spot = wall.coldest(ROOM, OUTSIDE)
        print(f"coldest spot {spot.temperature:.1f} on {spot.label}, "
              f"x {spot.x:.2f}, depth {spot.y * 1000:.0f} mm, z {spot.z:.2f} m")  # fmt: skip
    print(NOTE)


if __name__ == "__main__":
    main()
