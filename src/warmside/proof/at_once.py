"""One estimate of a whole picture: bays, and all that shifts them without being foam.

Patches of bays and wood hold ``y = offset + nuisance + bay + noise`` [K], measured less predicted.
Nuisances are Gaussian with a covariance of their own: air warmer over height, vignetting and slow
drift of the camera, a film that varies over height, wood and film off everywhere, air and
emissivity misread. Bays that are off are set free and tell nothing of the rest, and the drift's
size is that of greatest likelihood. Generalised least squares with full covariance; deleted
residuals as in Cook and Weisberg, Residuals and Influence in Regression, 1982 (from memory).

What film, air and emissivity do alike everywhere, and what the wall's past leaves in doubt, is not
learned from the picture: it parts bays from wood as foam does, its shapes beyond that are known too
roughly, and a fit that trusts them finds films and pasts that never were. Weights are those of a
wall of which all of it is known, and its covariance stands in the doubt of what they give
(considered parameters; Schmidt, Application of state-space methods to navigation problems, 1966,
from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache, cached_property
from itertools import product
from typing import Any

import numpy as np
import numpy.typing as npt

from warmside.proof.conditions import Conditions
from warmside.proof.estimate import EMISSIVITY_DOUBT, median
from warmside.proof.past import FILM_DOUBT, Late
from warmside.proof.prediction import Prediction
from warmside.proof.smear import Smear

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

PATCH = 0.3  # [m] height of a patch
LEAST_PIXELS = 12
FREE = 3.0  # [K] standard deviation of a bay that may hold anything
COMMON = 0.5  # [K] of what all bays share
OFF = 3.0  # standard deviations from which a bay is set free
GRADIENT, BOW = 1.0, 0.25  # [K/m], [K/m2] of room air over height; own figures
FILM, FILM_REACH = 0.12, 0.3  # [-] of a film over height, and how far alike [m]; own figures
# air is still in corners: their film's resistance nearly doubles (EN ISO 13788)
END, END_REACH = 0.3, 0.2  # [-] of the film at either end of a wall, and how far [m]; own figures
USUAL = 0.5, 0.2  # [-] of a camera's contrast: its drift, and what one patch is off
CURVED = 0.4  # [K] of the camera over half the wall
DRIFTS, REACH = (0.02, 0.05, 0.1, 0.2), 0.9  # [K] that are tried, and how far alike [m]
NOISES = (0.01, 0.02, 0.04, 0.08)  # [K] of a patch that are tried
STUD = 0.5  # [-] of the wood's doubt that differs from stud to stud
STUD_LATE = 0.05  # [-] of what the past left in wood of another width than the usual; own figure
MOVED = 0.2  # [-] of what a faulty bay does to the wood beside it that is not sure; own figure
WARMER = 9.2  # of misfit for a bay that keeps more heat than foam can: 1 in 100 does; own figure
_SHARP = 1e-6  # [-] of the factor that wood changes by, below which it tells no smear
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
    flank: Floats  # [K] of it that hangs on how the air in them carries heat along
    late: Floats  # (5 + d, n) [K] rows of `Late`
    picture: npt.NDArray[np.int_]
    sound: Floats  # [-] factor were every bay as planned
    sound_late: Floats  # (5 + d, n) [K] rows of `Late`, the same
    lean: Floats  # [-] of a shift that sound bays share, what foam that makes it does here
    film: Floats  # [-] change of the factor for a film better by its doubt
    sound_film: Floats  # [-] the same were every bay as planned

    @classmethod
    def of_all(cls, pictures: Sequence[Patches]) -> Patches:
        """Those of several pictures of one wall, one after the other."""
        numbered = [replace(one, picture=one.picture + n) for n, one in enumerate(pictures)]
        last = {name: -1 if name.endswith("late") else 0 for name in (f.name for f in fields(cls))}
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
    misfit: float  # -2 log of the likelihood


def fitted(
    patches: Patches,
    conditions: Conditions,
    work: Floats,
    known: dict[int, tuple[float, float]],
    odd: Sequence[Truths],
    most: Floats,
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
        Bays that may be off (n_bays,), one way or another: where the search begins.
    most : ndarray
        How far a bay full of foam is off the planned one (n_bays,) [K], 0 or more.
    """
    at, y = _with_known(patches, known)
    kept = float(np.sign(conditions.difference))
    sizes = replace(
        _Sizes.of(at, y, conditions, work.size),
        probed=tuple(known), kept=kept, most=most,
    )  # fmt: skip
    work = np.array([known[j][1] if j in known else spread for j, spread in enumerate(work)])
    # few bays cold, or the many warm: the search may end in either, and likelihood tells which
    every = (
        _settled(sizes, sizes.there & start, side, work)
        for start, side in product(odd, (0.0, -kept))
    )
    found = min(every, key=lambda one: one.misfit)
    fit = _read_off(sizes, found.covariance, found.free, work)
    return replace(fit, misfit=found.misfit)


def foreseen(patches: Patches, conditions: Conditions, work: Floats, contrast: float) -> Fit:
    """The fit of a picture that is still to be taken, of a sound wall: its doubts.

    Everything as `fitted` takes it; the camera drifts and tells patches apart as well as cameras of
    its contrast do.
    """
    size = patches.value.size
    sizes = _Sizes.of(patches, np.zeros(size), conditions, work.size)
    free: Truths = np.zeros(work.size, bool)
    v = sizes.covariance(USUAL[0] * contrast, USUAL[1] * contrast, free, work, np.ones(size))
    return _read_off(sizes, v, free, work)


def _read_off(sizes: _Sizes, v: Floats, free: Truths, work: Floats) -> Fit:
    """What a covariance ``v`` of all patches makes of them."""
    at, y, every, there = sizes.at, sizes.y, sizes.every, sizes.there
    apart, doubt = _apart(sizes, v, free)
    total, band = _total(sizes, v, free, work)
    back = COMMON**2 * np.linalg.solve(v, every)
    # what the data alone say of it: the prior is taken out again
    variance = max(COMMON**2 * (1.0 - float(every @ back)), 1e-8)
    alone = 1.0 / max(1.0 / variance - 1.0 / COMMON**2, 1e-6)
    weights = np.asarray(back * alone / variance, float)
    unsure = alone + float(sizes.beyond(weights[:, None])[0])
    slope = GRADIENT**2 * (at.factor * (at.z - at.z.mean())) @ np.linalg.solve(v, y)
    return Fit(
        np.where(there, total, np.nan), np.where(there, band, np.nan),
        np.where(there, apart, np.nan), np.where(there, doubt, np.nan),
        float(weights @ y), float(np.sqrt(unsure)), float(slope),
        tuple(_parts(sizes, v)), _misfit(v, y),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Settled:
    """Where a search for the free bays ended; ``misfit`` is -2 log of the likelihood, and of how
    rare bays are that keep more heat than foam can."""

    free: Truths
    covariance: Floats
    misfit: float


def _settled(sizes: _Sizes, free: Truths, side: float, work: Floats) -> _Settled:
    """Set bays free, weigh down patches that fit nothing, until both stay as they are.

    Only bays off to one ``side`` (-1 or 1) are set free, or with 0 those to either.
    """
    y, weight, there = sizes.y, np.ones(sizes.y.size), sizes.there
    at = 1, 1
    for _ in range(5):
        at = sizes.likeliest(free, work, weight, at)
        drift, noise = DRIFTS[at[0]], NOISES[at[1]]
        v = sizes.covariance(drift, noise, free, work, weight)
        apart, doubt = _apart(sizes, v, free)
        off = side * apart if side else abs(apart)
        again: Truths = np.asarray(there & (off > OFF * doubt))
        inverse = np.linalg.inv(v)
        spread = 1.0 / np.diag(inverse)
        rest = inverse @ y * spread
        usual = np.sqrt(np.maximum(spread - noise**2 * (weight - 1.0), noise**2))
        weight = np.clip((rest / (3.0 * usual)) ** 2, 1.0, 1e4)
        if (again == free).all():
            break
        free = again
    v = sizes.covariance(drift, noise, free, work, weight)
    apart, doubt = _apart(sizes, v, free)
    warmer = int((free & (sizes.kept * apart > sizes.most + doubt)).sum())
    return _Settled(free, v, _misfit(v, y) + WARMER * warmer)


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


def _nuisance(at: Patches, c: Conditions) -> tuple[Floats, Floats]:
    """Covariances (n, n) [K2] of all that is not foam, noise and drift: learned, and considered."""
    rise, late = c.difference, Late(at.late)
    f = at.factor - late.known / rise  # as at rest
    z, x = at.z - at.z.mean(), at.x - at.x.mean()
    half = max(float(abs(x).max()), 0.5), max(float(abs(z).max()), 0.5)
    u, w = x / half[0], z / half[1]
    mine = at.picture[None, :] == np.unique(at.picture)[:, None]
    camera = (3.0 * np.ones_like(f), CURVED * u, CURVED * u**2, CURVED * w, CURVED * w**2,
              CURVED * u * w)  # fmt: skip
    still = rise * at.film / FILM_DOUBT  # [K] by film, as if a twofold one did as much more
    felt = still + late.film / FILM_DOUBT
    made = rise * at.wood + late.wood  # [K] by wood that conducts more
    flank = np.where(at.bay < 0, at.flank, 0.0)  # by air alike in all bays, and stud by stud
    columns = [
        *(np.where(one, column, 0.0) for one in mine for column in camera),
        GRADIENT * f * z, BOW * f * z**2,
        *_wooden(at, made), flank,
        *(END * felt * np.exp(-away / END_REACH) for away in (x - x.min(), x.max() - x)),
    ]  # fmt: skip
    b = np.array(columns)
    considered = np.array([
        FILM_DOUBT * felt, c.room_doubt * f + late.room,
        c.outside_doubt * (1.0 - f) + late.outside,
        EMISSIVITY_DOUBT * rise * (1.0 - at.factor), *late.own,
    ])  # fmt: skip
    alike = _about_its_mean(np.exp(-0.5 * ((z[:, None] - z[None, :]) / FILM_REACH) ** 2))
    same = (at.stud[:, None] == at.stud[None, :]) & (at.bay < 0)[:, None] & (at.bay < 0)[None, :]
    stud, past = STUD * made, STUD_LATE * late.known
    learned = b.T @ b + FILM**2 * np.outer(still, still) * alike
    learned += sum(np.outer(one, one) for one in (stud, past, flank)) * same
    late_film = FILM**2 * (np.outer(felt, felt) - np.outer(still, still)) * alike
    return np.asarray(learned), np.asarray(considered.T @ considered + late_film)


def _about_its_mean(alike: Floats) -> Floats:
    """Correlation (n, n) of what is left of a film once its level is taken off.

    The level has a doubt of its own and parts bays from wood as foam does: learned along with the
    film's course over height it would take from what all bays share.
    """
    each = alike.mean(axis=0)
    return np.asarray(alike - each[:, None] - each[None, :] + each.mean())


def _wooden(at: Patches, made: Floats) -> tuple[Floats, Floats]:
    """What wood that conducts otherwise than its table does: to all studs and all bays alike, and
    to wide studs, posts and ends of bays beyond. Apart, since a corner post's own film and trim, or
    the plate above a bay, would else tell of all wood.
    """
    level = made.copy()
    for alike in (at.bay < 0, at.bay >= 0):
        if alike.any():
            level[alike] = np.median(made[alike])
    return level, made - level


@dataclass(frozen=True, eq=False)
class _Sizes:
    """Patches with all of their covariance but the sizes that a fit finds.

    ``learned`` and ``considered`` (n, n) [K2] are those of `_nuisance`, ``of_sound`` what would be
    considered were every bay as planned: by that a bay is called off. ``own`` (n, n_bays) is 1
    where a patch is of a bay. Bays that were ``probed`` share nothing with the rest: as wood does,
    they tell where it starts. ``kept`` is 1 where a bay that keeps heat is warm, -1 where it is
    cold, and ``most`` how far off one full of foam is.
    """

    at: Patches
    y: Floats
    learned: Floats
    considered: Floats
    of_sound: Floats
    own: Floats
    probed: tuple[int, ...] = ()
    kept: float = 1.0
    most: Floats | float = 0.0  # (n_bays,) [K]

    @classmethod
    def of(cls, at: Patches, y: Floats, conditions: Conditions, bays: int) -> _Sizes:
        own = np.zeros((y.size, bays))
        own[at.bay >= 0, at.bay[at.bay >= 0]] = 1.0
        planned = replace(at, factor=at.sound, late=at.sound_late, film=at.sound_film)
        of_sound = _nuisance(planned, conditions)[1]
        return cls(at, y, *_nuisance(at, conditions), of_sound, own)

    def beyond(self, weights: Floats, sound: bool = False) -> Floats:
        """Variance (m,) [K2] that what is considered adds to what ``weights`` (n, m) read off."""
        considered = self.of_sound if sound else self.considered
        added = np.einsum("nm,nm->m", weights, considered @ weights)
        return np.asarray(np.maximum(added, 0.0), float)

    @property
    def there(self) -> Truths:
        """Bays that any patch shows (n_bays,)."""
        return np.asarray(self.own.any(axis=0))

    @cached_property
    def common(self) -> Floats:
        """Variance [K2] of what bays share, bay by bay (n_bays,)."""
        probed = np.isin(np.arange(self.own.shape[1]), self.probed)
        return np.where(probed, 0.0, COMMON**2)

    @cached_property
    def every(self) -> Floats:
        """What of all that bays share a patch has (n,): bays the whole, wood what leans on it.

        Foam thinner everywhere leaves bays colder and the wood between them warmer, so that read
        against wood a shift looks larger than it is.
        """
        shares, wood = self.common > 0.0, self.at.bay < 0
        return np.asarray(self.own @ shares + np.where(wood, self.at.lean, 0.0) * shares.mean())

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
        beside = np.where(self.at.bay < 0, MOVED * self.at.moved, 0.0)
        v = (
            self.learned
            + (self.own * size) @ self.own.T
            + COMMON**2 * np.outer(self.every, self.every)
        )
        return np.asarray(v + np.diag(beside**2))

    def covariance(
        self, drift: float, noise: float, free: Truths, work: Floats, weight: Floats
    ) -> Floats:
        """Covariance (n, n) [K2] of all patches."""
        return self.fixed(free, work) + drift**2 * self.kernel + np.diag(noise**2 * weight)

    def likeliest(
        self, free: Truths, work: Floats, weight: Floats, start: tuple[int, int]
    ) -> tuple[int, int]:
        """Numbers of the drift and the noise of greatest likelihood: downhill from ``start``."""
        fixed, diagonal = self.fixed(free, work), np.diag_indices(self.y.size)

        @cache
        def misfit(at: tuple[int, int]) -> float:
            v = fixed + DRIFTS[at[0]] ** 2 * self.kernel
            v[diagonal] += NOISES[at[1]] ** 2 * weight
            return _misfit(v, self.y)

        def beside(at: tuple[int, int]) -> list[tuple[int, int]]:
            drifts, noises = ([n + step for step in (-1, 0, 1)] for n in at)
            return [
                (d, n) for d, n in product(drifts, noises)
                if 0 <= d < len(DRIFTS) and 0 <= n < len(NOISES)
            ]  # fmt: skip

        while (best := min(beside(start), key=misfit)) != start:
            start = best
        return start


def _apart(sizes: _Sizes, v: Floats, free: Truths) -> tuple[Floats, Floats]:
    """What each bay would have to differ by, and its standard deviation were it sound [K].

    With ``s = a' V^-1 a`` and the bay's own freedom ``c`` taken out of ``V`` (Sherman and
    Morrison): the difference is ``a' V^-1 y / s`` and its variance ``1 / s - c``.
    """
    own = sizes.own
    back = np.linalg.solve(v, own)
    s = np.einsum("nj,nj->j", own, back)
    seen = s > 0.0
    s = np.where(seen, s, 1.0)
    spread = 1.0 / s - np.where(free, FREE**2, 0.0) + sizes.beyond(back / s, sound=True)
    return (
        np.where(seen, sizes.y @ back / s, 0.0),
        np.where(seen, np.sqrt(np.maximum(spread, 1e-8)), 1.0),
    )


def _total(sizes: _Sizes, v: Floats, free: Truths, work: Floats) -> tuple[Floats, Floats]:
    """Deviation of each bay that may hold anything, and its standard uncertainty [K].

    With ``k`` the covariance of that deviation with all patches the weights are ``V^-1 k``.
    """
    own, every, common = sizes.own, sizes.every, sizes.common
    back = np.linalg.solve(v, np.column_stack([every, own]))
    to_every, to_own = back[:, 0], back[:, 1:]
    s = np.einsum("nj,nj->j", own, to_own)
    # a bay that is held sound is let go: V + c a a' (Sherman and Morrison)
    less = np.where(free, 0.0, FREE**2 / (1.0 + FREE**2 * s))
    size, shared = FREE**2 + work**2, own.T @ to_every
    weights = to_own * (size * (1.0 - less * s) - common * less * shared)
    weights += common * to_every[:, None]
    told = size * np.einsum("nj,nj->j", own, weights) + common * (every @ weights)
    variance = size + common - told + sizes.beyond(weights)
    return sizes.y @ weights, np.sqrt(np.maximum(variance, 1e-8))


def _parts(sizes: _Sizes, v: Floats) -> list[tuple[int, float, float, float, float]]:
    """Every patch of a bay against what all others make it [K], and in standard deviations."""
    at, inverse = sizes.at, np.linalg.inv(v)
    weights = inverse / np.diag(inverse)
    rest, spread = sizes.y @ weights, np.sqrt(1.0 / np.diag(inverse) + sizes.beyond(weights, True))
    return [
        (int(at.bay[n]), *at.height[n].tolist(), float(rest[n]), float(rest[n] / spread[n]))
        for n in np.flatnonzero(at.bay >= 0)
    ]


@dataclass(frozen=True, eq=False)
class Places:
    """Pixels of the patches of one picture, (n,) patches, and what no guess of foam changes."""

    pixels: tuple[npt.NDArray[np.intp], ...]  # flat
    wood: Floats
    x: Floats
    z: Floats
    bay: npt.NDArray[np.int_]
    stud: npt.NDArray[np.int_]
    height: Floats
    sound: Floats
    sound_late: Floats
    sound_film: Floats
    nearest: npt.NDArray[np.int_]
    strip: npt.NDArray[np.int_]  # place of the wall's strips
    left: Floats  # [-] of what parts wood from the bays beside it, once they run into one another

    @classmethod
    def of(cls, seen: Truths, prediction: Prediction, smear: Smear) -> Places:
        """Stretches of bays and wood that are ``seen`` (nz, nx) through a ``smear``, ``PATCH``
        high."""
        p = prediction
        columns = np.flatnonzero(p.reference.any(axis=0))
        run = np.zeros(p.x.size, int)
        run[columns] = np.cumsum(np.diff(columns, prepend=-2) > 1)
        tall = (p.z // PATCH).astype(int)
        number = np.where(p.core, p.bay.astype(int), -1 - run)
        here = np.flatnonzero((p.core | p.reference) & seen)
        group = (tall[:, None] * 10_000 + number).ravel()[here]
        order = np.argsort(group, kind="stable")
        cuts = np.flatnonzero(np.diff(group[order])) + 1
        pixels = tuple(g for g in np.split(here[order], cuts) if g.size >= LEAST_PIXELS)
        first = np.array([g[0] for g in pixels], int)
        inner = np.array([g[g.size // 2] for g in pixels], int)
        of, row = number.ravel()[first], first // p.x.size
        ends = np.array([(p.z[tall == band].min(), p.z[tall == band].max()) for band in tall[row]])
        strip, nearest = p.place.ravel()[inner].astype(int), p.nearest.ravel()[inner].astype(int)
        strip = np.where(of < 0, _medians(p.place, pixels).astype(int), strip)
        wood, sharp = _medians(smear.of(p.wood.astype(float)), pixels), _medians(p.wood, pixels)
        told = (of < 0) & (abs(sharp) > _SHARP)
        left = np.where(told, np.clip(wood / np.where(told, sharp, 1.0), 0.0, 1.0), 1.0)
        late, film = _since(p, p.planned[nearest], strip, left)
        return cls(
            pixels,
            wood,
            np.array([p.x[g % p.x.size].mean() for g in pixels]),
            np.array([p.z[g // p.x.size].mean() for g in pixels]),
            np.maximum(of, -1),
            np.where(of < 0, -1 - of, -1),
            ends.reshape(-1, 2),
            _medians(smear.of(p.sound), pixels),
            late,
            film,
            nearest,
            strip,
            left,
        )


def _since(
    p: Prediction, thickness: Floats, place: npt.NDArray[np.int_], left: Floats
) -> tuple[Floats, Floats]:
    """Rows of `Late` [K] and the film's share [-] of places (n,) of foam ``thickness`` (n,), of
    which so much is ``left`` of what parts them from the bays beside them."""
    bay = np.full_like(place, p.lates.shape[2] - 1)

    def seen(of: Callable[[npt.NDArray[np.int_]], Floats]) -> Floats:
        beside = of(bay)
        return np.asarray(beside + left * (of(place) - beside))

    return seen(lambda at: p.late(thickness, at).rows), seen(lambda at: p.film(thickness, at))


def _medians(values: npt.NDArray[Any], pixels: Sequence[npt.NDArray[np.intp]]) -> Floats:
    flat = values.ravel()
    return np.array([median(flat[mine]) for mine in pixels], float)


def patches_of(
    surface: Floats,
    smear: Smear,
    places: Places,
    prediction: Prediction,
    thickness: Floats,
    rise: float,
    deviation: Floats,
) -> Patches:
    """Patches of one picture's misfit, and of the deviation already told, bay by bay.

    ``surface`` (nz, nx) [K] is that of the picture less the air outside, seen through
    a ``smear``, ``rise`` the difference of the air on both sides [K], and ``deviation`` (n_bays,)
    [K] what ``thickness`` (n_bays,) [m] makes of bays.
    """
    p, at = prediction, places
    factor = smear.of(p.at(thickness))
    middle = _medians(factor, at.pixels)
    rest = _medians(surface - rise * factor, at.pixels)
    late, film = _since(p, thickness[at.nearest], at.strip, at.left)
    return Patches(
        value=rest + np.where(at.bay >= 0, deviation[at.bay], 0.0),
        factor=middle,
        wood=at.wood,
        x=at.x,
        z=at.z,
        bay=at.bay,
        stud=at.stud,
        height=at.height,
        moved=abs(rise * (middle - at.sound)),
        flank=rise * at.left * _medians(p.flank(thickness), at.pixels),
        late=late,
        picture=np.zeros(at.bay.size, int),
        sound=at.sound,
        sound_late=at.sound_late,
        lean=_lean(p, at, thickness == p.planned),
        film=film,
        sound_film=at.sound_film,
    )


def _lean(p: Prediction, at: Places, sound: Truths) -> Floats:
    """What patches have of a shift that all ``sound`` bays (n_bays,) share [-], (n,).

    All wood alike: what parts a stud beside a bay that is off from the others is too little to
    tell of them.
    """
    seen, wood = np.unique(at.bay[at.bay >= 0]), at.bay < 0
    if not (seen.size and wood.any()):
        return np.ones(wood.size)
    own = 1.0 + float(np.median(at.left[wood])) * (p.leaning - 1.0)
    return np.where(wood, float(sound[seen].mean()) * own, 1.0)
