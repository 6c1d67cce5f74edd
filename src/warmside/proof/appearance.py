"""A picture laid over the wall: rectified, corrected, refined against the framing, recognised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.thermography import Camera, apparent, surface_temperature
from warmside.proof.conditions import Conditions
from warmside.proof.lay import detail, first_guess, laid
from warmside.proof.lengths import millimetres
from warmside.proof.picture import Picture
from warmside.proof.prediction import Prediction
from warmside.proof.rectify import Lens, Mark, View, view_of
from warmside.proof.refine import MARK_DOUBT, SPOT, refined
from warmside.proof.regions import Region, painted_out
from warmside.proof.smear import Smear

Floats = npt.NDArray[np.float64]

_SPOTS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0)  # [pixel] that are tried
_LENSES = (-0.1, -0.05, 0.0, 0.05)  # [-] k1 to begin with where nothing is known
LARGEST_SPOT = 0.035  # [m] beyond it more than 1 in 100 sound bays are condemned; by the benchmark
LEAST_SEEN = 0.02  # [-] of the wall
LEAST_LIKENESS = 0.45  # [-] correlation with the framing below which it is not this wall
_CERTAIN = 0.8  # [-] likeness from which no other lens or place is tried
_BESIDE = 0.1  # [-] more likeness by which a place a stud or two off is the right one
_KEPT = 0.9  # [-] of the likeness as marked, below which refinement went astray
FARTHEST = 10.0  # [pixel] from a mark; a view farther off has caught the next stud
_CLIP = 1.0  # [K] beyond which a misfit is a fault of the wall, not of the spot
_EDGE = 3.0  # spots from the wall's outline within which its surroundings shine in


@dataclass(frozen=True, eq=False)
class Look:
    """Surface temperatures on the grid of the prediction, and how they were found.

    ``surface`` (nz, nx) [degC] is NaN where the picture shows no wall. ``likeness`` is the
    correlation of its detail with the framing's. ``shift`` [pixel] is how far refinement moved
    the marks, the farthest one; ``misfit`` [K] the robust standard deviation of the detail that the
    framing leaves over (None for a view taken as marked), and ``misplaced`` [m] the standard
    uncertainty of a place of the wall.
    """

    surface: Floats
    view: View
    likeness: float
    shift: float
    misfit: float | None
    misplaced: float
    smear: Smear
    regions: tuple[Region, ...] = ()  # that were painted out
    together: tuple[Look, ...] = ()  # the pictures that were fused into it

    @property
    def spot(self) -> float:
        """Standard deviation of what one pixel sees [m], at the middle of the wall."""
        return self.smear.middle

    @property
    def seen(self) -> npt.NDArray[np.bool_]:
        """Where there is a temperature."""
        return np.isfinite(self.surface)


def look(
    picture: Picture,
    marks: Sequence[Mark],
    prediction: Prediction,
    conditions: Conditions,
    *,
    camera: Camera | None = None,
    set_to: float = 1.0,
    lens: Lens | None = None,
    regions: Sequence[Region] = (),
    refine: bool = True,
) -> Look:
    """Lay a picture over the wall.

    Parameters
    ----------
    picture : Picture
        As the camera wrote it.
    marks : sequence of Mark
        Four or more places of the wall in it.
    prediction : Prediction
        Of that wall.
    conditions : Conditions
        Temperatures of the air on both sides.
    camera : Camera, optional
        Emissivity of the surface and what it reflects.
    set_to : float
        Emissivity that the camera was set to; 1 for apparent temperatures [-].
    lens : Lens, optional
        Its distortion; found along with the marks when not given.
    regions : sequence of Region
        Places of the picture that show no wall.
    refine : bool
        Move the marks so that the framing lies where it shows itself.

    Returns
    -------
    Look
        Surface temperatures on the prediction's grid.

    Raises
    ------
    InputError
        Marks that cannot be, too little wall seen, or a picture that is not of this wall: of
        nothing, upside down, mirrored.
    """
    prediction = prediction.after(conditions)
    optics, picture = camera or Camera(), painted_out(picture, regions)
    full = replace(picture, values=_corrected(picture.values, optics, set_to, conditions))
    marks = _reduced(marks, float(picture.reduced))
    views = _marked(full, marks, prediction, conditions, lens, refine)
    view, better = views[0], None
    surface = as_marked = laid(full, view, prediction)
    _refuse_little(surface, prediction)
    likeness = _likeness(surface, prediction, conditions)
    least = _KEPT * likeness
    for start in views if refine else ():
        fit = refined(full, start, marks, prediction, conditions, any_lens=lens is None)
        again = laid(full, fit.view, prediction)
        likes = _likeness(again, prediction, conditions)
        if likes >= least and fit.shift <= FARTHEST:
            view, surface, better = fit.view, again, fit
            likeness = least = likes
        if better and likeness >= _CERTAIN:
            break
    if likeness < LEAST_LIKENESS:
        raise InputError([_unknown(as_marked, likeness, prediction, conditions)])
    if likeness < _CERTAIN:
        _refuse_beside(full, (views[0], view), likeness, prediction, conditions)
    pixels, side = _blur(surface, view, prediction, conditions)
    _refuse_blurred(pixels * side)
    middle = float(prediction.x.mean()), float(prediction.z.mean())
    return Look(
        surface=surface,
        view=view,
        likeness=likeness,
        shift=better.shift if better else 0.0,
        misfit=better.misfit if better else None,
        misplaced=better.misplaced if better else MARK_DOUBT * view.footprint(*middle),
        smear=Smear.through(view, prediction, pixels),
        regions=tuple(regions),
    )


def _reduced(marks: Sequence[Mark], by: float) -> list[Mark]:
    """Marks of a picture that was made smaller ``by`` so much."""
    if by <= 1.0:
        return list(marks)
    return [replace(m, column=_block(m.column, by), row=_block(m.row, by)) for m in marks]


def _refuse_blurred(spot: float) -> None:
    """Places that run into one another by so much [m] that studs are not told apart."""
    if spot > LARGEST_SPOT:
        read = f"places of {millimetres(2.0 * spot)} that run into one another"
        allowed = (
            f"up to {millimetres(2.0 * LARGEST_SPOT)}, less than two studs: stand nearer and take "
            "several pictures that overlap, and hold the camera still"
        )
        raise InputError([Fault("thermal picture", read, allowed)])


def _marked(
    picture: Picture,
    marks: Sequence[Mark],
    prediction: Prediction,
    conditions: Conditions,
    lens: Lens | None,
    refine: bool,
) -> list[View]:
    """The view that the marks tell; of an unknown lens several, the likeliest first."""
    if lens is not None or not refine:
        return [view_of(marks, picture.shape, lens)]
    views = [view_of(marks, picture.shape, Lens(k)) for k in _LENSES]
    likes = [_likeness(laid(picture, v, prediction), prediction, conditions) for v in views]
    return [views[k] for k in np.argsort(likes)[::-1]]


def _blur(
    surface: Floats, view: View, prediction: Prediction, conditions: Conditions
) -> tuple[float, float]:
    """Standard deviation of what one pixel sees [pixel]: of a few, the one that fits best; and the
    side of a pixel at the middle of what is seen [m].

    It holds the camera's own blur, sampling, and what the marks are still off.
    """
    from scipy.ndimage import binary_dilation, binary_erosion

    rows, columns = np.nonzero(np.isfinite(surface))
    middle = prediction.x[int(np.median(columns))], prediction.z[int(np.median(rows))]
    side, pixel = view.footprint(*middle), float(prediction.x[1] - prediction.x[0])
    guess = first_guess(surface, prediction, conditions, Smear.through(view, prediction, SPOT))
    told = conditions.difference * prediction.at(guess)
    clear = binary_erosion(np.isfinite(surface), iterations=round(_EDGE * side / pixel) + 1)
    near = clear & binary_dilation(prediction.reference, iterations=round(0.08 / pixel))
    if near.sum() < 100:
        return SPOT, side

    def misfit(spots: float) -> float:
        rest = (surface - Smear.through(view, prediction, spots).of(told))[near]
        return float(np.mean(np.minimum(abs(rest - np.median(rest)), _CLIP) ** 2))

    return min(_SPOTS, key=misfit), side


def _block(pixel: float, by: float) -> float:
    """A pixel's place once ``by`` pixels are averaged into one."""
    return (pixel + 0.5) / by - 0.5


def _corrected(values: Floats, camera: Camera, set_to: float, c: Conditions) -> Floats:
    read = apparent(values, replace(camera, emissivity=set_to), c.room) if set_to < 1.0 else values
    there = np.isfinite(read)
    out = np.full(read.shape, np.nan)
    out[there] = surface_temperature(read[there], camera, c.room)
    return out


def _refuse_little(surface: Floats, prediction: Prediction) -> None:
    share = np.isfinite(surface).sum() / prediction.seen.sum()
    if share < LEAST_SEEN:
        read = f"{share:.0%} of the wall within the picture"
        allowed = "marks on the wall's corners, and a picture without empty places there"
        raise InputError([Fault("thermal picture", read, allowed)])


def _likeness(surface: Floats, prediction: Prediction, conditions: Conditions) -> float:
    """Correlation of the picture's detail with that of the wall it tells of [-]."""
    pixel = float(prediction.x[1] - prediction.x[0])
    factor = prediction.at(first_guess(surface, prediction, conditions))
    told = detail(np.where(np.isfinite(surface), factor, np.nan), pixel)
    read = detail(surface, pixel)
    both = np.isfinite(told) & np.isfinite(read)
    if both.sum() < 100 or read[both].std() < 1e-9 or told[both].std() < 1e-9:
        return 0.0
    likeness = float(np.corrcoef(told[both], read[both])[0, 1])
    return likeness if conditions.difference > 0 else -likeness


def _refuse_beside(
    picture: Picture,
    views: Sequence[View],
    likeness: float,
    prediction: Prediction,
    conditions: Conditions,
) -> None:
    """Refuse marks that are a whole stud off: refinement finds the nearest stud, not the right one.

    Studs fall onto studs either way, and likeness alone may let such a picture pass. ``views``, as
    marked and as refined (which bends a wrong one), are moved by one and two spacings either way.
    """
    spacing, beside = prediction.wall.spacing, {}
    for studs in (-2, -1, 1, 2):
        along = np.array([(1.0, 0.0, studs * spacing), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)])
        moved = (replace(view, matrix=view.matrix @ along) for view in views)
        surfaces = (laid(picture, view, prediction) for view in moved)
        beside[studs] = max(_likeness(s, prediction, conditions) for s in surfaces)
    best = max(beside, key=lambda studs: beside[studs])
    if beside[best] > likeness + _BESIDE:
        read = (
            f"framing that fits {millimetres(abs(best) * spacing)} farther "
            f"{'right' if best > 0 else 'left'} "
            f"(likeness {beside[best]:.2f}, as marked {likeness:.2f})"
        )
        raise InputError([Fault("marks", read, "marks on the places named, not a stud off")])


def _unknown(
    surface: Floats, likeness: float, prediction: Prediction, conditions: Conditions
) -> Fault:
    """Why a picture is not of this wall: of another, or turned."""
    for turned, how in ((surface[::-1, ::-1], "upside down"), (surface[:, ::-1], "mirrored"),
                        (surface[::-1], "upside down and mirrored")):  # fmt: skip
        whole = np.where(prediction.seen, turned, np.nan)
        if _likeness(whole, prediction, conditions) >= max(LEAST_LIKENESS, likeness + 0.15):
            read = f"a picture that fits this wall only {how}"
            return Fault("thermal picture", read, "the wall as seen from the room")
    read = f"no framing of this wall in the picture (likeness {likeness:.2f})"
    allowed = (
        f"this wall, its corners marked, likeness {LEAST_LIKENESS:g} or more; with a difference "
        f"of {abs(conditions.difference):.0f} K the framing may also be too faint"
    )
    return Fault("thermal picture", read, allowed)
