"""Bills calibrate the house, and no saving exceeds what they hold."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose
from statsmodels.api import OLS, add_constant

from warmside.catalog import load
from warmside.errors import InputError
from warmside.estimate import default_text, read_prices
from warmside.physics.airflow import Band
from warmside.promises import (
    REALISED,
    REALISED_WITH_BILLS,
    Change,
    FinishedJob,
    bill_sentence,
    billed,
    realised_share,
    saved_sentence,
    worth,
)
from warmside.study import study
from warmside.survey import AsFound, Bill, FoundLayer, Heating, House, Survey, Wall, read
from warmside.weather import usual_year

PLACE, GAS = "winnipeg", load().fuel("natural-gas")
WEATHER = usual_year(load().climate(PLACE))
DAILY = WEATHER.temperature.reshape(-1, 24).mean(axis=1)
STARTS = [date(2024, 9, 1) + timedelta(days=k) for k in (0, 30, 61, 91, 122, 153, 181, 212, 242,
                                                         273, 303, 334, 365)]  # fmt: skip


def days_of(begins: date, ends: date):
    """Daily means by the calendar of a common year."""
    first = date(2025, WEATHER.time0.month, WEATHER.time0.day).timetuple().tm_yday
    span = (begins + timedelta(days=k) for k in range((ends - begins).days))
    common = [day.replace(year=2025).timetuple().tm_yday for day in span]
    return np.array([DAILY[(day - first) % 365] for day in common])


def bills(base: float, loss: float, point: float, efficiency: float = 0.8, start: int = 0):
    """Bills of a house of known loss [W/K] with ``base`` [m3/d] of hot water."""
    found = []
    for begins, ends in pairwise(STARTS):
        moved = [day.replace(year=day.year + start) for day in (begins, ends)]
        cold = np.maximum(point - days_of(begins, ends), 0.0).sum()
        used = base * (ends - begins).days + loss * 86400 * cold / efficiency / GAS.heat_content
        found.append(Bill(begins=moved[0], ends=moved[1], used=f"{used:.4f} m3"))
    return tuple(found)


def house(**more) -> House:
    given = {"name": "own", "climate": PLACE, "year_built": 1950, "volume": 400.0,
             "floor_area": 160.0, "heating": Heating(efficiency=0.8)}  # fmt: skip
    return House(**(given | more))


def test_a_known_house_comes_back_from_its_bills():
    """Other method: bills written from the loss, the hot water and the balance point."""
    found = billed(house(bills=bills(1.5, 180.0, 16.0)), GAS, WEATHER)
    assert found.fit is not None, found.why_not
    assert_allclose(found.fit.balance_point, 16.0, rtol=0, atol=0.2)
    assert_allclose(found.loss, 180.0, rtol=0.02, atol=0)
    assert_allclose(found.base / GAS.heat_content, 1.5, rtol=0.03, atol=0)
    heating = 180.0 * 86400 * np.maximum(16.0 - DAILY, 0.0).sum()
    assert_allclose(found.heat, heating, rtol=0.02, atol=0)


def test_a_hand_sum_of_twelve_bills():
    """Twelve months worked by ordinary least squares on printed degree days, base 18 degC."""
    used = [385, 323, 312, 193, 125, 63, 55, 53, 96, 182, 241, 340]
    below = [780, 690, 600, 360, 170, 40, 5, 15, 110, 300, 480, 680]
    days = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    line = OLS(used, np.column_stack([days, below])).fit()
    assert_allclose(line.params, [1.616, 0.4208], rtol=1e-3, atol=0)  # m3/d, m3/(K d), by hand
    from warmside.physics.energy import fit_bills

    x, y = np.array(below) / np.array(days), np.array(used) / np.array(days)
    fit = fit_bills(used, days, lambda _: np.array(below, dtype=float))
    rate = OLS(y, add_constant(x)).fit()  # months are nearly of one length
    assert_allclose([fit.base, fit.slope], rate.params, rtol=0.02, atol=0)
    assert_allclose([fit.base, fit.slope], line.params, rtol=0.02, atol=0)
    assert fit.explained > 0.99
    # loss [W/K] of a gas of 10.35 kWh/m3 at 78 %
    assert_allclose(fit.slope * 10.35 * 0.78 * 1000 / 24, 142.0, rtol=0.02, atol=0)


def test_a_printed_temperature_moves_the_days():
    plain = bills(1.0, 200.0, 16.0)
    colder = tuple(
        b.model_copy(update={"mean_temperature": float(days_of(b.begins, b.ends).mean()) - 3.0})
        for b in plain
    )
    found = billed(house(bills=colder), GAS, WEATHER)
    # the same fuel in a winter 3 K colder: a house of as much less loss in the mean year
    assert found.printed
    assert found.heat < 0.9 * billed(house(bills=plain), GAS, WEATHER).heat


def test_bills_that_do_not_follow_the_weather_do_not_calibrate():
    flat = tuple(b.model_copy(update={"used": "300 m3"}) for b in bills(1.0, 200.0, 16.0))
    found = billed(house(bills=flat), GAS, WEATHER)
    assert found.fit is None
    assert found.loss is None
    days = sum(b.days for b in flat)
    assert_allclose(found.heat, 12 * 300 * 365 / days * GAS.heat_content * 0.8, rtol=1e-9, atol=0)
    assert "do not calibrate" in str(bill_sentence(found, 1.0))


def a_study(**more):
    layers = {
        "finish": (FoundLayer(material="plaster-on-wood-lath"),),
        "sheathing": (FoundLayer(material="board-sheathing"),), "paper": "building-paper",
        "cladding": FoundLayer(material="wood-bevel-siding"),
    }  # fmt: skip
    wall = Wall(name="w", faces=0.0, frame="platform", stud="2x4", length=30.0, height=2.44,
                found=AsFound(**layers))  # fmt: skip
    return study(Survey(house=house(**more), walls=(wall,)), fields=False, years=0)


def test_savings_never_exceed_what_the_bills_hold():
    """A house that burns next to nothing saves less than that, whatever the survey's sum."""
    small = a_study(bills=bills(1.0, 40.0, 16.0))
    held = small.heating.billed.heat
    assert small.heating.by_bills
    assert small.heating.calibrated < 1.0
    change = Change(small.heating.walls, 0.0, Band(1.0, 1.0, 1.0))
    saved = worth(change, small.heating, None)
    for figure in (saved.computed.low, saved.computed.best, saved.computed.high):
        assert figure <= held * (1 + 1e-9)
    assert saved.present <= held * (1 + 1e-9)
    assert saved.heat.best <= REALISED_WITH_BILLS[1] * held
    for plan in small.plans.plans:
        assert plan.heat <= held


def test_a_leaky_house_by_its_bills_loses_what_they_say():
    large = a_study(bills=bills(1.0, 500.0, 16.0))
    case = large.heating
    flow = case.air.infiltration(case.air.leakage.flow_50.best)
    mean = float((case.differences[1] * flow).sum() / case.differences[1].sum()) * 1206.0
    assert_allclose(case.walls + case.other + mean, case.billed.loss, rtol=1e-3, atol=0)
    assert 0.9 < case.calibrated <= 1.0


def test_the_realised_share_stands_beside_the_computed_figure():
    plain, known = a_study(), a_study(bills=bills(1.0, 300.0, 16.0))
    assert plain.heating.realised.share == REALISED
    assert known.heating.realised.share == REALISED_WITH_BILLS
    assert known.heating.realised.source.tag == "own figure"
    told = next(f for f in known.walls[0].options[3].worth.findings if f.key.startswith("heat_sa"))
    assert "computed" in str(told.reason)


def test_finished_jobs_are_learnt_from():
    """By hand: four jobs' weight of 0.6 and four jobs at 0.4 make 0.5."""
    jobs = [FinishedJob(str(k), 10e9, 4e9, calibrated=False) for k in range(4)]
    learnt = realised_share(by_bills=False, finished=jobs)
    assert_allclose(learnt.share[1], 0.5, rtol=1e-12, atol=0)
    assert learnt.share[2] - learnt.share[0] < REALISED[2] - REALISED[0]
    many = realised_share(by_bills=False, finished=jobs * 100)
    assert_allclose(many.share[1], 0.4, rtol=0.01, atol=0)
    assert realised_share(by_bills=True, finished=jobs).share == REALISED_WITH_BILLS
    assert "4 finished jobs" in learnt.source.text


def test_bills_after_the_work_show_what_it_saved():
    both = (*bills(1.0, 300.0, 16.0), *bills(1.0, 200.0, 16.0, start=2))
    found = billed(house(bills=both, work_done="2026-03-01"), GAS, WEATHER)
    less = 100.0 * 86400 * np.maximum(16.0 - DAILY, 0.0).sum()
    assert_allclose(found.saved[1], less, rtol=0.03, atol=0)
    assert found.saved[0] <= found.saved[1] <= found.saved[2]
    told = saved_sentence(found, 2.0 * less, 'a "job"')
    row = told[told.index("[[finished]]") :]
    prices = read_prices(f"{default_text()}\n{row}")
    assert_allclose(prices.finished[0].share, 0.5, rtol=0.03, atol=0)
    assert prices.finished[0].calibrated


@pytest.mark.parametrize(
    ("row", "named"),
    [
        ('computed = "9000 kWh"\nmeasured = "5 m"', "measured"),
        ('computed = "0 kWh"\nmeasured = "5 kWh"', "computed"),
        ("computed = 9000\nmeasured = 5", "computed"),
        ('computed = "9 kWh"\nmeasured = "5 kWh"\ncalibrated = "yes"', "calibrated"),
        ('computed = "9 kWh"\nmeasured = "5 kWh"\nshare = 2', "share"),
    ],
)
def test_a_finished_job_that_is_none_is_refused(row, named):
    with pytest.raises(InputError, match=named):
        read_prices(f'{default_text()}\n[[finished]]\njob = "a"\n{row}')


HEAD = '[house]\nname = "a"\nclimate = "winnipeg"\nyear_built = 1950\nvolume = "9900 ft3"\n'


@pytest.mark.parametrize(
    ("lines", "named"),
    [
        ('begins = 2025-01-08\nends = 2025-01-08\nused = "385 m3"', "ends"),
        ('begins = 2025-01-08\nends = 2025-02-08\nused = "385 m3"', "330 days"),
        ("begins = 2025-01-08\nends = 2025-02-08\nused = 385", "used"),
        ('begins = "soon"\nends = 2025-02-08\nused = "385 m3"', "begins"),
        ('begins = 1025-01-08\nends = 2025-02-08\nused = "385 m3"', "begins"),
        ('begins = 2025-01-08\nends = 2029-02-08\nused = "385 m3"', "ends"),
    ],
)
def test_a_bill_that_is_none_is_refused_with_its_place(lines, named):
    with pytest.raises(InputError, match=named):
        read(f"{HEAD}[[house.bill]]\n{lines}\n")


def test_overlapping_bills_are_refused():
    double = (*bills(1.0, 200.0, 16.0), *bills(1.0, 200.0, 16.0))
    with pytest.raises(ValueError, match="later"):
        house(bills=double)
    with pytest.raises(ValueError, match="one of them"):
        house(bills=bills(1.0, 200.0, 16.0), heating=Heating(yearly_use="2900 m3"))
