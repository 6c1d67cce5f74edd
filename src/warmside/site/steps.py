"""The order of the work on one wall, each step with its gate: who signs, what is read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.catalog import Catalog
from warmside.options import BuildUp
from warmside.survey import Hazard, Wall

Sealing = Literal["before", "after"]
Reads = Literal["", "dry", "spray", "quality"]

# Both reasons stand beside the choice; the contractor decides.
WHY_SEALING: dict[Sealing, str] = {
    "before": "Sealant bonds to bare, clean, dry wood, and the joints are all in sight: foam then "
    "goes over beads that have skinned. The usual order.",
    "after": "Overspray and shrinkage would hide or tear a bead, and foam shows where it already "
    "closes a joint: what is left open is sealed when the foam is trimmed. Needs the stud faces "
    "scraped clean first.",
}


@dataclass(frozen=True)
class Gate:
    """What lets the work go on: who signs, and which readings decide.

    ``before``: it opens its step; else it closes it. ``reads`` "" is a gate that a person clears by
    name alone; such a gate is never overridden, since the law asks for that person.
    """

    who: str
    asks: str
    reads: Reads = ""
    before: bool = False

    @property
    def may_be_overridden(self) -> bool:
        """Only gates that readings decide can be overridden, by name and with a reason."""
        return bool(self.reads)


@dataclass(frozen=True)
class Step:
    """One step; its ``id`` is the gate's name in the record."""

    id: str
    title: str
    do: tuple[str, ...]
    gate: Gate


def sequence(
    build_up: BuildUp,
    wall: Wall,
    hazards: tuple[Hazard, ...],
    passes: int,
    catalog: Catalog,
    sealing: Sealing = "before",
) -> tuple[Step, ...]:
    """The steps of one option on one wall, in order.

    Parameters
    ----------
    build_up : BuildUp
        The option on its wall.
    wall : Wall
        As surveyed.
    hazards : tuple of Hazard
        Of the survey; those of other walls are left out.
    passes : int
        Passes at the thickest place; 0 without foam.
    catalog : Catalog
        Who clears a hazard, and how dry wood must be.
    sealing : {"before", "after"}
        Joints sealed before spraying or after; see `WHY_SEALING`.

    Returns
    -------
    tuple of Step
        Empty where the wall is left as found.
    """
    if build_up.option.kind == "leave":
        return ()
    mine = tuple(h for h in hazards if h.wall in (None, wall.name))
    dry = catalog.site_figure("wood-moisture").most
    seal = [_seal(build_up, dry)] if build_up.option.seal_joints else []
    spray = _spray(passes) if passes else []
    fill = [_fill()] if build_up.option.fill or not passes else []
    middle = [*seal, *spray] if sealing == "before" or not passes else [*spray, *seal]
    return (
        _make_safe(wall),
        _clear(mine, catalog),
        _strip(build_up, wall),
        _dry(wall, dry),
        _mend(mine),
        _rough_in(),
        *middle,
        *([_seal_rest()] if seal else []),
        *([_check()] if passes else []),
        *fill,
        _cover(build_up),
    )


def _make_safe(wall: Wall) -> Step:
    lines = [
        "Circuits of the wall switched off, locked and tested dead; gas and water shut where pipes "
        "run in it.",
        "Ways out kept clear; extinguisher, eyewash and first aid within reach; signs up.",
    ]
    named = [f"{box.kind}" for box in wall.boxes if box.kind in ("panel", "recessed light")]
    named += [f"{pipe.kind} pipe" for pipe in wall.pipes if pipe.kind in ("gas", "vent")]
    if named:
        lines.append(f"In this wall: {', '.join(dict.fromkeys(named))}.")
    gate = Gate("crew lead; a licensed electrician or gas fitter for their lines", "Tested dead.")
    return Step("make-safe", "Make safe", tuple(lines), gate)


def _clear(hazards: tuple[Hazard, ...], catalog: Catalog) -> Step:
    rows = [(h, catalog.hazard(h.kind)) for h in hazards]
    lines = tuple(
        f"{row.title} ({h.where}): cleared by {h.cleared_by or row.clears}." for h, row in rows
    )
    lines = lines or ("None is noted. Look again as the wall is opened, and stop at what is new.",)
    gate = Gate("the person named for each hazard", "Every hazard cleared in writing.")
    return Step("clear-hazards", "Clear hazards", lines, gate)


def _strip(build_up: BuildUp, wall: Wall) -> Step:
    outside = build_up.option.kind in ("from outside", "foam and board")
    first = "Cladding and what lies under it come off" if outside else "The inside finish comes off"
    lines = [f"{first}, dust contained and drawn away; nails out, wood brushed and vacuumed."]
    if wall.found.fill:
        lines.append(f"Old fill ({wall.found.fill_state}) comes out whole, facing too, into bags.")
    if build_up.frame.pockets:
        lines.append(f"Open and look into the {len(build_up.frame.pockets)} pockets of the list.")
    gate = Gate(
        "crew lead", "Would you paint it? Clean, bare, nothing loose; what was hidden told."
    )
    return Step("strip", "Strip", tuple(lines), gate)


def _dry(wall: Wall, dry: float) -> Step:
    wet = [r for r in wall.readings if r.moisture > dry]
    lines = [
        "Air and warmth on the open wall. Meter in the bottom plate of every third bay, below "
        "every window, at every stain."
    ]
    lines += [f"The survey read {r.moisture:.0%} at {r.where}." for r in wet]
    gate = Gate("crew lead", f"Every reading at {dry * 100:g} % or less.", reads="dry")
    return Step("dry", "Dry", tuple(lines), gate)


def _mend(hazards: tuple[Hazard, ...]) -> Step:
    water = [h for h in hazards if h.kind in ("rot", "bulk water") and h.state != "cleared"]
    lines = [f"{h.kind.capitalize()}, {h.where}: mended first." for h in water]
    lines.append("Rotten wood cut back and replaced; a member that carries load is an engineer's.")
    lines.append("Gaps over 1/2 in and knot holes closed with wood or rigid board.")
    gate = Gate("crew lead; an engineer or the official for wood that carries", "Sound and closed.")
    return Step("mend", "Mend", tuple(lines), gate)


def _rough_in() -> Step:
    lines = (
        "Wires, boxes and pipes go in now: none can be drawn through foam later.",
        "Plates over anything within reach of a screw; boxes stay reachable.",
    )
    gate = Gate("licensed electrician and plumber, and the inspector where the code asks",
                "Rough-in passed.")  # fmt: skip
    return Step("rough-in", "Rough in wiring and plumbing", lines, gate)


def _seal(build_up: BuildUp, dry: float) -> Step:
    metres = sum(joint.length for joint in build_up.frame.joints)
    lines = (
        f"{metres:.0f} m of joints in the order of the map, ticked off as they are done.",
        "Wood dry and free of dust; bead 1/4 in at least; gaps over 1/2 in get backer or wood "
        "first. Sealant by its label: compatible with the foam, low in vapours.",
    )
    asks = f"Wood at {dry * 100:g} % or less; every number of the map ticked."
    gate = Gate("whoever seals", asks, "dry")
    return Step("seal-joints", "Seal the joints", lines, gate)


def _spray(passes: int) -> list[Step]:
    gate = Gate("the certified installer", "Every reading of the spray gate, at the wall, today.",
                reads="spray", before=True)  # fmt: skip
    first = Step(
        "spray",
        "Spray, first pass",
        (
            "Work area closed, fan on, everyone else out, supplied air on.",
            "Test shot on scrap: colour, rise, cell, bond. Then picture-frame studs and plates, "
            "let it set, and fill along the studs.",
            "Readings at start, in the middle and at the end of the day at least.",
        ),
        gate,
    )
    if passes < 2:
        return [first]
    more = Step(
        "more-passes",
        f"Spray, passes 2 to {passes}" if passes > 2 else "Spray, second pass",
        ("After the wait of the plan and when the foam has cooled; read again before it.",),
        gate,
    )
    return [first, more]


def _seal_rest() -> Step:
    lines = (
        "Foam torn or trimmed from joints, stud faces, boxes: sealed again.",
        "Smoke pen or fan: what still draws is sealed.",
    )
    gate = Gate("crew lead", "Nothing draws smoke.")
    return Step("seal-rest", "Seal what is left", lines, gate)


def _check() -> Step:
    lines = (
        "Thickness probes over the bay map; three cores for density; adhesion cut; colour, smell.",
        "A photo of every bay before it is covered.",
    )
    gate = Gate("the certified installer; the inspector where the code asks",
                "Probes, density and bond as sold; photos taken.", reads="quality")  # fmt: skip
    return Step("check", "Check", lines, gate)


def _fill() -> Step:
    gate = Gate("crew lead", "Batts full, none pressed; vapour control whole and taped.")
    return Step("fill", "Fill and vapour control", ("Batts cut to the bay, split at wires.",), gate)


def _cover(build_up: BuildUp) -> Step:
    lines = ["No foam stays bare to a room: 12.7 mm gypsum board or what the code pack allows."]
    if build_up.option.furring:
        lines.insert(0, "Furring and boxes brought to the new face.")
    gate = Gate("crew lead; the official where the code asks", "Covered; certificate posted.")
    return Step("cover", "Cover", tuple(lines), gate)
