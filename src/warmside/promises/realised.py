"""What share of a computed saving houses are measured to keep, learnt from finished jobs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from warmside.catalog import Source
from warmside.promises.money import Three

# Share of a computed saving that measured houses show [-]: least, best, most; without bills and
# with them. Our reading of a randomised trial, 0.39 (Fowlie, Greenstone, Wolfram, QJE 2018); wall
# fill in Ohio, 0.43 to 0.69 (Home Energy, Jul/Aug 1999); use before work 0.70 of the computed in
# 3,400 houses (Sunikka-Blank, Galvin 2012).
REALISED, REALISED_WITH_BILLS = (0.40, 0.60, 0.85), (0.60, 0.80, 1.00)
NINETY = 1.645  # [-] standard deviations to either end of a band of nine in ten
OWN_WEIGHT = 4  # finished jobs that the published band weighs as much as; own choice
HIGHEST = 1.2  # [-] that is believed of a learnt share
_PUBLISHED = (
    "Measured against computed savings: 0.39 in a randomised trial (Fowlie, Greenstone, Wolfram "
    "2018), 0.43 to 0.69 for wall fill in Ohio (Home Energy 1999), present use 0.70 of the "
    "computed in 3,400 houses (Sunikka-Blank, Galvin 2012); the share taken from them is our own"
)


@dataclass(frozen=True)
class FinishedJob:
    """A job whose saving was measured by bills before and after; heat in a mean year [J]."""

    name: str
    computed: float  # by the study, before any share was taken
    measured: float
    calibrated: bool  # whether bills calibrated what was computed

    @property
    def share(self) -> float:
        """Of what was computed [-]."""
        return self.measured / self.computed


@dataclass(frozen=True)
class Realised:
    """Share of a computed saving that is counted on [-], and what it rests on."""

    share: Three  # least, best, most
    jobs: int  # finished ones that it was learnt from
    source: Source


def realised_share(*, by_bills: bool, finished: Sequence[FinishedJob] = ()) -> Realised:
    """The published share, drawn towards the contractor's own finished jobs.

    The published band stands for nine in ten of single jobs. Half of its variance is taken for
    doubt of the mean, which jobs narrow: ``m' = (m k + sum x) / (k + n)`` with ``k`` jobs' worth of
    weight; the variance of single jobs is pooled likewise. The conjugate normal rule, from memory.

    Parameters
    ----------
    by_bills : bool
        Whether bills calibrated the house: only jobs of the same sort are learnt from.
    finished : sequence of FinishedJob
        The contractor's own.

    Returns
    -------
    Realised
        The published share where there are no such jobs.
    """
    low, best, high = REALISED_WITH_BILLS if by_bills else REALISED
    shares = np.array([job.share for job in finished if job.calibrated == by_bills])
    if not shares.size:
        return Realised((low, best, high), 0, Source(_PUBLISHED, "own figure"))
    count, weight = len(shares), OWN_WEIGHT
    mean = (weight * best + float(shares.sum())) / (weight + count)
    single = ((high - low) / (2.0 * NINETY)) ** 2 / 2.0  # [-] variance of jobs about their mean
    between = (weight * single + float(((shares - mean) ** 2).sum())) / (weight + count)
    spread = NINETY * float(np.sqrt(between + weight * single / (weight + count)))
    band = (max(mean - spread, 0.0), min(max(mean, 0.0), HIGHEST), min(mean + spread, HIGHEST))
    said = "1 finished job" if count == 1 else f"{count} finished jobs"
    source = Source(f"Learnt from {said} of the contractor's own, beside: {_PUBLISHED}",
                    "own figure")  # fmt: skip
    return Realised(band, count, source)
