"""Fire blocks in the bays of a balloon frame that run from floor to floor."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import ceil
from types import MappingProxyType

from warmside.catalog import Source
from warmside.framing import Frame
from warmside.options import BuildUp, Gate, Quantity, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, joined, say
from warmside.works._item import Counts, Work

_WASTE = 0.10  # [-] of lumber cut to bays
THICK = 0.038  # [m] of the lumber, as codes ask
FARTHEST = 3.0  # [m] between two lines of blocks, one above the other
_CLEAR = 0.02  # [m] above or below a line, where a bay's clear width is read
_SAME = 1e-6  # [m]
_COUNT = Source("count of the bays that cross each floor and ceiling line", "computed")
_LUMBER = Source(
    "38 mm lumber at each floor and ceiling line (IRC R302.11), and at most 3 m apart in height "
    "(NBC 9.10.16.2); 10 % waste, common practice", "second-hand",
)  # fmt: skip


def blocks_close_it(build_up: BuildUp, wall: Wall) -> bool:
    """Whether this work closes the bays at every floor line that they pass.

    Where no floor line was noted the lines are not known, and blocks on the sill alone are not
    enough.
    """
    return wall.floor_line is not None and bool(_blocks(build_up, wall))


def _blocks(build_up: BuildUp, wall: Wall) -> Counts:
    """Blocks by number, and their lumber by length; in closed bays they are not fitted."""
    if not wall.open_through or not build_up.option.kind.opened.bays:
        return ()
    rows = [(line, widths) for line, z in _lines(build_up.frame, wall)
            if (widths := clear_widths(build_up.frame, z))]  # fmt: skip
    if not rows:
        return ()
    blocks = sum(len(widths) for _, widths in rows)
    length = sum(sum(widths) for _, widths in rows)
    told = joined(
        (say("{count} {line}, {length}", count=str(len(widths)), line=line,
             length=Figure(sum(widths), "span")) for line, widths in rows), "; ",
    )  # fmt: skip
    if wall.fire_blocks == "unknown":
        told = say("{told}; nobody saw whether they are there, so all are counted", told=told)
    lumber = say(
        "{blocks}, {length}, +{waste} waste; as deep as the studs",
        blocks=Figure(blocks, "count", noun="block"),
        length=Figure(length, "span"),
        waste=Figure(_WASTE, "share"),
    )
    return (
        Quantity("fire_block", "Fire blocks to fit", float(blocks), "each", told, _COUNT,
                 priced=False),
        Quantity("fire_block_lumber", "Lumber for fire blocks", length * (1 + _WASTE), "m",
                 lumber, _LUMBER),
    )  # fmt: skip


def _do(counts: Counts) -> tuple[str | Sentence, ...]:
    blocks = counts[0]
    return (
        say(
            "{blocks}: {how}. Lumber {thick} thick, cut tight; wire holes closed with fire-rated "
            "sealant.",
            blocks=Figure(round(blocks.amount), "count", noun="block"),
            how=blocks.how,
            thick=Figure(THICK, "length"),
        ),
    )


FIRE_BLOCKS = Work(
    key="fire-blocks",
    name="Fire blocks",
    causes=(
        "hazard_missing_fire_blocks", "canada-nbc-2020:ca.fireblock", "us-irc-2021:us.fireblock",
    ),
    trade="carpenter",
    tasks=(
        Task("fire_block", "Cut and fit fire blocks", "fire_block", "each", "fire-blocks",
             "carpenter"),
    ),
    bought=MappingProxyType({"fire_block_lumber": "m"}),
    counted=_blocks,
    do=_do,
    gate=Gate("carpenter; the official", "Every bay tight; photo taken."),
    accepted="Every bay of the count blocked, tight on all four sides.",
    warranty="Blocks stay where they were fitted; nobody drills or cuts them out.",
)  # fmt: skip


def _lines(frame: Frame, wall: Wall) -> list[tuple[str, float]]:
    """Heights [m] just beside the lines at which bays are closed, below to above."""
    lines = [("on the sill", _CLEAR)]
    if wall.floor_line is None:
        return lines
    ribbon = [m.rect.z0 for m in frame.members if m.kind == "ribbon"]
    lines.append(("under the joists", min([*ribbon, wall.floor_line]) - _CLEAR))
    lines.append(("at the floor above", wall.floor_line + wall.joist_depth + _CLEAR))
    top = max(rect.z1 for rect in frame.outline)
    return sorted(
        [*lines, *_between([z for _, z in lines] + [top - _CLEAR])], key=lambda line: line[1]
    )


def _between(heights: list[float]) -> Iterator[tuple[str, float]]:
    """Further lines where two are farther apart than is allowed."""
    for low, high in pairwise(heights):
        parts = ceil((high - low) / FARTHEST)
        for n in range(1, parts):
            yield "between floors, which are too far apart", low + (high - low) * n / parts


def clear_widths(frame: Frame, z: float) -> list[float]:
    """Clear widths [m] of the bays that pass the height ``z`` [m], left to right."""
    rects = sorted(
        (r.rect for r in frame.regions
         if r.kind in ("bay", "brace") and r.rect.z0 < z < r.rect.z1
         and any(s.what == "space" and s.reachable for s in r.sections)),
        key=lambda rect: rect.x0,
    )  # fmt: skip
    spans: list[tuple[float, float]] = []
    for rect in rects:
        if spans and rect.x0 - spans[-1][1] < _SAME:
            spans[-1] = (spans[-1][0], rect.x1)
        else:
            spans.append((rect.x0, rect.x1))
    return [right - left for left, right in spans]
