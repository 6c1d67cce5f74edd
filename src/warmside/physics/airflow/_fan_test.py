"""A fan test of the house: the power law through its points, and what it is worth.

Follows ISO 9972 and ASTM E779 (both from memory): pressures are corrected for the zero-flow
pressure, flows for the density of the air that passes the envelope, and the line
``ln Q = ln C + n ln dP`` is fitted with its confidence limits. Where wind moves the pressures, both
variables carry errors: the line is then that of least ``r' V^-1 r`` with ``V(n) = s^2 I + n^2 (w^2
diag(1/p^2) + z^2 (1/p)(1/p)')``, which is Deming's for independent errors (York et al., Unified
equations for the slope, intercept and standard errors of the best straight line, 2004; from
memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
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
LEAST_LOG = -16.0  # of a variance of ln Q: 0.03 %, less than any fan tells
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
    wander: float = 0.0  # [Pa] standard deviation of one pressure reading by wind
    zero_doubt: float = 0.0  # [Pa] standard uncertainty of the zero-flow pressure that is taken off
    calibration: float = 0.0  # [-] standard uncertainty that all flows of the fan share
    wander_freedom: float = math.inf  # degrees of freedom by which ``wander`` is known
    scatter: float = 0.01  # [-] standard deviation of one flow reading, as fans are known
    scatter_freedom: float = 0.0  # degrees of freedom by which ``scatter`` is known before the test

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
    flow_50_limits: tuple[float, float]  # 95 % [m3/s], calibration included
    remarks: tuple[str, ...]
    error_50: float = 0.0  # [-] standard error of ln Q at 50 Pa, calibration left out
    freedom: float = 1e6  # [-] of that error
    calibration: float = 0.0  # [-]


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
    N - 2 degrees of freedom (ASTM E779 Annex A1, ISO 9972 Annex C; from memory). With ``wander`` or
    ``zero_doubt``, by errors in both variables, the flows' own scatter being what the points then
    leave; degrees of freedom after Welch and Satterthwaite.
    """
    air = conditions or FanConditions()
    induced = _induced_pressures(pressures, flows, direction, air)
    indoors, outdoors = air.indoor_density, air.outdoor_density
    # the fan moves indoor air when it depressurises, outdoor air when it pressurises
    ratio = indoors / outdoors if direction == "depressurise" else outdoors / indoors
    x = np.log(induced)
    y = np.log(np.asarray(flows, dtype=float) * ratio)
    line = _least_squares(x, y)
    moved = air.wander > 0.0 or air.zero_doubt > 0.0
    if moved:
        line = _in_both(line, x, y, air)
    correction = _to_standard_air(line.slope, direction, air)
    coefficient = math.exp(line.intercept) * correction
    spread = line.t * line.intercept_error
    law = PowerLaw(
        coefficient,
        line.slope,
        (coefficient * math.exp(-spread), coefficient * math.exp(spread)),
        (line.slope - line.t * line.slope_error, line.slope + line.t * line.slope_error),
    )
    error_50 = line.error_at(math.log(50.0))
    freedom = line.freedom_at_50 if moved else float(line.points - 2)
    at_50 = limit_of(error_50, freedom, air.calibration)
    flow_50 = law.flow(50.0)
    return FanTestResult(
        law=law,
        direction=direction,
        points=len(x),
        r_squared=line.r_squared,
        residual=line.residual,
        flow_50_limits=(flow_50 * math.exp(-at_50), flow_50 * math.exp(at_50)),
        remarks=_remarks(induced, line, air),
        error_50=error_50,
        freedom=freedom,
        calibration=air.calibration,
    )


def limit_of(error: float, freedom: float, calibration: float = 0.0) -> float:
    """Half of the 95 % interval of ln Q [-]: scatter by Student's t, calibration as it is told.

    The degrees of freedom of both together are those of Welch and Satterthwaite.
    """
    from scipy.special import stdtrit

    variance = error**2 + calibration**2
    if variance == 0.0:
        return 0.0
    joint = freedom * (variance / error**2) ** 2 if error > 0.0 else 1e9
    return float(stdtrit(min(joint, 1e9), 0.975)) * math.sqrt(variance)


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


def mean_of_directions(first: FanTestResult, second: FanTestResult) -> FanTestResult:
    """Both directions as one result: the mean law, and the error of the mean flow at 50 Pa.

    ``u^2 = (w_1 u_1)^2 + (w_2 u_2)^2`` with the shares w of the flows; the fan's calibration is
    one and the same in both.
    """
    law = both_directions(first, second)
    flows = [one.law.flow(50.0) for one in (first, second)]
    parts = [q / sum(flows) * one.error_50 for q, one in zip(flows, (first, second), strict=True)]
    error = math.hypot(*parts)
    freedom = (
        error**4
        / sum(
            part**4 / one.freedom for part, one in zip(parts, (first, second), strict=True) if part
        )
        if error
        else 1e6
    )
    calibration = max(first.calibration, second.calibration)
    half = limit_of(error, freedom, calibration)
    flow = law.flow(50.0)
    return FanTestResult(
        law=law,
        direction=first.direction,
        points=first.points + second.points,
        r_squared=min(first.r_squared, second.r_squared),
        residual=max(first.residual, second.residual),
        flow_50_limits=(flow * math.exp(-half), flow * math.exp(half)),
        remarks=tuple(f"{one.direction}: {r}" for one in (first, second) for r in one.remarks),
        error_50=error,
        freedom=freedom,
        calibration=calibration,
    )


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
    covariance: tuple[float, float, float] | None = None  # of intercept, both, slope
    freedom_at_50: float = 1e6

    def error_at(self, x: float) -> float:
        """Standard error of the line at ``x``."""
        if self.covariance is not None:
            a, ab, b = self.covariance
            return math.sqrt(max(a + 2.0 * ab * x + b * x**2, 0.0))
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


def _in_both(plain: _Line, x: np.ndarray, y: np.ndarray, air: FanConditions) -> _Line:
    """The line where pressures carry errors too, of least ``r' V(n)^-1 r``.

    Its degrees of freedom at 50 Pa are Satterthwaite's ``2 u^4 / var(u^2)``, the variance of u^2
    being that which the information on both variances leaves (Giesbrecht and Burns, Biometrics 41,
    1985; from memory): points that tell the flows' scatter cannot tell the wind as well again.
    """
    from scipy.optimize import minimize_scalar
    from scipy.special import stdtrit

    over = np.exp(-x)
    shared = air.zero_doubt**2 * np.outer(over, over)
    windy = air.wander**2 * np.diag(over**2) + (shared if air.zero_flow else 0.0)
    still = np.zeros_like(shared) if air.zero_flow else shared
    squared = plain.slope**2
    factor, scatter = _variances(x, y, squared * windy, squared * still, air)
    design = np.column_stack([np.ones_like(x), x])

    def inverse(n: float) -> np.ndarray:
        return np.linalg.inv(scatter * np.eye(x.size) + n**2 * (still + factor * windy))

    def intercept(n: float, weight: np.ndarray) -> float:
        return float(weight.sum(axis=0) @ (y - n * x) / weight.sum())

    def misfit(n: float) -> float:
        weight = inverse(n)
        rest = y - intercept(n, weight) - n * x
        return float(rest @ weight @ rest)

    found = minimize_scalar(misfit, bounds=(0.3, 1.3), method="bounded", options={"xatol": 1e-6})
    n = float(found.x)
    weight = inverse(n)
    covariance = np.linalg.inv(design.T @ weight @ design)
    at = np.array([1.0, math.log(50.0)])
    weights = weight @ design @ covariance
    left = weight - weights @ design.T @ weight
    unknown = [(np.eye(x.size), air.scatter_freedom / (2.0 * scatter**2))]
    if not math.isinf(air.wander_freedom):
        unknown.append((n**2 * windy, air.wander_freedom / (2.0 * factor**2)))
    freedom = _freedom(weights @ at, left, float(at @ covariance @ at), unknown)
    return replace(
        plain,
        intercept=intercept(n, weight),
        slope=n,
        intercept_error=math.sqrt(covariance[0, 0]),
        slope_error=math.sqrt(covariance[1, 1]),
        t=float(stdtrit(freedom, 0.975)),
        covariance=(float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1])),
        freedom_at_50=freedom,
    )


def _variances(
    x: np.ndarray, y: np.ndarray, windy: np.ndarray, still: np.ndarray, air: FanConditions
) -> tuple[float, float]:
    """Factor of the wind's covariance ``windy`` (n, n) of ln Q, beside one that is no wind's,
    ``still``, and the flows' own variance, on which points and readings agree best.

    Greatest restricted likelihood of the points (Patterson and Thompson, Biometrika 58, 1971, from
    memory) times that of what is known besides: the readings without the fan, and how fans
    scatter. The factor is 1 where the wander is known for sure.
    """
    from scipy.optimize import minimize

    design = np.column_stack([np.ones_like(x), x])
    known = math.isinf(air.wander_freedom)

    def apart(variance: float, freedom: float) -> float:
        """-2 ln of the likelihood of readings of their own, of a ``variance`` as a share of it."""
        return freedom * (math.log(variance) + 1.0 / variance)

    def unlikely(logs: np.ndarray) -> float:
        scatter, *rest = np.exp(np.clip(logs, LEAST_LOG, 4.0))
        factor = 1.0 if known else rest[0]
        v = factor * windy + still + scatter * np.eye(x.size)
        back = np.linalg.solve(v, np.column_stack([design, y]))
        inner = design.T @ back[:, :2]
        off = y - design @ np.linalg.solve(inner, design.T @ back[:, 2])
        points = np.linalg.slogdet(v)[1] + np.linalg.slogdet(inner)[1] + off @ back[:, 2]
        if not known:
            points += apart(factor, air.wander_freedom)
        return float(points + apart(scatter / air.scatter**2, air.scatter_freedom))

    starts = [np.array([math.log(s), 0.0][: 1 if known else 2]) for s in (1e-6, 1e-4)]
    ends = (minimize(unlikely, s, method="Nelder-Mead", options={"xatol": 0.01, "fatol": 0.01})
            for s in starts)  # fmt: skip
    best = np.exp(np.clip(min(ends, key=lambda end: end.fun).x, LEAST_LOG, 4.0))
    return 1.0 if known else float(best[1]), float(best[0])


def _freedom(
    at: np.ndarray, left: np.ndarray, variance: float, unknown: list[tuple[np.ndarray, float]]
) -> float:
    """Degrees of freedom of the line's ``variance`` at one place.

    ``at`` (n,) are the weights of the points there, ``left`` (n, n) is the projection off the line,
    ``V^-1 - V^-1 X (X' V^-1 X)^-1 X' V^-1``, and ``unknown`` has what each unknown variance
    multiplies in V, and the information on it that is not the points'. Theirs is
    ``tr(left V_i left V_j) / 2``.
    """
    parts = [left @ part for part, _ in unknown]
    information = np.array([[np.sum(a * b.T) / 2.0 for b in parts] for a in parts])
    information += np.diag([before for _, before in unknown])
    slopes = np.array([at @ part @ at for part, _ in unknown])
    return float(2.0 * variance**2 / (slopes @ np.linalg.solve(information, slopes)))


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
        (
            steps.size == 0 or steps.max() <= 10.0 + max(1.5, 2.0 * air.wander),
            f"steps of {steps.max() if steps.size else 0.0:.0f} Pa, more than 10 Pa",
        ),
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
