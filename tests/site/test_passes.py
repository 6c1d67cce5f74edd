"""Pass plan, joint map and sequence of real walls against counts and sums of the trade."""

from __future__ import annotations

from dataclasses import replace

import pytest

from site_walls import planned
from warmside.errors import InputError
from warmside.estimate import CrewTime, Depth, PassPlan, idle_wait, pass_plan
from warmside.site import joint_runs, plan_house

FT2, INCH = 0.09290304, 0.0254  # exact


def depth(thickness: float, count: int, wait: float = 900.0, feet: float = 100.0) -> Depth:
    return Depth("closed-cell", "foam", thickness, count, wait, 1.0, feet, (), None)  # type: ignore[arg-type]


def test_three_inches_go_on_in_two_passes(plan, catalog):
    """3 in with 2 in a pass at most: two of 1-1/2 in (Journal of Light Construction: 2-3 in. in
    2-3 lifts, second-hand); 15 min between them."""
    assert plan.passes.count == 2
    first = plan.passes.depths[0]
    assert first.thickness == pytest.approx(3 * INCH, abs=5e-4)
    assert first.each == pytest.approx(1.5 * INCH, abs=5e-4)
    assert first.wait == 15 * 60
    for found in plan.passes.depths:
        assert found.each <= catalog.foams["closed-cell"].pass_max + 1e-9


def test_the_us_row_takes_an_inch_and_a_half_a_pass(plan, catalog):
    """Trade guidance where the maker is silent: 1-1/2 in a pass at most (second-hand)."""
    us = catalog.foams["closed-cell-us"]
    assert us.pass_max == pytest.approx(1.5 * INCH, abs=2e-4)
    thin = replace(catalog.foams["closed-cell"], pass_max=0.025)
    other = replace(catalog, foams={**catalog.foams, "closed-cell": thin})
    assert pass_plan(plan.build_up, other).count == 3  # 3 in, 76 mm, in passes of an inch, 25 mm


def test_board_feet_by_area_and_thickness(plan):
    """1 board ft = 1 ft2 x 1 in, exact: recounted from the areas of the pass plan."""
    by_hand = sum(d.area / FT2 * d.thickness / INCH for d in plan.passes.depths)
    assert plan.passes.board_feet == pytest.approx(by_hand, rel=6e-3)  # thickness to the mm
    each = sum(plan.passes.board_feet_of(n) for n in range(1, plan.passes.count + 1))
    assert each == pytest.approx(plan.passes.board_feet, rel=1e-12)
    # 15 % open bays, 20 % small ones, from memory
    assert 1.15 <= plan.passes.with_waste / plan.passes.board_feet <= 1.20


def test_picture_framing_runs_round_every_bay(plan):
    bays = [bay.rect for bay in plan.frame.bays]
    assert plan.passes.frame_run == pytest.approx(sum(2 * (r.width + r.height) for r in bays))


@pytest.mark.parametrize(
    ("depths", "spraying", "crew", "expected"),
    [  # hand sums: 2 passes, 15 min wait
        ((depth(0.076, 2),), 0.0, 1, 0.25),  # nothing else to do: the whole wait
        ((depth(0.076, 2),), 0.2, 1, 0.15),  # first pass takes 0.1 h of it
        ((depth(0.076, 2),), 4.0, 2, 0.0),  # first pass takes an hour
        ((depth(0.140, 3),), 0.3, 1, 0.30),  # two waits of 0.25 h, 0.1 h each filled
        ((depth(0.038, 1),), 0.0, 1, 0.0),  # one pass, no wait
        ((depth(0.076, 2, feet=100), depth(0.03, 1, feet=100)), 0.3, 1, 0.025),  # 3/4 in pass 1
        ((), 1.0, 1, 0.0),
    ],
)
def test_waiting_that_spraying_does_not_fill(depths, spraying, crew, expected):
    feet = sum(d.board_feet for d in depths)
    plan = PassPlan(depths, 0.0, feet, feet, ())
    assert idle_wait(plan, spraying, crew) == pytest.approx(expected, abs=1e-12)


def test_crew_time_adds_up(plan):
    time = plan.time
    assert time.hours == pytest.approx(sum(hours for _, hours in time.tasks))
    assert CrewTime((("spray", 6.0),), 2, 0.5).on_the_clock == 3.5  # hand sum
    assert plan.trim == 0.0  # closed-cell foam short of the stud face is not trimmed


def test_only_full_open_cell_is_trimmed(survey, catalog):
    """Half-pound foam fills the bay and is cut flush (common practice)."""
    full = planned(survey, catalog, "kitchen north", "oc-full")
    assert full.trim == pytest.approx(sum(d.area for d in full.passes.depths), rel=1e-9)


def test_warnings_of_a_thick_fill(survey, catalog):
    """Over 100 mm: a long rest (from memory); more than one pass: cool before the next."""
    thick = planned(survey, catalog, "kitchen north", "furring-38-cc-full")
    words = " ".join(map(str, thick.passes.warnings))
    assert "long rest" in words
    assert "cooled" in words
    shallow = planned(survey, catalog, "kitchen north", "cc-38")
    assert shallow.passes.count == 1
    assert not any("cooled" in w or "long rest" in w for w in shallow.passes.warnings)


def test_every_joint_is_in_one_run(survey, catalog, plan):
    for name in ("north front", "east gable", "kitchen north"):
        found = planned(survey, catalog, name, "cc-76")
        told = [joint.name for run in found.runs for joint in run.joints]
        assert sorted(told) == sorted(j.name for j in found.frame.joints if j.length > 0)
        assert [run.number for run in found.runs] == list(range(1, len(found.runs) + 1))
        assert len({run.key for run in found.runs}) == len(found.runs)
    order = list(dict.fromkeys(run.what for run in plan.runs))
    # order of work of the trade: laminations, top plates, plate to floor, headers, wires, openings
    assert order == ["studs side by side", "top plates", "studs on plates", "plate to floor",
                     "headers and sills", "box", "pipe or cable", "round the opening"]  # fmt: skip


def test_cartridges_are_those_of_the_takeoff(plan, catalog, survey):
    """Other way round: the takeoff counts by kind of joint, the map by run."""
    from warmside.estimate import takeoff

    wall = next(w for w in survey.walls if w.name == "kitchen north")
    lines = takeoff(plan.build_up, wall, catalog)
    priced = next(q.amount for q in lines if q.key == "sealant_300ml")
    assert plan.cartridges == pytest.approx(priced, rel=1e-9)
    assert joint_runs(plan.frame, catalog) == plan.runs


def test_sequence_and_the_choice_of_sealing(survey, catalog):
    before = [s.id for s in planned(survey, catalog, "kitchen north", "cc-76").steps]
    after = [
        s.id for s in planned(survey, catalog, "kitchen north", "cc-76", sealing="after").steps
    ]
    assert before.index("seal-joints") < before.index("spray") < before.index("more-passes")
    assert after.index("seal-joints") > after.index("more-passes")
    assert before[:2] == ["make-safe", "clear-hazards"]
    assert before[-4:] == ["check", "cover", "trim-on", "clear-up"]
    assert sorted(before) == sorted(after)
    steps = planned(survey, catalog, "kitchen north", "batt-poly").steps
    assert not {"spray", "more-passes", "check"} & {s.id for s in steps}


def test_a_house_is_planned_by_its_choices(survey, catalog):
    plans = plan_house(survey, catalog, {"kitchen north": "cc-76", "west gable": "leave"})
    assert [plan.wall for plan in plans] == ["kitchen north"]
    for options in ({"nowhere": "cc-76"}, {"kitchen north": "gold"}):
        with pytest.raises(InputError):
            plan_house(survey, catalog, options)
    with pytest.raises(InputError, match="people"):
        plan_house(survey, catalog, {"kitchen north": "cc-76"}, crew=0)
