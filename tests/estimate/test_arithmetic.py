"""Board feet, beads and yields against exact definitions and the trade's tables."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from warmside.catalog import load
from warmside.errors import InputError
from warmside.estimate import (
    bead_area,
    bead_metres_per_cartridge,
    board_feet,
    joint_depth,
    theoretical_yield,
)
from warmside.units import BOARD_FOOT

POUND = 0.45359237  # [kg], exact
PCF = POUND / 0.3048**3  # [kg/m3]


def test_board_foot_is_a_square_foot_one_inch_thick() -> None:
    # exact: 1 ft = 0.3048 m, 1 in = 0.0254 m, so 1 board ft = 2.359737216 L
    assert pytest.approx(2.359737216e-3, rel=1e-15, abs=0) == BOARD_FOOT
    assert board_feet(0.3048**2, 0.0254) == pytest.approx(1.0, rel=1e-14, abs=0)
    # exact: 100 ft2 x 3 in = 300 board ft
    assert board_feet(100 * 0.3048**2, 0.0762) == pytest.approx(300.0, rel=1e-14, abs=0)
    # 1 m2 x 1 mm = 1/2.359737216 = 0.42378 board ft
    assert board_feet(1.0, 0.001) == pytest.approx(0.42377600, rel=1e-7, abs=0)


def test_a_quarter_inch_square_joint_takes_a_tube_for_some_26_feet() -> None:
    # published range 24-27 ft from a 10.1 fl oz (299 ml) tube at 1/4 x 1/4 in. (how-to page, weak)
    feet = bead_metres_per_cartridge("square", 0.00635, 299e-6) / 0.3048
    assert 24 <= feet <= 27


@pytest.mark.parametrize(
    ("inches", "depth_inches"),
    # Handbook of Adhesives and Sealants, p. 119 (second-hand): 1/4 x 1/4 in. at least; as deep as
    # wide to 1/2 in.; about 1/2 in. up to 1 in.; 1/2 to 5/8 beyond
    [(0.125, 0.25), (0.25, 0.25), (0.375, 0.375), (0.5, 0.5), (0.75, 0.5), (1.5, 0.5)],
)
def test_joint_depth(inches: float, depth_inches: float) -> None:
    expected = depth_inches * 0.0254
    assert joint_depth(inches * 0.0254) == pytest.approx(expected, rel=1e-12, abs=0)


@pytest.mark.parametrize(
    ("pcf", "table"),
    # common practice: board ft of a 1000 lb set = 12 000 / density, as tables round it
    [(2.0, 6000), (2.2, 5450), (2.4, 5000), (2.6, 4600), (0.5, 24000), (0.6, 20000), (0.65, 18500)],
)
def test_theoretical_yield(pcf: float, table: float) -> None:
    found = theoretical_yield(1000 * POUND, pcf * PCF)
    assert found == pytest.approx(12_000 / pcf, rel=1e-12, abs=0)  # exact: lb x 12 / pcf
    assert found == pytest.approx(table, rel=0.004, abs=0)


def test_yield_less_waste_falls_where_contractors_plan() -> None:
    # 2-lb foam, published planning figures 3000 to 5000 board ft a set (a supplier's paper; trade
    # press 4000 and 4500, second-hand); density in place 2.3-2.6 lb/ft3, waste 10-20 % (memory)
    for pcf in (2.3, 2.6):
        for waste in (0.10, 0.20):
            net = theoretical_yield(1000 * POUND, pcf * PCF) / (1 + waste)
            assert 3000 <= net <= 5000
    middle = theoretical_yield(1000 * POUND, 2.45 * PCF) / 1.15
    assert middle == pytest.approx(4250, rel=0.06, abs=0)  # between 4000 and 4500


def test_mass_of_a_board_foot() -> None:
    # arithmetic: 35 kg/m3 x 2.3597 L = 0.0826 kg
    assert 1 / theoretical_yield(1.0, 35.0) == pytest.approx(0.0826, rel=1e-3, abs=0)


@pytest.mark.parametrize(
    ("thickness", "pass_max", "count"),
    # trade guidance: 1-1/2 in. a pass where the maker is silent. An inch on the job is 25 mm of a
    # metric listing (common practice, no source): 2 in is one pass of 50 mm, 4 in two; 2-1/8 in
    # and 53 mm are not
    [
        (0.0381, 0.0381, 1), (0.0762, 0.0381, 2), (0.079, 0.0381, 3), (0.02, 0.0381, 1),
        (0.0508, 0.050, 1), (0.1016, 0.050, 2), (0.053, 0.050, 2), (2.125 * 0.0254, 0.050, 2),
        (0.0762, 0.038, 2),
    ],
)  # fmt: skip
def test_passes(thickness: float, pass_max: float, count: int) -> None:
    foam = replace(load().foam("closed-cell"), pass_max=pass_max)
    assert foam.passes(thickness) == count


def test_a_listing_with_rows_of_its_own_goes_before_its_thickest_pass() -> None:
    # an invented listing: 64 mm in one pass, 127 mm in two; beyond, passes of 50 mm
    foam = replace(load().foam("closed-cell"), listed_passes=((0.064, 1), (0.127, 2)))
    counts = [foam.passes(t) for t in (0.050, 2.5 * 0.0254, 0.066, 5 * 0.0254, 0.140)]
    assert counts == [1, 1, 2, 2, 3]


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.01])
def test_no_passes_of_what_is_no_thickness(bad: float) -> None:
    with pytest.raises(ValueError, match="thickness"):
        load().foam("closed-cell").passes(bad)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0])
def test_bad_sizes_are_refused(bad: float) -> None:
    with pytest.raises(InputError, match="area"):
        board_feet(bad, 0.05)
    with pytest.raises(InputError, match="thickness"):
        board_feet(1.0, bad)
    with pytest.raises(InputError, match="bead width"):
        bead_metres_per_cartridge("round", bad, 3e-4)
    with pytest.raises(InputError, match="cartridge volume"):
        bead_metres_per_cartridge("round", 0.006, bad)
    with pytest.raises(InputError, match="density"):
        theoretical_yield(400.0, bad)
    with pytest.raises(InputError, match="joint width"):
        joint_depth(bad)


def test_unknown_bead_shape() -> None:
    with pytest.raises(InputError, match="round, fillet or square"):
        bead_area("oval", 0.006)  # type: ignore[arg-type]
