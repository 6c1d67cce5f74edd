"""Hollow spaces that spray does not reach: headers, posts, narrow gaps, boxes of sash weights."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar

from warmside.catalog import Source
from warmside.framing import Pocket
from warmside.options import BuildUp, Gate, Quantity, Step, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, counted, joined, say
from warmside.works._item import Trade, Work

_GEOMETRY = Source("pockets of the framing", "computed")
_CAUSES = ("gate_hollow_pockets", "pocket_surface_c", "pocket_condensate_kg_m2")


def _volume(pockets: tuple[Pocket, ...]) -> float:
    return sum(p.rect.area * (p.y1 - p.y0) for p in pockets)


def _told(pockets: tuple[Pocket, ...]) -> Sentence:
    """So many of each reason."""
    why: dict[str, int] = {}
    for pocket in pockets:
        why[pocket.why] = why.get(pocket.why, 0) + 1
    return joined((say("{n} {why}", n=str(n), why=text) for text, n in why.items()), "; ")


def _sash_weights(build_up: BuildUp) -> tuple[tuple[Pocket, ...], tuple[Pocket, ...]]:
    """Boxes of sash weights, and every other pocket; none where no bay is opened."""
    if not build_up.option.kind.opened.bays:
        return (), ()
    beside = {hole.name for hole in build_up.frame.holes if hole.weight_pockets}
    pockets = build_up.frame.pockets
    sash = tuple(p for p in pockets if beside and p.name.startswith("weight"))
    return sash, tuple(p for p in pockets if p not in sash)


def _lines(
    key: str, name: str, pockets: tuple[Pocket, ...], build_up: BuildUp
) -> tuple[Quantity, ...]:
    if not pockets:
        return ()
    volume = _volume(pockets)
    how = say("{told}; {volume} in all", told=_told(pockets), volume=Figure(volume, "volume"))
    what = "low-pressure foam" if build_up.option.foam else "packed fibre"
    fill = say("{count}, as large as they are", count=counted(len(pockets), "pocket"))
    return (
        Quantity(key, name, float(len(pockets)), "each", how, _GEOMETRY, priced=False),
        Quantity(
            f"pocket_fill:{key}", f"Filler for pockets: {what}", volume * 1000, "L", fill, _GEOMETRY
        ),
    )  # fmt: skip


@dataclass(frozen=True)
class HollowSpaces(Work):
    """Each is opened or drilled, looked into, and filled by hand."""

    key: ClassVar[str] = "hollow-spaces"
    name: ClassVar[str] = "Hollow spaces"
    causes: ClassVar[tuple[str, ...]] = _CAUSES
    tasks: ClassVar[tuple[Task, ...]] = (
        Task("pocket", "Open and fill hollow spaces", "pocket", "each", "hollow-spaces"),
    )
    bought: ClassVar[Mapping[str, str]] = MappingProxyType({"pocket_fill": "L"})
    accepted: ClassVar[str] = "Each opened, looked into, filled or written down as left hollow."
    warranty: ClassVar[str] = "Filled where the list says so; what stays hollow stands in it too."

    def counted(self, build_up: BuildUp, wall: Wall) -> tuple[Quantity, ...]:  # noqa: ARG002
        """All pockets but those of sash weights."""
        return _lines("pocket", "Pockets to open and fill", _sash_weights(build_up)[1], build_up)

    def step(self, quantities: tuple[Quantity, ...]) -> Step:
        """While the bays are open."""
        pockets = quantities[0]
        lines = (
            f"{counted(round(pockets.amount), 'pocket')} of the list: opened, looked into for "
            "wires and water, filled from below; what stays hollow written down.",
        )
        gate = Gate("crew lead", "Every pocket filled or written down; photo taken.")
        return Step(self.key, self.name, lines, gate)


@dataclass(frozen=True)
class WeightPockets(Work):
    """The weights come out, the box is opened, blocked and filled."""

    key: ClassVar[str] = "weight-pockets"
    name: ClassVar[str] = "Boxes of the sash weights"
    causes: ClassVar[tuple[str, ...]] = _CAUSES
    trade: ClassVar[Trade] = "carpenter"
    tasks: ClassVar[tuple[Task, ...]] = (
        Task("weight_pocket", "Empty and close boxes of sash weights", "weight_pocket", "each",
             "weight-pockets"),
    )  # fmt: skip
    bought: ClassVar[Mapping[str, str]] = MappingProxyType({"pocket_fill": "L"})
    accepted: ClassVar[str] = "Weights out, boxes blocked and filled, sashes held another way."
    warranty: ClassVar[str] = "Sashes move on their new balances, or are fixed as agreed."

    def counted(self, build_up: BuildUp, wall: Wall) -> tuple[Quantity, ...]:  # noqa: ARG002
        """Boxes of sash weights alone."""
        return _lines("weight_pocket", "Boxes of sash weights to empty and fill",
                      _sash_weights(build_up)[0], build_up)  # fmt: skip

    def step(self, quantities: tuple[Quantity, ...]) -> Step:
        """Before the joints round the frames are sealed."""
        boxes = quantities[0]
        lines = (
            f"{counted(round(boxes.amount), 'box')}: weights out, blocked at top and foot, "
            "filled without bowing the frame. Sashes as agreed.",
        )
        gate = Gate("carpenter", "Empty, closed, filled; photo taken.")
        return Step(self.key, self.name, lines, gate)


HOLLOW_SPACES, WEIGHT_POCKETS = HollowSpaces(), WeightPockets()
