"""Foam, counted from the spaces that it fills."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import groupby

from warmside.catalog import Foam, Source
from warmside.estimate.arithmetic import board_feet, theoretical_yield
from warmside.framing import Frame, Region
from warmside.geometry import Rect, RegionKind
from warmside.options import BuildUp, Quantity
from warmside.physics.assembly import Stack
from warmside.units import BOARD_FOOT
from warmside.wording import Figure, Sentence, counted, joined, listed, say

GEOMETRY = Source("geometry of the framing", "computed")
_MM = 1000.0
# where framing breaks a bay up, spraying loses more
_BROKEN = {"brace", "block", "header", "floor line", "pocket"}


@dataclass(frozen=True)
class Fill:
    """Foam in one region of the wall."""

    part: str  # bay or member it lies in
    foam: str  # catalog id
    area: float  # [m2]
    thickness: float  # [m]
    in_bay: bool  # in a bay proper, not before a brace, block, ribbon or furred stud
    small: bool  # a small bay or obstructed place: more waste

    @cached_property
    def board_feet(self) -> float:
        """Net volume [board ft]."""
        return board_feet(self.area, self.thickness)


def foam_fills(buildup: BuildUp) -> tuple[Fill, ...]:
    """Each rectangle of the wall that takes foam, and how thick.

    The stacks of the build-up say where foam lies; wood, braces and pockets out of reach take
    none, and in front of a brace it is as thick as the brace leaves it.

    Parameters
    ----------
    buildup : BuildUp
        An option applied to a wall.

    Returns
    -------
    tuple of Fill
        One for every rectangle and foam [m2, m].
    """
    frame = buildup.frame
    find = _regions_of(frame)
    open_bays = {bay.name for bay in frame.bays if bay.kind == "stud bay"}
    fills = []
    for stack in buildup.stacks:
        for foam, thickness in _foam_thickness(stack).items():
            for rect in stack.rects:
                part = find.part(rect, stack.kind)
                small = stack.kind in _BROKEN or (stack.kind == "bay" and part not in open_bays)
                fills.append(Fill(part, foam, rect.area, thickness, stack.kind == "bay", small))
    return tuple(fills)


def _foam_thickness(stack: Stack) -> dict[str, float]:
    """Thickness [m] of each foam in the stack, its slices added."""
    thickness: dict[str, float] = {}
    for layer in stack.layers:
        if layer.role == "foam":
            thickness[layer.material] = thickness.get(layer.material, 0.0) + layer.thickness
    return thickness


class _Regions:
    """Which region a rectangle of a stack lies in."""

    def __init__(self, regions: tuple[Region, ...]) -> None:
        self.of_kind: dict[str, list[Region]] = {}
        for region in regions:
            self.of_kind.setdefault(region.kind, []).append(region)
        self.known = {(region.kind, region.rect): region.part for region in regions}

    def part(self, rect: Rect, kind: RegionKind) -> str:
        """Name of the bay or member; the kind where no region holds the rectangle."""
        key = kind, rect
        if key not in self.known:
            self.known[key] = self._around(rect, kind)
        return self.known[key]

    def _around(self, rect: Rect, kind: RegionKind) -> str:
        x, z = (rect.x0 + rect.x1) / 2, (rect.z0 + rect.z1) / 2
        for region in self.of_kind.get(kind, ()):
            r = region.rect
            if r.x0 <= x <= r.x1 and r.z0 <= z <= r.z1:
                return region.part
        return kind


@lru_cache(maxsize=8)  # the walls of a house
def _regions_of(frame: Frame) -> _Regions:
    """The regions of a frame, and what was found in them by the options before."""
    return _Regions(frame.regions)


def foam_quantities(fills: tuple[Fill, ...], foam: Foam) -> tuple[Quantity, ...]:
    """Board feet net and with waste, passes, waiting, drums, litres and kilograms.

    Waste covers what creeps up the stud sides, overspray and trimming; it is the foam's own
    factor for open bays, and a larger one for small or obstructed bays.

    Parameters
    ----------
    fills : tuple of Fill
        Foam by region; only those of ``foam`` count.
    foam : Foam
        Row of the catalog.

    Returns
    -------
    tuple of Quantity
        The first is net, the second, with waste, is the one that is priced.
    """
    own = tuple(fill for fill in fills if fill.foam == foam.id)
    if not own:
        return ()
    net = sum(fill.board_feet for fill in own)
    small = sum(fill.board_feet for fill in own if fill.small)
    gross = net + (net - small) * foam.waste_open_bays + small * foam.waste_small_bays
    family = foam.family.replace("-", "_")
    return (
        Quantity(
            f"foam_net:{foam.id}",
            f"{foam.name}, net",
            net,
            "board ft",
            say("{parts}; in all {net}", parts=_by_thickness(own), net=_foam(net)),
            GEOMETRY,
            priced=False,
        ),
        Quantity(
            f"foam_{family}:{foam.id}",
            f"{foam.name}, with waste",
            gross,
            "board ft",
            say("{net} net, {waste}", net=_foam(net), waste=_waste(own, foam)),
            foam.source_use,
        ),
        *_worked(own, foam),
        *_passes(own, foam),
        *_drums(gross, foam),
    )


def _worked(fills: tuple[Fill, ...], foam: Foam) -> tuple[Quantity, ...]:
    """What hours follow beside the foam itself: places to prove, passes beyond the first."""
    area = sum(fill.area for fill in fills if fill.in_bay)
    lines = [
        Quantity(f"sprayed_area:{foam.id}", "Bays to probe and photograph", area, "m2",
                 say("{area} of bays", area=Figure(area, "area")), GEOMETRY, priced=False)
    ]  # fmt: skip
    again = sum(f.board_feet * (1 - 1 / n) for f in fills if (n := foam.passes(f.thickness)) > 1)
    if again > 0:
        how = say("{foam} in passes after the first", foam=_foam(again))
        lines.append(
            Quantity(f"later_passes:{foam.id}", "Later passes", again, "board ft", how, GEOMETRY,
                     priced=False)
        )  # fmt: skip
    return tuple(lines)


def _foam(board_feet: float) -> Figure:
    return Figure(board_feet * BOARD_FOOT, "foam")


def _by_thickness(fills: tuple[Fill, ...]) -> Sentence:
    def deep(fill: Fill) -> float:
        return round(fill.thickness * _MM, 1)

    words = []
    for mm, group in groupby(sorted(fills, key=deep, reverse=True), key=deep):
        same = tuple(group)
        area = sum(fill.area for fill in same)
        bf = sum(fill.board_feet for fill in same)
        words.append(
            say(
                "{places}, {area} × {thickness} = {foam}",
                places=_places(same),
                area=Figure(area, "area"),
                thickness=Figure(mm / _MM, "length"),
                foam=_foam(bf),
            )
        )
    return joined(words, "; ")


def _places(fills: tuple[Fill, ...]) -> str:
    """So many bays, and so many places where framing stands before or behind the foam."""
    words = []
    for in_bay, noun in ((True, "bay"), (False, "obstructed place")):
        count = len({fill.part for fill in fills if fill.in_bay is in_bay})
        if count:
            words.append(counted(count, noun))
    return listed(words)


def _waste(fills: tuple[Fill, ...], foam: Foam) -> Sentence:
    words = []
    for small, share in ((False, foam.waste_open_bays), (True, foam.waste_small_bays)):
        some = tuple(fill for fill in fills if fill.small is small)
        if some:
            bf = sum(fill.board_feet for fill in some)
            words.append(
                say(
                    "+{share} waste on {foam} ({kind}: {places})",
                    share=Figure(share, "share"),
                    foam=_foam(bf),
                    kind="small" if small else "open",
                    places=_places(some),
                )
            )
    return joined(words, ", ")


def _passes(fills: tuple[Fill, ...], foam: Foam) -> tuple[Quantity, ...]:
    deepest = max(fill.thickness for fill in fills)
    count = foam.passes(deepest)
    hours = (count - 1) * foam.wait_between_passes / 3600
    lines = [
        Quantity(
            f"passes:{foam.id}",
            "Passes at the thickest place",
            count,
            "each",
            say(
                "{deep} in passes of {most} at most: {count} of {each}",
                deep=Figure(deepest, "length"),
                most=Figure(foam.pass_max, "length"),
                count=str(count),
                each=Figure(deepest / count, "length"),
            ),
            foam.source_use,
            priced=False,
        )
    ]
    if count > 1:
        lines.append(
            Quantity(
                f"waiting:{foam.id}",
                "Waiting between passes, at least",
                hours,
                "h",
                say(
                    "{count} × {wait} at any one place; the maker's sheet governs",
                    count=str(count - 1),
                    wait=Figure(foam.wait_between_passes, "time"),
                ),
                foam.source_use,
                priced=False,
            )
        )
    return tuple(lines)


def _drums(gross: float, foam: Foam) -> tuple[Quantity, ...]:
    volume = gross * BOARD_FOOT
    mass = volume * foam.in_place_density
    sets = mass / foam.set_mass
    best = theoretical_yield(foam.set_mass, foam.in_place_density)
    density = Figure(foam.in_place_density, "density")
    rows = (
        ("foam_litres", "Foam in place", volume * 1000, "L", say("{foam}", foam=_foam(gross))),
        (
            "foam_kg",
            "Liquid used",
            mass,
            "kg",
            say(
                "{volume} at {density} in place",
                volume=Figure(volume, "volume"),
                density=density,
            ),
        ),
        (
            "drum_sets",
            "Drum sets",
            sets,
            "set",
            say(
                "{mass} of {set} a set ({best} without loss); open {count} whole",
                mass=Figure(mass, "mass"),
                set=Figure(foam.set_mass, "mass"),
                best=_foam(best),
                count=str(math.ceil(sets - 1e-9)),
            ),
        ),
    )
    return tuple(
        Quantity(f"{key}:{foam.id}", name, amount, unit, how, foam.source_use, priced=False)
        for key, name, amount, unit, how in rows
    )
