"""One estimate of a whole picture: bays, and all that shifts them without being foam.

Patches of bays and wood hold ``y = offset + nuisance + bay + noise`` [K], measured less predicted.
Nuisances are Gaussian with a covariance of their own: air warmer over height, vignetting and slow
drift of the camera, a film that varies over height, wood and film off everywhere, air and
emissivity misread, the wall's past. Bays that are off are set free and tell nothing of the rest,
and the drift's size is that of greatest likelihood. Generalised least squares with full covariance;
deleted residuals as in Cook and Weisberg, Residuals and Influence in Regression, 1982 (from
memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from warmside.proof.conditions import Conditions
from warmside.proof.prediction import Prediction

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

PATCH = 0.3  # [m] height of a patch
LEAST_PIXELS = 12
FREE = 3.0  # [K] standard deviation of a bay that may hold anything
COMMON = 0.5  # [K] of what all bays share
OFF = 3.0  # standard deviations from which a bay is set free
GRADIENT, BOW = 1.0, 0.25  # [K/m], [K/m2] of room air over height; own figures
FILM, FILM_REACH = 0.12, 0.3  # [-] of a film over height, and how far alike [m]; own figures
FILM_DOUBT, EMISSIVITY_DOUBT = 0.10, 0.02  # [-] everywhere alike; own figures
# air is still in corners: their film's resistance nearly doubles (EN ISO 13788)
END, END_REACH = 0.3, 0.2  # [-] of the film at either end of a wall, and how far [m]; own figures
TONES = 0.3  # [-] of the camera's contrast by which it reads wood otherwise than foam; own figure
USUAL = 0.5, 0.2  # [-] of a camera's contrast: its drift, and what one patch is off
CURVED = 0.4  # [K] of the camera over half the wall
DRIFTS, REACH = (0.02, 0.05, 0.1, 0.2), 0.9  # [K] that are tried, and how far alike [m]
NOISES = (0.01, 0.02, 0.04, 0.08)  # [K] of a patch that are tried
STUD = 0.5  # [-] of the wood's doubt that differs from stud to stud
MOVED = 0.2  # [-] of what a faulty bay does to the wood beside it that is not sure; own figure
BESIDE = 0.7  # [-] of the same by which all wood beside faulty bays is off alike; own figure
FOAM = 0.03  # [-] of a bay's resistance that foam of one thickness varies by; own figure


@dataclass(frozen=True, eq=False)
class Patches:
    """Places that are looked at together, (n,) each; ``bay`` is -1 for wood.

    ``picture`` numbers the picture that each is seen in: what the camera adds is its own in each.
    """

    value: Floats  # [K] measured less planned
    factor: Floats  # [-]
    wood: Floats  # [-] change of the factor for wood off by its doubt
    x: Floats
    z: Floats
    bay: npt.NDArray[np.int_]
    stud: npt.NDArray[np.int_]
    height: Floats  # (n, 2) [m] from and to
    moved: Floats  # [K] by which bays that are not as planned shift the place
    past: Floats  # (d, n) [K] what the past's doubts do
    picture: npt.NDArray[np.int_]

    @classmethod
    def of_all(cls, pictures: Sequence[Patches]) -> Patches:
        """Those of several pictures of one wall, one after the other."""
        numbered = [replace(one, picture=one.picture + n) for n, one in enumerate(pictures)]
        last = {name: -1 if name == "past" else 0 for name in (f.name for f in fields(cls))}
        return cls(**{
            name: np.concatenate([getattr(one, name) for one in numbered], axis=axis)
            for name, axis in last.items()
        })  # fmt: skip


@dataclass(frozen=True, eq=False)
class Fit:
    """What a picture tells of its bays, (n_bays,) each, NaN where not seen.

    ``total`` [K] is how much warmer a bay is than planned and ``doubt`` its standard uncertainty,
    all doubts within; ``apart`` [K] how much warmer than what all bays share, ``apart_doubt`` its
    standard deviation were the bay sound. ``common`` is what they share. ``parts`` lists patches
    (bay, z0, z1, [K], standard deviations) against the rest of the picture.
    """

    total: Floats
    doubt: Floats
    apart: Floats
    apart_doubt: Floats
    common: float
    common_doubt: float
    gradient: float  # [K/m] of room air and camera over height
    parts: tuple[tuple[int, float, float, float, float], ...]


def fitted(
    patches: Patches,
    conditions: Conditions,
    work: Floats,
    known: dict[int, tuple[float, float]],
    odd: Sequence[Truths],
    contrast: float,
) -> Fit:
    """Fit all at once.

    Parameters
    ----------
    patches : Patches
        Of bays and wood.
    conditions : Conditions
        Air on both sides, and what is not known of the hours before.
    work : ndarray
        Standard deviation of a sound bay about the planned one (n_bays,) [K].
    known : dict
        Probed bays: deviation from planned and its doubt [K].
    odd : sequence of ndarray of bool
        Bays that a first look may have taken to be off (n_bays,), one way or another.
    contrast : float
        Of the camera, from place to place within a picture [K].
    """
    at, y = _with_known(patches, known)
    sizes = _Sizes.of(at, y, conditions, work.size, contrast)
    # few bays cold, or the many warm: the search may end in either, and likelihood tells which
    starts = (sizes.there, *(sizes.there & some for some in odd))
    found = min((_settled(sizes, start, work) for start in starts), key=lambda one: one.misfit)
    return _read_off(sizes, found.covariance, found.free, work)


def foreseen(patches: Patches, conditions: Conditions, work: Floats, contrast: float) -> Fit:
    """The fit of a picture that is still to be taken, of a sound wall: its doubts.

    Everything as `fitted` takes it; the camera drifts and tells patches apart as well as cameras of
    its contrast do.
    """
    size = patches.value.size
    sizes = _Sizes.of(patches, np.zeros(size), conditions, work.size, contrast)
    free: Truths = np.zeros(work.size, bool)
    v = sizes.covariance(USUAL[0] * contrast, USUAL[1] * contrast, free, work, np.ones(size))
    return _read_off(sizes, v, free, work)


def _read_off(sizes: _Sizes, v: Floats, free: Truths, work: Floats) -> Fit:
    """What a covariance ``v`` of all patches makes of them."""
    at, y, own, there = sizes.at, sizes.y, sizes.own, sizes.there
    every = own.sum(axis=1)
    apart, doubt = _apart(v, y, own, free)
    total, band = _total(v, y, own, every, free, work)
    shared = COMMON**2 * every @ np.linalg.solve(v, np.column_stack([y, every]))
    # what the data alone say of it: the prior is taken out again
    variance = max(COMMON**2 - COMMON**2 * shared[1], 1e-8)
    alone = 1.0 / max(1.0 / variance - 1.0 / COMMON**2, 1e-6)
    slope = GRADIENT**2 * (at.factor * (at.z - at.z.mean())) @ np.linalg.solve(v, y)
    return Fit(
        np.where(there, total, np.nan), np.where(there, band, np.nan),
        np.where(there, apart, np.nan), np.where(there, doubt, np.nan),
        float(shared[0] * alone / variance), float(np.sqrt(alone)), float(slope),
        tuple(_parts(v, y, at)),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Settled:
    """Where a search for the free bays ended; ``misfit`` is -2 log of the likelihood."""

    free: Truths
    covariance: Floats
    misfit: float


def _settled(sizes: _Sizes, free: Truths, work: Floats) -> _Settled:
    """Set bays free, weigh down patches that fit nothing, until both stay as they are."""
    own, y, weight, there = sizes.own, sizes.y, np.ones(sizes.y.size), sizes.there
    for _ in range(5):
        drift, noise = sizes.likeliest(free, work, weight)
        v = sizes.covariance(drift, noise, free, work, weight)
        apart, doubt = _apart(v, y, own, free)
        again: Truths = np.asarray(there & (abs(apart) > OFF * doubt))
        inverse = np.linalg.inv(v)
        spread = 1.0 / np.diag(inverse)
        rest = inverse @ y * spread
        usual = np.sqrt(np.maximum(spread - noise**2 * (weight - 1.0), noise**2))
        weight = np.clip((rest / (3.0 * usual)) ** 2, 1.0, 1e4)
        if (again == free).all():
            break
        free = again
    v = sizes.covariance(drift, noise, free, work, weight)
    return _Settled(free, v, _misfit(v, y))


def _misfit(v: Floats, y: Floats) -> float:
    """-2 log of the likelihood of ``y``, but for a constant."""
    from scipy.linalg import solve_triangular

    low = np.linalg.cholesky(v)
    half = solve_triangular(low, y, lower=True, check_finite=False)
    return float(half @ half + 2.0 * np.log(np.diag(low)).sum())


def _with_known(at: Patches, known: dict[int, tuple[float, float]]) -> tuple[Patches, Floats]:
    """Bays that were probed have their own deviation taken off: they then pin the rest."""
    y = at.value.copy()
    for bay, (deviation, _) in known.items():
        y[at.bay == bay] -= deviation
    return at, y


def _nuisance(at: Patches, c: Conditions, contrast: float) -> Floats:
    """Covariance (n, n) [K2] of all that is not foam, noise and drift."""
    rise, f = c.difference, at.factor
    z, x = at.z - at.z.mean(), at.x - at.x.mean()
    half = max(float(abs(x).max()), 0.5), max(float(abs(z).max()), 0.5)
    u, w = x / half[0], z / half[1]
    mine = at.picture[None, :] == np.unique(at.picture)[:, None]
    camera = (3.0 * np.ones_like(f), CURVED * u, CURVED * u**2, CURVED * w, CURVED * w**2,
              CURVED * u * w)  # fmt: skip
    film_felt = abs(rise) * f * (1.0 - f)
    columns = [
        *(np.where(one, column, 0.0) for one in mine for column in camera),
        GRADIENT * f * z, BOW * f * z**2,
        *_wooden(at, rise), rise * FILM_DOUBT * f * (1.0 - f),
        c.room_doubt * f, c.outside_doubt * (1.0 - f),
        EMISSIVITY_DOUBT * rise * (1.0 - f),
        BESIDE * np.where(at.bay < 0, at.moved, 0.0), *at.past,
        TONES * contrast * (at.bay < 0),
        *(END * film_felt * np.exp(-away / END_REACH) for away in (x - x.min(), x.max() - x)),
    ]  # fmt: skip
    b = np.array(columns)
    film = FILM * film_felt
    alike = np.exp(-0.5 * ((z[:, None] - z[None, :]) / FILM_REACH) ** 2)
    same = (at.stud[:, None] == at.stud[None, :]) & (at.bay < 0)[:, None] & (at.bay < 0)[None, :]
    stud = STUD * rise * at.wood
    return np.asarray(b.T @ b + np.outer(film, film) * alike + np.outer(stud, stud) * same)


def _wooden(at: Patches, rise: float) -> tuple[Floats, Floats]:
    """What wood that conducts otherwise than its table does: to all studs alike, and to wide ones
    and posts beyond. Apart, since a corner post's own film and trim would else tell of all wood.
    """
    wood = at.bay < 0
    usual = float(np.median(at.wood[wood])) if wood.any() else 0.0
    level = np.where(wood, usual, at.wood)
    return rise * level, rise * (at.wood - level)


@dataclass(frozen=True, eq=False)
class _Sizes:
    """Patches with all of their covariance but the sizes that a fit finds.

    ``base`` (n, n) [K2] is that of `_nuisance`; ``own`` (n, n_bays) is 1 where a patch is of a bay.
    """

    at: Patches
    y: Floats
    base: Floats
    own: Floats

    @classmethod
    def of(
        cls, at: Patches, y: Floats, conditions: Conditions, bays: int, contrast: float
    ) -> _Sizes:
        own = np.zeros((y.size, bays))
        own[at.bay >= 0, at.bay[at.bay >= 0]] = 1.0
        return cls(at, y, _nuisance(at, conditions, contrast), own)

    @property
    def there(self) -> Truths:
        """Bays that any patch shows (n_bays,)."""
        return np.asarray(self.own.any(axis=0))

    @cached_property
    def kernel(self) -> Floats:
        """Correlation (n, n) of the camera's drift, within each picture."""
        at = self.at
        away = (at.x[:, None] - at.x[None, :]) ** 2 + (at.z[:, None] - at.z[None, :]) ** 2
        shot = at.picture[:, None] == at.picture[None, :]
        return np.where(shot, np.exp(-0.5 * away / REACH**2), 0.0)

    def fixed(self, free: Truths, work: Floats) -> Floats:
        """Covariance (n, n) [K2] but for drift and noise."""
        size = np.where(free, FREE**2, 0.0) + work**2
        every = self.own.sum(axis=1)
        beside = np.where(self.at.bay < 0, MOVED * self.at.moved, 0.0)
        v = self.base + (self.own * size) @ self.own.T + COMMON**2 * np.outer(every, every)
        return np.asarray(v + np.diag(beside**2))

    def covariance(
        self, drift: float, noise: float, free: Truths, work: Floats, weight: Floats
    ) -> Floats:
        """Covariance (n, n) [K2] of all patches."""
        return self.fixed(free, work) + drift**2 * self.kernel + np.diag(noise**2 * weight)

    def likeliest(self, free: Truths, work: Floats, weight: Floats) -> tuple[float, float]:
        """Drift and noise [K] of greatest likelihood."""
        fixed, diagonal = self.fixed(free, work), np.diag_indices(self.y.size)
        best, found = np.inf, (DRIFTS[0], NOISES[0])
        for drift in DRIFTS:
            slow = fixed + drift**2 * self.kernel
            for noise in NOISES:
                v = slow.copy()
                v[diagonal] += noise**2 * weight
                size = _misfit(v, self.y)
                if size < best:
                    best, found = size, (drift, noise)
        return found


def _apart(v: Floats, y: Floats, own: Floats, free: Truths) -> tuple[Floats, Floats]:
    """What each bay would have to differ by, and its standard deviation were it sound [K].

    With ``s = a' V^-1 a`` and the bay's own freedom ``c`` taken out of ``V`` (Sherman and
    Morrison): the difference is ``a' V^-1 y / s`` and its variance ``1 / s - c``.
    """
    back = np.linalg.solve(v, np.column_stack([y, own]))
    s = np.einsum("nj,nj->j", own, back[:, 1:])
    seen = s > 0.0
    s = np.where(seen, s, 1.0)
    spread = np.maximum(1.0 / s - np.where(free, FREE**2, 0.0), 1e-8)
    return np.where(seen, own.T @ back[:, 0] / s, 0.0), np.where(seen, np.sqrt(spread), 1.0)


def _total(
    v: Floats, y: Floats, own: Floats, every: Floats, free: Truths, work: Floats
) -> tuple[Floats, Floats]:
    """Deviation of each bay that may hold anything, and its standard uncertainty [K]."""
    back = np.linalg.solve(v, np.column_stack([y, every, own]))
    to_y, to_every, to_own = back[:, 0], back[:, 1], back[:, 2:]
    s = np.einsum("nj,nj->j", own, to_own)
    # a bay that is held sound is let go: V + c a a' (Sherman and Morrison)
    less = np.where(free, 0.0, FREE**2 / (1.0 + FREE**2 * s))
    size, qy, qe = FREE**2 + work**2, own.T @ to_y, own.T @ to_every
    yy, ye = every @ to_y, every @ to_every
    total = size * (qy - less * s * qy) + COMMON**2 * (yy - less * qe * qy)
    told = (
        size**2 * (s - less * s**2)
        + 2.0 * size * COMMON**2 * (qe - less * s * qe)
        + COMMON**4 * (ye - less * qe**2)
    )
    return total, np.sqrt(np.maximum(size + COMMON**2 - told, 1e-8))


def _parts(v: Floats, y: Floats, at: Patches) -> list[tuple[int, float, float, float, float]]:
    inverse = np.linalg.inv(v)
    rest, spread = inverse @ y / np.diag(inverse), 1.0 / np.sqrt(np.diag(inverse))
    return [
        (int(at.bay[n]), *at.height[n].tolist(), float(rest[n]), float(rest[n] / spread[n]))
        for n in np.flatnonzero(at.bay >= 0)
    ]


def patches_of(
    rest: Floats,
    prediction: Prediction,
    thickness: Floats,
    factor: Floats,
    moved: Floats,
    deviation: Floats,
) -> Patches:
    """Patches of a misfit ``rest`` (nz, nx) [K] and of the deviation already told, bay by bay."""
    p, rows, pasts = prediction, [], []
    tall = (p.z // PATCH).astype(int)
    columns = np.flatnonzero(p.reference.any(axis=0))
    run = np.zeros(p.x.size, int)
    run[columns] = np.cumsum(np.diff(columns, prepend=-2) > 1)
    seen = np.isfinite(rest)
    where = np.where(p.core & seen, p.bay.astype(int), np.where(p.reference & seen, -1 - run, 9999))
    for row in np.unique(tall):
        band = slice(*(int(v) for v in (np.argmax(tall == row), np.argmax(tall == row)
                                       + (tall == row).sum())))  # fmt: skip
        here = where[band]
        for number in np.unique(here[here != 9999]):
            mine = here == number
            if mine.sum() < LEAST_PIXELS:
                continue
            k, i = np.nonzero(mine)
            z = p.z[band]
            shift = deviation[number] if number >= 0 else 0.0
            rows.append((
                float(np.median(rest[band][mine])) + shift, float(np.median(factor[band][mine])),
                float(np.median(p.wood[band][mine])), float(p.x[i].mean()), float(z[k].mean()),
                max(int(number), -1), int(-1 - number) if number < 0 else -1,
                float(z.min()), float(z.max()), float(abs(np.median(moved[band][mine]))),
            ))  # fmt: skip
            inner = k[k.size // 2], i[i.size // 2]
            at = p.place[band][mine] if number < 0 else p.place[band][inner][None]
            nearest = int(p.nearest[band][inner])
            pasts.append(p.unsure(np.full(1, thickness[nearest]), np.array([int(np.median(at))])))
    a = np.array(rows, float).reshape(-1, 10)
    return Patches(a[:, 0], a[:, 1], a[:, 2], a[:, 3], a[:, 4], a[:, 5].astype(int),
                   a[:, 6].astype(int), a[:, 7:9], a[:, 9],
                   np.concatenate(pasts, axis=1) if pasts else np.zeros((p.doubts.shape[0], 0)),
                   np.zeros(a.shape[0], int))  # fmt: skip
