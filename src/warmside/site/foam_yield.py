"""Yield: board feet sprayed against drums used, and the contractor's own waste learned from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from warmside.catalog import Foam, Source
from warmside.errors import Fault, InputError
from warmside.estimate import theoretical_yield
from warmside.site.samples import student

LEAST_DAYS = 3  # before the next takeoff may learn from them
_WASTE_MOST = 0.9  # [-] more is a mistake in the record, not waste


@dataclass(frozen=True)
class Use:
    """What one entry of the day record says of foam used."""

    day: str  # ISO date
    foam: str  # catalog id
    lot: str
    board_feet: float  # net, in the wall [board ft]
    sets: float  # of drums used [-]
    surface: float | None = None  # [degC] sprayed on

    @property
    def per_set(self) -> float:
        """Net board feet from one set [board ft]."""
        return self.board_feet / self.sets


@dataclass(frozen=True)
class Group:
    """Uses of one day, one lot or one band of temperature together."""

    name: str
    board_feet: float
    sets: float
    waste: float  # [-] of net

    @property
    def per_set(self) -> float:
        """Net board feet from one set [board ft]."""
        return self.board_feet / self.sets


@dataclass(frozen=True)
class Learned:
    """The contractor's own waste for one foam.

    ``waste`` is what the takeoff adds to net; ``low`` and ``high`` bound it with ``confidence``,
    None with fewer than two uses. ``enough``: the takeoff may learn from it.
    """

    foam: str
    uses: int
    days: int
    board_feet: float
    sets: float
    waste: float
    low: float | None
    high: float | None
    confidence: float
    by_day: tuple[Group, ...]
    by_lot: tuple[Group, ...]
    by_surface: tuple[Group, ...]

    @property
    def per_set(self) -> float:
        """Net board feet from one set [board ft]."""
        return self.board_feet / self.sets

    @property
    def enough(self) -> bool:
        """Whether it is enough to put in place of the foam's row, and could be true."""
        return self.days >= LEAST_DAYS and 0 <= self.waste <= _WASTE_MOST


def learned(uses: Sequence[Use], foam: Foam, confidence: float = 0.90) -> Learned:
    """Own yield and waste from day records, with a band.

    ``w = N_0 S / B - 1`` with ``N_0`` the board feet that a set gives without loss, ``S`` sets and
    ``B`` net board feet, both summed: a ratio of sums, so that a large day weighs more than a
    small one. Its band is that of `band_of_ratio`.

    Parameters
    ----------
    uses : sequence of Use
        Those of other foams are left out.
    foam : Foam
        Row of the catalog.
    confidence : float
        Of the two-sided band [-].

    Raises
    ------
    InputError
        No use of this foam, or one without sets or board feet.
    """
    own = [use for use in uses if use.foam == foam.id]
    bad = [u for u in own if not (_positive(u.sets) and _positive(u.board_feet))]
    if not own or bad:
        read = f"{len(own)} uses of {foam.id}, {len(bad)} without amounts"
        raise InputError([Fault("drums used", read, "one use or more, each with its amounts")])
    best = theoretical_yield(foam.set_mass, foam.in_place_density)
    feet, sets = (math.fsum(v) for v in ([u.board_feet for u in own], [u.sets for u in own]))
    waste = best * sets / feet - 1
    low, high = (
        None if end is None else end - 1
        for end in band_of_ratio(
            [best * u.sets for u in own], [u.board_feet for u in own], 1 + waste, confidence
        )
    )
    days = {use.day for use in own}
    return Learned(
        foam.id, len(own), len(days), feet, sets, waste, low, high, confidence,
        _groups(own, best, lambda u: u.day), _groups(own, best, lambda u: u.lot or "no lot"),
        _groups(own, best, _band),
    )  # fmt: skip


def band_of_ratio(
    taken: Sequence[float], of: Sequence[float], ratio: float, confidence: float = 0.90
) -> tuple[float | None, float | None]:
    """Two-sided band of a ratio of sums; None with fewer than two pairs.

    ``r -+ t s / sqrt(n)`` with ``s^2 = sum (y_i - r x_i)^2 / (n - 1) / mean(x)^2``, the usual
    variance of a ratio estimate (Cochran, Sampling Techniques, 3rd ed., eq. 6.4, from memory).

    Parameters
    ----------
    taken, of : sequence of float
        ``y_i`` and ``x_i``, in one unit.
    ratio : float
        ``sum(y) / sum(x)`` [-].
    confidence : float
        Of the band [-].
    """
    n = len(taken)
    if n < 2:
        return None, None
    residuals = ((y - ratio * x) ** 2 for y, x in zip(taken, of, strict=True))
    s = math.sqrt(math.fsum(residuals) / (n - 1)) / (math.fsum(of) / n)
    half = student(n - 1, confidence) * s / math.sqrt(n)
    return ratio - half, ratio + half


def own_foam(foam: Foam, found: Learned) -> Foam:
    """The foam's row with the learned waste in the place of its own.

    Open and small bays keep their difference. What the next takeoff then orders follows the
    contractor's own drums.

    Raises
    ------
    InputError
        Too few days, or a waste that cannot be.
    """
    if not found.enough:
        read = f"{found.days} days, waste {found.waste:.0%}"
        allowed = f"{LEAST_DAYS} days or more, waste from 0 to {_WASTE_MOST:.0%}"
        raise InputError([Fault("own yield", read, allowed)])
    more = foam.waste_small_bays - foam.waste_open_bays
    text = f"Own day records: {found.per_set:.0f} board ft a set over {found.days} days"
    return replace(
        foam,
        waste_open_bays=found.waste,
        waste_small_bays=found.waste + more,
        source_use=Source(f"{text}; otherwise {foam.source_use.text}", "own figure"),
    )


def _band(use: Use) -> str:
    if use.surface is None:
        return "surface not read"
    low = 5 * math.floor(use.surface / 5)
    return f"surface {low:g} to {low + 5:g} °C"


def _groups(uses: list[Use], best: float, by: Callable[[Use], str]) -> tuple[Group, ...]:
    found: dict[str, list[Use]] = {}
    for use in uses:
        found.setdefault(by(use), []).append(use)
    return tuple(
        Group(name, feet, sets, best * sets / feet - 1)
        for name, same in sorted(found.items())
        for feet, sets in [(sum(u.board_feet for u in same), sum(u.sets for u in same))]
    )


def _positive(value: float) -> bool:
    return math.isfinite(value) and value > 0
