"""Sample statistics: what a few probes or cores say about a whole wall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from warmside.catalog import Catalog, Source
from warmside.errors import Fault, InputError
from warmside.site.checks import Check, State, held_against

MOST = 10_000
_LARGE = 1e12


@dataclass(frozen=True)
class Sample:
    """What a sample says; ``low`` and ``high`` bound the true mean with ``confidence``.

    ``sd`` and the band are None for a single value.
    """

    count: int
    mean: float
    sd: float | None
    least: float
    most: float
    confidence: float  # [-]
    low: float | None
    high: float | None


def sample(values: Sequence[float], confidence: float = 0.95) -> Sample:
    """Mean, standard deviation and the band of the mean.

    ``s^2 = sum (x - m)^2 / (n - 1)``; ``m -+ t(n - 1, (1 + c) / 2) s / sqrt(n)``, Student's t.
    Taken as a random sample of one wall: probes set where foam looks thin make it cautious.

    Parameters
    ----------
    values : sequence of float
        One unit, 1 to 10 000 of them.
    confidence : float
        Of the two-sided band, between 0 and 1 [-].

    Raises
    ------
    InputError
        No value, too many, one that is not finite, or a confidence outside 0 to 1.
    """
    x = [float(value) for value in values]
    if not 1 <= len(x) <= MOST or not all(math.isfinite(v) and abs(v) < _LARGE for v in x):
        raise InputError([Fault("sample", f"{len(x)} values", "1 to 10 000 finite numbers")])
    if not 0 < confidence < 1:
        raise InputError([Fault("confidence", f"{confidence!r}", "between 0 and 1")])
    n, mean = len(x), math.fsum(x) / len(x)
    if n == 1:
        return Sample(1, mean, None, x[0], x[0], confidence, None, None)
    sd = math.sqrt(math.fsum((v - mean) ** 2 for v in x) / (n - 1))
    half = student(n - 1, confidence) * sd / math.sqrt(n)
    return Sample(n, mean, sd, min(x), max(x), confidence, mean - half, mean + half)


def student(freedom: int, confidence: float) -> float:
    """Student's t of ``freedom`` degrees that bounds a two-sided band of ``confidence`` [-]."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, (1 + confidence) / 2))


def density(mass: float, volume: float) -> float:
    """Core density by displacement, ``m / V`` [kg/m3].

    Parameters
    ----------
    mass : float
        Of the core, its skins cut off [kg].
    volume : float
        Of the water it displaces [m3].
    """
    if not (math.isfinite(mass) and math.isfinite(volume) and mass > 0 and volume > 0):
        raise InputError([Fault("core", f"{mass!r} kg, {volume!r} m3", "both above 0")])
    return mass / volume


def probes_needed(area: float, catalog: Catalog) -> int:
    """Thickness probes that a wall of ``area`` [m2] needs [-]."""
    by_area = math.ceil(area / catalog.site_figure("probe-area").most - 1e-9)
    return max(round(catalog.site_figure("probes-a-wall").least), by_area)


def thickness_checks(
    probes: Sequence[float], sold: float, area: float, catalog: Catalog
) -> tuple[Check, ...]:
    """Whether the probes of a wall bear out the thickness sold.

    Mean at ``sold`` or above, no probe more than 1/4 in below it or under nine tenths of it, and
    enough of them.

    Parameters
    ----------
    probes : sequence of float
        Thickness read [m].
    sold : float
        Thickness on the proposal [m].
    area : float
        Sprayed area of the wall [m2].
    catalog : Catalog
        Limits of the working day.
    """
    found = sample(probes) if probes else None
    mean, thinnest = (found.mean, found.least) if found else (None, None)
    short, share = catalog.site_figure("probe-short"), catalog.site_figure("probe-share")
    least = max(sold - short.most, share.least * sold)
    proposal = Source("the thickness on the proposal", "own figure")
    needed, rule = float(probes_needed(area, catalog)), catalog.site_figure("probes-a-wall").source
    return (
        _least("probes", "Thickness probes", float(len(probes)), needed, "-", rule),
        _least("mean_thickness_m", "Mean thickness", mean, sold, "m", proposal),
        _least("least_thickness_m", "Thinnest probe", thinnest, least, "m", short.source),
    )


def density_checks(cores: Sequence[float], family: str, catalog: Catalog) -> tuple[Check, ...]:
    """Whether the cores of a day are dense enough, and enough of them.

    Parameters
    ----------
    cores : sequence of float
        Densities [kg/m3].
    family : str
        "closed-cell" or "open-cell".
    catalog : Catalog
        Limits of the working day.
    """
    limit = catalog.site_figure("core-density", family)
    needed = catalog.site_figure("density-cores")
    mean = sample(cores).mean if cores else None
    return (
        _least("cores", "Cores for density", float(len(cores)), needed.least, "-", needed.source),
        held_against("core_density_kg_m3", limit.name, mean, limit),
    )


def _least(
    key: str, name: str, figure: float | None, least: float, unit: str, source: Source
) -> Check:
    state: State = "not read"
    if figure is not None:
        state = "passed" if figure >= least - 1e-9 else "failed"
    return Check(key, name, figure, least, None, unit, state, source)
