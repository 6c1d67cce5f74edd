"""An option applied to one wall."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.options._judge import case_of
from warmside.options._layers import Scheme
from warmside.options._option import BuildUp, Case, LayerSources, Option, Refusal
from warmside.options._scheme import scheme
from warmside.options._slices import stack_up
from warmside.physics.assembly import Stack
from warmside.physics.conduction import combined
from warmside.survey import Hazard, Wall
from warmside.units import show
from warmside.wording import lowered

_THICKEST = 100.0  # [m] as the survey takes lengths
_MASONRY = ("brick", "stucco", "stone", "block", "masonry")  # broken as it comes off


def apply(
    option: Option, wall: Wall, frame: Frame, catalog: Catalog, hazards: Iterable[Hazard] = ()
) -> BuildUp:
    """Layers through every kind of region of ``wall`` under ``option``.

    Foam sprayed from the room lies against the sheathing; the depth it leaves is batt or air.
    Spaces out of reach stay as found, taken for air. The areas of the stacks sum to the net area
    of the frame. An option that cannot be built comes back with its refusals, its foam cut off at
    the depth there is.

    Raises
    ------
    UnknownRowError, InputError
        Where the catalog lacks a row, a layer has no thickness, or the option's own lengths make
        no sense.
    """
    _check(option, wall, frame)
    hazards = tuple(hazards)
    plan = scheme(option, wall, frame, catalog)
    stacks = stack_up(frame, plan)
    case = case_of(option, wall, frame, plan, stacks, hazards)
    return BuildUp(
        option=option,
        wall=wall.name,
        frame=frame,
        stacks=stacks,
        refusals=(*_kept(case), *_broken(case, catalog), *option.kind.refusals(case)),
        cautions=(*dict.fromkeys(option.kind.cautions(case)), *_stand_ins(plan)),
        assumptions=(*plan.assumptions, *_told(plan, frame, stacks)),
        old_fill=plan.fill_state,
        hazards=tuple(h for h in hazards if _concerns(h, wall)),
        y0=-plan.furring - sum(sheet.thickness for sheet in plan.inside),
        sources={row.id: LayerSources(row.source_heat, row.source_vapour) for row in plan.rows},
    )


def _concerns(hazard: Hazard, wall: Wall) -> bool:
    """Whether nobody has settled it for this wall; paint seen on one wall was used on all."""
    here = hazard.wall in (None, wall.name) or hazard.kind == "lead paint"
    return here and hazard.open


def _kept(case: Case) -> Iterable[Refusal]:
    """What the owner keeps is not taken off."""
    found, opened = case.wall.found, case.option.kind.opened
    kept = "The owner keeps the {}: this option would take it off."
    instead = "Work from the other side, through holes, or ask whether it may come off."
    if opened.room and found.finish_plan == "stays":
        yield Refusal(kept.format("inside finish"), instead)
    if opened.cladding and found.cladding_plan == "stays":
        yield Refusal(kept.format("cladding"), instead)


def _broken(case: Case, catalog: Catalog) -> Iterator[Refusal]:
    """Cladding that does not come off whole; where it comes off anyway, other cladding follows."""
    found = case.wall.found
    cladding = found.cladding
    if (
        cladding is not None
        and case.option.kind.opened.cladding
        and found.cladding_plan != "off anyway"
        and any(word in cladding.material for word in _MASONRY)
    ):
        name = lowered(catalog.material(cladding.material).name)
        yield Refusal(
            f"The cladding ({name}) cannot come off whole and go back.",
            "Work from the room, or wait until the cladding is replaced.",
        )


def _told(plan: Scheme, frame: Frame, stacks: tuple[Stack, ...]) -> Iterator[str]:
    """What the state of old fill costs the wall, and how that is known."""
    if plan.fill_state is None:
        return
    sound = stack_up(frame, replace(plan, fill_state=None))
    now, then = (show(combined(s).resistance, "thermal resistance", "trade", 3)
                 for s in (stacks, sound))  # fmt: skip
    yield (
        f"The wall with its fill as found holds back heat with {now}, with the same fill sound and "
        f"dry {then}, both by the simple methods ({plan.fill_state.source.tag})."
    )


def _stand_ins(plan: Scheme) -> dict[str, None]:
    """What is said where a layer holds and draws water by another material's row."""
    rows = (row.moisture for row in plan.rows)
    return dict.fromkeys(row.assumed for row in rows if row is not None and row.assumed)


def _check(option: Option, wall: Wall, frame: Frame) -> None:
    faults = []
    if not frame.regions:
        faults.append(Fault(f'wall "{wall.name}"', "a frame without regions", "a framed wall"))
    for what in ("thickness", "furring", "board_thickness"):
        value = getattr(option, what)
        if not 0 <= value <= _THICKEST:
            faults.append(Fault(f'option "{option.id}", {what}', f"{value!r}", "0 to 100 m"))
    if option.foam and not option.thickness > 0:
        faults.append(Fault(f'option "{option.id}", thickness', "no foam", "a thickness of foam"))
    if faults:
        raise InputError(faults)
