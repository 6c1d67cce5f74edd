"""Money over years: factors and words."""

from __future__ import annotations

from math import isfinite

from warmside.errors import Fault, InputError

Three = tuple[float, float, float]  # least, best, most


def present_value_factor(discount: float, years: int, rise: float = 0.0) -> float:
    """Worth today of one a year for ``years``, rising: ``sum ((1 + e) / (1 + d))^t``, t = 1..N.

    One at today's price, paid at the end of each year. Source: NIST Handbook 135, modified uniform
    present value (from memory).

    Parameters
    ----------
    discount : float
        Discount rate d a year [-].
    years : int
        Years N [-].
    rise : float
        Rise of the price e a year [-].

    Returns
    -------
    float
        Factor [-]; 3 %, 25 years, no rise: 17.413.

    Raises
    ------
    InputError
        Rates outside -0.5 to 1 or years outside 1 to 200.
    """
    if not (isfinite(discount) and -0.5 < discount <= 1.0 and -0.5 < rise <= 1.0):
        raise InputError([Fault("rates a year", f"{discount:g}, {rise:g}", "-0.5 to 1")])
    if not 1 <= years <= 200:
        raise InputError([Fault("years", f"{years}", "1 to 200")])
    ratio = (1.0 + rise) / (1.0 + discount)
    return sum(ratio**t for t in range(1, years + 1))


def recovery_factor(discount: float, years: int) -> float:
    """Yearly payment that repays one: ``d / (1 - (1 + d)^-N)``, or 1 / N without interest.

    Source: annuity formula (exact).

    Parameters
    ----------
    discount : float
        Discount rate a year [-].
    years : int
        Years [-].

    Returns
    -------
    float
        Factor [-]; 5 %, 20 years: 0.08024.
    """
    return 1.0 / present_value_factor(discount, years)


def conserved_energy_cost(cost: float, energy: float, discount: float, years: int) -> float | None:
    """Cost of conserved energy: ``cost x recovery factor / energy a year``.

    Source: Meier 1982 (from memory). None where nothing is saved.

    Parameters
    ----------
    cost : float
        What the work costs [money].
    energy : float
        Energy saved a year [any unit].
    discount : float
        Discount rate a year [-].
    years : int
        Years [-].

    Returns
    -------
    float or None
        Money per unit of energy.
    """
    return cost * recovery_factor(discount, years) / energy if energy > 0.0 else None


def simple_payback(cost: float, saving: float) -> float | None:
    """Years until savings at today's price equal the cost; None where nothing is saved."""
    return cost / saving if saving > 0.0 else None
