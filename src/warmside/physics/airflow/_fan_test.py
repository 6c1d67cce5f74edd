"""A fan test of the house: the power law through its points, and what it is worth.

Follows ISO 9972 and ASTM E779 (both from memory): pressures are corrected for the zero-flow
pressure, flows for the density of the air that passes the envelope, and the line
``ln Q = ln C + n ln dP`` is fitted by least squares with its confidence limits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.airflow._air import (
    STANDARD_DENSITY,
    STANDARD_PRESSURE,
    air_density,
    air_viscosity,
    leakage_area,
)

Direction = Literal["depressurise", "pressurise"]
TYPICAL_EXPONENT = 0.65  # houses 0.65-0.66, s.d. 0.08 (Sherman & Dickerhoff 1998; from memory)
INCH_OF_WATER = 249.089  # [Pa] conventional inch of water at 4 degC


@dataclass(frozen=True)
class FanConditions:
    """Air on both sides of the envelope during a test, and the pressures without the fan."""

    indoor_temperature: float = 20.0  # [degC]
    outdoor_temperature: float = 0.0  # [degC]
    barometric_pressure: float = STANDARD_PRESSURE  # [Pa]
    indoor_humidity: float = 0.4  # [-]
    outdoor_humidity: float = 0.8  # [-]
    zero_flow: tuple[float, ...] = ()  # [Pa] indoor minus outdoor, before and after
    wind_speed: float | None = None  # [m/s]
    height: float | None = None  # [m] of the heated part

    @property
    def indoor_density(self) -> float:
        """Density of the indoor air [kg/m3]."""
        return air_density(self.indoor_temperature, self.barometric_pressure, self.indoor_humidity)

    @property
    def outdoor_density(self) -> float:
        """Density of the outdoor air [kg/m3]."""
        return air_density(
            self.outdoor_temperature, self.barometric_pressure, self.outdoor_humidity
        )


@dataclass(frozen=True)
class PowerLaw:
    """``Q = c dP^n`` at standard air, with 95 % limits where they are known."""

    coefficient: float  # c [m3/(s Pa^n)]
    exponent: float  # n [-]
    coefficient_limits: tuple[float, float] | None = None
    exponent_limits: tuple[float, float] | None = None

    def flow(self, pressure: float) -> float:
        """Flow [m3/s] at ``pressure`` [Pa]."""
        return float(self.coefficient * pressure**self.exponent)

    def effective_leakage_area(self) -> float:
        """Area at 4 Pa with discharge coefficient 1 [m2] (ASHRAE Fundamentals 2021, ch. 16)."""
        return leakage_area(self.flow(4.0), 4.0)

    def equivalent_leakage_area(self) -> float:
        """Area at 10 Pa with discharge coefficient 0.611 [m2] (CGSB 149.10; from memory)."""
        return leakage_area(self.flow(10.0), 10.0, 0.611)

    def air_change_50(self, volume: float) -> float:
        """Air changes per hour at 50 Pa for a ``volume`` [m3]: ``3600 Q50 / V`` [1/h]."""
        return 3600.0 * self.flow(50.0) / volume


@dataclass(frozen=True)
class FanTestResult:
    """A fitted fan test.

    ``remarks`` names every validity rule that the test does not meet; an empty tuple means none.
    """

    law: PowerLaw
    direction: Direction
    points: int
    r_squared: float
    residual: float  # root mean square of ln Q about the line [-]
    flow_50_limits: tuple[float, float]  # 95 % [m3/s]
    remarks: tuple[str, ...]


def fan_test(
    pressures: Sequence[float],
    flows: Sequence[float],
    direction: Direction = "depressurise",
    conditions: FanConditions | None = None,
) -> FanTestResult:
    """Fit the power law to a multi-point fan test.

    Parameters
    ----------
    pressures : sequence of float, shape (n_points,)
        House pressures, indoor minus outdoor, or their magnitudes [Pa].
    flows : sequence of float, shape (n_points,)
        Fan flows as the fan reads them [m3/s].
    direction : {"depressurise", "pressurise"}
        Which way the fan blew.
    conditions : FanConditions, optional
        Air on both sides and zero-flow pressures.

    Returns
    -------
    FanTestResult
        The law at standard air, its confidence limits and remarks.

    Raises
    ------
    InputError
        Fewer than three points, signs that contradict each other, flows that are not positive,
        or pressures that look like inches of water.

    Notes
    -----
    Slope and intercept by ordinary least squares on logarithms; 95 % limits from Student's t with
    N - 2 degrees of freedom (ASTM E779 Annex A1, ISO 9972 Annex C; from memory).
    """
    air = conditions or FanConditions()
    induced = _induced_pressures(pressures, flows, direction, air)
    indoors, outdoors = air.indoor_density, air.outdoor_density
    # the fan moves indoor air when it depressurises, outdoor air when it pressurises
    ratio = indoors / outdoors if direction == "depressurise" else outdoors / indoors
    x = np.log(induced)
    y = np.log(np.asarray(flows, dtype=float) * ratio)
    line = _least_squares(x, y)
    correction = _to_standard_air(line.slope, direction, air)
    coefficient = math.exp(line.intercept) * correction
    spread = line.t * line.intercept_error
    law = PowerLaw(
        coefficient,
        line.slope,
        (coefficient * math.exp(-spread), coefficient * math.exp(spread)),
        (line.slope - line.t * line.slope_error, line.slope + line.t * line.slope_error),
    )
    at_50 = line.t * line.error_at(math.log(50.0))
    flow_50 = law.flow(50.0)
    return FanTestResult(
        law=law,
        direction=direction,
        points=len(x),
        r_squared=line.r_squared,
        residual=line.residual,
        flow_50_limits=(flow_50 * math.exp(-at_50), flow_50 * math.exp(at_50)),
        remarks=_remarks(induced, line, air),
    )


def single_point(
    pressure: float, flow: float, exponent: float = TYPICAL_EXPONENT, exponent_band: float = 0.08
) -> PowerLaw:
    """Power law from one point with an assumed exponent.

    Parameters
    ----------
    pressure : float
        House pressure, magnitude [Pa].
    flow : float
        Flow through the envelope [m3/s].
    exponent : float
        Assumed exponent [-]; 0.65 is typical of houses.
    exponent_band : float
        Spread of the exponent kept in ``exponent_limits`` [-].

    Returns
    -------
    PowerLaw
        Through the point.
    """
    _refuse_unless(
        pressure > 0 and flow > 0, "fan test", f"{pressure:g} Pa, {flow:g} m3/s", "both above zero"
    )
    low, high = max(0.5, exponent - exponent_band), min(1.0, exponent + exponent_band)
    return PowerLaw(flow / pressure**exponent, exponent, None, (low, high))


def both_directions(first: FanTestResult, second: FanTestResult) -> PowerLaw:
    """Mean of a depressurisation and a pressurisation test: flows averaged at each pressure.

    ISO 9972 averages the two flows at the reference pressure; the mean law here passes through
    the mean flows at 4 and 50 Pa.

    Parameters
    ----------
    first, second : FanTestResult
        One test in each direction.

    Returns
    -------
    PowerLaw
        The mean law.

    Raises
    ------
    InputError
        When both tests blew the same way.
    """
    _refuse_unless(
        first.direction != second.direction,
        "fan test",
        f"two tests that both {first.direction}",
        "one in each direction",
    )
    low, high = ((first.law.flow(p) + second.law.flow(p)) / 2.0 for p in (4.0, 50.0))
    exponent = math.log(high / low) / math.log(50.0 / 4.0)
    return PowerLaw(high / 50.0**exponent, exponent)


@dataclass(frozen=True)
class _Line:
    """``y = intercept + slope x`` with its errors."""

    slope: float
    intercept: float
    slope_error: float
    intercept_error: float
    r_squared: float
    residual: float
    t: float
    mean_x: float
    variance_x: float
    points: int

    def error_at(self, x: float) -> float:
        """Standard error of the line at ``x``."""
        n = self.points
        spread = (n - 1) / n * self.variance_x + (x - self.mean_x) ** 2
        return self.slope_error * math.sqrt(spread)


def _least_squares(x: np.ndarray, y: np.ndarray) -> _Line:
    from scipy.stats import t as student

    n = len(x)
    variance_x = float(np.var(x, ddof=1))
    _refuse_unless(
        variance_x > 1e-6, "fan test, pressures", "all the same", "at least three different ones"
    )
    covariance = float(np.sum((x - x.mean()) * (y - y.mean())) / (n - 1))
    variance_y = float(np.var(y, ddof=1))
    slope = covariance / variance_x
    misfit = max(variance_y - slope * covariance, 0.0)
    slope_error = math.sqrt(misfit / (n - 2)) / math.sqrt(variance_x)
    return _Line(
        slope=slope,
        intercept=float(y.mean() - slope * x.mean()),
        slope_error=slope_error,
        intercept_error=slope_error * math.sqrt(float(np.mean(x**2))),
        r_squared=1.0 - misfit / variance_y if variance_y > 0 else 0.0,
        residual=math.sqrt(misfit * (n - 1) / n),
        t=float(student.ppf(0.975, n - 2)),
        mean_x=float(x.mean()),
        variance_x=variance_x,
        points=n,
    )


def _to_standard_air(exponent: float, direction: Direction, air: FanConditions) -> float:
    """``(mu / mu0)^(2n - 1) (rho / rho0)^(1 - n)`` of the air that passes the leaks (ASTM E779)."""
    outwards = direction == "pressurise"
    temperature = air.indoor_temperature if outwards else air.outdoor_temperature
    density = air.indoor_density if outwards else air.outdoor_density
    viscosity = air_viscosity(temperature) / air_viscosity(20.0)
    ratio = density / STANDARD_DENSITY
    return float(viscosity ** (2.0 * exponent - 1.0) * ratio ** (1.0 - exponent))


def _induced_pressures(
    pressures: Sequence[float], flows: Sequence[float], direction: Direction, air: FanConditions
) -> np.ndarray:
    """Magnitudes of the pressures the fan made [Pa], after every check on the raw readings."""
    _refuse_unless(
        direction in get_args(Direction), "fan test, direction", f"{direction!r}",
        " or ".join(get_args(Direction)),
    )  # fmt: skip
    raw = np.asarray(pressures, dtype=float)
    flow = np.asarray(flows, dtype=float)
    faults = []
    if raw.ndim != 1 or raw.shape != flow.shape or len(raw) < 3:
        got = f"{raw.size} pressures and {flow.size} flows"
        allowed = "three pairs or more (five for ISO 9972); for one point use the single-point form"
        raise InputError([Fault("fan test", got, allowed)])
    if not (np.isfinite(raw).all() and np.isfinite(flow).all()):
        faults.append(Fault("fan test", "a value that is not a number", "numbers only"))
    elif (flow <= 0).any() or (raw == 0).any():
        faults.append(Fault("fan test", "a pressure or flow of zero or less", "flows above zero"))
    elif not ((raw > 0).all() or (raw < 0).all()):
        odd = ", ".join(f"{p:g}" for p in raw[np.sign(raw) != np.sign(np.median(raw))])
        faults.append(Fault("fan test, pressures", f"signs that differ ({odd} Pa)", "one sign"))
    elif np.abs(raw).max() < 1.0:
        pascals = np.abs(raw).max() * INCH_OF_WATER
        faults.append(
            Fault(
                "fan test, pressures",
                f"at most {np.abs(raw).max():g} Pa",
                f"10 to 100 Pa; if the gauge reads inches of water this is {pascals:.0f} Pa",
            )
        )
    if faults:
        raise InputError(faults)
    expected = -1.0 if direction == "depressurise" else 1.0
    signed = np.abs(raw) * expected if (raw > 0).all() else raw
    if signed[0] * expected < 0:
        raise InputError(
            [Fault("fan test, pressures", "below zero while pressurising", "above zero")]
        )
    zero = float(np.mean(air.zero_flow)) if air.zero_flow else 0.0
    induced = np.asarray((signed - zero) * expected)
    _refuse_unless(
        bool((induced > 0).all()),
        "fan test, zero-flow pressure",
        f"{zero:g} Pa",
        "smaller than every pressure of the test",
    )
    return induced


def _remarks(induced: np.ndarray, line: _Line, air: FanConditions) -> tuple[str, ...]:
    """Validity rules of ISO 9972 (from memory) that the test does not meet."""
    zero = abs(float(np.mean(air.zero_flow))) if air.zero_flow else 0.0
    steps = np.diff(np.sort(induced))
    rise = abs(air.indoor_temperature - air.outdoor_temperature) * (air.height or 0.0)
    rules = (
        (0.5 <= line.slope <= 1.0, f"exponent {line.slope:.2f} is outside 0.5 to 1.0"),
        (line.r_squared >= 0.98, f"r2 {line.r_squared:.3f} is below 0.98"),
        (line.points >= 5, f"{line.points} points, fewer than five"),
        (steps.size == 0 or steps.max() <= 10.0 + 1e-9, "steps of more than 10 Pa"),
        (
            induced.min() <= max(10.0, 5.0 * zero) * 1.25,
            f"lowest pressure {induced.min():.0f} Pa lies far above the required one",
        ),
        (
            induced.min() >= max(10.0, 5.0 * zero) * 0.9,
            f"lowest pressure {induced.min():.0f} Pa is below 10 Pa or 5 x the zero-flow pressure",
        ),
        (induced.max() >= 50.0, f"highest pressure {induced.max():.0f} Pa is below 50 Pa"),
        (zero <= 5.0, f"zero-flow pressure {zero:.1f} Pa is above 5 Pa"),
        (rise <= 250.0, f"height x temperature difference {rise:.0f} m K is above 250"),
        (
            air.wind_speed is None or air.wind_speed <= 6.0,
            f"wind {air.wind_speed or 0:.1f} m/s is above 6 m/s",
        ),
    )
    return tuple(text for holds, text in rules if not holds)


def _refuse_unless(holds: bool, place: str, read: str, allowed: str) -> None:
    if not holds:
        raise InputError([Fault(place, read, allowed)])
