"""The picture against the prediction: bay by bay and joint by joint."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from warmside.catalog import Source
from warmside.framing import Joint
from warmside.physics.thermography import Camera
from warmside.proof.appearance import Look
from warmside.proof.at_once import FOAM, MOVED, OFF, Fit, Patches, Places, fitted, patches_of
from warmside.proof.bounded import BAND, band
from warmside.proof.causes import causes_of_bay, causes_of_joint
from warmside.proof.conditions import Conditions, Rule, rules, weak
from warmside.proof.estimate import PROBE_DOUBT, Curves, Estimate, curves, estimated
from warmside.proof.lay import outline
from warmside.proof.lengths import millimetres
from warmside.proof.looks import BayLook, Hints, JointLook, Seen
from warmside.proof.prediction import Prediction

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]

WORKMANSHIP = 0.003  # [m] standard deviation of good work: within 1/4 in. on flat ground
SURE = 3.5  # standard deviations: fewer than one sound bay in 200 is called wrong by chance
SURE_OF_WALL = 3.5  # the same for a whole wall: every bay is then held against the prediction
SURE_OF_PART = 4.4  # the same for a part of a bay against the rest of it
SURE_OF_JOINT = 2.5  # the same along joints: streaks are held against what lies beside them
_ROUNDS = 3  # at most, in search of the bays that are off
ENOUGH = 0.95  # [-] of half-filled bays that a picture must find, and a bay be found in
NINE_IN_TEN = 1.28  # standard deviations below which nine in ten lie
SPOTS_ACROSS = 7.0  # a bay that is narrower tells of its studs; by the benchmark
PART = 0.3  # [m] height of a part of a bay that is looked at by itself
RUN = 0.25  # [m] of joint that is looked at together
SHORTEST_JOINT = 0.2  # [m]; shorter ones show nothing of their own
_NEAR, _ROUND = 0.025, 0.14  # [m] of a joint, and its surroundings
_DOUBTS = Source("The doubts of this picture's own estimate", "computed")
_SHINE = 1.5  # spots from the outline within which floor, ceiling and corners shine in


@dataclass(frozen=True, eq=False)
class ThermalProof:
    """One picture of one wall, compared.

    ``difference`` (nz, nx) [K] is measured less predicted with the offset taken off, NaN where
    nothing was seen. ``common`` [K] is what all bays share beyond the offset and ``common_doubt``
    its standard uncertainty: within it, a shortage common to all bays stays hidden.
    """

    wall: str
    option: str
    x: Floats
    z: Floats
    difference: Floats
    measured: Floats
    bays: tuple[BayLook, ...]
    joints: tuple[JointLook, ...]
    rules: tuple[Rule, ...]
    remarks: tuple[str, ...]
    likeness: float
    shift: float  # [pixel]
    offset: float  # [K]
    common: float  # [K]
    common_doubt: float  # [K]
    whole_wall: Seen

    @property
    def weak(self) -> bool:
        """Whether a condition was not met, so that this is a hint and no proof."""
        return weak(self.rules)

    def bay(self, name: str) -> BayLook:
        """The bay with that name."""
        return next(bay for bay in self.bays if bay.bay == name)


def compare(
    found: Look,
    prediction: Prediction,
    conditions: Conditions,
    camera: Camera | None = None,
    *,
    known: Mapping[str, float] | None = None,
    hints: Hints | None = None,
    masonry_outside: bool = False,
) -> ThermalProof:
    """Hold a picture against the prediction.

    Parameters
    ----------
    found : Look
        The picture, laid over the wall.
    prediction : Prediction
        Of that wall.
    conditions : Conditions
        Air on both sides while it was taken.
    camera : Camera, optional
        For its contrast, the standard uncertainty of one place against another.
    known : mapping of str to float, optional
        Bays whose foam was probed [m]; they tell the camera's offset better than wood does.
    hints : Hints, optional
        Moisture, pipes and hazards that may explain what is seen.
    masonry_outside : bool
        Asks for more hours without sun.

    Returns
    -------
    ThermalProof
        Every bay and joint, and what the conditions were worth.

    Notes
    -----
    A bay is called colder or warmer where it lies ``SURE`` standard deviations off what all bays
    share, and as predicted only where, were half of its foam missing, it would be called so with a
    chance of ``ENOUGH`` or more: the picture tells nothing of the others, and one that tells
    nothing of its middle bay is a hint as a whole. What bays share is taken for the camera's and
    the model's as long as it can be; beyond that the whole wall is told to be off, and every bay is
    held against the prediction itself.
    """
    prediction = _readable(prediction.after(conditions), found)
    contrast = (camera or Camera()).contrast
    e, fit = _at_once(found, prediction, conditions, contrast, known or {})
    common, doubt, whole = _common(fit, e)
    judge = _Judge(prediction, conditions, e, fit, common, whole, contrast, hints or Hints())
    told = conditions.outside + conditions.difference * prediction.sound
    difference = found.surface - e.offset - told
    bays = judge.bays(found)
    held = (*rules(conditions, masonry_outside), power_rule(bays))
    return ThermalProof(
        wall=prediction.wall.name,
        option=prediction.option.id,
        x=prediction.x,
        z=prediction.z,
        difference=difference,
        measured=found.surface - e.offset,
        bays=bays,
        joints=judge.joints(found),
        rules=held,
        remarks=(*_remarks(held, e, common, doubt, whole), *_of_pictures(found)),
        likeness=found.likeness,
        shift=found.shift,
        offset=e.offset,
        common=common,
        common_doubt=doubt,
        whole_wall=whole,
    )


def chance(cold: float, doubt: float, spread: float = 0.0) -> float:
    """How often a bay is called colder [-] that is so by ``cold`` on the mean, ``spread`` of itself
    and read with a ``doubt`` [K]."""
    from scipy.special import ndtr

    return float(ndtr((cold - SURE * doubt) / np.hypot(doubt, spread)))


def power_rule(bays: Sequence[BayLook]) -> Rule:
    """Whether a picture finds half-filled bays, by its own doubts: the middle one of its bays."""
    chances = [bay.chance for bay in bays if bay.chance is not None]
    middle = float(np.median(chances)) if chances else 0.0
    what, asked = (
        "Half-filled bays that this picture finds",
        f"at least {round(100 * ENOUGH)} in 100",
    )
    return Rule(what, f"{math.floor(100 * middle)} in 100", asked, middle >= ENOUGH, _DOUBTS)


def _readable(p: Prediction, found: Look) -> Prediction:
    """The prediction without the bays that are too narrow for how a picture smears them: in their
    middle the studs on both sides are seen along."""
    wide = []
    for bay in p.frame.bays:
        along, up = found.smear.at(bay.rect.x0 + bay.rect.width / 2.0)
        wide.append(bay.rect.width >= SPOTS_ACROSS * along and bay.rect.height >= SPOTS_ACROSS * up)
    return replace(p, core=p.core & np.array([*wide, False])[p.bay])


def _at_once(
    found: Look,
    prediction: Prediction,
    conditions: Conditions,
    contrast: float,
    known: Mapping[str, float],
) -> tuple[Estimate, Fit]:
    """Foam of every bay with all that is not foam fitted along, from a first look bay by bay."""
    p, rise = prediction, conditions.difference
    e = estimated(found.surface, p, conditions, contrast=contrast, smear=found.smear, known=known)
    lines, _ = curves(p, np.isfinite(found.surface))
    sound, numbers = lines.factor(p.planned), {b.name: j for j, b in enumerate(p.frame.bays)}
    slope = abs(e.slope)
    work = np.sqrt((slope * WORKMANSHIP) ** 2 + (FOAM * rise * (1.0 - sound)) ** 2)
    work = np.where(np.isfinite(work), work, 0.0)
    probed = {
        numbers[n]: (rise * float(lines.factor(np.full(sound.size, t))[numbers[n]]
                                  - sound[numbers[n]]), PROBE_DOUBT * float(slope[numbers[n]]))
        for n, t in known.items() if n in numbers and np.isfinite(sound[numbers[n]])
    }  # fmt: skip
    brim = abs(rise) * (lines.factor(np.array([b.depth for b in p.frame.bays])) - sound)
    pictures = [(one, Places.of(one.seen, p, one.smear)) for one in found.together or (found,)]
    search = _Search(pictures, p, conditions, lines, work, probed, brim)
    e, fit = search.best(e, _odd(e, slope, p))
    return e, replace(fit, common_doubt=max(fit.common_doubt, e.offset_doubt))


@dataclass(frozen=True, eq=False)
class _Search:
    """For the bays that are off: what they do to the wood beside them hangs on which they are, so
    that every guess is followed to its own end, and the likeliest end is taken."""

    pictures: Sequence[tuple[Look, Places]]
    prediction: Prediction
    conditions: Conditions
    lines: Curves
    work: Floats  # (n_bays,) [K]
    probed: dict[int, tuple[float, float]]
    brim: Floats  # (n_bays,) [K] that a bay full of foam is off, where heat is kept

    def best(self, first: Estimate, starts: Sequence[Truths]) -> tuple[Estimate, Fit]:
        """The likeliest end from a first look and the bays that may be off by it."""
        ends = [self._followed(first, off) for off in starts]
        e, fit, off = min(ends, key=lambda end: end[1].misfit)
        # few bays cold, or as many others warm: what is warmer than full of foam is tried as sound
        cold = off & ~self._warmer(fit)
        if (cold != off).any():
            e, fit, off = min(
                (e, fit, off), self._followed(first, cold), key=lambda end: end[1].misfit
            )
        return e, fit

    def _warmer(self, fit: Fit) -> Truths:
        return np.asarray(fit.apart * np.sign(self.conditions.difference) > self.brim)

    def _followed(self, e: Estimate, off: Truths) -> tuple[Estimate, Fit, Truths]:
        """Estimate, fit and bays off once these stay the same."""
        p, rise = self.prediction, self.conditions.difference
        sound = self.lines.factor(p.planned)
        starts: tuple[Truths, ...] = np.ones(off.size, bool), off
        for _ in range(_ROUNDS):
            # sound bays stand as planned: their doubt shared with the wood would feed on itself
            guess = np.where(np.isfinite(e.thickness) & off, e.thickness, p.planned)
            deviation = rise * (self.lines.factor(guess) - sound)
            patches = Patches.of_all(
                [
                    patches_of(
                        one.surface - self.conditions.outside, one.smear, at, p, guess, rise,
                        deviation,
                    )
                    for one, at in self.pictures
                ]
            )  # fmt: skip
            fit = fitted(patches, self.conditions, self.work, self.probed, starts, self.brim)
            temperature = e.planned + fit.total
            factor = (temperature - self.conditions.outside) / rise
            e = replace(
                e,
                thickness=self.lines.thickness(factor),
                temperature=temperature,
                shared=np.where(np.isfinite(fit.doubt), fit.doubt, e.shared),
            )
            before = off
            # off against the rest, or with the whole wall against what was planned
            off = np.asarray(
                (abs(fit.apart) > OFF * fit.apart_doubt)
                | (abs(fit.total) > SURE_OF_WALL * fit.doubt)
            )
            if (off == before).all():
                break
            starts = (off,)
        return e, fit, off


def _odd(e: Estimate, slope: Floats, p: Prediction) -> tuple[npt.NDArray[np.bool_], ...]:
    """Bays a quarter of their foam off: what was planned, and the middle one of all bays."""
    limit, deviation = 0.25 * slope * p.planned, e.deviation
    there = np.isfinite(deviation).any()
    middle = float(np.nanmedian(deviation)) if there else 0.0
    return abs(deviation) > limit, abs(deviation - middle) > limit


def _common(fit: Fit, e: Estimate) -> tuple[float, float, Seen]:
    """What all bays share [K], its standard uncertainty, and whether the whole wall is off."""
    if np.isfinite(e.deviation).sum() < 4:
        return 0.0, fit.common_doubt, "as predicted"
    # the middle bay, not the fitted share: in a wall that is empty everywhere all bays are set free
    shared, doubt = float(np.nanmedian(e.deviation)), float(np.nanmedian(e.shared))
    if abs(shared) > SURE_OF_WALL * doubt:
        return 0.0, doubt, "colder" if shared < 0.0 else "warmer"
    return shared, doubt, "as predicted"


@dataclass(frozen=True, eq=False)
class _Judge:
    prediction: Prediction
    conditions: Conditions
    estimate: Estimate
    fit: Fit
    common: float  # [K]
    whole: Seen
    contrast: float  # [K]
    hints: Hints

    def bays(self, found: Look) -> tuple[BayLook, ...]:
        seen = np.isfinite(found.surface)
        lines, pixels = curves(self.prediction, seen)
        place = np.array([self._steepness(mine) for mine in pixels]) * found.misplaced
        low, high = (lines.thickness(f) for f in self._factors(place, lines))
        cold, spread = self._half(lines)
        return tuple(
            self._bay(
                j,
                mine,
                place[j],
                (float(low[j]), float(high[j])),
                (float(cold[j]), float(spread[j])),
            )
            for j, mine in enumerate(pixels)
        )

    def _half(self, lines: Curves) -> tuple[Floats, Floats]:
        """How much colder half-filled bays are than sound ones, and their own spread [K]."""
        sound, rise = self.prediction.planned, abs(self.conditions.difference)
        cold = rise * (lines.factor(sound) - lines.factor(sound / 2.0))
        return cold, abs(rise * lines.slope(sound / 2.0)) * WORKMANSHIP

    def _factors(self, place: Floats, lines: Curves) -> tuple[Floats, Floats]:
        """Factors of the bays at both ends of their band, the less insulated end first [-].

        What the camera tells apart, what all bays share, and what being misplaced does (``place``
        [K]) are independent of each other.
        """
        e, rise = self.estimate, self.conditions.difference
        doubt = np.sqrt(e.shared**2 + place**2) / abs(rise)
        factor = (e.temperature - self.conditions.outside) / rise
        depths = np.array([bay.depth for bay in self.prediction.frame.bays])
        return band(factor, doubt, lines.factor(0.0 * depths), lines.factor(depths))

    def _bay(
        self,
        j: int,
        mine: npt.NDArray[np.intp],
        place: float,
        band: tuple[float, float],
        half: tuple[float, float],
    ) -> BayLook:
        e, bay = self.estimate, self.prediction.frame.bays[j]
        planned = float(self.prediction.planned[j])
        if not mine.size:
            return BayLook(bay.name, "not seen", planned=planned, why=self._unseen(j))
        if self.whole == "as predicted":
            deviation, own = float(self.fit.apart[j]), float(self.fit.apart_doubt[j])
        else:  # every bay is then held against the prediction itself
            slope = abs(float(e.slope[j]))
            deviation, own = float(e.deviation[j]), float(e.shared[j])
            own = float(np.hypot(own, slope * WORKMANSHIP))
        doubt = float(np.hypot(own, place))
        sure = deviation / doubt
        seen: Seen = "as predicted" if abs(sure) < SURE else "colder" if sure < 0 else "warmer"
        part = self._part(j) if seen == "as predicted" else None
        if part is not None:
            # lost heat shows as cold indoors in winter, as warmth in summer
            seen = "colder" if self.conditions.difference > 0 else "warmer"
        cold, spread = half
        told = chance(cold, doubt, spread)
        if seen == "as predicted" and told < ENOUGH:
            missed = math.ceil(100.0 * (1.0 - told))
            why = f"half of its foam missing would stay unseen {missed} times in 100"
            return BayLook(bay.name, "not seen", planned=planned, chance=told, why=why)
        look = BayLook(
            bay=bay.name,
            seen=seen,
            measured=float(e.temperature[j]),
            predicted=float(e.planned[j]),
            deviation=deviation,
            sure=sure,
            planned=planned,
            thickness=float(e.thickness[j]),
            low=band[0],
            high=band[1],
            part=part,
            least=self._least(j, doubt),
            chance=told,
        )
        found_causes = causes_of_bay(look, bay, self.hints, self.conditions.difference)
        return replace(look, causes=found_causes)

    def _steepness(self, pixels: npt.NDArray[np.intp]) -> float:
        """How much the predicted temperature changes with place [K/m], where a bay is looked at."""
        if not pixels.size:
            return 0.0
        p = self.prediction
        rows, columns = np.unravel_index(pixels, p.bay.shape)
        planned = p.factor[int(np.argmin(abs(p.thicknesses - p.option.thickness)))]
        step = float(p.x[1] - p.x[0])
        across = planned[rows, np.minimum(columns + 1, p.x.size - 1)] - planned[rows, columns - 1]
        up = planned[np.minimum(rows + 1, p.z.size - 1), columns] - planned[rows - 1, columns]
        change = np.hypot(float(across.mean()), float(up.mean())) / (2.0 * step)
        return float(abs(self.conditions.difference) * change)

    def _unseen(self, j: int) -> str:
        bay = self.prediction.frame.bays[j]
        if not (self.prediction.core & (self.prediction.bay == j)).any():
            wide = min(bay.rect.width, bay.rect.height)
            return (
                f"only {millimetres(wide)} wide, too little at this distance, or beside an "
                "opening, box or pipe"
            )
        return "outside the picture, or painted out"

    def _least(self, j: int, doubt: float) -> float | None:
        """Missing foam [m] that would have been told nine times in ten; None if not even all."""
        p = self.prediction
        core = p.core & (p.bay == j)
        levels = [float(np.median(level[core])) for level in p.factor]
        planned = p.planned[j]
        drop = (SURE + NINE_IN_TEN) * doubt / abs(self.conditions.difference)
        steps = np.linspace(planned, 0.0, 60)
        factor = np.interp(steps, p.thicknesses, levels)
        told = factor <= factor[0] - drop
        return float(planned - steps[np.argmax(told)]) if told.any() else None

    def _part(self, j: int) -> tuple[float, float] | None:
        """Heights of a part of a bay that is far off the rest of the picture."""
        sign = np.sign(self.conditions.difference)
        mine = [part for part in self.fit.parts if part[0] == j]
        bad = [
            (low, high) for _, low, high, off, sure in mine
            if sure * sign < -SURE_OF_PART and off * sign < -self.contrast
        ]  # fmt: skip
        if not bad or len(mine) < 3:
            return None
        return min(low for low, _ in bad), max(high for _, high in bad)

    def joints(self, found: Look) -> tuple[JointLook, ...]:
        """Every joint: the picture less the wall as it was told to be, along its line."""
        p, e = self.prediction, self.estimate
        thickness = np.where(np.isfinite(e.thickness), e.thickness, p.planned)
        told = self.conditions.outside + self.conditions.difference * p.at(thickness)
        rest = (found.surface - told) * np.sign(self.conditions.difference)
        # what a bay that is off does to the wood beside it is not known as well
        moved = abs(self.conditions.difference * (p.at(thickness) - p.sound))
        doubt = np.hypot(self.contrast, MOVED * moved)
        return joints_along(rest, p, doubt, self.hints, spot=found.spot)


def joints_along(
    rest: Floats,
    prediction: Prediction,
    contrast: float | Floats,
    hints: Hints,
    *,
    spot: float,
    sure: float = SURE_OF_JOINT,
) -> tuple[JointLook, ...]:
    """Streaks along the joints of a wall that are colder than what lies beside them.

    Parameters
    ----------
    rest : ndarray
        What is left once everything expected is taken off (nz, nx) [K]; negative where heat is
        lost, NaN where nothing was seen.
    prediction : Prediction
        For the wall and the grid.
    contrast : float or ndarray
        Standard uncertainty of one place against another, everywhere alike or by place [K].
    hints : Hints
        For the likely causes.
    spot : float
        Standard deviation of what one pixel sees [m].
    sure : float
        Standard deviations from which a streak is called colder [-].
    """
    pixel = float(prediction.x[1] - prediction.x[0])
    edge = max(pixel, _SHINE * spot)
    streak = _streaks(np.where(outline(prediction, edge), rest, np.nan), pixel)
    inset = edge + _NEAR
    limit = np.broadcast_to(sure * np.asarray(contrast), rest.shape)
    return tuple(
        _joint(joint, streak, prediction, limit, hints, inset) for joint in prediction.frame.joints
    )


def _streaks(rest: Floats, pixel: float) -> Floats:
    """Mean within ``_NEAR`` of every place less that of its surroundings [K]."""
    from scipy.ndimage import uniform_filter

    there = np.isfinite(rest)
    values = np.where(there, rest, 0.0)
    sums = []
    for reach in (_NEAR, _ROUND):
        size = 2 * round(reach / pixel) + 1
        share = uniform_filter(there.astype(float), size)
        sums.append((uniform_filter(values, size) * size**2, share * size**2))
    (near, near_n), (wide, wide_n) = sums
    around = (wide - near) / np.maximum(wide_n - near_n, 1.0)
    enough = (near_n > 0.5 * near_n.max()) & (wide_n - near_n > 0.3 * (wide_n - near_n).max())
    return np.where(enough & there, near / np.maximum(near_n, 1.0) - around, np.nan)


def _joint(
    joint: Joint,
    streak: Floats,
    prediction: Prediction,
    limits: Floats,
    hints: Hints,
    inset: float,
) -> JointLook:
    x0, z0, x1, z1 = joint.line
    long = float(np.hypot(x1 - x0, z1 - z0))
    hole = joint.kind in ("box", "penetration")
    if long < SHORTEST_JOINT and not hole:
        return JointLook(joint.name, joint.kind, "not seen")
    step = float(prediction.x[1] - prediction.x[0])
    share = (np.arange(max(1, round(long / step))) + 0.5) / max(1, round(long / step))
    x, z = x0 + share * (x1 - x0), z0 + share * (z1 - z0)
    # along the outline the streak lies within the wall
    x = np.clip(x, inset, prediction.frame.length - inset)
    z = np.clip(z, inset, prediction.frame.height - inset)
    i = np.clip((x / step).astype(int), 0, prediction.x.size - 1)
    k = np.clip(
        (z / float(prediction.z[1] - prediction.z[0])).astype(int), 0, prediction.z.size - 1
    )
    values, limit = streak[k, i], limits[k, i]
    size = min(values.size, max(1, round(RUN / step)))
    there = np.isfinite(values)
    count = np.convolve(there, np.ones(size), "valid")
    runs = np.convolve(np.where(there, values, 0.0), np.ones(size), "valid")
    runs = np.where(count > 0.6 * size, runs / np.maximum(count, 1.0), np.nan)
    if not np.isfinite(runs).any():
        return JointLook(joint.name, joint.kind, "not seen")
    allowed = np.convolve(limit, np.ones(size) / size, "valid")
    worst = int(np.nanargmin(runs / allowed))
    coldest = float(runs[worst])
    cold = coldest < -float(allowed[worst])
    middle = worst + size // 2
    at = (float(x[middle]), float(z[middle])) if cold else None
    length = float((np.where(there, values, 0.0) < -limit / 2.0).sum() * step) if cold else 0.0
    look = JointLook(
        joint.name, joint.kind, "colder" if cold else "as predicted", coldest, length, at
    )
    return replace(look, causes=causes_of_joint(look, hints)) if cold else look


def _of_pictures(found: Look) -> Iterator[str]:
    """What was left out of a picture, and how many were taken together."""
    if found.together:
        yield (
            f"{len(found.together)} pictures are judged as one: what several show has one verdict, "
            "with the doubt that is left of all."
        )
    hidden = dict.fromkeys(one.cause for one in found.regions)
    if hidden:
        causes = ", ".join(cause if cause != "other" else "other things" for cause in hidden)
        yield f"Painted out by hand: {causes}. The picture says nothing of what lies there."


def _remarks(
    held: Sequence[Rule], e: Estimate, common: float, doubt: float, whole: Seen
) -> tuple[str, ...]:
    said = []
    unmet = [rule for rule in held if rule.met is False]
    if unmet:
        which = "; ".join(f"{rule.what.lower()} {rule.read}, {rule.asked} asked" for rule in unmet)
        said.append(f"The conditions were too weak for a proof: {which}. Take it as a hint.")
    unknown = [rule.what.lower() for rule in held if rule.met is None]
    if unknown:
        said.append(f"Not noted, so not judged: {', '.join(unknown)}.")
    if not e.references:
        said.append("No sound stud is seen: the camera's offset could not be taken off.")
    else:
        said.append(
            f"The camera's offset of {e.offset:+.1f} K was read off {e.references} known places "
            "and taken off everywhere."
        )
    slope = float(np.nanmedian(abs(e.slope)))
    hidden = BAND * doubt / slope if slope else 0.0
    if whole == "as predicted":
        said.append(
            f"All bays together lie {common:+.2f} K off; up to {millimetres(hidden)} of foam "
            "missing everywhere alike could hide in that. Thickness probes tell it."
        )
    else:
        said.append(
            f"The whole wall is {whole} than predicted, more than camera and model can be off."
        )
    return tuple(said)
