"""What will be found, told before it is measured: by a picture, and by so many probes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from proof.conftest import Case
from warmside.errors import InputError
from warmside.proof import (
    Conditions,
    Faults,
    Lens,
    Power,
    Stand,
    chances,
    compare,
    corners_seen,
    curve,
    look,
    pictured,
    power,
)
from warmside.proof.foam import SCATTER, TOLERANCE, verdicts
from warmside.proof.operating import DRAWS

KNOWN = {"hours_room_held": 48.0, "hours_without_sun": 24.0, "outside_swing": 2.0}
AIR = Conditions(room=21.0, outside=1.0, **KNOWN)


def told(case: Case, conditions: Conditions = AIR, contrast: float = 0.1) -> Power:
    return power(case.option, case.wall, case.frame, case.catalog, conditions, contrast=contrast)


# --- pictures


@pytest.mark.parametrize(("fault", "share"), [("missing", 0.0), ("half", 0.5)])
def test_what_a_fault_does_is_what_the_field_says(case: Case, fault: str, share: float):
    # other method: the whole wall's field, one bay with that share of its foam, against a strip
    name = next(b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3)
    number = [b.name for b in case.frame.bays].index(name)
    core = case.prediction.core & (case.prediction.bay == number)
    sound, faulty = (
        float(np.median(case.surface(foam, AIR.room, AIR.outside)[core]))
        for foam in ({}, {name: share * case.option.thickness})
    )
    assert told(case).of(fault).cold == pytest.approx(sound - faulty, rel=0.12)


def test_the_chance_is_that_of_the_pictures_themselves(case: Case):
    # other method: pictures of a camera with its noise, drift and lens, of a wall in which one bay
    # lacks a third of its foam or so; the chance told at a contrast of 0.1 K, within what two dozen
    # pictures can say of it (99 %, binomial)
    names = [b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3]
    foam = {names[1]: 0.5 * case.option.thickness, names[3]: 0.75 * case.option.thickness}
    surface = case.surface(foam, AIR.room, AIR.outside)
    stand = Stand(x=2.1, z=1.2, distance=4.4, turned=10.0, lens=Lens(-0.05))
    shots, seen = 12, dict.fromkeys(foam, 0)
    for seed in range(shots):
        shot = pictured(
            surface, case.prediction, stand, room=AIR.room,
            faults=Faults(noise=0.08, drift=0.05, offset=0.7), seed=seed,
        )  # fmt: skip
        marks = corners_seen(stand, case.prediction, error=1.0, seed=seed)
        proof = compare(
            look(shot, marks, case.prediction, AIR, lens=stand.lens), case.prediction, AIR
        )
        for name in foam:
            seen[name] += proof.bay(name).seen == "colder"
    for name, fault in zip(foam, ("half", "three quarters"), strict=True):
        low, high = stats.binomtest(seen[name], shots).proportion_ci(0.99)
        assert low <= told(case).of(fault).found <= high


def test_more_cold_shows_more_and_what_nobody_noted_hides(case: Case):
    # exact: a larger difference shows a fault no worse, a blunter camera and an unknown past no
    # better; the chance of one fault is the normal one of its cold over its doubt
    at = {
        k: told(case, Conditions(room=21.0, outside=21.0 - k, **KNOWN)) for k in (5.0, 10.0, 30.0)
    }
    found = [at[k].of("three quarters").found for k in (5.0, 10.0, 30.0)]
    assert found[0] < found[1] < found[2]
    assert told(case, contrast=0.5).of("half").found < told(case).of("half").found
    unknown = told(case, Conditions(room=21.0, outside=1.0))
    known = told(case)
    assert known.thin is not None
    assert unknown.thin is None or unknown.thin > known.thin
    for one in known.chances:
        doubt = one.needed / 3.5
        assert one.found == pytest.approx(stats.norm.cdf(one.cold / doubt - 3.5), abs=1e-9)


def test_it_is_said_in_words(case: Case):
    # common practice, no source: an empty bay is what a camera is for, a thin gap is not
    rows = {str(a): str(b) for a, b in told(case).rows}
    assert rows["empty bay"] == "found practically always"
    assert rows['gap of 1/2" (12 mm) along a stud'] == "practically never found"
    assert "probes tell" in rows["foam thin everywhere alike"]
    summer = told(case, Conditions(room=21.0, outside=38.0, **KNOWN))
    assert summer.of("missing").found > 0.99
    with pytest.raises(InputError, match="foam"):
        power(replace(case.option, foam=None), case.wall, case.frame, case.catalog, AIR)


# --- probes


@pytest.mark.parametrize("count", [3, 5, 10])
@pytest.mark.parametrize("short", [0.0, 0.003, 0.006])
def test_the_mean_rule_against_noncentral_t(count: int, short: float):
    # reference library: SciPy's noncentral t. The mean with its whole band below what was sold is a
    # t below -t(0.95); readings so alike that the probe's own error bounds them are left out of the
    # comparison's tolerance (1 % of samples)
    found = chances(count, "average", short)
    limit = stats.t.ppf(0.95, count - 1)
    exact = stats.nct.cdf(-limit, count - 1, -short * np.sqrt(count) / SCATTER)
    assert found.falls_short == pytest.approx(exact, abs=0.02)
    # holding needs the mean at what was sold or above: never more often than the normal says
    most = stats.norm.sf(short * np.sqrt(count) / SCATTER)
    assert found.holds <= most + 4.0 * np.sqrt(0.25 / DRAWS)
    assert found.holds + found.falls_short + found.needs_person == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("count", [3, 10])
@pytest.mark.parametrize("short", [-0.006, 0.0, 0.003])
def test_the_minimum_rule_against_the_binomial(count: int, short: float):
    # exact: it is broken unless every one of n probes reads what was sold or more
    each = stats.norm.sf(short / SCATTER)
    exact = 1.0 - stats.binom.pmf(count, count, each)
    assert chances(count, "minimum", short).falls_short == pytest.approx(
        exact, abs=4.0 * np.sqrt(0.25 / DRAWS)
    )


def test_few_probes_neither_pass_thin_walls_nor_condemn_sound_ones():
    # by the mean alone three probes pass one thin wall (3 mm) in five and fail every second wall
    # that is as sold (binomial, SciPy's normal); with the band they leave it open instead
    sold, thin = (chances(3, "average", short) for short in (0.0, 0.003))
    assert stats.norm.sf(0.003 * np.sqrt(3) / SCATTER) == pytest.approx(0.19, abs=0.01)
    assert sold.falls_short < 0.06
    assert thin.holds < 0.12
    assert sold.needs_person > 0.5
    assert [c.holds for c in curve(10, "average")] == sorted(
        (c.holds for c in curve(10, "average")), reverse=True
    )
    assert curve(10, "average", most=0.012)[-1].right > 0.999


def test_a_verdict_uses_its_band():
    # exact: Student's t of SciPy on the same readings
    values = np.array([0.074, 0.076, 0.078, 0.075])
    half = stats.t.ppf(0.95, 3) * values.std(ddof=1) / 2.0
    mean = values.mean()
    sold = float(mean + half)
    assert str(verdicts(values, sold - 5e-4, "average")) == "needs a person"
    assert str(verdicts(values - 0.003, sold, "average")) == "falls short"
    assert str(verdicts(values, float(mean) - 1e-6, "average")) == "holds"
    wide = np.array([0.060, 0.095, 0.080, 0.075])
    low = wide.mean() - stats.t.ppf(0.95, 3) * stats.sem(wide)
    assert low < 0.0762 - TOLERANCE
    assert str(verdicts(wide, 0.0762, "average")) == "needs a person"


@pytest.mark.parametrize(
    ("count", "rule", "short"),
    [(0, "average", 0.0), (3, "about", 0.0), (3, "average", float("nan")), (500, "minimum", 0.0)],
)
def test_plans_that_cannot_be(count: int, rule: str, short: float):
    with pytest.raises(InputError):
        chances(count, rule, short)  # type: ignore[arg-type]
