"""Hollow spaces that spray does not reach: headers, posts, narrow gaps, boxes of sash weights."""

from __future__ import annotations

from types import MappingProxyType

from warmside.catalog import Source
from warmside.framing import Pocket
from warmside.options import BuildUp, Gate, Quantity, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, counted, joined, say
from warmside.works._item import Counts, Work

_GEOMETRY = Source("pockets of the framing", "computed")
_CAUSES = ("gate_hollow_pockets", "pocket_surface_c", "pocket_condensate_kg_m2")
_FILLER = MappingProxyType({"pocket_fill": "L"})


def _told(pockets: tuple[Pocket, ...]) -> Sentence:
    """So many of each reason."""
    why: dict[str, int] = {}
    for pocket in pockets:
        why[pocket.why] = why.get(pocket.why, 0) + 1
    return joined((say("{n} × {why}", n=str(n), why=text) for text, n in why.items()), "; ")


def _sash_weights(build_up: BuildUp) -> tuple[tuple[Pocket, ...], tuple[Pocket, ...]]:
    """Boxes of sash weights, and every other pocket; none where no bay is opened."""
    if not build_up.option.kind.opened.bays:
        return (), ()
    beside = {hole.name for hole in build_up.frame.holes if hole.weight_pockets}
    pockets = build_up.frame.pockets
    sash = tuple(p for p in pockets if beside and p.name.startswith("weight"))
    return sash, tuple(p for p in pockets if p not in sash)


def _lines(key: str, name: str, pockets: tuple[Pocket, ...], build_up: BuildUp) -> Counts:
    if not pockets:
        return ()
    volume = sum(p.rect.area * (p.y1 - p.y0) for p in pockets)
    how = say("{told}; {volume} in all", told=_told(pockets), volume=Figure(volume, "volume"))
    what = "low-pressure foam" if build_up.option.foam else "packed fibre"
    fill = say("{count}, as large as they are", count=counted(len(pockets), "pocket"))
    return (
        Quantity(key, name, float(len(pockets)), "each", how, _GEOMETRY, priced=False),
        Quantity(
            f"pocket_fill:{key}", f"Filler for pockets: {what}", volume * 1000, "L", fill, _GEOMETRY
        ),
    )  # fmt: skip


def _hollow(build_up: BuildUp, wall: Wall) -> Counts:  # noqa: ARG001
    """All pockets but those of sash weights."""
    return _lines("pocket", "Pockets to open and fill", _sash_weights(build_up)[1], build_up)


def _boxes(build_up: BuildUp, wall: Wall) -> Counts:  # noqa: ARG001
    """Boxes of sash weights alone."""
    name = "Boxes of sash weights to empty and fill"
    return _lines("weight_pocket", name, _sash_weights(build_up)[0], build_up)


def _open_and_fill(counts: Counts) -> tuple[str | Sentence, ...]:
    return (
        say(
            "{pockets} of the list: opened, looked into for wires and water, filled from below; "
            "what stays hollow written down.",
            pockets=Figure(round(counts[0].amount), "count", noun="pocket"),
        ),
    )


def _empty_and_fill(counts: Counts) -> tuple[str | Sentence, ...]:
    return (
        say(
            "{boxes}: weights out, blocked at top and foot, filled without bowing the frame. "
            "Sashes as agreed.",
            boxes=Figure(round(counts[0].amount), "count", noun="box"),
        ),
    )


HOLLOW_SPACES = Work(
    key="hollow-spaces",
    name="Hollow spaces",
    causes=_CAUSES,
    tasks=(Task("pocket", "Open and fill hollow spaces", "pocket", "each", "hollow-spaces"),),
    bought=_FILLER,
    counted=_hollow,
    do=_open_and_fill,
    gate=Gate("crew lead", "Every pocket filled or written down; photo taken."),
    accepted="Each opened, looked into, filled or written down as left hollow.",
    warranty="Filled where the list says so; what stays hollow stands in it too.",
)
WEIGHT_POCKETS = Work(
    key="weight-pockets",
    name="Boxes of the sash weights",
    causes=_CAUSES,
    trade="carpenter",
    tasks=(
        Task("weight_pocket", "Empty and close boxes of sash weights", "weight_pocket", "each",
             "weight-pockets", "carpenter"),
    ),
    bought=_FILLER,
    counted=_boxes,
    do=_empty_and_fill,
    gate=Gate("carpenter", "Empty, closed, filled; photo taken."),
    accepted="Weights out, boxes blocked and filled, sashes held another way.",
    warranty="Sashes move on their new balances, or are fixed as agreed.",
)  # fmt: skip
