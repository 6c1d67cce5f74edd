"""What the state of old fill does to a wall: heat, voids, air, water at the start."""

from __future__ import annotations

from math import exp

import pytest

from warmside.catalog import load
from warmside.errors import InputError
from warmside.framing import frame_wall
from warmside.options import LEAVE, apply, offered
from warmside.physics.conduction import (
    ISO_FILMS,
    combined,
    isothermal_planes,
    parallel_path,
    resistances,
    section_resistance,
)
from warmside.survey import AsFound, House, Wall, read

CATALOG = load()
HOUSE = House(name="h", year_built=1962, climate="montreal", volume=300.0)
SIX = AsFound(
    finish=("gypsum-board",), fill="glass-fibre-batt", sheathing=("plywood",),
    cladding="wood-bevel-siding",
)  # fmt: skip
WALL = Wall(name="w", faces=0.0, frame="platform", length=4.8768, height=2.4384, found=SIX)


def built(wall=WALL, **found):
    one = wall.model_copy(update={"found": wall.found.model_copy(update=found)})
    return apply(LEAVE, one, frame_wall(one, HOUSE, CATALOG.lumber), CATALOG)


def bays(build_up):
    return [stack for stack in build_up.stacks if stack.kind == "bay"]


def test_gaps_above_and_below_batts_cost_what_was_measured():
    """Christian and Kosny, Home Energy Nov/Dec 1999, table 1: 2x6 walls with batts whose shoulders
    were rounded and which left 1 in. at top and bottom held back 14.0 of 15.4, 0.909."""
    wall = WALL.model_copy(update={"stud_depth": 0.1397, "spacing": 0.6096})
    gaps = 2 * 0.0254 / (2.4384 - 3 * 0.0381)
    sound, gapped = (
        combined(built(wall, fill_missing=share).stacks).resistance for share in (0.0, gaps)
    )
    assert gapped / sound == pytest.approx(0.909, abs=0.02)


@pytest.mark.parametrize(
    ("share", "lost"), [(0.02, 0.05), (0.05, 0.11), (0.10, 0.20), (0.20, 0.33)]
)
def test_voids_lie_in_parallel_by_hand(share, lost):
    """By hand: fill of R-11 and a void of R-0.95 side by side, behind other layers and films of
    R-3.1, lose so much of the path through a bay. A plane air space of 3-1/2 in. was measured at
    R-1.01 (ASHRAE Handbook-Fundamentals, from memory)."""
    told = built(fill_state="missing in places", fill_missing=share)
    filled, empty = sorted(bays(told), key=lambda stack: -stack.area)
    assert empty.area / (filled.area + empty.area) == pytest.approx(share, rel=1e-9)
    by_role = dict(zip((x.role for x in empty.layers), resistances(empty), strict=True))
    assert by_role["gap"] == pytest.approx(1.01 / 5.678, rel=0.1)
    films = ISO_FILMS.inside + ISO_FILMS.outside
    whole, hollow = (sum(resistances(stack)) + films for stack in (filled, empty))
    path = 1.0 / ((1.0 - share) / whole + share / hollow)
    assert 1.0 - path / whole == pytest.approx(lost, abs=0.01 + 0.1 * lost)


@pytest.mark.parametrize(("state", "share"), [("damp", 0.005), ("wet", 0.02)])
def test_wet_fill_conducts_at_least_what_the_standard_counts(state, share):
    """ISO 10456 table 4, mineral fibre (from memory): k = k0 exp(4 psi), without moving vapour;
    a field study found no relation of moisture to resistance (NBS TN 1131), the least of the band.
    """
    row = CATALOG.fill_state(state, "glass-fibre-batt")
    assert row.water_share == pytest.approx(share, abs=0)
    assert row.conductivity_times >= exp(4.0 * share)
    assert 1.0 <= row.conductivity_times_low <= exp(4.0 * share)
    (wet,) = (x for x in bays(built(fill_state=state))[0].layers if x.role == "fill")
    (dry,) = (x for x in bays(built())[0].layers if x.role == "fill")
    assert wet.conductivity == pytest.approx(dry.conductivity * row.conductivity_times, rel=1e-12)
    assert wet.found_water.dry_conductivity == dry.conductivity
    # by hand: 2 % of 3-1/2 in is 1.8 kg/m2, half a percent 0.45
    held = wet.found_water.content * 0.0889
    assert held == pytest.approx({"damp": 0.45, "wet": 1.8}[state], rel=0.02)


def test_a_batt_hung_loose_keeps_three_quarters():
    """Common practice, no source: half to nine tenths."""
    loose, sound = (bays(built(fill_state=s))[0] for s in ("hung loose", "dry"))
    share = [max(resistances(stack)) for stack in (loose, sound)]
    assert share[0] / share[1] == pytest.approx(0.75, abs=0.01)


@pytest.mark.parametrize("state", ["slumped", "hung loose", "missing in places", "damp", "wet"])
def test_every_state_holds_back_less_and_says_so(state):
    """Fact of the physics; the true resistance of a closed wall lies between the simple methods."""
    sound, found = built(), built(fill_state=state)
    assert combined(found.stacks).resistance < combined(sound.stacks).resistance
    low, high = isothermal_planes(found.stacks), parallel_path(found.stacks)
    assert low <= section_resistance(found.assembly).value <= high * 1.01
    assert sum(s.area for s in found.stacks) == pytest.approx(found.frame.net_area, rel=1e-9)
    assert any(state in text for text in found.cautions)
    assert any("as found" in text and "sound" in text for text in found.assumptions)


def test_the_fill_that_is_taken_out_has_no_state():
    wall = WALL.model_copy(update={"found": SIX.model_copy(update={"fill_state": "slumped"})})
    frame = frame_wall(wall, HOUSE, CATALOG.lumber)
    opened = [o for o in offered(wall, HOUSE, CATALOG) if o.kind.opened.bays]
    assert opened
    for option in opened:
        assert apply(option, wall, frame, CATALOG).old_fill is None


def test_settled_fill_differs_by_what_it_is():
    """Common practice, no source: loose cellulose leaves 10 %, blown rock wool 5 %."""
    shares = {
        fill: CATALOG.fill_state("slumped", fill).empty_share
        for fill in ("cellulose-loose", "old-rock-wool-blanket")
    }
    assert shares == {"cellulose-loose": 0.10, "old-rock-wool-blanket": 0.05}


@pytest.mark.parametrize("value", ["95 %", "-5 %", "nan", "1e400", "much", "120 %", 1.5])
def test_a_share_that_no_bay_can_have_is_refused(value):
    text = f"""
[house]
name = "h"
year_built = 1962
climate = "montreal"
volume = "300 m3"
[[wall]]
name = "w"
faces = "N"
frame = "platform"
length = "16 ft"
height = "8 ft"
[wall.found]
fill = "glass-fibre-batt"
fill_missing = {value if isinstance(value, float) else f'"{value}"'}
"""
    with pytest.raises(InputError, match="fill_missing"):
        read(text)
    with pytest.raises(InputError, match="fill_missing"):
        read(text.replace('fill = "glass-fibre-batt"\n', "").replace(str(value), "15 %"))
