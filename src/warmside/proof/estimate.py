"""How much foam each bay holds, read off its own surface.

``T = T_e + f (T_i - T_e) + o``: the factor f of a bay's core grows with its foam, and the offset
o of the camera, the same everywhere, is read off places that are known: sound studs, and bays
whose thickness was probed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from warmside.proof.conditions import Conditions
from warmside.proof.past import Late
from warmside.proof.prediction import Prediction
from warmside.proof.smear import Smear

Floats = npt.NDArray[np.float64]

EMISSIVITY_DOUBT = 0.02  # [-] of a painted board; own figure
PROBE_DOUBT = 0.003  # [m] of a thickness probe; common practice
LEAST_PIXELS = 12
_MOST = 400  # pixels of a bay that are looked at
_ROUNDS = 30  # at most: a picture seen through a wide spot closes in on its foam by half a round
_SETTLED = 1e-4  # [m] of foam, change of a round at which no more than as much is still to come


@dataclass(frozen=True, eq=False)
class Estimate:
    """Foam by bay, and what stands behind it; all (n_bays,), NaN where a bay is not seen.

    ``shortfall`` is how much warmer the bay is than planned [K], offset taken off, and ``slope``
    how much warmer it would be for a metre more of foam at the planned thickness [K/m].
    ``offset_doubt`` is the standard uncertainty that all bays as planned share, and ``shared`` that
    of every bay as it is: an empty one feels film and air more than the wood does.
    """

    thickness: Floats  # [m]
    temperature: Floats  # [degC] offset taken off
    planned: Floats  # [degC] of the planned thickness
    pixels: npt.NDArray[np.int_]
    slope: Floats  # [K/m]
    offset: float  # [K]
    offset_doubt: float  # [K]
    shared: Floats  # [K]
    references: int

    @property
    def deviation(self) -> Floats:
        """Measured less planned [K]."""
        return self.temperature - self.planned


@dataclass(frozen=True, eq=False)
class Curves:
    """Temperature of every bay's core at every solved thickness."""

    levels: Floats  # (n, n_bays) factor [-]
    prediction: Prediction

    @property
    def thicknesses(self) -> Floats:
        """As solved (n,) [m]."""
        return self.prediction.thicknesses

    def thickness(self, factor: Floats) -> Floats:
        """Foam [m] that gives a factor (n_bays,) [-]; between levels it runs as at rest."""
        out = np.full(factor.size, np.nan)
        for j, f in enumerate(factor):
            if np.isfinite(f) and np.isfinite(self.levels[0, j]):
                level = np.maximum.accumulate(self.levels[:, j])
                low = int(np.clip(np.searchsorted(level, f, "right") - 1, 0, level.size - 2))
                share = (f - level[low]) / max(level[low + 1] - level[low], 1e-9)
                out[j] = self.prediction.thickness_at(low, float(np.clip(share, 0.0, 1.0)))
        return out

    def factor(self, thickness: Floats) -> Floats:
        """Factor (n_bays,) [-] that a thickness (n_bays,) [m] gives."""
        low, share = self.prediction.between(thickness)
        bays = np.arange(thickness.size)
        below, above = self.levels[low, bays], self.levels[low + 1, bays]
        return np.asarray(below + share * (above - below))

    def slope(self, thickness: Floats) -> Floats:
        """Change of the factor with thickness (n_bays,) [1/m]."""
        step = 0.004
        low = np.maximum(thickness - step, self.thicknesses[0])
        high = np.minimum(thickness + step, self.thicknesses[-1])
        return np.asarray((self.factor(high) - self.factor(low)) / (high - low))


def curves(
    prediction: Prediction, seen: npt.NDArray[np.bool_]
) -> tuple[Curves, list[npt.NDArray[np.intp]]]:
    """Curves of all bays over the pixels that are seen, and those pixels (flat), bay by bay."""
    bays = len(prediction.frame.bays)
    here = np.flatnonzero(prediction.core & seen)
    number = prediction.bay.ravel()[here]
    flat = prediction.factor.reshape(prediction.thicknesses.size, -1)
    levels = np.full((prediction.thicknesses.size, bays), np.nan)
    pixels = []
    for j in range(bays):
        mine = here[number == j]
        mine = mine[:: max(1, mine.size // _MOST)] if mine.size >= LEAST_PIXELS else mine[:0]
        if mine.size:
            levels[:, j] = np.median(flat[:, mine], axis=1)
        pixels.append(mine)
    return Curves(levels, prediction), pixels


def estimated(
    surface: Floats,
    prediction: Prediction,
    conditions: Conditions,
    *,
    contrast: float = 0.1,
    smear: Smear | None = None,
    known: Mapping[str, float] | None = None,
) -> Estimate:
    """Foam in every bay that is seen.

    Parameters
    ----------
    surface : ndarray
        Surface temperatures on the prediction's grid (nz, nx), NaN where not seen [degC].
    prediction : Prediction
        Of that wall.
    conditions : Conditions
        Air on both sides.
    contrast : float
        Standard uncertainty of one place against another within the picture [K].
    smear : Smear, optional
        How far places run into one another; nowhere where it is not given.
    known : mapping of str to float, optional
        Bays whose foam was probed [m].

    Returns
    -------
    Estimate
        The foam with which half of a bay's core is warmer than told, and half colder.

    Notes
    -----
    Place by place the picture is held against what the same spot would see of the prediction, and
    only the misfit's median is taken. A median of the picture itself may not be held against one
    of the prediction: a core is flat in its middle and colder towards the wood, and noise or blur
    draw the median of so skewed a set towards its mean, by 0.03 K at 20 K: 4 mm of foam too little.
    """
    seen = np.isfinite(surface)
    lines, pixels = curves(prediction, seen)
    smear = smear or Smear.even(0.0, prediction)
    rise, planned = conditions.difference, prediction.planned
    guess, sound = planned, lines.factor(planned)
    felt = _felt(conditions, sound, *_of_bays(prediction, planned))
    stretches = _stretches(seen, prediction)
    studs = _studs(prediction, conditions, seen, len(stretches), contrast, _middle(felt))
    places = [*pixels, *stretches]
    looked = np.concatenate(places)
    cuts, read = np.cumsum([one.size for one in places])[:-1], surface.ravel()[looked]
    for _ in range(_ROUNDS):
        if smear.none:
            shown = prediction.at_places(guess, looked)
        else:
            shown = smear.of(prediction.at(guess)).ravel()[looked]
        rest = np.split(read - conditions.outside - rise * shown, cuts)
        medians = np.array([median(one) for one in rest])
        middle = conditions.outside + rise * lines.factor(guess) + medians[: len(pixels)]
        told = _offset(
            studs and replace(studs, value=float(np.median(medians[len(pixels) :]))),
            _probed(prediction, conditions, lines, middle, guess, contrast, known or {}),
            _middle(felt),
        )
        factor = (middle - told.value - conditions.outside) / rise
        thickness, before = lines.thickness(factor), guess
        guess = np.where(np.isfinite(thickness), thickness, planned)
        if np.max(np.abs(guess - before), initial=0.0) <= _SETTLED:
            break
    doubt = told.doubt(felt)
    return Estimate(
        thickness=thickness,
        temperature=middle - told.value,
        planned=conditions.outside + rise * sound,
        pixels=np.array([mine.size for mine in pixels]),
        slope=rise * lines.slope(planned),
        offset=told.value,
        offset_doubt=float(np.nanmedian(doubt)) if np.isfinite(doubt).any() else told.alone,
        shared=told.doubt(
            _felt(conditions, lines.factor(guess), *_of_bays(prediction, guess)),
        ),
        references=told.count,
    )


def _of_bays(prediction: Prediction, thickness: Floats) -> tuple[Late, Floats]:
    """What the past still does to the middle of bays (n_bays,), and the film at rest [-]."""
    middle = np.full(thickness.size, prediction.lates.shape[2] - 1)
    return prediction.late(thickness, middle), prediction.film(thickness, middle)


def median(values: npt.NDArray[Any]) -> float:
    """Middle value of a few hundred, NaN of none: NumPy's own spends four times as long on them."""
    half = values.size // 2
    if not values.size:
        return math.nan
    if values.size % 2:
        return float(np.partition(values, half)[half])
    low, high = np.partition(values, (half - 1, half))[half - 1 : half + 1].tolist()
    return float(0.5 * (low + high))


def _felt(c: Conditions, factor: Floats, late: Late, film: Floats) -> Floats:
    """What every doubt that wood and bays share does to places of a ``factor`` (n,): (d, n) [K].

    Film, room, outdoors, emissivity, and what air did before. What moves all places alike is no
    doubt at all.
    """
    rise = c.difference
    still = factor - late.known / rise
    return np.array([
        rise * film + late.film,
        c.room_doubt * still + late.room,
        -c.outside_doubt * still + late.outside,
        rise * EMISSIVITY_DOUBT * factor,
        *late.own,
    ])  # fmt: skip


def _middle(felt: Floats) -> Floats:
    """That of the middle one of all bays (d,) [K]."""
    there = np.isfinite(felt).all(axis=0)
    return np.median(felt[:, there], axis=1) if there.any() else np.zeros(felt.shape[0])


@dataclass(frozen=True, eq=False)
class _Known:
    """Places whose temperature is known: what they tell of the offset [K], and what they feel.

    ``own`` is the variance [K2] that only they carry, ``wood`` how their temperature changes for
    wood that conducts ``WOOD_DOUBT`` more [K], ``felt`` (d,) [K] what shared doubts do to them.
    """

    value: float
    own: float
    wood: float
    count: int
    felt: Floats

    def shared(self, felt: Floats) -> Floats:
        """Standard uncertainty [K] that is left between them and bays that feel so much (d, n)."""
        apart = felt - self.felt[:, None]
        return np.asarray(np.sqrt(self.wood**2 + (apart**2).sum(axis=0)))


@dataclass(frozen=True)
class _Offset:
    """Offset of the camera [K], read off one or two kinds of known places by their weights."""

    value: float
    places: tuple[tuple[float, _Known], ...]
    count: int
    alone: float = 2.0 / 1.96  # [K] nothing known: the camera's own plus or minus 2 K (second-hand)

    def doubt(self, felt: Floats) -> Floats:
        """Standard uncertainty of the offset as bays (n,) that feel so much (d, n) feel it [K]."""
        if not self.places:
            return np.where(np.isfinite(felt[0]), self.alone, np.nan)
        parts = (w**2 * (p.own + p.shared(felt) ** 2) for w, p in self.places)
        return np.asarray(np.sqrt(sum(parts)))


def _offset(studs: _Known | None, probed: _Known | None, usual: Floats) -> _Offset:
    """Offset of the camera, weighed for sound bays that feel the ``usual`` (d,) [K].

    Studs share the doubts of wood, film and air temperatures, which differ between wood and foam;
    a probed bay is foam itself and carries little but its probe's doubt.
    """
    there = [place for place in (studs, probed) if place is not None]
    if not there:
        return _Offset(0.0, (), 0)
    weights = np.array([1.0 / (p.own + float(p.shared(usual[:, None])[0]) ** 2) for p in there])
    weights /= weights.sum()
    value = float(weights @ [p.value for p in there])
    count = sum(p.count for p in there)
    return _Offset(value, tuple(zip(map(float, weights), there, strict=True)), count)


def _numbers(prediction: Prediction) -> dict[str, int]:
    return {bay.name: j for j, bay in enumerate(prediction.frame.bays)}


def _studs(
    prediction: Prediction,
    conditions: Conditions,
    seen: npt.NDArray[np.bool_],
    stretches: int,
    contrast: float,
    usual: Floats,
) -> _Known | None:
    """Sound studs, of which so many ``stretches`` are ``seen`` (nz, nx): all but their offset.

    They feel what the bays beside them feel in part: foam that a doubt feigns in all bays is told
    to shift the wood too.
    """
    if not stretches:
        return None
    wood, foam = prediction.reference & seen, prediction.core & seen
    change = float(np.median(prediction.wood[wood]))
    change -= float(np.median(prediction.wood[foam])) if foam.any() else 0.0
    level = np.array([np.median(prediction.sound[wood])])
    planned = np.full(2, np.median(prediction.planned))
    both = prediction.late(planned, np.array([0, -1]))  # the middles of a stud and of a bay
    late, apart = Late(both.rows[:, :1]), both.wood[0] - both.wood[1]
    felt = _felt(conditions, level, late, prediction.film(planned[:1], np.array([0])))
    told = 1.0 / (1.0 - prediction.leaning)  # of what is read of all bays against wood
    return _Known(
        value=0.0,
        own=1.57 * contrast**2 / stretches,
        wood=told * (conditions.difference * change + float(apart)),
        count=stretches,
        felt=told * felt[:, 0] + (1.0 - told) * usual,
    )


def _probed(
    prediction: Prediction,
    conditions: Conditions,
    lines: Curves,
    middle: Floats,
    thickness: Floats,
    contrast: float,
    known: Mapping[str, float],
) -> _Known | None:
    """What probed bays tell of the offset."""
    numbers, rise = _numbers(prediction), conditions.difference
    probed = [numbers[n] for n in known if n in numbers and np.isfinite(middle[numbers[n]])]
    if not probed:
        return None
    held = np.array(thickness)
    for n, t in known.items():
        if n in numbers:
            held[numbers[n]] = t
    factor, slope = lines.factor(held), rise * lines.slope(held)
    each = contrast**2 + (PROBE_DOUBT * float(np.median(slope[probed]))) ** 2
    return _Known(
        value=float(np.median((middle - conditions.outside - rise * factor)[probed])),
        own=1.57 * each / len(probed),
        wood=0.0,
        count=len(probed),
        felt=_middle(_felt(conditions, factor, *_of_bays(prediction, held))[:, probed]),
    )


def _stretches(seen: npt.NDArray[np.bool_], prediction: Prediction) -> list[npt.NDArray[np.intp]]:
    """Pixels (flat) of every stretch of wood that is ``seen``, half a metre at a time."""
    here = np.flatnonzero(prediction.reference & seen)
    rows, columns = np.divmod(here, prediction.x.size)
    wood = np.flatnonzero(prediction.reference.any(axis=0))
    tall = max(1, round(0.5 / float(prediction.z[1] - prediction.z[0])))
    run = np.cumsum(np.diff(wood, prepend=-2) > 1)[np.searchsorted(wood, columns)]
    group = run * 10_000 + rows // tall
    order = np.argsort(group, kind="stable")
    cuts = np.flatnonzero(np.diff(group[order])) + 1
    return [part for part in np.split(here[order], cuts) if part.size >= LEAST_PIXELS]
