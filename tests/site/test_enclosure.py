"""Air of the work area: fan, decay and limits against published tables and definitions."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from warmside.catalog import load
from warmside.errors import InputError
from warmside.site import (
    decay_curve,
    fan,
    hours_until,
    opening_flow,
    parts_per_million,
    re_entry,
    remaining,
    work_air,
)

CATALOG = load()


@pytest.mark.parametrize(
    ("changes", "for_99", "for_999"),
    [  # minutes: CDC, Guidelines for Environmental Infection Control in Health-Care Facilities,
        # 2003, table B.1 (from memory), perfect mixing, no source
        (2, 138, 207),
        (4, 69, 104),
        (6, 46, 69),
        (8, 35, 52),
        (10, 28, 41),
        (12, 23, 35),
        (15, 18, 28),
        (20, 14, 21),
    ],
)
def test_clearing_times_of_a_published_table(changes, for_99, for_999):
    assert hours_until(0.01, changes) * 60 == pytest.approx(for_99, abs=0.6)
    assert hours_until(0.001, changes) * 60 == pytest.approx(for_999, abs=0.6)


def test_decay_is_its_own_inverse_and_mixing_slows_it():
    for mixing, other in ((1.0, 0.0), (3.0, 0.0), (3.0, 0.5)):
        hours = hours_until(0.02, 10.0, mixing, other)
        assert remaining(hours, 10.0, mixing, other) == pytest.approx(0.02, rel=1e-12)
    assert hours_until(0.01, 10.0, 3.0) == pytest.approx(3 * hours_until(0.01, 10.0), rel=1e-12)
    curve = decay_curve(10.0, 1.0, 3.0)
    assert curve[0] == (0.0, 1.0)
    assert curve[-1] == (pytest.approx(3.0), pytest.approx(remaining(3.0, 10.0)))


def test_against_what_was_measured_after_spraying():
    """Five houses: 0.019 mg/m3 at 15 min, 0.003 at 45 min (J. Occup. Env. Hyg. 2007,
    second-hand). The same decay brings 0.2 to 0.05 mg/m3 in about 22 min; exact by logarithms."""
    rate = hours_until(0.003 / 0.019, 1.0) / 0.5  # per hour, as air changes of perfect mixing
    assert rate == pytest.approx(3.69, abs=0.01)
    assert remaining(0.5, rate) * 0.019 == pytest.approx(0.003, rel=1e-9)


def test_fan_by_air_change():
    """60 m3 at 10 air changes an hour are 600 m3/h (exact)."""
    sized = fan(60.0, 10.0, 5.0)
    assert sized.flow == pytest.approx(600 / 3600, rel=1e-12)
    assert sized.governs == "air change"
    # what the make-up opening passes at 5 Pa is what the fan draws
    assert opening_flow(sized.make_up, 5.0) == pytest.approx(sized.flow, rel=1e-12)
    # 1.2 kg/m3 x 1005 J/(kg K): 0.335 W h/(m3 K), the usual 0.34 of ISO 13789 (from memory)
    assert sized.heat_per_kelvin / 600 == pytest.approx(0.34, abs=0.006)


def test_fan_by_pressure_where_the_enclosure_leaks():
    """Orifice: 0.61 A sqrt(2 dp / rho); 0.2 m2 at 5 Pa pass 0.352 m3/s (ASHRAE, exact sum)."""
    sized = fan(60.0, 10.0, 5.0, leakage=0.2)
    assert sized.governs == "pressure"
    assert sized.flow == pytest.approx(0.61 * 0.2 * (2 * 5 / 1.2) ** 0.5, rel=1e-12)
    assert sized.make_up == 0.0


def test_limits_in_both_of_their_units():
    """0.02 ppm is 0.2 mg/m3, 0.005 ppm 0.05 mg/m3, as the limits are printed (second-hand)."""
    assert parts_per_million(CATALOG.site_figure("mdi-ceiling").most) == pytest.approx(
        0.02, rel=0.03
    )
    assert parts_per_million(CATALOG.site_figure("mdi-shift").most) == pytest.approx(
        0.005, rel=0.03
    )


def test_work_air_of_the_house(survey):
    air = work_air(survey.house, 50.0, CATALOG)
    assert air.fan.flow == pytest.approx(500 / 3600)
    # CAN/ULC-S705.2-05: 0.3 air changes of the house, second-hand
    assert air.house_flow == pytest.approx(0.3 * survey.house.volume / 3600)
    # trial of ASTM STP 1589: 3 h strong, 9 h weak, second-hand
    assert (air.strong, air.weak) == (3.0, 9.0)
    assert any("natural" not in w and "spill" in w for w in air.warnings)
    assert air.clear_99[1] > air.clear_99[0]


NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def test_re_entry_is_the_latest_of_the_three():
    day = 86_400.0
    late = NOON + timedelta(hours=30)
    assert re_entry(NOON, day, day / 2, NOON).at == NOON + timedelta(days=1)
    assert re_entry(NOON, day, 2 * day, NOON).decided_by == "label"
    found = re_entry(NOON, day, day, late)
    assert (found.at, found.decided_by) == (late, "clearance reading")


@pytest.mark.parametrize(
    ("listing", "label", "clearance", "missing"),
    [
        (None, 86_400.0, NOON, ("product listing",)),
        (86_400.0, None, NOON, ("label",)),
        (86_400.0, 86_400.0, None, ("clearance reading",)),
        (None, None, None, ("product listing", "label", "clearance reading")),
    ],
)
def test_nobody_comes_back_while_anything_is_missing(listing, label, clearance, missing):
    found = re_entry(NOON, listing, label, clearance)
    assert found.at is None
    assert found.missing == missing


@pytest.mark.parametrize(
    "call",
    [
        lambda: fan(0.0, 10, 5),
        lambda: fan(float("nan"), 10, 5),
        lambda: fan(50, float("inf"), 5),
        lambda: fan(50, 10, -1),
        lambda: fan(50, 10, 5, leakage=-1),
        lambda: fan(1e9, 10, 5),
        lambda: hours_until(0.0, 10),
        lambda: hours_until(0.1, 0),
        lambda: hours_until(0.1, 10, mixing=0.5),
        lambda: hours_until(float("nan"), 10),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(InputError):
        call()
