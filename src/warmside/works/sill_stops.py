"""Bays of a balloon frame stopped at the sill from below, before fibre is blown into them."""

from __future__ import annotations

from types import MappingProxyType

from warmside.catalog import Source
from warmside.options import BuildUp, Gate, Quantity, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, say
from warmside.works._item import Counts, Work
from warmside.works.fire_blocks import THICK, clear_widths

_CLEAR = 0.02  # [m] above the sill, where a bay's clear width is read
_WASTE = 0.10  # [-] of lumber cut to bays
_COUNT = Source("count of the bays that stand open on the sill", "computed")
_LUMBER = Source("38 mm lumber cut into each bay from the basement; 10 % waste", "common practice")


def _blocks(build_up: BuildUp, wall: Wall) -> Counts:
    """Blocks by number, and their lumber by length."""
    blown = build_up.option.fill is not None and not build_up.option.kind.opened.bays
    if not wall.open_through or not blown:
        return ()
    widths = clear_widths(build_up.frame, _CLEAR)
    if not widths:
        return ()
    length = sum(widths)
    lumber = say(
        "{blocks}, {length}, +{waste} waste; as deep as the studs",
        blocks=Figure(len(widths), "count", noun="block"),
        length=Figure(length, "span"),
        waste=Figure(_WASTE, "share"),
    )
    how = say("bays on the sill, reached from the basement")
    return (
        Quantity("sill_stop", "Blocks to fit at the foot of the bays", float(len(widths)),
                 "each", how, _COUNT, priced=False),
        Quantity("sill_stop_lumber", "Lumber for blocks at the foot of the bays",
                 length * (1 + _WASTE), "m", lumber, _LUMBER),
    )  # fmt: skip


def _do(counts: Counts) -> tuple[str | Sentence, ...]:
    """Before anything is blown, so that no fibre falls into the basement."""
    blocks = counts[0]
    return (
        say(
            "{blocks} from the basement: {how}. Lumber {thick} thick, cut tight, edges sealed.",
            blocks=Figure(round(blocks.amount), "count", noun="block"),
            how=blocks.how,
            thick=Figure(THICK, "length"),
        ),
        "Blocks at the floors cannot be fitted in a closed wall: the official says whether "
        "the packed fibre is accepted there, by its own fire test.",
    )


# the wall stays closed: only the foot of each bay can be reached, from the basement
SILL_STOPS = Work(
    key="sill-stops",
    name="Blocks at the foot of the bays",
    causes=(),  # the clause on blocks asks for those at floors as well
    trade="carpenter",
    tasks=(
        Task("sill_stop", "Block bays from the basement", "sill_stop", "each", "sill-stops",
             "carpenter"),
    ),
    bought=MappingProxyType({"sill_stop_lumber": "m"}),
    counted=_blocks,
    do=_do,
    gate=Gate("carpenter; the official", "Every bay tight below; photo taken."),
    accepted="No bay open to the basement; no fibre falls when bays are blown.",
    warranty="Blocks stay where they were fitted; nobody drills or cuts them out.",
    after=("look", "dry"),
    before=("lift", "protect", "drill", "pack"),
)  # fmt: skip
