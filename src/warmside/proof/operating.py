"""How often so many probes judge a wall rightly: the operating curve of a sampling plan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.promises import Verdict
from warmside.proof.foam import RULES, SCATTER, Rule, verdicts

DRAWS = 20_000  # walls by which a chance is good to 0.4 %
MOST_PROBES = 200
_SOLD = 2.0  # [m], any: verdicts go by differences


@dataclass(frozen=True)
class Chances:
    """Chance of every verdict for a wall whose true mean lies ``short`` [m] below what was sold."""

    short: float  # [m]
    holds: float  # [-]
    falls_short: float  # [-]
    needs_person: float  # [-]

    @property
    def right(self) -> float:
        """Chance that the verdict is not wrong: a wall as sold is not condemned, a thin one not
        passed."""
        return 1.0 - (self.falls_short if self.short <= 0.0 else self.holds)


def chances(count: int, rule: Rule, short: float, scatter: float = SCATTER) -> Chances:
    """Chance of every verdict on a wall.

    Parameters
    ----------
    count : int
        Probes set, as many as the area asks for.
    rule : str
        How thickness was sold.
    short : float
        By how much the wall's true mean lies below what was sold [m]; below 0 where it is thicker.
    scatter : float
        Standard deviation of one reading about that mean, foam and probe together [m].

    Notes
    -----
    The verdict itself is asked on ``DRAWS`` walls of normal readings, always the same draws, so
    that chances of two plans differ by the plans alone.
    """
    if not 1 <= count <= MOST_PROBES:
        raise InputError([Fault("probes", f"{count}", f"1 to {MOST_PROBES}")])
    if rule not in RULES:
        raise InputError([Fault("acceptance rule", f"{rule!r}", ", ".join(RULES))])
    if not (math.isfinite(short) and abs(short) <= 1.0 and 0.0 < scatter <= 0.1):
        read = f"short by {short:g} m, scatter {scatter:g} m"
        raise InputError([Fault("operating curve", read, "within 1 m; above 0 up to 0.1 m")])
    found = verdicts(_SOLD - short + scatter * _readings(count), _SOLD, rule)
    names: tuple[Verdict, ...] = ("holds", "falls short", "needs a person")
    return Chances(short, *(float((found == name).mean()) for name in names))


def curve(count: int, rule: Rule, most: float = 0.012, steps: int = 5) -> tuple[Chances, ...]:
    """Chances for walls as sold and thinner, up to ``most`` [m]."""
    return tuple(chances(count, rule, short) for short in np.linspace(0.0, most, steps).tolist())


@lru_cache(maxsize=8)
def _readings(count: int) -> npt.NDArray[np.float64]:
    return np.random.default_rng(1).standard_normal((DRAWS, count))
