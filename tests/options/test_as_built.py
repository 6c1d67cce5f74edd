"""A wall whose bays hold other foam than planned."""

from __future__ import annotations

import pytest

from warmside.catalog import load
from warmside.errors import InputError
from warmside.framing import frame_wall
from warmside.options import apply, as_built, offered
from warmside.physics.conduction import combined, solids
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall

CATALOG = load()
HOUSE = House(name="test", climate="north-bay", year_built=1955, volume=300)
WALL = Wall(
    name="w", year_built=1955, faces=0, frame="platform", length=3.0, height=2.44,
    found=AsFound(sheathing=(FoundLayer(material="board-sheathing"),)),
    openings=(Opening(name="window", left=1.2, sill=0.9, width=0.8, height=1.1),),
)  # fmt: skip
FRAME = frame_wall(WALL, HOUSE, CATALOG.lumber)
OPTION = next(o for o in offered(WALL, HOUSE, CATALOG) if o.id == "cc-76")


def test_every_bay_as_planned_is_the_plan():
    # other method: apply itself
    planned = apply(OPTION, WALL, FRAME, CATALOG)
    same = as_built(OPTION, WALL, FRAME, CATALOG, {b.name: OPTION.thickness for b in FRAME.bays})
    assert combined(same.stacks).resistance == pytest.approx(
        combined(planned.stacks).resistance, rel=1e-12
    )


def test_areas_foam_and_depth_add_up():
    # exact: volume of foam = area of each bay times its foam, wall tiled once
    foam = {"bay 1": 0.0, "bay 2": 0.03, "bay 3": 0.2}
    built = as_built(OPTION, WALL, FRAME, CATALOG, foam)
    assert sum(s.area for s in built.stacks) == pytest.approx(FRAME.net_area, rel=1e-12)
    assert len({tuple(y.thickness for y in s.layers) for s in built.stacks}) == 1
    volume = sum(s.area * y.thickness for s in built.stacks for y in s.layers if y.role == "foam")
    areas = {b.name: 0.0 for b in FRAME.bays}
    for region in FRAME.regions:
        if region.part in areas:
            areas[region.part] += region.rect.area
    expected = sum(
        area * min(foam.get(name, OPTION.thickness), FRAME.depth) for name, area in areas.items()
    )
    assert volume == pytest.approx(expected, rel=1e-6)  # faces nearer than a micron are one
    boxes = solids(built.assembly)
    body = sum((b.x1 - b.x0) * (b.y1 - b.y0) * (b.z1 - b.z0) for b in boxes)
    depth = sum(y.thickness for y in built.stacks[0].layers if not y.vented)
    assert body == pytest.approx(depth * FRAME.net_area, rel=1e-9)


@pytest.mark.parametrize(
    ("foam", "message"),
    [
        ({"bay 99": 0.05}, "bay 99"),
        ({"bay 1": float("nan")}, "0 to 1 m"),
        ({"bay 1": -0.01}, "0 to 1 m"),
        ({"bay 1": True}, "0 to 1 m"),
    ],
)
def test_refuses_bays_and_lengths_that_cannot_be(foam: dict[str, float], message: str):
    with pytest.raises(InputError, match=message):
        as_built(OPTION, WALL, FRAME, CATALOG, foam)


def test_refuses_an_option_without_foam():
    leave = next(o for o in offered(WALL, HOUSE, CATALOG) if not o.kind.worked)
    with pytest.raises(InputError, match="no foam"):
        as_built(leave, WALL, FRAME, CATALOG, {"bay 1": 0.05})
