"""Why an option cannot be built on a wall, and what to take care of where it can."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from warmside.catalog import NOMINAL
from warmside.framing import Frame
from warmside.options._layers import Scheme, permeance
from warmside.options._option import Case, Option, Refusal
from warmside.physics.assembly import Layer, Stack
from warmside.survey import Hazard, Wall
from warmside.units import show
from warmside.wood import DRY_WOOD, ROT_STARTS
from warmside.wording import PAPER, Figure, counted

# NBC of Canada 9.25.4.2: a vapour barrier passes 60 ng/(Pa s m2) at most
LOW_PERMEANCE = 60e-12  # [kg/(m2 s Pa)]
# USDA Forest Products Laboratory (Rowell and Ibach 2000) and common practice: 19-20 % is the line
# Wang and Morris, IRG/WP 10-20444, 2010: decay starts near 26 %


def case_of(
    option: Option,
    wall: Wall,
    frame: Frame,
    scheme: Scheme,
    stacks: Sequence[Stack],
    hazards: Iterable[Hazard],
) -> Case:
    """The case of ``option`` on ``wall``."""
    bay = max(stacks, key=lambda stack: (stack.kind == "bay", stack.area))
    mine = [h for h in hazards if h.wall in (None, wall.name) and h.noted]
    return Case(option, wall, frame, scheme, bay, mine)


def too_thick(case: Case) -> Iterator[Refusal]:
    """Foam thicker than the space it is sprayed into."""
    room = case.frame.depth + case.option.furring
    if case.scheme.foam_thickness > room + 1e-9:
        yield Refusal(
            f"{thick(case.scheme.foam_thickness)} of foam does not fit a depth of {thick(room)}.",
            f"Take {thick(room)} at most, or fur the wall out.",
        )


def over_listing(case: Case) -> Iterator[Refusal]:
    """Foam thicker than its listing allows in total."""
    foam = case.scheme.foam
    # foam that fills the furring too stands on the bay's foam: one thickness
    if foam and case.scheme.foam_thickness > foam.total_max * NOMINAL + 1e-9:
        yield Refusal(
            f"{thick(case.scheme.foam_thickness)} is more than the {thick(foam.total_max)} "
            "in total that the foam's listing allows.",
            f"Take {thick(foam.total_max)} at most; the listing on site governs.",
        )


def nothing_behind(case: Case) -> Iterator[Refusal]:
    """Nothing to spray against from the room but the siding."""
    if case.wall.found.sheathing:
        return
    yield Refusal(
        "No sheathing was found: foam sprayed against siding glues it, opens its laps and keeps "
        "it from drying, and leaves no drainage plane.",
        "Spray from outside with new sheathing and paper, or first fit a board with an air space "
        "behind the siding.",
    )


def shut_in_wet(case: Case) -> Iterator[Refusal]:
    """Wet wood between layers that hardly let vapour through."""
    if case.wet and _shut_in(case):
        yield Refusal(
            "The wood is wet and would be shut in between two layers that hardly let vapour "
            "through: it could not dry.",
            "Stop the source and dry the wood below 19 %, or leave one side open to vapour.",
        )


def _shut_in(case: Case) -> bool:
    """Whether the sheathing has a vapour barrier on both sides; cladding dries by its laps."""
    layers = case.bay.layers
    at = [i for i, layer in enumerate(layers) if layer.role == "sheathing"]
    if not at:
        return False
    inside = layers[: at[0]]
    outside = [layer for layer in layers[at[-1] + 1 :] if layer.role in ("paper", "board")]
    return _low(inside, wet=False) and _low(outside, wet=True)


def _low(layers: Sequence[Layer], wet: bool) -> bool:
    return permeance(layers, wet) <= LOW_PERMEANCE


def moisture(case: Case) -> Iterator[str]:
    """Wet wood and wet fill."""
    top = case.wall.wettest
    if top > DRY_WOOD:
        yield (
            f"Wood read {top * 100:.0f} %: find and stop the source, dry it below 19 % and read "
            "again before anything is closed or sprayed."
        )
    if top > ROT_STARTS:
        yield "Wood this wet can rot: probe it, and have rotten members mended first."
    if case.wall.found.wet_fill:
        yield f"The fill was found {case.wall.found.fill_state}: find the source first."


def vapour(case: Case) -> Iterator[str]:
    """Where vapour may gather, or cannot leave."""
    foam = case.scheme.foam
    if foam and foam.family == "open-cell" and not case.option.vapour_control:
        yield (
            "Open-cell foam lets vapour through: where winters are cold it needs vapour control "
            "on the room side."
        )
    if not case.wet and _shut_in(case):
        yield (
            "The sheathing has low-permeance layers on both sides: any water that gets in dries "
            "slowly, so flashings and joints must be right."
        )


def fill_found(case: Case) -> Iterator[str]:
    """What the state of the fill that stays was taken to do to it, and how far it may go."""
    state, found = case.scheme.fill_state, case.wall.found
    if state is None:
        return
    said = []
    if state.empty_share > 0.0:
        share = _between(state.empty_share, state.empty_share_low, state.empty_share_high, 0.0)
        said.append(f"{share} of every bay, at its top, is taken as empty")
    if state.conductivity_times > 1.0:
        more = _between(
            state.conductivity_times, state.conductivity_times_low,
            state.conductivity_times_high, 1.0,
        )  # fmt: skip
        said.append(f"it is taken to let {more} more heat through than a sound one")
    if not state.stops_air:
        said.append("no fill is taken to slow the air of the joints")
    if said:
        yield f"The fill is {found.fill_state}: {', and '.join(said)}. Look in with a camera."


def _between(best: float, low: float, high: float, zero: float) -> str:
    """A share with its band; alone where somebody saw it."""
    told = Figure(best - zero, "share")
    if low != high:
        told = replace(told, low=low - zero, high=high - zero)
    return PAPER.figure(told)


def geometry(case: Case) -> Iterator[str]:
    """Spaces, ends and boxes that spray asks to look at."""
    if not case.sprays:
        return
    if case.frame.pockets:
        count = len(case.frame.pockets)
        spaces = counted(count, "space stays", "spaces stay")
        yield f"{spaces} as found, out of the foam's reach: seal their edges, never inject them."
    if any(bay.open_at for bay in case.frame.bays):
        yield "Bays run on into floor, basement or attic: block them before spraying."
    if any(box.kind == "recessed light" for box in case.wall.boxes):
        yield "A recessed light: 3 in (76 mm) clear, none above, unless listed for contact."


def dangers(case: Case) -> Iterator[str]:
    """Hazards that are not cleared."""
    for hazard in case.hazards:
        kind = hazard.kind.capitalize()
        yield f"{kind}, {hazard.state} ({hazard.where}): 'safe' tells what it stops."


def thick(value: float) -> str:
    """A length in both systems."""
    return f"{show(value, 'length')} ({value * 1e3:.0f} mm)"
