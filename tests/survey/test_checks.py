"""What contradicts itself in a survey is told at its place, from a file and from Python alike."""

from __future__ import annotations

import pytest
from pydantic import ValidationError
from tests.survey.test_file import SMALL

from warmside.errors import InputError
from warmside.survey import FanTest, Hazard, Wall, check, read, template

OPENING = (
    '[[wall.opening]]\nname = "{}"\nleft = "{}"\nsill = "3 ft"\nwidth = "3 ft"\nheight = "4 ft"\n'
)
PROFILE = "profile = [{}]"


def wall(extra: str) -> str:
    return SMALL + extra


CASES = [
    (SMALL.replace('height = "8 ft"\n', ""), 'wall "north", height', "neither"),
    (SMALL.replace('"8 ft"', '"8 ft"\nprofile = [["0 ft", "8 ft"]]'),
     'wall "north", height', "both"),
    (SMALL.replace('height = "8 ft"', 'profile = [["1 ft", "8 ft"]]'), "profile 1, x", '"1 ft"'),
    (SMALL.replace('height = "8 ft"', 'profile = [["0 ft", "8 ft"], ["0 ft", "9 ft"]]'),
     "profile 2, x", '"0 ft"'),
    (SMALL.replace('height = "8 ft"', 'profile = [["0 ft", "8 ft"], ["24 ft", "9 ft"]]'),
     "profile 2, x", '"24 ft"'),
    (SMALL.replace('height = "8 ft"', 'profile = [["0 ft", "9 ft"], ["6 ft", "6 ft"]]'),
     'opening "kitchen window", height', "7' 0\""),
    (SMALL.replace('sill = "3 ft"', 'sill = "5 ft"'), 'opening "kitchen window", height', "9' 0\""),
    (wall(OPENING.format("second", "6 ft")), 'opening "second", left', '"6 ft"'),
    (wall(OPENING.format("Kitchen Window", "12 ft")), 'opening "Kitchen Window", name', "Kitchen"),
    (wall('[[wall.partition]]\nat = "25 ft"\n'), "partition 1, at", '"25 ft"'),
    (wall('[[wall.brace]]\nfrom_x = "0 in"\nfrom_z = "9 ft"\nto_x = "4 ft"\nto_z = "0 in"\n'),
     "brace 1, from_z", '"9 ft"'),
    (wall('[[wall.brace]]\nfrom_x = "0 in"\nfrom_z = "8 ft"\nto_x = "0 in"\nto_z = "0 in"\n'),
     "brace 1, to_x", '"0 in"'),
    (wall('[[wall.box]]\nx = "5 ft"\nz = "4 ft"\n'), "box 1, x", '"5 ft"'),
    (wall('[[wall.pipe]]\nx = "30 ft"\n'), "pipe 1, x", '"30 ft"'),
    (wall('[[wall.reading]]\nwhere = "plate"\nx = "30 ft"\nmoisture = "19 %"\n'),
     "reading 1, x", '"30 ft"'),
    (SMALL.replace('"8 ft"', '"8 ft"\nfloor_line = "9 ft"'), "floor_line", '"9 ft"'),
    (SMALL.replace('"8 ft"', '"8 ft"\nstud_width = "17 in"'), "stud_width", '"17 in"'),
    (wall('[wall.found]\nfill_thickness = "2 in"\n'), "found, fill_thickness", '"2 in"'),
    (wall(SMALL[SMALL.index("[[wall]]"):].replace("north", "North")),
     'wall "North", name', "North"),
    (wall('[[hazard]]\nkind = "rot"\nwhere = "sill"\nwall = "nord"\n'), "hazard 1, wall", '"nord"'),
    (wall('[[hazard]]\nkind = "rot"\nwhere = "sill"\nstate = "cleared"\n'),
     "hazard 1, cleared_by", "nothing"),
    (wall('[[option]]\nkind = "leave"\nwalls = ["north", "south"]\n'),
     "option 1, walls 2", '"south"'),
    (wall("[house.fan_test]\n"), "house, fan_test, flow_50", "neither"),
    (wall('[house.fan_test]\nflow_50 = "3200 CFM50"\n'
          'point = [{pressure = "50 Pa", flow = "3200 cfm"}]\n'),
     "house, fan_test, flow_50", "both"),
    (SMALL.replace("1931", '1931\nindoor_humidity = "35 %"\nmoisture_production = "9 kg/day"'),
     "house, indoor_humidity", "both"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "place", "read"), CASES)
def test_one_contradiction_is_one_fault_at_its_place(text, place, read):
    found = check(text).faults
    assert len(found) == 1, [str(fault) for fault in found]
    assert found[0].place.endswith(place)
    assert read in found[0].read
    assert found[0].line is not None
    assert found[0].allowed


def test_openings_may_touch_and_stand_above_each_other():
    touching = SMALL + OPENING.format("second", "7 ft")
    above = SMALL.replace('height = "8 ft"', 'height = "17 ft"') + OPENING.format(
        "upper", "4 ft"
    ).replace('sill = "3 ft"', 'sill = "11 ft"')
    assert check(touching).faults == ()
    assert check(above).faults == ()


def test_the_models_refuse_the_same_from_python():
    plain = {"name": "a", "faces": "N", "frame": "platform", "length": 5.0}
    with pytest.raises(ValidationError, match="neither height nor profile"):
        Wall(**plain)
    with pytest.raises(ValidationError, match="to the wall's length"):
        Wall(**plain, height=2.4, partitions=[{"at": 6.0}])
    with pytest.raises(ValidationError, match="both flow_50 and point"):
        FanTest(flow_50=1.0, points=[{"pressure": 50.0, "flow": 1.0}])
    with pytest.raises(ValidationError, match="who cleared it"):
        Hazard(kind="rot", where="sill", state="cleared")


def test_python_numbers_are_si_and_text_is_trade():
    wall = Wall(name="a", faces=90.0, frame="platform", length="24 ft", height=2.4384)
    assert wall.length == pytest.approx(7.3152, rel=1e-12)  # 24 x 0.3048 m
    assert wall.columns == ((0.0, wall.length, 2.4384),)


def test_columns_and_least_height_of_a_stepped_wall():
    wall = Wall(
        name="gable", faces="N", frame="platform", length=6.0,
        profile=[(0.0, 2.4), (2.0, 3.0), (4.0, 2.0)],
    )  # fmt: skip
    assert wall.columns == ((0.0, 2.0, 2.4), (2.0, 4.0, 3.0), (4.0, 6.0, 2.0))
    assert wall.height_between(0.5, 3.0) == 2.4
    assert wall.height_between(2.5, 3.0) == 3.0
    assert wall.height_between(3.0, 6.0) == 2.0


def test_names_that_do_not_fit_are_told_together_with_everything_else():
    # each kind of fault was first seen alone in the tests above; here all stand in one file
    text = template().replace('length = "24 ft"', 'length = "24 quarts"', 1)
    text += """
[[hazard]]
kind = "rot"
where = "sill"
wall = "nroth front"

[[option]]
kind = "closed-cell"
thickness = "2 in"
walls = ["north front", "attic"]

[[wall]]
name = "North Front"
"""
    told = [str(fault) for fault in check(text).faults]
    for word in ("24 quarts", '"nroth front"', '"attic"', "bears this one already", "frame"):
        assert any(word in line for line in told), word
    assert len(told) == len(set(told))


def test_names_are_told_once_where_nothing_else_is_wrong():
    text = (
        template() + '\n[[option]]\nkind = "closed-cell"\nthickness = "2 in"\nwalls = ["attic"]\n'
    )
    faults = check(text).faults
    assert [fault.read for fault in faults] == ['"attic"']


@pytest.mark.parametrize(
    ("frame", "blocks", "told"),
    [
        ("platform", "unknown", "of platform frame"),
        ("balloon", "present", "whose blocks are present"),
        ("balloon", "missing", ""),
        ("balloon", "unknown", ""),
    ],
)
def test_missing_fire_blocks_where_none_can_be_missing(frame: str, blocks: str, told: str) -> None:
    """Common practice: plates close the bays of a platform frame at each floor."""
    text = (
        '[house]\nname = "h"\nclimate = "ottawa"\nyear_built = 1920\nvolume = "300 m3"\n'
        f'[[wall]]\nname = "w"\nfaces = "N"\nframe = "{frame}"\nlength = "5 m"\nheight = "2.4 m"\n'
        f'fire_blocks = "{blocks}"\n'
        '[[hazard]]\nkind = "missing fire blocks"\nwall = "w"\nwhere = "attic"\nstate = "found"\n'
    )
    if not told:
        assert read(text).hazards[0].wall == "w"
        return
    with pytest.raises(InputError) as error:
        read(text)
    (fault,) = error.value.faults
    assert told in fault.allowed
    assert fault.line == text.splitlines().index('kind = "missing fire blocks"') + 1
