"""A house after the work: promised, measured, verdict; and the file that it is read from."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from proof.conftest import Case
from warmside.catalog import load
from warmside.demo import proof_picture, proof_text
from warmside.errors import InputError
from warmside.physics.airflow import single_point
from warmside.proof import (
    Measured,
    MeasuredWall,
    Probed,
    bay_foam,
    fan_change,
    read_proof,
    thickness_proof,
)
from warmside.study import Proven, Study, measure, prove, study
from warmside.survey import FanTest, House, Survey
from warmside.units import BOARD_FOOT

CATALOG = load()

CFM = 0.3048**3 / 60.0  # [m3/s] exact


@pytest.fixture(scope="module")
def sold(case: Case) -> Study:
    house = House(
        name="test", climate="north-bay", year_built=1955, volume=300,
        fan_test=FanTest(flow_50=0.6),
    )  # fmt: skip
    found = study(Survey(house=house, walls=(case.wall,)), years=0, fields=True)
    from warmside.study import with_choices

    return with_choices(found, {case.wall.name: case.option.id})


def measured_wall(case: Case, foam: dict[str, float]) -> Measured:
    probes = [Probed(t, bay) for bay, t in foam.items()]
    thick = thickness_proof(case.wall.name, probes, case.option.thickness, "average", 8.0, CATALOG)
    bays = bay_foam(case.frame, case.option.thickness, foam, least_probes=10**6)
    return Measured(walls=(MeasuredWall(case.wall.name, case.option.id, bays, thickness=thick),))


def kept(proven: Proven, key: str):  # type: ignore[no-untyped-def]
    return next(k for k in proven.kept if k.key == key)


def test_nothing_measured_proves_nothing(sold: Study):
    # common practice: what was not measured is not proven, whatever was promised
    proven = prove(sold, Measured())
    assert kept(proven, "rsi_m2k_w").verdict == "needs a person"
    assert kept(proven, "rsi_m2k_w").measured is None
    assert kept(proven, "house_air_change_50_per_h").verdict == "needs a person"
    assert {k.basis for k in proven.kept} == {"not measured", "as proposed"}
    assert proven.remedies == ()
    assert proven.walls[0].built == proven.walls[0].promised


def test_as_planned_keeps_what_was_promised(case: Case, sold: Study):
    # other method: the study itself, its bays all as planned
    foam = {b.name: case.option.thickness for b in case.frame.bays}
    proven = prove(sold, measured_wall(case, foam))
    found = kept(proven, "rsi_m2k_w")
    assert found.verdict == "holds"
    # the sections of the wall come in another order, and are solved to 1e-5
    assert found.measured == pytest.approx(found.promised, rel=1e-5)
    assert proven.verdict("warm") == "holds"


def test_a_missing_bay_is_not_hidden(case: Case, sold: Study):
    bay = next(b for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3)
    foam = {b.name: case.option.thickness for b in case.frame.bays} | {bay.name: 0.002}
    proven = prove(sold, measured_wall(case, foam))
    found = kept(proven, "rsi_m2k_w")
    assert found.verdict == "falls short"
    assert found.measured is not None
    # other method: the whole of one bay of seven without foam costs more than a tenth
    assert 0.6 * found.promised < found.measured < 0.95 * found.promised
    assert proven.verdict("warm") == "falls short"
    (remedy,) = proven.remedies
    assert remedy.where == bay.name
    # exact: area of the bay times what is missing
    assert remedy.foam == pytest.approx(bay.rect.area * (case.option.thickness - 0.002), rel=1e-9)
    assert remedy.board_feet == pytest.approx(remedy.foam / BOARD_FOOT, rel=1e-12)
    # a board foot is a square foot an inch thick (exact): 2.36 L
    assert pytest.approx(2.36e-3, abs=1e-6) == BOARD_FOOT


def test_a_fan_test_takes_the_place_of_what_was_reckoned(sold: Study):
    # exact: air changes = 3600 Q50 / V
    joints = sold.walls[0].chosen.change.removed
    for flow, verdict in ((0.5, "holds"), (0.9, "falls short")):
        fan = fan_change(single_point(50.0, 0.6), single_point(50.0, flow), joints)
        proven = prove(sold, Measured(fan=fan))
        found = kept(proven, "house_air_change_50_per_h")
        assert found.measured == pytest.approx(3600.0 * flow / 300.0, rel=1e-9)
        assert found.verdict == verdict
    # a house as leaky as before saves no air
    same = fan_change(single_point(50.0, 0.6), single_point(50.0, 0.6), joints)
    assert prove(sold, Measured(fan=same)).tight.after.flow_50.best == pytest.approx(0.6, rel=1e-9)


def test_damper_rooms_are_judged_damper(case: Case, sold: Study):
    # exact: the dew point rises with humidity
    foam = {b.name: case.option.thickness for b in case.frame.bays}
    dry, damp = (prove(sold, replace(measured_wall(case, foam), humidity=h)) for h in (0.25, 0.55))
    limits = [kept(p, "coldest_surface_c").limit for p in (dry, damp)]
    assert limits[0] < 0.0 + 3.0 < limits[1]


def test_a_wall_or_option_that_is_not_there(sold: Study, case: Case):
    with pytest.raises(InputError, match="short side"):
        prove(sold, Measured(walls=(MeasuredWall("attic", "cc-76", ()),)))
    with pytest.raises(InputError, match="cc-76"):
        prove(sold, Measured(walls=(MeasuredWall(case.wall.name, "cc-99", ()),)))


# --- the file


def test_the_demonstration_says_that_it_is_synthetic():
    found = read_proof(proof_text())
    assert found.synthetic
    assert len(found.wall) == 9
    files = {p.file for w in found.wall for p in w.picture}
    assert files == {"kitchen-north.csv", "kitchen-north-fan.csv", "kitchen-west.csv"}
    assert all(proof_picture(name) for name in files)
    # exact: 1161 CFM at 50 Pa
    assert found.fan_test_after is not None
    at_50 = next(p.flow for p in found.fan_test_after.points if p.pressure == pytest.approx(50.0))
    assert at_50 == pytest.approx(1161 * CFM, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("closed = [", "Invalid"),
        ('acceptance = "about"', "average"),
        ("unknown = 1", "no key of that name"),
        ('[[wall]]\nname = "a"\n[[wall.probe]]\nbay = "bay 1"\nthickness = 2', "2"),
        ("[[core]]\nmass_g = nan\nbefore_ml = 1\nafter_ml = 2", "finite"),
        ('[[wall]]\nname = "a"\n[[wall.picture]]\nfile = "x"\nroom = "21 C"', "marks"),
        ('indoor_humidity = "340 %"', "less than or equal to 1"),
        ("x = " + "[" * 5000, "proof file"),
    ],
)
def test_faults_of_a_file_are_told(text: str, message: str):
    with pytest.raises(InputError, match=message):
        read_proof(text)


def test_pictures_and_probes_that_cannot_be_are_told_with_their_place(case: Case, sold: Study):
    stem = f'[[wall]]\nname = "{case.wall.name}"\noption = "cc-76"\n'
    bad_bay = stem + '[[wall.probe]]\nbay = "bay 99"\nthickness = "3 in"\n'
    with pytest.raises(InputError, match="probe 1: read 'bay 99'"):
        measure(sold, read_proof(bad_bay), lambda _: b"")
    deep = stem + '[[wall.probe]]\nbay = "bay 1"\nthickness = "9 in"\n'
    with pytest.raises(InputError, match="229 mm"):
        measure(sold, read_proof(deep), lambda _: b"")
    mark = '{ column = 1, row = 1, x = "0 m", z = "0 m" },'
    shot = (
        stem + '[[wall.picture]]\nfile = "a.csv"\nroom = "21 C"\noutside = "0 C"\n'
        f"marks = [{mark * 4}]\n"
    )
    with pytest.raises(InputError, match=r"picture 1 \(a.csv\), thermal picture: read an empty"):
        measure(sold, read_proof(shot), lambda _: b"")
    with pytest.raises(InputError, match="attic"):
        measure(sold, read_proof('[[wall]]\nname = "attic"'), lambda _: b"")


@pytest.mark.parametrize("option", ["batt-poly", "leave"])
def test_a_wall_without_foam_is_proved_by_no_probe(case: Case, sold: Study, option: str):
    """Common practice, no source: fibre is proved while it is seen, wood by a meter."""
    from warmside.study import with_choices

    chosen = with_choices(sold, {case.wall.name: option})
    name = chosen.walls[0].chosen.option.name
    read_wet = '[[wall.moisture]]\nwhere = "sill"\nmoisture = "28 %"\nday = 2026-10-09\n'
    stem = f'[[wall]]\nname = "{case.wall.name}"\n'
    proven = prove(chosen, measure(chosen, read_proof(stem + read_wet), lambda _: b""))
    (wet,) = [
        k for k in proven.kept if k.verdict == "falls short" and "sill" in f"{k.name}{k.reason}"
    ]
    assert wet.promise == "dry"  # wet wood is wet, whatever was done to the wall
    worked = [k for k in proven.kept if k.key == "rsi_m2k_w"]
    assert len(worked) == (option != "leave")
    assert all("No foam was sold" in k.reason and k.measured is None for k in worked)
    probed = stem + '[[wall.probe]]\nbay = "bay 1"\nthickness = "3 in"\n'
    with pytest.raises(InputError, match=f"1 probe, where {re.escape(name)} was put forward"):
        measure(chosen, read_proof(probed), lambda _: b"")


def test_the_forgotten_bay_of_the_demonstration_is_found():
    # exact: the bay that was left empty and the joint that cold air was put along, when it was made
    from warmside.demo import survey_text
    from warmside.demo.pictures import EMPTY, OPTION
    from warmside.framing import frame_wall
    from warmside.options import offered
    from warmside.proof import measured_wall as measured
    from warmside.survey import read

    survey, catalog = read(survey_text()), CATALOG
    entry = next(w for w in read_proof(proof_text()).wall if w.name == "kitchen north")
    wall = next(w for w in survey.walls if w.name == entry.name)
    frame = frame_wall(wall, survey.house, catalog.lumber)
    option = next(o for o in offered(wall, survey.house, catalog) if o.id == OPTION)
    found = measured(entry, option, wall, frame, catalog, proof_picture, hazards=survey.hazards)
    assert [b.bay for b in found.wrong] == [EMPTY["kitchen north"]]
    assert found.wrong[0].thickness == pytest.approx(0.0, abs=0.004)
    assert [j.kind for j in found.leaks] == ["plate to floor"]
    assert not found.pictures[0].weak
