"""The programme: which houses, with which option, in which year, within money and crews."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError, SolverError

Floats = NDArray[np.float64]
GAP = 1e-3  # [-] of the best value that is good enough where there are many places
_EXACT, _SMALL = 1e-7, 500  # [-] the same where there are few, and how many are few
_MOST_YEARS = 40


@dataclass(frozen=True)
class Offer:
    """One option of one house: what it costs, how long it takes a crew, what it is worth."""

    house: str
    option: str
    cost: float  # [currency]
    crew: float  # [h] of crew work
    value: float  # in the unit that counts: money, carbon, risk


@dataclass(frozen=True)
class Limits:
    """What there is in each year: money, crew hours; the later a house, the less it is worth."""

    budget: tuple[float, ...]  # [currency] year by year
    crew: tuple[float, ...]  # [h] year by year; inf where it does not bind
    discount: float = 0.0  # [-] a year, of the value of what is done later

    def __post_init__(self) -> None:
        faults = []
        years = len(self.budget)
        if not 1 <= years <= _MOST_YEARS or len(self.crew) != years:
            read = f"{years} budgets, {len(self.crew)} crews"
            faults.append(Fault("programme", read, f"one of each for 1 to {_MOST_YEARS} years"))
        for name, values in (("budget", self.budget), ("crew hours", self.crew)):
            wrong = [v for v in values if not v >= 0.0]
            if wrong:
                faults.append(Fault(f"programme, {name}", f"{wrong[0]}", "0 or more"))
        if not 0.0 <= self.discount < 1.0:
            faults.append(Fault("programme, discount", f"{self.discount}", "0 to below 1"))
        if faults:
            raise InputError(faults)


@dataclass(frozen=True)
class Place:
    """A house in the programme."""

    year: int  # 1 is the first
    offer: Offer
    value: float  # discounted to the first year


@dataclass(frozen=True)
class YearPlan:
    """What one year comes to."""

    year: int
    houses: int
    cost: float  # [currency]
    crew: float  # [h]
    value: float
    shadow: float  # value of a further unit of money in that year; see ``programme``
    crew_shadow: float  # value of a further crew hour in that year


@dataclass(frozen=True)
class Programme:
    """The houses taken, year by year."""

    places: tuple[Place, ...]
    years: tuple[YearPlan, ...]
    value: float
    bound: float  # no programme can be worth more
    left: int  # houses that are not reached

    @property
    def gap(self) -> float:
        """How far the best bound lies above what was found [-]."""
        return (self.bound - self.value) / self.bound if self.bound > 0.0 else 0.0


def programme(offers: Sequence[Offer], limits: Limits, seconds: float = 30.0) -> Programme:
    """The best programme, by an integer program solved with HiGHS.

    Maximise ``sum v_o (1 - d)^(t - 1) x_ot`` over x in {0, 1}: each house at most once, each
    year's cost within its budget and crew hours within its crews. The shadow prices are the dual
    values of the linear relaxation: what the best value would gain from one more unit, as long as
    the same houses stay at the margin.

    Parameters
    ----------
    offers : sequence of Offer
        Options of the houses; those of no value or that no year can pay for are passed over.
    limits : Limits
        Money and crews by year.
    seconds : float
        Most time; what was found by then is given with its gap.

    Returns
    -------
    Programme
        Places by year, in the order of value for money.

    Raises
    ------
    InputError
        Figures that are not finite.
    SolverError
        The linear relaxation could not be solved.
    """
    most, longest = max(limits.budget), max(limits.crew)
    usable = [o for o in offers if o.value > 0.0 and o.cost <= most and o.crew <= longest]
    for one in usable:
        if not (isfinite(one.cost) and isfinite(one.value) and one.cost >= 0.0 <= one.crew < inf):
            raise InputError([Fault(f"house {one.house}", repr(one)[:80], "finite figures")])
    houses = {o.house for o in offers}
    if not usable:
        empty = tuple(YearPlan(t, 0, 0.0, 0.0, 0.0, 0.0, 0.0) for t in _years(limits))
        return Programme((), empty, 0.0, 0.0, len(houses))
    taken, bound, duals = _solved(usable, limits, seconds)
    factor = [(1.0 - limits.discount) ** k for k in range(len(limits.budget))]
    places = [Place(k + 1, usable[o], usable[o].value * factor[k]) for o, k in taken]
    places.sort(key=lambda p: (p.year, -p.offer.value / max(p.offer.cost, 1e-9), p.offer.house))
    plans = tuple(_plan(t, places, duals) for t in _years(limits))
    value = sum(p.value for p in places)
    return Programme(tuple(places), plans, value, max(bound, value), len(houses) - len(places))


def _years(limits: Limits) -> range:
    return range(1, len(limits.budget) + 1)


def _plan(year: int, places: Sequence[Place], duals: tuple[Floats, Floats]) -> YearPlan:
    here = [p for p in places if p.year == year]
    return YearPlan(
        year=year,
        houses=len(here),
        cost=sum(p.offer.cost for p in here),
        crew=sum(p.offer.crew for p in here),
        value=sum(p.value for p in here),
        shadow=float(duals[0][year - 1]),
        crew_shadow=float(duals[1][year - 1]),
    )


def _solved(
    offers: Sequence[Offer], limits: Limits, seconds: float
) -> tuple[list[tuple[int, int]], float, tuple[Floats, Floats]]:
    """Offer and year (from 0) of every place, the bound, and dual values of money and crews.

    The linear relaxation bounds the best value and prices every place; what its price keeps out
    of any programme better than the one filled in by hand is left out of the integer program,
    which loses nothing. Where that one is good enough it stands.
    """
    matrix, most, gain = _rows(offers, limits)
    relaxed = _relaxed(matrix, most, gain)
    filled = _filled(offers, limits, relaxed.x)
    bound, value = -float(relaxed.fun), float(gain @ filled)
    count, years = len(offers), len(limits.budget)
    small = gain.size <= _SMALL
    if bound - value > (_EXACT if small else GAP) * bound:
        left = np.flatnonzero(relaxed.lower.marginals <= bound - value + 1e-9 * bound)
        better, proved = _integer(matrix[:, left], most, gain[left], small, seconds)
        bound = min(bound, max(proved, value))
        if float(gain[left] @ better) > value:
            filled = np.zeros(gain.size)
            filled[left] = better
    duals = np.maximum(-relaxed.ineqlin.marginals, 0.0)
    taken = [(int(n % count), int(n // count)) for n in np.flatnonzero(filled)]
    return taken, bound, (duals[-2 * years : -years], duals[-years:])


def _integer(
    matrix: Any, most: Floats, gain: Floats, small: bool, seconds: float
) -> tuple[Floats, float]:
    """The best 0 or 1 of every place found in the time, and the bound that was proved."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    gap = _EXACT if small else GAP
    with _quiet():
        found = milp(
            -gain,
            integrality=np.ones(gain.size),
            bounds=Bounds(0.0, 1.0),
            constraints=LinearConstraint(matrix, -np.inf, most),
            options={"time_limit": seconds, "mip_rel_gap": gap},
        )
    if found.x is None:
        return np.zeros(gain.size), float("inf")
    bound = found.mip_dual_bound
    return np.round(found.x), float("inf") if bound is None else -float(bound)


@contextmanager
def _quiet() -> Iterator[None]:
    """Without the lines that the solver's own code writes to the screen, whatever it is told."""
    sys.stdout.flush()
    shown = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(shown, 1)
        os.close(nowhere)
        os.close(shown)


def _relaxed(matrix: Any, most: Floats, gain: Floats) -> Any:
    """The linear relaxation, with its dual values."""
    from scipy.optimize import linprog

    found = linprog(-gain, A_ub=matrix, b_ub=most, bounds=(0.0, 1.0), method="highs")
    if not found.success:
        raise SolverError(f"the relaxed programme: {found.message}"[:200], "check the figures")
    return found


def _filled(offers: Sequence[Offer], limits: Limits, relaxed: Floats) -> Floats:
    """A programme: what the relaxation takes whole, then the best for the money that still fits."""
    count, years = len(offers), len(limits.budget)
    money, crew = list(limits.budget), list(limits.crew)
    taken, found = set(), np.zeros(count * years)

    def take(place: int) -> None:
        one, year = offers[place % count], place // count
        if one.house in taken or one.cost > money[year] or one.crew > crew[year]:
            return
        taken.add(one.house)
        money[year] -= one.cost
        crew[year] -= one.crew
        found[place] = 1.0

    for place in np.flatnonzero(relaxed > 1.0 - 1e-6):
        take(int(place))
    for place in np.argsort(-relaxed, kind="stable")[: 4 * years]:
        take(int(place))  # what it takes in part
    order = sorted(range(count), key=lambda o: -offers[o].value / max(offers[o].cost, 1e-9))
    for year in range(years):
        for o in order:
            take(year * count + o)
    return found


def _rows(offers: Sequence[Offer], limits: Limits) -> tuple[Any, Floats, Floats]:
    """Constraints ``A x <= b`` (houses, then money, then crews) and the gain of every x_ot."""
    from scipy.sparse import csr_array, kron, vstack

    years, count = len(limits.budget), len(offers)
    number = {house: k for k, house in enumerate(dict.fromkeys(o.house for o in offers))}
    of_house = csr_array(
        (np.ones(count), ([number[o.house] for o in offers], range(count))),
        shape=(len(number), count),
    )
    once = kron(np.ones((1, years)), of_house)
    parts, ends = [once], [np.ones(len(number))]
    for use, most in (
        (np.array([o.cost for o in offers]), np.array(limits.budget)),
        (np.array([o.crew for o in offers]), np.array(limits.crew)),
    ):
        parts.append(kron(np.eye(years), use[None, :]))
        ends.append(np.where(np.isfinite(most), most, use.sum() + 1.0))
    value = np.array([o.value for o in offers])
    gain = np.concatenate([value * (1.0 - limits.discount) ** k for k in range(years)])
    return csr_array(vstack(parts)), np.concatenate(ends), gain
