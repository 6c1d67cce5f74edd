"""Sample statistics against scipy, densities against hand sums, yields against the trade."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from warmside.catalog import load
from warmside.errors import InputError
from warmside.site import (
    Use,
    density,
    density_checks,
    learned,
    own_foam,
    probes_needed,
    sample,
    student,
    thickness_checks,
)

CATALOG = load()

INCH = 0.0254
PROBES = [0.074, 0.078, 0.076, 0.081, 0.072, 0.077, 0.079]


@pytest.mark.parametrize("confidence", [0.80, 0.90, 0.95, 0.99])
def test_mean_and_band_against_scipy(confidence):
    found = sample(PROBES, confidence)
    low, high = stats.t.interval(
        confidence, len(PROBES) - 1, loc=np.mean(PROBES), scale=stats.sem(PROBES)
    )
    assert found.mean == pytest.approx(np.mean(PROBES), rel=1e-12)
    assert found.sd == pytest.approx(np.std(PROBES, ddof=1), rel=1e-12)
    assert (found.low, found.high) == (
        pytest.approx(low, rel=1e-10),
        pytest.approx(high, rel=1e-10),
    )


@given(st.lists(st.floats(0.001, 0.3, allow_subnormal=False), min_size=2, max_size=40))
def test_any_sample_agrees_with_numpy_and_scipy(values):
    found = sample(values)
    assert found.mean == pytest.approx(np.mean(values), rel=1e-9)
    assert found.sd == pytest.approx(np.std(values, ddof=1), rel=1e-7, abs=1e-12)
    half = stats.t.ppf(0.975, len(values) - 1) * found.sd / math.sqrt(len(values))
    assert found.high - found.low == pytest.approx(2 * half, rel=1e-9, abs=1e-12)


def test_student_of_a_printed_table():
    """t for 95 %: 12.706 (1), 4.303 (2), 2.262 (9), 1.984 (100): NIST/SEMATECH e-Handbook, table of
    the t distribution (from memory)."""
    for freedom, t in ((1, 12.706), (2, 4.303), (9, 2.262), (100, 1.984)):
        assert student(freedom, 0.95) == pytest.approx(t, abs=5e-4)


def test_one_value_has_no_band():
    found = sample([0.076])
    assert (found.sd, found.low, found.high) == (None, None, None)


@pytest.mark.parametrize("bad", [[], [math.nan], [math.inf, 1.0], [1e300], [1.0] * 10_001])
def test_samples_that_are_none(bad):
    with pytest.raises(InputError):
        sample(bad)
    with pytest.raises(InputError):
        sample([1.0, 2.0], confidence=1.0)


def test_density_by_displacement():
    """8.75 g that displace 250 mL weigh 35 kg/m3 (exact)."""
    assert density(8.75e-3, 250e-6) == pytest.approx(35.0, rel=1e-12)
    with pytest.raises(InputError):
        density(0.0, 1.0)


def test_probes_by_area():
    """One for 100 ft2, three at least (house rule, from memory)."""
    ft2 = 0.09290304
    assert [probes_needed(a * ft2, CATALOG) for a in (10, 300, 301, 1000)] == [3, 3, 4, 10]


def states(checks):
    return {check.key: check.state for check in checks}


def test_thickness_against_what_was_sold():
    """Mean at the thickness sold, none over 1/4 in or a tenth below it (house rule, memory)."""
    sold = 3 * INCH
    good = thickness_checks([sold, sold * 0.92, sold * 1.1], sold, 20.0, CATALOG)
    assert set(states(good).values()) == {"passed"}
    thin = thickness_checks([sold, sold * 1.2, sold - 0.0066], sold, 20.0, CATALOG)
    assert states(thin)["mean_thickness_m"] == "passed"
    assert states(thin)["least_thickness_m"] == "failed"
    low = thickness_checks([sold * 0.97] * 3, sold, 20.0, CATALOG)
    assert states(low)["mean_thickness_m"] == "failed"
    few = thickness_checks([sold, sold], sold, 20.0, CATALOG)
    assert states(few)["probes"] == "failed"
    assert states(thickness_checks([], sold, 20.0, CATALOG))["mean_thickness_m"] == "not read"


def test_density_limits_of_the_listings():
    """CAN/ULC-S705.1-15: 28 kg/m3 at least; S712.1:2017: 6.8 to 12 (published summaries)."""
    assert (
        states(density_checks([28.0, 30.0, 32.0], "closed-cell", CATALOG))["core_density_kg_m3"]
        == "passed"
    )
    assert (
        states(density_checks([27.0, 27.5, 28.0], "closed-cell", CATALOG))["core_density_kg_m3"]
        == "failed"
    )
    assert (
        states(density_checks([13.0] * 3, "open-cell", CATALOG))["core_density_kg_m3"] == "failed"
    )
    assert states(density_checks([30.0] * 2, "closed-cell", CATALOG))["cores"] == "failed"
    assert states(density_checks([], "closed-cell", CATALOG))["core_density_kg_m3"] == "not read"


def uses(*pairs: tuple[float, float]) -> list[Use]:
    return [
        Use(f"2026-11-{k:02}", "closed-cell", f"L{k % 2}", feet, sets, 10.0 + k)
        for k, (feet, sets) in enumerate(pairs, 1)
    ]


def test_waste_from_drums_and_board_feet(catalog):
    """1000 lb at 2.4 lb/ft3 give 5000 board ft without loss (trade formula, lb x 12 / pcf); 4000
    from a set, the planning figure of a trade magazine (second-hand), is then 25 % waste."""
    foam = catalog.foams["closed-cell"]
    found = learned(uses((4000, 1.0), (4000, 1.0), (2000, 0.5)), foam)
    assert found.per_set == pytest.approx(4000)
    assert found.waste == pytest.approx(0.25, abs=4e-3)  # 454 kg and 38.4 kg/m3 are rounded
    assert found.high - found.low == pytest.approx(0.0, abs=1e-9)
    assert found.enough
    assert [g.name for g in found.by_lot] == ["L0", "L1"]
    assert sum(g.board_feet for g in found.by_day) == pytest.approx(10_000)
    assert found.by_surface[0].name == "surface 10 to 15 °C"


def test_band_against_another_method(catalog):
    """Jackknife of the same ratio by numpy: within a tenth for 12 mild days."""
    rng = np.random.default_rng(4)
    feet = rng.uniform(600, 1800, 12)
    sets = feet / 5000 * (1.2 + rng.normal(0, 0.06, 12))
    foam = catalog.foams["closed-cell"]
    found = learned(uses(*zip(feet, sets, strict=True)), foam, 0.90)
    best = found.sets and (found.waste + 1) * found.board_feet / found.sets
    ratios = [best * np.delete(sets, k).sum() / np.delete(feet, k).sum() - 1 for k in range(12)]
    error = math.sqrt(11 / 12 * ((np.array(ratios) - np.mean(ratios)) ** 2).sum())
    assert (found.high - found.low) / 2 == pytest.approx(stats.t.ppf(0.95, 11) * error, rel=0.10)
    assert found.low < 0.20 < found.high


def test_the_next_takeoff_learns(catalog, plan, survey):
    """Own waste of 25 % in place of 15 %: the priced board feet grow by 1.25 / 1.15 where bays are
    open; here all bays are counted by the same rule."""
    from dataclasses import replace

    from warmside.estimate import takeoff

    foam = catalog.foams["closed-cell"]
    found = learned(uses((4000, 1.0), (4000, 1.0), (2000, 0.5)), foam)
    own = own_foam(foam, found)
    assert own.waste_small_bays - own.waste_open_bays == pytest.approx(0.05)
    assert own.source_use.tag == "own figure"
    wall = next(w for w in survey.walls if w.name == "kitchen north")
    known = replace(catalog, foams={**catalog.foams, "closed-cell": own})
    key = "foam_closed_cell:closed-cell"
    before, after = (
        next(q.amount for q in takeoff(plan.build_up, wall, c) if q.key == key)
        for c in (catalog, known)
    )
    net = plan.passes.board_feet
    assert after - before == pytest.approx((own.waste_open_bays - 0.15) * net, rel=1e-9)


def test_too_little_or_impossible_is_not_learned(catalog):
    foam = catalog.foams["closed-cell"]
    few = learned(uses((4000, 1.0), (4000, 1.0)), foam)
    assert not few.enough
    assert learned(uses((4000, 1.0)), foam).low is None
    for found in (few, learned(uses(*[(9000, 1.0)] * 4), foam)):  # more than the drums hold
        with pytest.raises(InputError):
            own_foam(foam, found)
    for bad in ([], uses((0, 1.0)), uses((100, math.nan))):
        with pytest.raises(InputError):
            learned(bad, foam)
