"""What the room side of a wall should look like, for every thickness of foam in its bays.

The field of the wall is solved for a few thicknesses, once with every other bay at that thickness
and once with the bays between, their neighbours as planned: a faulty bay mostly lies beside sound
ones, and its studs share their warmth. Between the solved thicknesses the temperature factor is
interpolated, pixel by pixel; what the bays on both sides of a stud do to it adds up.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Bay, Frame
from warmside.geometry import RegionKind
from warmside.options import BuildUp, Option, apply, as_built
from warmside.physics.assembly import Layer, Role, Stack
from warmside.physics.conduction import (
    State,
    WallHeat,
    wall_field,
    wall_heat,
)
from warmside.proof._maps import laid_together
from warmside.proof.conditions import Conditions
from warmside.proof.past import WOOD_DOUBT, Late, Strip, changed, past_of
from warmside.survey import Hazard, Wall
from warmside.wording import PAPER, Figure

Floats = npt.NDArray[np.float64]
Map = npt.NDArray[np.float32]

PIXEL = 0.01  # [m]
STEPS = (0.0, 0.12, 0.25, 0.4, 0.55, 0.75, 1.0)  # [-] of the depth, besides the planned thickness
# [W/(m K)] of foam as it usually is, by family. A row is the most that a standard allows, R-5.2 an
# inch of closed-cell foam (CAN/ULC-S705.1). Data sheets have, 0.76 to 0.90 of it,
# and listings after ageing 0.86 to 0.97 (from memory): the middle of 0.76 and 0.97, whose spread
# is `FOAM_DOUBT`. Of open-cell foam an inch (data sheets, from memory)
USUAL_FOAM = {"closed-cell": 0.0242, "open-cell": 0.039}
CELLS, TOLERANCE = 300_000, 1e-6  # a stud against a bay is then right to 0.004 K at 20 K
MARGIN = 0.06  # [m] from the studs, beyond which their heat is hardly felt on the surface
NARROW = 0.06  # [m] a bay narrower than this has no place of its own on the surface
DISTURBED = 0.10  # [m] round boxes and pipes
THINNER = 0.9  # [-] of the foam planned, by which it is told what wood does where foam is thinner
LEAST_LEFT = 0.3  # [-] of the difference that foam makes at rest; own figure
HOLE_MARGIN = 0.10  # [m] round openings: trim, and the window's own cold edge
REFERENCE: tuple[RegionKind, ...] = ("stud", "double stud", "post")


@dataclass(frozen=True, eq=False)
class Prediction:
    """Temperature factors of the room side, thickness by thickness, on a grid of pixels.

    ``factor`` (n, nz, nx) goes with ``thicknesses`` (n,) [m] of the ``nearest`` bay (nz, nx), the
    others as planned; ``beside`` (n, nz, nx) is by how much it changes with those of the bay
    ``across`` the wood (nz, nx). Row 0 is the lowest. ``bay``
    (nz, nx) numbers ``frame.bays``, -1 elsewhere; ``core`` is where a bay shows itself alone,
    ``reference`` where sound wood does, ``seen`` where there is wall and no opening near.
    ``own`` (nz, nx) [-] is the part that the nearest of both bays has in what a past leaves of
    their foam, linear across the wood. ``wood`` (nz, nx) is how the factor of
    the planned wall changes when wood conducts by ``WOOD_DOUBT`` more. As `predict` makes it the
    wall is at rest; ``after`` gives it as its past left it.
    """

    wall: Wall
    frame: Frame
    option: Option
    thicknesses: Floats
    x: Floats  # (nx,) [m]
    z: Floats  # (nz,) [m]
    factor: Map
    beside: Map
    wood: Map
    seen: npt.NDArray[np.bool_]
    bay: npt.NDArray[np.int16]
    nearest: npt.NDArray[np.int16]
    across: npt.NDArray[np.int16]
    own: Map
    core: npt.NDArray[np.bool_]
    reference: npt.NDArray[np.bool_]
    middle: Floats  # (n,) factor of the bays of the whole wall at every solved thickness [-]
    place: npt.NDArray[np.int16]  # (nz, nx) numbers the places of ``strips``
    strips: tuple[Strip, ...]  # thickness by thickness
    lates: Map  # (5 + d, n, m) [K] rows of `Late`, by thickness and place

    @property
    def planned(self) -> Floats:
        """Foam planned in every bay [m], (n_bays,); no more than its depth."""
        depths = np.array([bay.depth for bay in self.frame.bays])
        return np.asarray(np.minimum(self.option.thickness, depths))

    def at(self, thickness: Floats) -> Floats:
        """Factor map (nz, nx) [-] where the bays hold ``thickness`` (n_bays,)."""
        return self.at_places(thickness, self._everywhere).reshape(self.nearest.shape)

    def at_places(self, thickness: Floats, places: npt.NDArray[np.intp]) -> Floats:
        """The same at some ``places`` (flat), (m,)."""
        sides = self.nearest, self.across
        held = self.between(thickness)
        return np.asarray(laid_together(self.factor, self.beside, *sides, *held, places), float)

    @cached_property
    def _everywhere(self) -> npt.NDArray[np.intp]:
        return np.arange(self.nearest.size)

    @cached_property
    def sound(self) -> Floats:
        """Factor map (nz, nx) [-] of the wall as planned."""
        return self.at(self.planned)

    @cached_property
    def leaning(self) -> float:
        """Change of wood over that of bays for foam that is thinner everywhere [-], 0 or less.

        Air that takes its place warms the wood beside it. Read against wood that leans by ``k``, a
        shift ``s`` of all bays looks like ``(1 - k) s``.
        """
        if not (self.core.any() and self.reference.any()):
            return 0.0
        thin = self.at(THINNER * self.planned) - self.sound
        return min(float(np.median(thin[self.reference]) / np.median(thin[self.core])), 0.0)

    def flank(self, thickness: Floats) -> Floats:
        """Change of the factor (nz, nx) [-] were the air in bays of ``thickness`` (n_bays,) still.

        Beyond that of the planned wall. Wood stands in the warmth of the air beside it, and how
        much of it that air brings along is known within bounds alone.
        """
        still = np.array([one.still.steady - one.usual.steady for one in self.strips])

        def of(held: Floats) -> Floats:
            low, share = self.between(held)
            return np.asarray(still[low] + share[:, None] * (still[low + 1] - still[low]))

        change = of(thickness) - of(self.planned)  # (n_bays, m)
        sides = change[self.nearest, self.place], change[self.across, self.place]
        return np.asarray(self.own * sides[0] + (1.0 - self.own) * sides[1], float)

    def between(self, thickness: Floats) -> tuple[npt.NDArray[np.intp], Floats]:
        """Index of the solved thickness below, and how far towards the next, as R goes."""
        steps = self.thicknesses
        t = np.clip(thickness, steps[0], steps[-1])
        low = np.clip(np.searchsorted(steps, t, "right") - 1, 0, steps.size - 2)
        linear = (t - steps[low]) / (steps[low + 1] - steps[low])
        # factor = 1 - film / R: with R linear in thickness the share of the factor leads
        r0, r1 = 1.0 / (1.0 - self.middle[low]), 1.0 / (1.0 - self.middle[low + 1])
        r = r0 + linear * (r1 - r0)
        return low, np.asarray((1.0 / r0 - 1.0 / r) / (1.0 / r0 - 1.0 / r1))

    def thickness_at(self, low: int, share: float) -> float:
        """Thickness [m] that `between` parts so."""
        r0, r1 = 1.0 / (1.0 - self.middle[low]), 1.0 / (1.0 - self.middle[low + 1])
        r = 1.0 / (1.0 / r0 - share * (1.0 / r0 - 1.0 / r1))
        steps = self.thicknesses
        return float(steps[low] + (r - r0) / (r1 - r0) * (steps[low + 1] - steps[low]))

    def late(self, thickness: Floats, place: npt.NDArray[np.int_]) -> Late:
        """What the past still does to places (...) of foam ``thickness`` (...)."""
        return Late(self._of_strips(self.lates, thickness, place))

    def film(self, thickness: Floats, place: npt.NDArray[np.int_]) -> Floats:
        """Change of the factor (...) at rest for a film better by ``FILM_DOUBT`` [-], at places
        (...) of foam ``thickness`` (...). Heat that spreads within the board softens it."""
        return self._of_strips(self._films, thickness, place)

    def _of_strips(
        self, values: npt.NDArray[Any], thickness: Floats, place: npt.NDArray[np.int_]
    ) -> Floats:
        """Those of ``values`` (..., n, m), by thickness and place, at places of a thickness."""
        low, share = self.between(thickness)
        below, above = values[..., low, place], values[..., low + 1, place]
        return np.asarray(below + share * (above - below), dtype=float)

    @cached_property
    def _films(self) -> Floats:
        return np.array([one.film.steady - one.usual.steady for one in self.strips])

    def after(self, conditions: Conditions) -> Prediction:
        """The same wall as the hours before the picture have left it.

        Factors then hold what is still to come, over the difference of the air now. Refused where
        too little is left of what foam does.
        """
        return _after(self, conditions)

    def _after(self, conditions: Conditions) -> Prediction:
        past = past_of(conditions)
        lates = np.stack([past.late(strip).rows for strip in self.strips], axis=1)
        shift = (lates[0] / conditions.difference).astype(np.float32)
        planned = int(np.argmin(abs(self.thicknesses - self.option.thickness)))
        change = (shift - shift[planned])[:, self.place]
        factor = self.factor + shift[planned][self.place] + self.own * change
        beside = self.beside + (1.0 - self.own) * change
        bay = shift[:, -1] + self.middle
        left = (bay[planned] - bay[0]) / (self.middle[planned] - self.middle[0])
        if left < LEAST_LEFT:
            there, least = (PAPER.figure(Figure(v, "share")) for v in (max(left, 0.0), LEAST_LEFT))
            read = f"{there} of what foam does at rest left by sun and air before"
            allowed = f"{least} or more: wait some hours, or come before sunrise"
            raise InputError([Fault("thermal picture, past", read, allowed)])
        return replace(self, factor=factor, beside=beside, lates=lates.astype(np.float32))


@lru_cache(maxsize=4)  # a picture is laid over the wall and then compared
def _after(prediction: Prediction, conditions: Conditions) -> Prediction:
    return prediction._after(conditions)


def predict(
    option: Option,
    wall: Wall,
    frame: Frame,
    catalog: Catalog,
    *,
    hazards: Iterable[Hazard] = (),
    state: State = "closed",
    pixel: float = PIXEL,
) -> Prediction:
    """Solve what a wall's room side should look like at every thickness of the usual foam.

    Parameters
    ----------
    option : Option
        As it was sold.
    wall, frame, catalog, hazards
        As `warmside.options.apply` takes them.
    state : "closed" or "open bays"
        With the new finish on, or the foam still to be seen.
    pixel : float
        Side of a pixel of the maps [m].

    Returns
    -------
    Prediction
        A dozen or so solved fields, and one more with wood that conducts better.

    Raises
    ------
    InputError
        An option without foam, or a wall without a bay that can be judged.
    """
    if not option.foam:
        allowed = "an option with foam; what is left as found has nothing to prove"
        raise InputError([Fault(f'option "{option.id}"', "no foam", allowed)])
    built = _Built(option, wall, frame, catalog, tuple(hazards), state)
    steps = _steps(option, frame)
    x, z = _centres(frame.length, pixel), _centres(frame.height, pixel)
    bay, seen = _bays(frame, x, z), _seen(frame, x, z)
    core = _cores(frame, wall, bay, seen, (x, z))
    nearest, across, own = _neighbours(frame, bay)
    if not core.any():
        raise InputError([Fault(f'wall "{wall.name}"', "no bay wide enough", "bays to look at")])
    sure = built.planned(x, z)
    first = _turns(frame)[nearest] == 0
    levels = [
        (sure, sure) if abs(t - option.thickness) < 1e-6 else built.levels(t, x, z)
        for t in steps.tolist()
    ]  # fmt: skip
    strips = tuple(built.strip(t) for t in steps.tolist())
    places = strips[0].usual.places
    return Prediction(
        wall=wall,
        frame=frame,
        option=option,
        thicknesses=steps,
        x=x,
        z=z,
        factor=np.stack([np.where(first, *both) for both in levels]),
        beside=np.stack([np.where(first, *both[::-1]) for both in levels]) - sure,
        wood=built.planned(x, z, wood=1.0 + WOOD_DOUBT) - sure,
        seen=seen,
        bay=bay,
        nearest=nearest,
        across=across,
        own=own,
        core=core,
        reference=_reference(frame, x, z) & seen,
        middle=np.array([float(np.median(np.where(first, *both)[core])) for both in levels]),
        place=_places(bay, places, float(x[1] - x[0])),
        strips=strips,
        lates=np.zeros((5, steps.size, places.size), np.float32),
    )


@dataclass(frozen=True)
class _Built:
    """A wall as it may have been built, and its fields."""

    option: Option
    wall: Wall
    frame: Frame
    catalog: Catalog
    hazards: tuple[Hazard, ...]
    state: State

    def planned(self, x: Floats, z: Floats, wood: float = 1.0) -> Map:
        """Factor of the wall as planned, its wood conducting ``wood`` times as well."""
        built = apply(self.option, self.wall, self.frame, self.catalog, self.hazards)
        return self._solved(conducting(usual_foam(built, self.catalog), wood, "wood"), x, z)

    def levels(self, thickness: float, x: Floats, z: Floats) -> tuple[Map, Map]:
        """Factors where every other bay holds ``thickness`` and its neighbours what was planned,
        and the other way round."""
        first = _turns(self.frame) == 0
        return (
            self._solved(self._holding(thickness, first), x, z),
            self._solved(self._holding(thickness, ~first), x, z),
        )

    def strip(self, thickness: float) -> Strip:
        """From the usual stud to the usual bay, all bays holding ``thickness``."""
        build_up = self._holding(thickness, np.ones(len(self.frame.bays), bool))
        return Strip.of(*strip_of(build_up.stacks, self.frame), self.state)

    def _holding(self, thickness: float, which: npt.NDArray[np.bool_]) -> BuildUp:
        foam = {b.name: thickness for b, own in zip(self.frame.bays, which, strict=True) if own}
        built = as_built(self.option, self.wall, self.frame, self.catalog, foam, self.hazards)
        return usual_foam(built, self.catalog)

    def _solved(self, build_up: BuildUp, x: Floats, z: Floats) -> Map:
        field = wall_field(build_up.assembly, state=self.state, cells=CELLS, tolerance=TOLERANCE)
        return resampled(wall_heat(field), x, z)


def strip_of(stacks: Sequence[Stack], frame: Frame) -> tuple[Stack, Stack, tuple[float, float]]:
    """The usual stud and the usual bay of a wall, and their widths [m]."""
    bay = max((s for s in stacks if s.kind == "bay"), key=lambda s: s.area)
    wood = max((s for s in stacks if s.kind in REFERENCE), key=lambda s: s.area, default=bay)
    wide = float(np.median([min(r.width, r.height) for r in wood.rects]))
    return wood, bay, (wide, _usual_width(frame))


def _usual_width(frame: Frame) -> float:
    widths = sorted(b.rect.width for b in frame.bays)
    return widths[len(widths) // 2]


def _places(bay: npt.NDArray[np.int16], places: Floats, pixel: float) -> npt.NDArray[np.int16]:
    """The place of a strip that every pixel is most like, by its distance from the wood's edge."""
    from scipy.ndimage import distance_transform_edt

    within = np.asarray(distance_transform_edt(np.pad(bay >= 0, 1)))[1:-1, 1:-1] * pixel
    wood = np.asarray(distance_transform_edt(bay < 0)) * pixel
    away = np.where(bay >= 0, within, -wood) - np.where(bay >= 0, 0.5, -0.5) * pixel
    cuts = (places[1:] + places[:-1]) / 2.0
    return np.searchsorted(cuts, away).astype(np.int16)


def _turns(frame: Frame) -> npt.NDArray[np.int_]:
    """0 or 1 for every bay, so that bays side by side differ; those above each other are alike."""
    middles = np.array([(bay.rect.x0 + bay.rect.x1) / 2.0 for bay in frame.bays])
    order = np.argsort(middles, kind="stable")
    turns = np.zeros(middles.size, int)
    number, right = 0, -np.inf
    for k in order:
        rect = frame.bays[k].rect
        number, right = (number + 1, rect.x1) if rect.x0 >= right else (number, max(right, rect.x1))
        turns[k] = number % 2
    return turns


def _steps(option: Option, frame: Frame) -> Floats:
    """Thicknesses that are solved [m]: shares of the depth, and the planned one."""
    depth = max(bay.depth for bay in frame.bays)
    steps = np.unique([*(share * depth for share in STEPS), min(option.thickness, depth)])
    near = np.diff(steps, prepend=-1.0) > 2e-3  # two steps so near would tell noise
    return np.asarray(steps[near])


def usual_foam(build_up: BuildUp, catalog: Catalog) -> BuildUp:
    """The same wall of foam as it usually is, where its row has it conduct more."""
    usual = {row.id: USUAL_FOAM[row.family] for row in catalog.foams.values()}

    def better(layer: Layer) -> Layer:
        if layer.role != "foam" or not layer.conductivity:
            return layer
        return replace(layer, conductivity=min(layer.conductivity, usual[layer.material]))

    stacks = (replace(s, layers=tuple(map(better, s.layers))) for s in build_up.stacks)
    return replace(build_up, stacks=tuple(stacks))


def conducting(build_up: BuildUp, times: float, role: Role) -> BuildUp:
    """The same wall whose layers of a ``role`` conduct ``times`` as well."""
    stacks = tuple(changed(stack, (role,), conductivity=times) for stack in build_up.stacks)
    return replace(build_up, stacks=stacks)


def _centres(length: float, pixel: float) -> Floats:
    n = max(2, round(length / pixel))
    return np.asarray((np.arange(n) + 0.5) * length / n)


def resampled(heat: WallHeat, x: Floats, z: Floats) -> Map:
    """Factor of the room side (nz, nx) at places [m], a cubic spline through the field's cells.

    Chords would cut off what is curved: between cells 75 mm wide the middle of a bay would lie
    0.007 K too low at 20 K, and a stud's flanks 0.01 K too high. Openings take the factor of the
    nearest wall, so that their edges stay what they are.
    """
    from scipy.interpolate import CubicSpline
    from scipy.ndimage import distance_transform_edt

    factor = heat.factor.astype(float)
    if not heat.seen.all():
        index = distance_transform_edt(~heat.seen, return_distances=False, return_indices=True)
        factor = factor[tuple(index)]
    for edges, places in ((heat.x, x), (heat.z, z)):
        centres = 0.5 * (edges[1:] + edges[:-1])
        spline = CubicSpline(centres, factor)
        factor = spline(np.clip(places, centres[0], centres[-1])).T
    return np.ascontiguousarray(factor.T, dtype=np.float32)


def _bays(frame: Frame, x: Floats, z: Floats) -> npt.NDArray[np.int16]:
    numbers = {bay.name: n for n, bay in enumerate(frame.bays)}
    found = np.full((z.size, x.size), -1, np.int16)
    for region in frame.regions:
        if region.kind == "bay" and region.part in numbers:
            found[_window(region.rect.z0, region.rect.z1, z), :][
                :, _window(region.rect.x0, region.rect.x1, x)
            ] = numbers[region.part]
    return found


def _window(low: float, high: float, centres: Floats) -> slice:
    return slice(*(int(v) for v in np.searchsorted(centres, (low, high))))


def _seen(frame: Frame, x: Floats, z: Floats) -> npt.NDArray[np.bool_]:
    seen = np.zeros((z.size, x.size), bool)
    for column in frame.outline:
        seen[_window(column.z0, column.z1, z), _window(column.x0, column.x1, x)] = True
    for hole in frame.holes:
        r, m = hole.rect, HOLE_MARGIN
        seen[_window(r.z0 - m, r.z1 + m, z), _window(r.x0 - m, r.x1 + m, x)] = False
    return seen


def _reference(frame: Frame, x: Floats, z: Floats) -> npt.NDArray[np.bool_]:
    """Pixels over sound wood that runs through the depth, away from its ends."""
    found = np.zeros((z.size, x.size), bool)
    for region in frame.regions:
        r = region.rect
        inner = r.x0 > MARGIN and r.x1 < frame.length - MARGIN
        if region.kind in REFERENCE and inner and r.height > 6 * MARGIN:
            found[_window(r.z0 + 2 * MARGIN, r.z1 - 2 * MARGIN, z), _window(r.x0, r.x1, x)] = True
    return found


def _cores(
    frame: Frame,
    wall: Wall,
    bay: npt.NDArray[np.int16],
    seen: npt.NDArray[np.bool_],
    grid: tuple[Floats, Floats],
) -> npt.NDArray[np.bool_]:
    """Where bays show themselves alone."""
    from scipy.ndimage import distance_transform_edt

    x, z = grid
    pixel = float(x[1] - x[0])
    inner = np.asarray(distance_transform_edt(np.pad(bay >= 0, 1)))[1:-1, 1:-1] * pixel
    margin = np.array([_margin(b) for b in frame.bays])
    core = (bay >= 0) & seen & (inner >= np.where(bay >= 0, margin[bay], 0.0))
    for px, pz in [(b.x, b.z) for b in wall.boxes] + [
        (p.x, p.z) for p in wall.pipes if p.run == "through"
    ]:
        core &= (x[None, :] - px) ** 2 + (z[:, None] - pz) ** 2 > DISTURBED**2
    for pipe in wall.pipes:
        if pipe.run == "vertical":
            core &= ((abs(x - pipe.x) > DISTURBED / 2)[None, :]) | (z[:, None] < pipe.z)
    return core


def _neighbours(
    frame: Frame, bay: npt.NDArray[np.int16]
) -> tuple[npt.NDArray[np.int16], npt.NDArray[np.int16], Map]:
    """The bay nearest to every pixel, the nearest of those beside it, and the part of the first."""
    from scipy.ndimage import distance_transform_edt

    turn = np.append(_turns(frame), -1)[bay]
    near, away = [], []
    for one in (0, 1) if (turn == 1).any() else (0, 0):
        distance, index = distance_transform_edt(turn != one, return_indices=True)
        near.append(bay[tuple(index)])
        away.append(np.asarray(distance))
    first = away[0] <= away[1]
    closer, farther = np.where(first, *away), np.where(first, *away[::-1])
    own = farther / np.maximum(closer + farther, 1e-9)
    return np.where(first, *near), np.where(first, *near[::-1]), own.astype(np.float32)


def _margin(bay: Bay) -> float:
    """Distance from the wood round a bay [m]; narrow bays keep their middle third."""
    narrow = min(bay.rect.width, bay.rect.height)
    return float("inf") if narrow < NARROW else min(MARGIN, narrow / 3.0)


def thickness_map(prediction: Prediction, thickness: Mapping[str, float]) -> Floats:
    """Thickness by bay (n_bays,) [m]; the planned one where ``thickness`` names none."""
    planned = prediction.planned
    return np.array(
        [thickness.get(bay.name, t) for bay, t in zip(prediction.frame.bays, planned, strict=True)]
    )
