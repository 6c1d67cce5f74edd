"""Fibre blown densely into closed bays through drilled holes, from outside or from the room."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Literal

from warmside.catalog import Catalog, Source
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.options import _judge
from warmside.options._layers import NEW_PAINT, row_of
from warmside.options._option import BuildUp, Case, Job, Kind, Opened, Option, Place, Refusal
from warmside.options._work import BROKEN, Gate, Quantity, Step, Task
from warmside.options.kinds import _steps, _tasks
from warmside.survey import Wall, Wanted
from warmside.wording import Figure, Sentence, counted, joined, lowered, plain, say

Side = Literal["outside", "stucco", "room"]
# Fibres that hold their place when they are blown this dense; rows of the catalog.
FIBRES = ("cellulose-dense", "glass-fibre-dense", "mineral-wool-dense")
REACH = 2.4384  # [m] of bay that a tube fills from one hole, half of it each way
HOLE = 0.0635  # [m] across, 2-1/2 in
PATCH = 0.15  # [m] square that is filled and sanded round a hole in a finish
COURSE = 0.20  # [m] height of a siding course with its lap
SPILT = 0.05  # [-] of fibre that ends on the ground
BAG = 11.34  # [kg], 25 lb
FLOOR = 1.8  # [m] of floor covered before the wall
_OBSTRUCTED = ("block", "brace")  # kinds of region that a tube is not pushed past
# Siding whose course can be lifted and put back.
_LIFTED = (
    "wood-bevel-siding", "wood-drop-siding", "wood-shingles", "vinyl-siding", "aluminium-siding",
    "hardboard-siding", "insulating-siding",
)  # fmt: skip
# Claddings through which it is blown from outside; their rows of the catalog.
_THROUGH: Mapping[Side, tuple[str, ...]] = {"outside": _LIFTED, "stucco": ("stucco",)}
# Gypsum board that stands the pressure: 1/2 in at studs 16 in on centre, 5/8 in above.
_BOARD, _WIDE_BOARD, _WIDE = 0.0127, 0.0159, 0.42  # [m]
_WIRES = ("knob-and-tube wiring", "energised old wiring")

_HOLES = Source(
    "One hole of 2-1/2 in at mid-bay with a filler tube: weatherization field guide of the state "
    "of Utah; another beyond each block or brace: common practice",
    "published",
)
_FILLED = Source("geometry of the framing; density of the fibre's row", "computed")
_LIFT = Source("a course of siding lifted at each hole, one part in seven breaks",
               "common practice")  # fmt: skip
_PAINTED = Source("a patched wall is painted corner to corner", "common practice")
_RENDERED = Source("one patch of mortar a hole, textured to match", "common practice")
_COVERED = Source("floor covered 1.8 m out from the wall", "common practice")

_DRILL = Task("drill", "Drill and plug", "drill_hole", "each", "drill")
_LOOK = Task("look", "Look into the bays", "look_bay", "each", "look")
_COUNT = Task("count", "Count and look again", "wall_area", "m2", "count")
_BLOW = Task("dense_fill", "Blow fibre", "dense_fill", "kg", "pack")


@dataclass(frozen=True)
class DensePack(Kind):
    """Finish, sheathing and cladding stay; only holes are made, filled through and closed."""

    side: Side
    opened: ClassVar[Opened] = Opened()
    takes: ClassVar[frozenset[str]] = frozenset({"fill"})

    def usual(self, place: Place) -> Iterable[Wanted]:
        """Where the bays are empty and closed, from the side that can be drilled."""
        found = place.wall.found
        closed = found.finish and found.sheathing and not found.fill
        known = FIBRES[0] in place.catalog.materials
        reached = _is_through(self.side, place.wall)
        if self.side == "room":  # nobody opens a room where courses can be lifted
            reached = not _is_through("outside", place.wall)
        if closed and known and reached:
            yield Wanted(kind=self.name)

    def misfits(self, given: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
        """Foam is named apart: sprayed through holes it does harm."""
        for key, read, allowed in super().misfits(given):
            told = (
                "fill, a fibre: foam sprayed into a closed bay overheats, pushes finish and siding "
                "off, and leaves voids that nobody sees"
            )
            yield key, read, told if key == "foam" else allowed

    def option(self, asked: Wanted, place: Place) -> Option:
        """The whole depth of every bay; joints stay as they are behind closed faces."""
        fill = asked.fill or FIBRES[0]
        row = row_of(place.catalog.materials, "material", fill)
        if fill not in FIBRES:
            where = f'option "{self.name}" of wall "{place.wall.name}", fill'
            raise InputError([Fault(where, f"'{fill}'", " or ".join(FIBRES))])
        said = say(
            "{deep} of {fibre}, blown in from {side}",
            deep=Figure(place.depth, "size"),
            fibre=lowered(row.name),
            side=self._called,
        )
        return Option(
            id="-".join(["dense", self.side, *([fill] if fill != FIBRES[0] else [])]),
            name=str(said),
            said=said,
            kind=self,
            fill=fill,
        )

    @property
    def _called(self) -> str:
        return {
            "outside": "outside", "stucco": "outside through the stucco", "room": "the room"
        }[self.side]  # fmt: skip

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """What must not be buried, what must not be wet, what cannot be filled or would give."""
        yield from _wires(case)
        yield from _wet(case)
        yield from _full(case)
        yield from _nothing_to_hold(case)
        yield from _face(case, self.side)

    def cautions(self, case: Case) -> Iterator[str]:
        """Ends, ducts, lights, chimneys; and that no joint is sealed."""
        yield from _judge.moisture(case)
        yield from _judge.vapour(case)
        if any(bay.open_at for bay in case.frame.bays):
            yield "Bays run on into floor, basement or attic: close their ends, or fibre runs out."
        if any(pipe.kind in ("duct", "vent") for pipe in case.wall.pipes):
            yield "A duct or vent in this wall: its bay is left out, 3 in (76 mm) clear of a flue."
        if any(box.kind == "recessed light" for box in case.wall.boxes):
            yield "A recessed light: its bay is left out unless it is listed for contact."
        yield "Joints between wood stay as they are: fibre slows air, it does not stop it."
        yield from _judge.dangers(case)

    def disturbs(self, build_up: BuildUp) -> tuple[float, bool]:
        """Lifted courses or patches outside, patches inside."""
        if self.side == "outside":
            return _lifted(build_up.frame) * COURSE, False
        return _holes(build_up.frame) * PATCH**2, self.side == "room"

    def counted(self, build_up: BuildUp, wall: Wall, catalog: Catalog) -> tuple[Quantity, ...]:
        """Holes, fibre by mass, and what the side it is done from takes."""
        frame = build_up.frame
        own = _inside(frame, catalog)
        if self.side != "room":
            own = (_rendered(frame),) if self.side == "stucco" else _outside(frame, wall)
        return (_looked_into(frame), *own, _drilled(frame), _fibre(build_up, catalog))

    def steps(self, job: Job) -> tuple[Step, ...]:
        """Looked into and dry before it is filled; counted before the holes are closed."""
        first, close = {
            "outside": (_lift, _close_outside),
            "stucco": (_core, _close_stucco),
            "room": (_protect, _close_inside),
        }[self.side]
        return (
            *_steps.ready(job),
            _look(job),
            _dry(job),
            first(),
            _drill(job.build_up.frame),
            _pack(job),
            _count(job),
            close(),
            _steps.clear_up(),
        )


@dataclass(frozen=True)
class FromOutside(DensePack):
    """Through the sheathing behind a lifted course of siding."""

    name: ClassVar[str] = "dense-pack from outside"
    meaning: ClassVar[str] = "fibre blown into closed bays, drilled behind lifted siding"
    brief: ClassVar[str] = "fibre blown in from outside"
    tasks: ClassVar[tuple[Task, ...]] = (
        Task("course", "Lift siding and put it back", "course", "m", "lift"),
        _LOOK,
        _DRILL,
        _BLOW,
        _COUNT,
        *_tasks.CLEAR_UP,
    )
    bought: ClassVar[Mapping[str, str]] = MappingProxyType(
        {"drill_hole": "each", "dense_fill": "kg"}
    )
    side: Side = "outside"


@dataclass(frozen=True)
class ThroughStucco(DensePack):
    """Through stucco and sheathing, both closed behind the fibre."""

    name: ClassVar[str] = "dense-pack through stucco"
    meaning: ClassVar[str] = "fibre blown into closed bays, drilled through stucco"
    brief: ClassVar[str] = "fibre blown in through the stucco"
    tasks: ClassVar[tuple[Task, ...]] = (
        Task("core", "Core the stucco", "stucco_patch", "each", "core"),
        _LOOK,
        _DRILL,
        _BLOW,
        _COUNT,
        Task("stucco_patch", "Fill and texture stucco", "stucco_patch", "each", "close"),
        *_tasks.CLEAR_UP,
    )
    bought: ClassVar[Mapping[str, str]] = MappingProxyType(
        {"drill_hole": "each", "dense_fill": "kg", "stucco_patch": "each"}
    )
    side: Side = "stucco"

    def cautions(self, case: Case) -> Iterator[str]:
        """What the owner sees afterwards, beside what holds from any side."""
        yield "Patches in stucco show unless the whole wall is coated; a coating is not priced."
        yield from super().cautions(case)


@dataclass(frozen=True)
class FromRoom(DensePack):
    """Through the inside finish, patched and painted after."""

    name: ClassVar[str] = "dense-pack from room"
    meaning: ClassVar[str] = "fibre blown into closed bays, drilled through the inside finish"
    brief: ClassVar[str] = "fibre blown in from the room"
    tasks: ClassVar[tuple[Task, ...]] = (
        Task("protect", "Cover floor and furniture", "protection", "m2", "protect"),
        _LOOK,
        _DRILL,
        _BLOW,
        _COUNT,
        Task("patch", "Fill and sand patches", "patch", "each", "close"),
        Task("paint", "Paint", "paint", "m2", "close"),
        *_tasks.CLEAR_UP,
    )
    bought: ClassVar[Mapping[str, str]] = MappingProxyType(
        {"drill_hole": "each", "dense_fill": "kg", "protection": "m2"}
    )
    side: Side = "room"


FROM_OUTSIDE = FromOutside()
THROUGH_STUCCO = ThroughStucco()
FROM_ROOM = FromRoom()


def _wires(case: Case) -> Iterator[Refusal]:
    for hazard in case.hazards:
        if hazard.kind in _WIRES:
            yield Refusal(
                f"{hazard.kind.capitalize()}, {hazard.state} ({hazard.where}): buried in fibre it "
                "cannot give off its heat.",
                "A licensed electrician takes it out of use, or certifies it, in writing first.",
                hazard.kind,
            )


def _wet(case: Case) -> Iterator[Refusal]:
    water = [h for h in case.hazards if h.kind in ("rot", "bulk water")]
    if case.wet or water:
        what = water[0].kind if water else "water in wood or fill"
        yield Refusal(
            f"{what.capitalize()} was found: fibre in a closed bay holds it against the wood, out "
            "of sight.",
            "Stop the source, mend, and dry the wood below 19 %, read in the bay, before filling.",
        )


def _full(case: Case) -> Iterator[Refusal]:
    found = case.wall.found
    if found.fill:
        yield Refusal(
            f"The bays hold {found.fill} already ({found.fill_state}): a tube does not pass it, "
            "and voids would stay that nobody sees.",
            "Leave a sound fill alone; take a poor one out by opening the wall.",
        )


def _nothing_to_hold(case: Case) -> Iterator[Refusal]:
    found = case.wall.found
    if not found.finish:
        yield Refusal(
            "No inside finish closes the bays: nothing holds the fibre at its density.",
            "Fill open bays with batts or foam, or close them first.",
        )
    if not found.sheathing:
        yield Refusal(
            "No sheathing was found: fibre pushes the siding off its nails and lies against wood "
            "that rain reaches, without a drainage plane.",
            "Open the wall from outside, with new sheathing and paper.",
        )
    boards = [layer for layer in found.finish if layer.material == "gypsum-board"]
    deep = sum(layer.thickness or _BOARD for layer in boards)
    needed = _WIDE_BOARD if case.wall.spacing > _WIDE else _BOARD
    if boards and deep < needed - 5e-4:
        yield Refusal(
            f"{_judge.thick(deep)} of gypsum board bulges under the pressure at studs "
            f"{_judge.thick(case.wall.spacing)} apart.",
            f"{_judge.thick(needed)} of board at least, or batts or foam in the opened wall.",
        )


def _is_through(side: Side, wall: Wall) -> bool:
    cladding = wall.found.cladding
    return cladding is not None and cladding.material in _THROUGH.get(side, ())


def _face(case: Case, side: Side) -> Iterator[Refusal]:
    cladding = case.wall.found.cladding
    what = cladding.material if cladding else "no cladding that was noted"
    if side == "outside" and not _is_through(side, case.wall):
        yield Refusal(
            f"Outside is {what}: no course of it can be lifted and put back over the holes.",
            "Drill from the room, or leave this side to the trade that lays it.",
        )
    if side == "stucco" and not _is_through(side, case.wall):
        yield Refusal(
            f"Outside is {what}, not stucco: mortar does not close a hole in it against rain.",
            "Lift its courses, or drill from the room.",
        )
    if any(hazard.kind == "asbestos" for hazard in case.hazards):
        yield Refusal(
            "Asbestos is suspected or found: nothing is drilled before it is cleared.",
            "Have a sample read, and a licensed firm take it out if it holds any.",
        )


def _holes_in(frame: Frame) -> Iterator[tuple[int, float]]:
    """For each bay, its holes [-] and its width [m]."""
    for bay in frame.bays:
        kinds = {
            region.kind
            for region in frame.regions
            if region.part == bay.name and region.kind in _OBSTRUCTED
        }
        yield math.ceil(bay.rect.height / REACH - 1e-9) + len(kinds), bay.rect.width


def _holes(frame: Frame) -> int:
    return sum(holes for holes, _ in _holes_in(frame))


def _lifted(frame: Frame) -> float:
    return sum(holes * width for holes, width in _holes_in(frame))


def _looked_into(frame: Frame) -> Quantity:
    number = max(2, math.ceil(len(frame.bays) / 10))
    how = say("one of {bays} in ten, two at least", bays=counted(len(frame.bays), "bay"))
    return Quantity("look_bay", "Bays to look into", float(number), "each", how, _HOLES,
                    priced=False)  # fmt: skip


def _drilled(frame: Frame) -> Quantity:
    count = _holes(frame)
    more = count - sum(math.ceil(bay.rect.height / REACH - 1e-9) for bay in frame.bays)
    how = say(
        "{bays}, one hole for every {reach} of height begun{more}",
        bays=counted(len(frame.bays), "bay"),
        reach=Figure(REACH, "length"),
        more=f", {more} more beyond blocks and braces" if more else "",
    )
    return Quantity("drill_hole", "Holes to drill and plug", count, "each", how, _HOLES)


def _volume(build_up: BuildUp) -> float:
    """Space that is filled [m3]."""
    return sum(
        stack.area * layer.thickness
        for stack in build_up.stacks
        for layer in stack.layers
        if layer.role == "fill"
    )


def _density(build_up: BuildUp) -> float:
    """Of the fibre in place [kg/m3]."""
    return next(x.density for s in build_up.stacks for x in s.layers if x.role == "fill")


def _fibre(build_up: BuildUp, catalog: Catalog) -> Quantity:
    row = catalog.materials[build_up.option.fill or ""]
    volume = _volume(build_up)
    mass = volume * row.density * (1.0 + SPILT)
    how = say(
        "{volume} of bays × {density} +{spilt} spilt; {bags} bags of {bag}",
        volume=Figure(volume, "volume"),
        density=Figure(row.density, "density"),
        spilt=Figure(SPILT, "share"),
        bags=Figure(mass / BAG, "number"),
        bag=Figure(BAG, "mass"),
    )
    return Quantity(f"dense_fill:{row.id}", row.name, mass, "kg", how, _FILLED)


def _outside(frame: Frame, wall: Wall) -> tuple[Quantity, ...]:
    metres = _lifted(frame)
    how = say("{holes}, the width of its bay at each", holes=counted(_holes(frame), "hole"))
    lifted = Quantity(
        "course", "Siding to lift and put back", metres, "m", how, _LIFT, priced=False
    )
    if wall.found.cladding is None:
        return (lifted,)
    how = say(
        "{metres} × {course} × {share} broken",
        metres=Figure(metres, "span"),
        course=Figure(COURSE, "length"),
        share=Figure(BROKEN, "share"),
    )
    name, key = "New cladding to match, for what breaks", f"cladding:{wall.found.cladding.material}"
    return lifted, Quantity(key, name, metres * COURSE * BROKEN, "m2", how, _LIFT)


def _rendered(frame: Frame) -> Quantity:
    how = plain("one a hole")
    name = "Patches of stucco to fill and texture"
    return Quantity("stucco_patch", name, _holes(frame), "each", how, _RENDERED)


def _inside(frame: Frame, catalog: Catalog) -> tuple[Quantity, ...]:
    area, paint = frame.net_area, catalog.materials[NEW_PAINT]
    floor = say(
        "{length} of wall × {out}",
        length=Figure(frame.length, "span"),
        out=Figure(FLOOR, "length"),
    )
    whole = say("{area}, the whole wall", area=Figure(area, "area"))
    return (
        Quantity("protection", "Floor and furniture to cover", frame.length * FLOOR, "m2", floor,
                 _COVERED),
        Quantity("patch", "Patches to fill and sand", _holes(frame), "each", plain("one a hole"),
                 _PAINTED, priced=False),
        Quantity(f"paint:{NEW_PAINT}", paint.name, area, "m2", whole, _PAINTED),
    )  # fmt: skip


def _look(job: Job) -> Step:
    lines: list[str | Sentence] = [
        "One bay in ten, two on each side of the house at least, through a small hole with a "
        "borescope: empty, and no wire, duct, flue, water or old fill in it.",
        "Blocks, braces and sills sounded and marked; a hole is set beyond each.",
        "Finish and siding fast: loose plaster or board is braced or mended first.",
    ]
    ends = sorted({end for bay in job.build_up.frame.bays for end in bay.open_at})
    if ends:
        lines.append(
            say(
                "Open ends of bays ({ends}) closed before anything is blown.",
                ends=joined(ends, ", "),
            )
        )
    if job.build_up.frame.pockets:
        lines.append("Pockets of the list are not drilled: they stay as they were found.")
    gate = Gate(
        "crew lead; a licensed electrician for old wiring",
        "Empty, closed at its ends, nothing in it that must not be buried. What is new stops here.",
    )
    return Step("look", "Look into the bays", tuple(lines), gate)


def _dry(job: Job) -> Step:
    lines: list[str | Sentence] = [
        "Long pins through the first holes: sheathing and bottom plate of every third bay, "
        "below every window, at every stain."
    ]
    lines += [_steps.survey_read(r) for r in job.wall.readings]
    gate = Gate("crew lead", _steps.all_dry(job), reads="dry")
    return Step("dry", "Read the wood", tuple(lines), gate)


def _lift() -> Step:
    lines = (
        "One course lifted along each row of holes, numbered, nails drawn, none of it forced; the "
        "paper cut as a flap that laps back over the hole.",
        "Painted siding of an old house: dust and chips contained, as the lead rule asks.",
    )
    return Step("lift", "Lift the siding", lines, Gate("crew lead", "Lifted whole; flaps cut."))


def _core() -> Step:
    lines = (
        "Stucco cored dry at each hole with a core bit, dust drawn off at the bit by a HEPA "
        "vacuum, lungs and eyes covered: its dust holds silica.",
        "Metal lath cut round, not torn; the paper behind cut as a flap that laps back down over "
        "the hole.",
        "Stucco that sounds hollow is not drilled: its trade mends it first.",
    )
    gate = Gate("crew lead", "No crack runs from a hole; flaps cut.")
    return Step("core", "Core the stucco", lines, gate)


def _protect() -> Step:
    lines = (
        "Floor and furniture covered, doors and registers closed off, a vacuum at every hole.",
        "Old paint: dust contained, as the lead rule asks.",
    )
    return Step("protect", "Cover the room", lines, Gate("crew lead", "Covered; ducts closed off."))


def _drill(frame: Frame) -> Step:
    lines = (
        say(
            "{holes} of 2-1/2 in: at mid-height of each bay, more in a tall one, one beyond each "
            "block or brace, one below each sill and over each header.",
            holes=Figure(_holes(frame), "count", noun="hole"),
        ),
        "Depth stop set; boxes, pipes and cables found first with a detector.",
    )
    gate = Gate("crew lead", "A probe finds every bay open to its ends, or its block marked.")
    return Step("drill", "Drill", lines, gate)


def _pack(job: Job) -> Step:
    option = job.build_up.option
    lines = (
        "Tube to within 12 in of each end of the bay, drawn back as the fibre stops; bays next to "
        "it watched.",
        say(
            "At {density} in place or more; what is loose at the hole is packed again.",
            density=Figure(_density(job.build_up), "density"),
        ),
        "Finish and siding watched all the time: what bulges stops the machine.",
        "Eyes and lungs covered by the sheet of the fibre; nobody in a room that dust reaches.",
    )
    machine = "80 in of water (20 kPa)" if option.fill == FIBRES[0] else "what its maker asks"
    asks = say("Machine read at {pressure} or more, hose closed, today.", pressure=machine)
    gate = Gate("whoever blows", asks, before=True)
    return Step("pack", "Blow to density", lines, gate)


def _count(job: Job) -> Step:
    mass = _volume(job.build_up) * _density(job.build_up)
    lines = (
        say(
            "The bays of this wall hold {mass}. Mass blown, by empty bags: 0.95 to 1.2 of it. "
            "Below 0.9, search for the bay that was missed.",
            mass=Figure(mass, "mass"),
        ),
        say(
            "A thermal camera over the whole wall when it is {colder} colder outside; each cold "
            "bay is drilled again.",
            colder=Figure(10.0, "difference"),
        ),
    )
    return Step("count", "Count and look again", lines, Gate("crew lead", "Mass told; no void."))


def _close_outside() -> Step:
    lines = (
        "Plugs driven and sealed flush; flaps of paper lapped back and taped.",
        "Siding back on its old nail line, what broke replaced to match, cut ends painted.",
    )
    return Step("close", "Close outside", lines, Gate("crew lead", "Water runs out, not in."),
                "Counted with lifting and drilling.")  # fmt: skip


def _close_stucco() -> Step:
    lines = (
        "Plugs driven into the sheathing and sealed flush; flaps of paper lapped back and taped; "
        "the lath tied across.",
        "Mortar in two coats, the first one roughened and damp-cured for a day; the last textured "
        "and tinted to match. Above 40 °F (5 °C) until it has set, and out of rain and sun.",
    )
    gate = Gate("crew lead", "Flush and hard; no crack round a patch.")
    return Step("close", "Close the stucco", lines, gate)


def _close_inside() -> Step:
    lines = (
        "Plugs glued, filled flush in two coats, sanded under a vacuum.",
        "Primed, and painted corner to corner.",
    )
    return Step("close", "Close inside", lines, Gate("crew lead", "Flat and whole under a light."))
