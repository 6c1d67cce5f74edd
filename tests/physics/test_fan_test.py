"""Fan tests against an independent least-squares library and published pairs."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.physics.airflow import (
    FanConditions,
    PowerLaw,
    air_density,
    air_viscosity,
    both_directions,
    fan_test,
    flow_coefficient,
    leakage_area,
    limit_of,
    mean_of_directions,
    single_point,
)

STILL = FanConditions(20.0, 20.0, indoor_humidity=0.0, outdoor_humidity=0.0)
PRESSURES = (60.0, 50.0, 40.0, 30.0, 20.0, 12.0)


def flows_of(c: float, n: float, pressures=PRESSURES) -> list[float]:
    return [c * p**n for p in pressures]


def test_leakage_area_is_the_inverse_of_the_flow_coefficient():
    """Exact: both come from the orifice equation."""
    law = PowerLaw(flow_coefficient(0.05, 0.67), 0.67)
    assert law.effective_leakage_area() == pytest.approx(0.05, rel=1e-12)
    assert leakage_area(law.flow(4.0), 4.0) == pytest.approx(0.05, rel=1e-12)


def test_equivalent_area_by_the_canadian_form():
    """From memory, CGSB 149.10: EqLA = 0.001157 sqrt(rho) C 10^(n - 0.5), C in L/(s Pa^n)."""
    law = PowerLaw(0.08, 0.66)
    by_standard = 0.001157 * math.sqrt(1.2041) * 80.0 * 10 ** (0.66 - 0.5)
    assert law.equivalent_leakage_area() == pytest.approx(by_standard, rel=5e-4)


@pytest.mark.parametrize(
    ("temperature", "humidity", "density"),
    [(20, 0.5, 1.1988), (20, 0.0, 1.2041), (-20, 0.8, 1.3938)],
)
def test_air_density(temperature, humidity, density):
    """Computed independently with the ISO 9972 formula; 1.2041 is ASTM E779's standard air."""
    assert air_density(temperature, humidity=humidity) == pytest.approx(density, abs=1.5e-4)


def test_air_viscosity_against_coolprop():
    """Reference library: CoolProp (dry air)."""
    from CoolProp.CoolProp import PropsSI

    for t in (-20.0, 20.0):
        assert air_viscosity(t) == pytest.approx(
            PropsSI("V", "T", t + 273.15, "P", 101325.0, "Air"), rel=0.01
        )


def test_exact_points_give_the_law_back():
    """Exact: points on a power law, standard air on both sides."""
    result = fan_test(PRESSURES, flows_of(0.09, 0.64), conditions=STILL)
    assert result.law.exponent == pytest.approx(0.64, abs=1e-9)
    assert result.law.coefficient == pytest.approx(0.09, rel=1e-4)  # 287.055 against 1.2041
    assert result.law.air_change_50(400.0) == pytest.approx(
        3600 * 0.09 * 50**0.64 / 400.0, rel=1e-4
    )
    assert result.remarks == ()


@given(
    seed=st.integers(0, 2**32 - 1),
    n=st.floats(0.5, 1.0),
    c=st.floats(0.005, 0.5),
    noise=st.floats(0.002, 0.2),
)
def test_statistics_against_statsmodels(seed, n, c, noise):
    """Reference library: statsmodels ordinary least squares, 95 % limits."""
    draw = np.random.default_rng(seed)
    flows = np.array(flows_of(c, n)) * np.exp(draw.normal(0.0, noise, len(PRESSURES)))
    result = fan_test(PRESSURES, flows.tolist(), conditions=STILL)
    fit = sm.OLS(np.log(flows), sm.add_constant(np.log(PRESSURES))).fit()
    low, high = fit.conf_int(0.05)[1]
    assert result.law.exponent == pytest.approx(fit.params[1], rel=1e-8, abs=1e-10)
    np.testing.assert_allclose(result.law.exponent_limits, (low, high), rtol=1e-6, atol=1e-9)
    assert result.r_squared == pytest.approx(fit.rsquared, rel=1e-6, abs=1e-9)
    c_low, c_high = np.exp(fit.conf_int(0.05)[0])
    # 1e-4: standard air is 1.2041, the formula gives 1.20413 at 20 degC
    np.testing.assert_allclose(result.law.coefficient_limits, (c_low, c_high), rtol=2e-4)
    frame = fit.get_prediction([[1.0, math.log(50.0)]]).conf_int(alpha=0.05)[0]
    np.testing.assert_allclose(result.flow_50_limits, np.exp(frame), rtol=2e-4)


def test_cold_air_outside_changes_the_flow_as_the_standard_says():
    """Exact arithmetic of ASTM E779 (from memory), written out here."""
    air = FanConditions(20.0, -20.0, indoor_humidity=0.0, outdoor_humidity=0.0)
    n, c = 0.65, 0.08
    result = fan_test(PRESSURES, flows_of(c, n), conditions=air)
    rho_in, rho_out = 101325 / 287.055 / 293.15, 101325 / 287.055 / 253.15
    through_leaks = c * rho_in / rho_out
    viscosity = 1.6146e-5 / 1.8129e-5
    expected = through_leaks * viscosity ** (2 * n - 1) * (rho_out / 1.2041) ** (1 - n)
    assert result.law.coefficient == pytest.approx(expected, rel=5e-4)


def test_zero_flow_pressure_is_taken_off():
    """Exact: the stack held the house at -2 Pa before the fan started."""
    measured = [-(p + 2.0) for p in PRESSURES]
    air = FanConditions(20.0, 20.0, 101325.0, 0.0, 0.0, zero_flow=(-2.0, -2.0))
    result = fan_test(measured, flows_of(0.1, 0.6), conditions=air)
    assert result.law.exponent == pytest.approx(0.6, abs=1e-9)


def test_mean_of_both_directions_lies_between_them():
    out = fan_test(PRESSURES, flows_of(0.10, 0.62), "depressurise", STILL)
    in_ = fan_test(PRESSURES, flows_of(0.12, 0.64), "pressurise", STILL)
    mean = both_directions(out, in_)
    halfway = (out.law.flow(50.0) + in_.law.flow(50.0)) / 2
    assert mean.flow(50.0) == pytest.approx(halfway, rel=1e-12)
    with pytest.raises(InputError, match="one in each direction"):
        both_directions(out, out)


def test_single_point_passes_through_its_point():
    law = single_point(50.0, 1.5)
    assert law.flow(50.0) == pytest.approx(1.5, rel=1e-12)
    assert law.exponent_limits == pytest.approx((0.57, 0.73), abs=1e-12)


@pytest.mark.parametrize(
    ("n", "remark"), [(0.42, "exponent 0.42 is outside"), (1.13, "exponent 1.13 is outside")]
)
def test_exponent_out_of_range_is_named(n, remark):
    result = fan_test(PRESSURES, flows_of(0.1, n), conditions=STILL)
    assert any(remark in text for text in result.remarks)


@pytest.mark.parametrize(
    ("least", "named"), [(8.9, "is below 10 Pa"), (9.5, ""), (12.4, ""), (12.6, "far above")]
)
def test_the_lowest_pressure_is_held_to_ten_pascals(least, named):
    """ISO 9972 (from memory) asks for 10 Pa; a tenth less and a quarter more are let pass."""
    pressures = [60.0, 52.0, 44.0, 36.0, 27.0, 18.5, least]
    told = fan_test(pressures, flows_of(0.1, 0.65, pressures), conditions=STILL).remarks
    assert any(named in text for text in told) if named else told == ()


def test_wind_zero_flow_and_height_are_named():
    air = FanConditions(21.0, -25.0, zero_flow=(-6.5, -6.0), wind_speed=8.0, height=6.0)
    result = fan_test([-p for p in (70, 60, 50, 40, 30)], flows_of(0.1, 0.6, (64, 54, 44, 34, 24)),
                      conditions=air)  # fmt: skip
    words = " | ".join(result.remarks)
    for piece in ("zero-flow pressure 6.2", "276 m K is above 250", "wind 8.0"):
        assert piece in words


@pytest.mark.parametrize(
    ("pressures", "flows", "message"),
    [
        ((50.0, 30.0), (1.0, 0.7), "three pairs or more"),
        ((50.0, -40.0, 30.0), (1.0, 0.9, 0.7), r"signs that differ \(-40 Pa\)"),
        ((0.24, 0.2, 0.12), (1.0, 0.9, 0.7), "inches of water this is 60 Pa"),
        ((50.0, 40.0, math.nan), (1.0, 0.9, 0.7), "not a number"),
        ((50.0, 40.0, 30.0), (1.0, 0.0, 0.7), "zero or less"),
        ((50.0, 50.0, 50.0), (1.0, 1.0, 1.0), "all the same"),
        ((50.0, 40.0, 30.0), (1.0, 0.9), "3 pressures and 2 flows"),
    ],
)
def test_bad_sets_are_named(pressures, flows, message):
    with pytest.raises(InputError, match=message):
        fan_test(pressures, flows)


def test_reversed_fan_is_named():
    with pytest.raises(InputError, match="below zero while pressurising"):
        fan_test([-50.0, -40.0, -30.0], [1.0, 0.9, 0.7], "pressurise")


@pytest.mark.filterwarnings("ignore:.scipy.odr. is deprecated:DeprecationWarning")
@pytest.mark.parametrize("wander", [0.5, 1.5, 3.0])
def test_errors_in_both_variables_against_odrpack(wander: float):
    """Reference library: SciPy's ODRPACK, weighted by both variables' errors."""
    from scipy.linalg import null_space
    from scipy.odr import ODR, Model, RealData
    from scipy.stats import multivariate_normal

    rng = np.random.default_rng(7)
    pressures = np.array([60.0, 52.0, 44.0, 36.0, 28.0, 20.0, 12.0])
    flows = np.array(flows_of(0.1, 0.63, pressures)) * np.exp(rng.normal(0.0, 0.02, 7))
    shown = pressures + rng.normal(0.0, wander, 7)
    air = FanConditions(20.0, 20.0, indoor_humidity=0.0, outdoor_humidity=0.0, wander=wander)
    found = fan_test(shown.tolist(), flows.tolist(), conditions=air)
    # the flows' scatter that is likeliest by what the points leave off every line: contrasts that
    # no line changes, and SciPy's normal law of them
    design = np.column_stack([np.ones(7), np.log(shown)])
    off = null_space(design.T)
    slope = np.polyfit(np.log(shown), np.log(flows), 1)[0]

    def likely(scatter: float) -> float:
        v = scatter**2 * np.eye(7) + np.diag((slope * wander / shown) ** 2)
        return float(multivariate_normal(cov=off.T @ v @ off).logpdf(off.T @ np.log(flows)))

    scatter = max(np.geomspace(4e-4, 0.2, 2000), key=likely)
    data = RealData(np.log(shown), np.log(flows), sx=wander / shown, sy=scatter)
    odr = ODR(data, Model(lambda b, x: b[0] + b[1] * x), beta0=[-2.3, 0.65]).run()
    assert found.law.exponent == pytest.approx(odr.beta[1], rel=0.0, abs=2e-3)
    at_50 = float(np.exp(odr.beta[0] + odr.beta[1] * np.log(50.0)))
    assert found.law.flow(50.0) == pytest.approx(at_50, rel=2e-3)
    # ODRPACK's covariance, not scaled by its own residual
    row = np.array([1.0, np.log(50.0)])
    assert found.error_50 == pytest.approx(float(np.sqrt(row @ odr.cov_beta @ row)), rel=0.05)


def test_limits_of_calibration_and_scatter():
    """Exact: two normal errors add in squares; Student's t of SciPy where there is one alone."""
    from scipy.stats import norm, t

    assert limit_of(0.0, 5.0, 0.04) == pytest.approx(float(norm.ppf(0.975)) * 0.04, rel=1e-6)
    assert limit_of(0.02, 5.0) == pytest.approx(float(t.ppf(0.975, 5)) * 0.02, rel=1e-9)
    both = limit_of(0.03, 1e9, 0.04)
    assert both == pytest.approx(float(norm.ppf(0.975)) * 0.05, rel=1e-6)


def test_both_directions_as_one_result():
    """Exact: the mean of two independent flows has half the sum of both variances."""
    rng = np.random.default_rng(3)
    tests = [
        fan_test(PRESSURES, [q * float(e) for q, e in zip(
            flows_of(0.1, 0.65), np.exp(rng.normal(0.0, 0.01, 6)), strict=True)], way, STILL)
        for way in ("depressurise", "pressurise")
    ]  # fmt: skip
    mean = mean_of_directions(*tests)
    flows = [one.law.flow(50.0) for one in tests]
    assert mean.law.flow(50.0) == pytest.approx(sum(flows) / 2.0, rel=1e-12)
    error = np.hypot(*(q * one.error_50 for q, one in zip(flows, tests, strict=True))) / sum(flows)
    assert mean.error_50 == pytest.approx(error, rel=1e-9)
    with pytest.raises(InputError, match="one in each direction"):
        mean_of_directions(tests[0], tests[0])
