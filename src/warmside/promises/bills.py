"""What fuel bills say of the house: its loss, its balance point, and the heat that they hold."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor, hypot, log10, sqrt

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Fuel, Source, billed_amount
from warmside.physics.climate import HourlyClimate
from warmside.physics.energy import LEAST_PERIODS, BillFit, fit_bills
from warmside.promises.money import Three
from warmside.survey import Bill, House
from warmside.units import DAY, KWH
from warmside.wording import PAPER, Figure, Sentence, joined, say

Floats = NDArray[np.float64]
YEAR = 365.0  # [d]
FOLLOWS = 0.75  # [-] of the variance that weather must explain before a fit is believed
COLD, WARM = 8.0, 21.5  # [degC] between which the balance point of a lived-in house lies
BILLS = Source(
    "Bills by degree days: base load, heating slope and balance point by least squares (Fels 1986, "
    "from memory); a fit counts where weather explains three quarters of it, our own figure",
    "computed",
)


@dataclass(frozen=True)
class Billed:
    """The house by its bills in the mean year; heat is useful heat, after the appliance."""

    fit: BillFit | None  # of fuel; None where the bills are too few, or do not follow the weather
    why_not: str  # "" where there is a fit
    heat: float  # [J] a year that the bills hold: of heating by the fit, else of everything
    loss: float | None  # [W/K] of the whole house
    base: float | None  # [J/d] of fuel that weather does not move
    printed: bool  # whether the bills give the temperature of their days
    after: BillFit | None  # of the bills after the work
    saved: Three | None  # [J] a year by the bills before and after, 95 %


def billed(house: House, fuel: Fuel, weather: HourlyClimate) -> Billed | None:
    """Read the bills of a house.

    Parameters
    ----------
    house : House
        With its bills, or a year's use alone.
    fuel : Fuel
        What they are for.
    weather : HourlyClimate
        A whole year; the days of a bill take its temperatures, moved to the mean that the bill
        prints.

    Returns
    -------
    Billed or None
        None without bills.
    """
    useful = fuel.heat_content * house.heating.efficiency
    if not house.bills:
        used = house.heating.yearly_use
        if used is None:
            return None
        heat = billed_amount(used, fuel) * useful
        return Billed(None, "the use of a whole year alone was given", heat,
                      None, None, printed=False, after=None, saved=None)  # fmt: skip
    days = _Days(weather)
    efficiency = house.heating.efficiency
    before, why_not = _fit(house.bills_before, fuel, days, house.indoor_temperature)
    after, _ = _fit(house.bills_after, fuel, days, house.indoor_temperature)
    total = sum(billed_amount(bill.used, fuel) for bill in house.bills_before) * useful
    covered = sum(bill.days for bill in house.bills_before)
    saved: Three | None = None
    if before is not None and after is not None:
        less = days.year(before) - days.year(after)
        doubt = 1.96 * hypot(_error(before), _error(after))
        saved = efficiency * (less - doubt), efficiency * less, efficiency * (less + doubt)
    return Billed(
        fit=before,
        why_not=why_not,
        heat=total * YEAR / covered if before is None else efficiency * days.heating(before),
        loss=None if before is None else efficiency * before.slope / DAY,
        base=None if before is None else before.base,
        printed=all(bill.mean_temperature is not None for bill in house.bills_before),
        after=after,
        saved=saved,
    )


class _Days:
    """Mean temperatures of the days of a year, looked up by the calendar."""

    def __init__(self, weather: HourlyClimate) -> None:
        count = weather.hours // 24
        means = weather.temperature[: count * 24].reshape(count, 24).mean(axis=1)
        first = weather.time0.date()
        self._of = {_key(first + timedelta(days=k)): float(t) for k, t in enumerate(means)}
        self._all = np.array(list(self._of.values()))

    def of(self, bill: Bill) -> Floats:
        """Of the days of a bill [degC], moved to the mean that it prints."""
        dates = (bill.begins + timedelta(days=k) for k in range(bill.days))
        means = np.array([self._of.get(_key(day), float(self._all.mean())) for day in dates])
        if bill.mean_temperature is not None:
            means += bill.mean_temperature - means.mean()
        return means

    def heating(self, fit: BillFit) -> float:
        """Heating of the mean year [J of fuel]."""
        return fit.slope * self._degree_days(fit.balance_point)

    def year(self, fit: BillFit) -> float:
        """All use of the mean year [J of fuel]."""
        return fit.year(self._degree_days(fit.balance_point), YEAR)

    def _degree_days(self, base: float) -> float:
        return float(np.maximum(base - self._all, 0.0).mean()) * YEAR


def _key(day: date) -> tuple[int, int]:
    """A leap day stands in for the day before it."""
    return (2, 28) if (day.month, day.day) == (2, 29) else (day.month, day.day)


def _fit(bills: Sequence[Bill], fuel: Fuel, days: _Days, room: float) -> tuple[BillFit | None, str]:
    """The fit where it can be believed, else why there is none."""
    if len(bills) < LEAST_PERIODS:
        return None, f"there are fewer than {LEAST_PERIODS} of them"
    means = [days.of(bill) for bill in bills]
    fit = fit_bills(
        [billed_amount(bill.used, fuel) * fuel.heat_content for bill in bills],
        [bill.days for bill in bills],
        lambda base: np.array([float(np.maximum(base - one, 0.0).sum()) for one in means]),
    )
    if fit.slope <= 0.0 or fit.explained < FOLLOWS:
        share = PAPER(max(fit.explained, 0.0), "share")
        return None, f"the weather explains {share} of how they differ"
    if not COLD <= fit.balance_point <= min(WARM, room + 0.5):
        point = PAPER(fit.balance_point, "temperature")
        return None, f"they would mean heating below {point} outside only"
    return fit, ""


def _error(fit: BillFit) -> float:
    """Standard error of a year's use [J]: what is left over, over the bills that it rests on."""
    return YEAR * fit.scatter * fit.mean / sqrt(max(fit.periods - 3, 1))


def coarse(heat: float) -> float:
    """Heat [J] to two figures of its kilowatt hours: that of a whole house is known no finer."""
    shown = heat / KWH
    step = 10.0 ** max(floor(log10(shown)) - 1, 0) if shown > 0.0 else 1.0
    return round(shown / step) * step * KWH


def bill_sentence(found: Billed, calibrated: float) -> Sentence:
    """What the bills say, and how they calibrate the house."""
    if found.fit is None:
        return say(
            "No saving is taken higher than the {heat} of heat that a year's bills hold. They do "
            "not calibrate the house: {why}.",
            heat=Figure(coarse(found.heat), "heat"),
            why=found.why_not,
        )
    told = say(
        "By {count} bills the house is heated below {point} outside; heating takes {heat} a year, "
        "hot water and cooking {base} of fuel (weather explains {share} of the bills).",
        count=str(found.fit.periods),
        point=Figure(found.fit.balance_point, "temperature"),
        heat=Figure(coarse(found.heat), "heat"),
        base=Figure(coarse((found.base or 0.0) * YEAR), "heat"),
        share=Figure(found.fit.explained, "share"),
    )
    more = []
    if calibrated < 0.995:
        more.append(
            say(
                "The survey's sum comes to more than that: its savings count {share}.",
                share=Figure(calibrated, "share"),
            )
        )
    if not found.printed:
        more.append(say("The bills give no temperatures: the mean year stands in for theirs."))
    return joined([told, *more])


def saved_sentence(found: Billed, computed: float | None, job: str) -> str:
    """What bills before and after the work show, and the row of it for the price file."""
    if found.saved is None:
        return "There are no bills of after the work that tell what it saved."
    low, best, high = found.saved
    told = say(
        "Bills before and after, in the same mean year: {saved} of heat saved.",
        saved=Figure(best, "heat", low=low, high=high),
    )
    if computed is None:
        return f'{told} With --computed "... kWh" the share is told.'
    row = (
        "[[finished]]\n"
        f"job = {_quoted(job)}\n"
        f'computed = "{round(computed / KWH)} kWh"\n'
        f'measured = "{round(best / KWH)} kWh"\n'
        f"calibrated = {'true' if found.fit else 'false'}"
    )
    share = PAPER(best / computed, "share")
    return f"{told} That is {share} of what was computed. For your price file:\n{row}"


def _quoted(text: str) -> str:
    """Text as a string of TOML."""
    return json.dumps(text, ensure_ascii=False)
