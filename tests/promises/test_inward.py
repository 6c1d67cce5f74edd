"""Damp driven inwards in summer, against a published table of steady diffusion.

Relative humidity behind the finish of a cooled wall, and condensation behind sunlit wet cladding:
half-inch gypsum 2140, fill 1840, sheathing 100, paper 300 ng/(Pa s m2), 2.88 m2 K/W, July means
of air and dew point, room at 50 % (computed apart from the project with a vapour-pressure table,
in the manner of ASHRAE Handbook-Fundamentals, steady diffusion).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import Films
from warmside.physics.humid_air import saturation_pressure
from warmside.physics.moisture import vapour_planes
from warmside.promises import Room, dry, outside_of
from warmside.survey import AsFound, FoundLayer, House, Wall

CATALOG = load()
INSIDE = {"poly": 3.4, "1 perm": 57.2, "latex": 286.0}
FILMS = Films(0.12, 0.03, "of the table")
TABLE = {
    "Miami": (28.9, 24.0, (96, 77, 60)), "Houston": (29.3, 23.7, (94, 76, 59)),
    "Atlanta": (26.9, 20.8, (80, 67, 56)), "Washington": (26.5, 19.3, (73, 63, 55)),
    "Chicago": (23.9, 17.5, (66, 60, 54)), "Montreal": (21.3, 15.6, (60, 56, 53)),
}  # fmt: skip


def layer(role, permeance, resistance, thickness=0.01):
    p = permeance * 1e-12 * thickness
    return Layer(role, role, role, thickness, thickness / resistance, p, p, 500.0, 1000.0, 0.9)


def stack(inside, outer=(("sheathing", 100.0, 0.1), ("paper", 300.0, 0.01))):
    layers = [("finish", 2140.0, 0.08), ("membrane", inside, 0.001), ("fill", 1840.0, 2.54)]
    return Stack("bay", 1.0, tuple(layer(*one) for one in (*layers, *outer)))


@pytest.mark.parametrize("place", TABLE)
def test_humidity_behind_the_finish_of_a_cooled_wall(place):
    """Within 1.5 % of the table, which is rounded to whole per cents."""
    air, dew, wanted = TABLE[place]
    room = 24.0, 0.5 * float(saturation_pressure(24.0))
    outside = air, float(saturation_pressure(dew))
    for inside, humidity in zip(INSIDE.values(), wanted, strict=True):
        planes, _ = vapour_planes(stack(inside), room, outside, FILMS)
        plane = next(p for p in planes if p.between == ("membrane", "fill"))
        assert plane.humidity == pytest.approx(humidity / 100.0, abs=0.015)


@pytest.mark.parametrize(
    ("inside", "humidity", "rate"), [("poly", 161, 1.8), ("1 perm", 142, 1.5), ("latex", 106, 0.3)]
)
def test_sun_on_wet_brick(inside, humidity, rate):
    """35 degC and 90 % behind wet brick, room at 24 degC: behind wet paper of 1160 and boards."""
    outer = (("sheathing", 400.0, 0.16), ("paper", 1160.0, 0.01))
    room = 24.0, 0.5 * float(saturation_pressure(24.0))
    planes, rates = vapour_planes(
        stack(INSIDE[inside], outer), room, (35.0, 0.90 * float(saturation_pressure(35.0))),
        Films(0.12, 0.0, "of the table"),
    )  # fmt: skip
    plane = next(p for p in planes if p.between == ("membrane", "fill"))
    assert plane.humidity == pytest.approx(humidity / 100.0, abs=0.03)
    assert rates * 3.6e6 == pytest.approx(rate, abs=0.2)


def case(place, option, cladding="wood-bevel-siding", **house):
    house = House(name="h", climate=place, year_built=1950, volume=300.0, **house)
    found = AsFound(
        finish=(FoundLayer(material="latex-paint"), FoundLayer(material="gypsum-board")),
        sheathing=(FoundLayer(material="board-sheathing"),), paper="building-paper",
        cladding=FoundLayer(material=cladding),
    )  # fmt: skip
    wall = Wall(name="w", faces=180.0, frame="platform", length=3.6, height=2.44, found=found)
    frame = frame_wall(wall, house, CATALOG.lumber)
    one = next(o for o in offered(wall, house, CATALOG) if o.id == option)
    outside = outside_of(house, CATALOG.climate(place))
    return apply(one, wall, frame, CATALOG), outside


def found(place, option, cladding="wood-bevel-siding", cooled=True):
    build_up, outside = case(place, option, cladding)
    room = replace(Room(21.0, 0.45), cooled=cooled)
    return {f.key: f for f in dry(build_up, room, outside).findings}


def test_a_gulf_coast_wall_of_sheet_and_batts_falls_short_and_foam_does_not():
    """Facts of the trade: no polyethylene inside on the Gulf coast; closed-cell foam on the
    sheathing keeps the damp out. In Winnipeg the same sheet does no harm in summer."""
    sheet = found("new-orleans-la", "batt-poly")["inward_humidity"]
    assert sheet.verdict == "falls short"
    assert 0.85 < sheet.figure < 1.05
    assert "Polyethylene" in str(sheet.reason)
    assert found("new-orleans-la", "cc-51")["inward_humidity"].verdict == "holds"
    assert found("minneapolis-st-paul-mn", "batt-poly")["inward_humidity"].verdict == "holds"
    assert "inward_humidity" not in found("winnipeg", "batt-poly", cooled=False)


def test_wet_brick_behind_a_sheet_asks_a_person_and_siding_does_not():
    """Cladding that holds rain: brick and stucco, not lapped siding (RR-0104); cold places too."""
    for place in ("new-orleans-la", "montreal"):
        assert found(place, "batt-poly", "brick-veneer")["inward_sun_kg_m2_s"].verdict == (
            "needs a person"
        )
        assert "inward_sun_kg_m2_s" not in found(place, "batt-poly")
    assert found("new-orleans-la", "cc-51", "brick-veneer")["inward_sun_kg_m2_s"].figure < 1e-7


def test_rooms_are_cooled_where_a_month_s_mean_is_24_degrees_or_as_surveyed():
    from warmside.promises.room import rooms_cooled

    house = House(name="h", climate="miami-fl", year_built=1950, volume=300.0)
    miami, chicago = CATALOG.climate("miami-fl").mean, CATALOG.climate("fargo-nd").mean
    assert rooms_cooled(house, miami)
    assert not rooms_cooled(house, chicago)
    assert rooms_cooled(replace_house(house, "rooms cooled"), chicago)
    assert not rooms_cooled(replace_house(house, "none"), miami)


def replace_house(house, cooling):
    return house.model_copy(update={"cooling": cooling})


def test_a_cooled_room_by_the_hour():
    """24 degC (75 degF) at most and 50 % on warm days, common practice; winter is as it was."""
    from warmside.weather import usual_year

    year = usual_year(CATALOG.climate("new-orleans-la"))
    room = Room(21.0, 0.40)
    open_, cool = room.hourly(year), replace(room, cooled=True).hourly(year)
    july, january = year.month == 7, year.month == 1
    assert cool.temperature.max() <= 24.0
    assert cool.humidity[july].max() <= 0.5 + 1e-9
    assert open_.temperature[july].mean() > 27.0
    same = january & (open_.temperature <= 24.0) & (cool.humidity > 0.5)
    assert cool.humidity[same] == pytest.approx(open_.humidity[same], rel=1e-12)
