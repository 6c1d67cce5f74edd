"""Is the foam as thick and as dense as sold? Where to probe, by which rule, and what came of it."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Literal

import numpy as np
import numpy.typing as npt

from warmside.catalog import Catalog, Foam, Source
from warmside.errors import Fault, InputError
from warmside.framing import Bay, Frame
from warmside.promises import Verdict
from warmside.proof.estimate import PROBE_DOUBT
from warmside.proof.lengths import millimetres
from warmside.site import (
    Check,
    Sample,
    density,
    density_checks,
    probes_needed,
    sample,
    student,
)
from warmside.wording import PAPER

Floats = npt.NDArray[np.float64]
Rule = Literal["average", "average with tolerance", "minimum"]
RULES: dict[Rule, str] = {
    "average": "The mean of the probes of a wall is at least the thickness sold.",
    "average with tolerance": "The mean is at least the thickness sold, and no probe lies more "
    "than 6 mm (1/4 in.) below it.",
    "minimum": "No probe is below the thickness sold.",
}
TOLERANCE = 0.00635  # [m] 1/4 in.
CONFIDENCE = 0.90  # [-] of what is said of the places between the probes
SCATTER = 0.006  # [m] of readings within one sprayed wall, by which plans are judged; own figure
_RULE = Source(
    "Three ways of selling thickness: average, average with tolerance, minimum (trade adviser)",
    "second-hand",
)


@dataclass(frozen=True)
class Place:
    """Where a probe is to be set."""

    bay: str
    x: float  # [m]
    z: float  # [m]
    where: str  # "middle of the bay", "beside a stud", "near the top"


@dataclass(frozen=True)
class Probed:
    """One reading of a thickness probe."""

    thickness: float  # [m]
    bay: str = ""
    x: float | None = None
    z: float | None = None


@dataclass(frozen=True)
class ThicknessProof:
    """The probes of one wall against the rule that was chosen before the first was set.

    ``share_above`` is the share of the wall's foam that is, with 90 % confidence, at least as
    thick as the thinnest probe [-].
    """

    wall: str
    rule: Rule
    sold: float  # [m]
    asked: int  # probes by area
    found: Sample | None
    verdict: Verdict
    why: str
    share_above: float | None
    by_bay: Mapping[str, float]  # [m] mean of a bay's probes
    thin: tuple[str, ...]  # bays with a probe that is too thin
    source: Source = _RULE


def sampling_plan(frame: Frame, catalog: Catalog, area: float | None = None) -> tuple[Place, ...]:
    """Where to probe a wall: as many places as its area asks for, spread over its bays.

    Bays are taken evenly from left to right and from small to tall, the place in them in turn in
    the middle, beside a stud, near the top and near the foot: foam is thin there first.

    Parameters
    ----------
    frame : Frame
        The wall's framing.
    catalog : Catalog
        How many probes an area asks for.
    area : float, optional
        Sprayed area [m2]; that of all bays when not given.

    Returns
    -------
    tuple of Place
        At least three, or one in every bay of a smaller wall.
    """
    bays = [b for b in frame.bays if min(b.rect.width, b.rect.height) > 2 * _ROOM]
    if not bays:
        return ()
    sprayed = area if area is not None else sum(b.rect.area for b in frame.bays)
    count = probes_needed(sprayed, catalog)
    bays.sort(key=lambda b: (b.rect.x0, b.rect.z0))
    ends = list(accumulate(b.rect.area for b in bays))
    chosen = [bays[bisect_left(ends, (n + 0.5) / count * ends[-1])] for n in range(count)]
    return tuple(_place(bay, n) for n, bay in enumerate(chosen))


_ROOM = 0.04  # [m] that a probe needs beside the wood


def _place(bay: Bay, turn: int) -> Place:
    r = bay.rect
    middle = (r.x0 + r.x1) / 2.0, (r.z0 + r.z1) / 2.0
    x, z, where = (
        (*middle, "middle of the bay"),
        (r.x0 + _ROOM, middle[1], "beside the left stud"),
        (middle[0], r.z1 - min(0.15, r.height / 4), "near the top"),
        (middle[0], r.z0 + min(0.15, r.height / 4), "near the foot"),
    )[turn % 4]
    return Place(bay.name, x, z, where)


def thickness_proof(
    wall: str, probes: Sequence[Probed], sold: float, rule: Rule, area: float, catalog: Catalog
) -> ThicknessProof:
    """Judge the probes of a wall by the rule chosen before.

    Parameters
    ----------
    wall : str
        Its name.
    probes : sequence of Probed
        What was read.
    sold : float
        Thickness on the proposal [m].
    rule : {"average", "average with tolerance", "minimum"}
        Which of the three was sold.
    area : float
        Sprayed area [m2].
    catalog : Catalog
        How many probes an area asks for.

    Returns
    -------
    ThicknessProof
        Falls short where the rule is broken beyond what probes can be off; needs a person where
        too few were set, or where they do not tell, see `verdicts`.

    Raises
    ------
    InputError
        A rule of another name, or a thickness that is none.
    """
    if rule not in RULES:
        raise InputError([Fault("acceptance rule", f"{rule!r}", ", ".join(RULES))])
    if not (math.isfinite(sold) and sold > 0.0):
        raise InputError([Fault("thickness sold", f"{sold!r}", "above 0")])
    asked = probes_needed(area, catalog)
    values = [probe.thickness for probe in probes]
    found, least = sample(values, CONFIDENCE) if values else None, _least(sold, rule)
    thin = tuple(dict.fromkeys(p.bay for p in probes if p.bay and p.thickness < least - 1e-9))
    verdict, why = _judged(values, sold, rule, asked)
    return ThicknessProof(
        wall=wall,
        rule=rule,
        sold=sold,
        asked=asked,
        found=found,
        verdict=verdict,
        why=why,
        share_above=share_above(len(values)) if values else None,
        by_bay=_by_bay(probes),
        thin=thin,
    )


def share_above(count: int, confidence: float = CONFIDENCE) -> float:
    """Share of all places at least as thick as the thinnest of ``count`` random probes [-].

    ``p^n = 1 - c``: were less than a share p of the wall as thick, n probes would all have hit it
    with a chance below 1 - c (distribution-free one-sided tolerance limit; Wilks 1941, from
    memory). At n = 22, c = 0.9: 0.90.
    """
    return float((1.0 - confidence) ** (1.0 / count))


def verdicts(values: Floats, sold: float, rule: Rule) -> npt.NDArray[np.str_]:
    """Verdict on every sample (..., n) of probes [m], as far as their number goes.

    The mean is held with the band that bounds it (Student's t, 90 %, never narrower than probes
    read). Below what was sold with its whole band it falls short; at or above it holds, if the band
    ends no more than ``TOLERANCE`` below. In between the probes do not tell. A single reading
    below what the rule allows falls short by itself.
    """
    count = values.shape[-1]
    mean, least = values.mean(axis=-1), values.min(axis=-1)
    half = np.full(mean.shape, np.inf)
    if count > 1:
        spread = values.std(axis=-1, ddof=1) / math.sqrt(count)
        half = np.maximum(student(count - 1, CONFIDENCE) * spread, 1.645 * PROBE_DOUBT / count**0.5)
    thin = least < _least(sold, rule) - 1e-9
    sure = mean - half >= sold - TOLERANCE - 1e-9
    if rule != "minimum":
        thin |= mean + half < sold - 1e-9
        sure &= mean >= sold - 1e-9
    return np.where(thin, "falls short", np.where(sure, "holds", "needs a person"))


def _least(sold: float, rule: Rule) -> float:
    """Thickness below which a single probe breaks the rule [m]."""
    return {"average": 0.0, "average with tolerance": sold - TOLERANCE, "minimum": sold}[rule]


def _judged(values: Sequence[float], sold: float, rule: Rule, asked: int) -> tuple[Verdict, str]:
    if not values:
        return "needs a person", "No probe was set."
    found, least = sample(values, CONFIDENCE), _least(sold, rule)
    band = "" if found.low is None or found.high is None else (
        f" (between {millimetres(found.low)} and {millimetres(found.high)} with 90 % confidence)"
    )  # fmt: skip
    told = (
        f"{found.count} probes: mean {millimetres(found.mean)}{band}, "
        f"thinnest {millimetres(found.least)}, {millimetres(sold)} sold as {rule}."
    )
    verdict = str(verdicts(np.array(values), sold, rule))
    if verdict == "falls short":
        if found.least < least - 1e-9:
            return "falls short", f"{told} The thinnest is below {millimetres(least)}."
        return "falls short", f"{told} The mean is too low."
    if found.count < asked:
        return "needs a person", f"{told} {asked} are asked for by the area."
    if verdict == "needs a person":
        return "needs a person", f"{told} So few probes do not tell: set more."
    return "holds", told


def _by_bay(probes: Sequence[Probed]) -> dict[str, float]:
    values: dict[str, list[float]] = {}
    for probe in probes:
        if probe.bay:
            values.setdefault(probe.bay, []).append(probe.thickness)
    return {bay: sum(v) / len(v) for bay, v in values.items()}


@dataclass(frozen=True)
class Core:
    """A core cut from the foam, its skins off: weighed, then sunk in a measuring cylinder."""

    mass: float  # [kg]
    water_before: float  # [m3]
    water_after: float  # [m3]
    bay: str = ""

    @property
    def volume(self) -> float:
        """Of the water it displaces [m3]."""
        return self.water_after - self.water_before

    @property
    def density(self) -> float:
        """Core density [kg/m3]."""
        return density(self.mass, self.volume)


@dataclass(frozen=True)
class DensityProof:
    """The cores of a job against what the foam's kind asks for."""

    densities: tuple[float, ...]  # [kg/m3]
    found: Sample | None
    checks: tuple[Check, ...]
    verdict: Verdict
    remarks: tuple[str, ...]


LIGHTEST = 5.5e-3  # [kg] least mass that a kitchen-grade scale weighs well enough
_READING = 2.5e-6  # [m3] half a mark of a 1000 mL cylinder
_SCALE = 1e-5  # [kg]


def density_proof(cores: Sequence[Core], foam: Foam, catalog: Catalog) -> DensityProof:
    """Judge cores by water displacement.

    Canadian trade practice: three cores from the middle of an area of 3 m x 3 m, 6 mm of skin
    sliced off both ends, 5.5 g or more, weighed to 0.01 g (published trade note).

    Parameters
    ----------
    cores : sequence of Core
        What was cut.
    foam : Foam
        For its kind.
    catalog : Catalog
        What the cores of a kind of foam must weigh.
    """
    values = tuple(core.density for core in cores)
    checks = density_checks(values, foam.family, catalog)
    failed = any(check.state == "failed" for check in checks[1:])
    enough = all(check.state == "passed" for check in checks)
    remarks = []
    for n, core in enumerate(cores, 1):
        if core.mass < LIGHTEST:
            remarks.append(f"Core {n} weighs {core.mass * 1e3:.1f} g; 5.5 g or more are asked for.")
        doubt = math.hypot(_READING * math.sqrt(2.0) / core.volume, _SCALE / core.mass)
        if doubt > 0.05:
            remarks.append(
                f"Core {n} is so small that its density is good to {PAPER(doubt, 'share')} only."
            )
    verdict: Verdict = "falls short" if failed else "holds" if enough else "needs a person"
    return DensityProof(
        values, sample(values, CONFIDENCE) if values else None, checks, verdict, tuple(remarks)
    )
