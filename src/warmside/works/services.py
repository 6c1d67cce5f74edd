"""What electrician and plumber do to boxes and pipes of a wall."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from warmside.catalog import Source
from warmside.options import BuildUp, Gate, Quantity, Task
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, counted, joined, say
from warmside.works._item import Counts, Work

_EXTENDED = ("outlet", "switch", "light")
_COUNT = Source("count of the survey", "own figure")
_PIPES = ("water", "drain")
_PIPE_CAUSES = ("canada-nbc-2020:ca.pipes", "us-irc-2021:us.pipes")


def _extenders(build_up: BuildUp, wall: Wall) -> Counts:
    boxes = [box for box in wall.boxes if box.kind in _EXTENDED]
    if not build_up.option.furring > 0 or not boxes:
        return ()
    how = say("{count}; the wall is {extra} thicker inside", count=counted(len(boxes), "box"),
              extra=Figure(build_up.option.furring, "length"))  # fmt: skip
    return (Quantity("box_extender", "Extensions of electrical boxes", float(len(boxes)), "each",
                     how, _COUNT),)  # fmt: skip


def _runs(opened: bool) -> Callable[[BuildUp, Wall], Counts]:
    """Pipes that freeze: water and drains up a bay of the wall."""

    def count(build_up: BuildUp, wall: Wall) -> Counts:
        if build_up.option.kind.opened.bays is not opened:
            return ()
        pipes = [pipe for pipe in wall.pipes if pipe.kind in _PIPES]
        if not pipes:
            return ()
        how = joined((say("{kind} at {place}", kind=p.kind, place=Figure(p.x, "size"))
                      for p in pipes), ", ")  # fmt: skip
        return (Quantity("pipe_run", "Pipes to move or guard", float(len(pipes)), "each", how,
                         _COUNT, priced=False),)  # fmt: skip

    return count


def _extend(counts: Counts) -> tuple[str | Sentence, ...]:
    return (
        say(
            "{boxes}: listed extender to the new face, gasket, cover.",
            boxes=Figure(round(counts[0].amount), "count", noun="box"),
        ),
    )


def _guard(counts: Counts) -> tuple[str | Sentence, ...]:
    return (
        say(
            "{pipes}: moved to an inside wall, or onto the room side with all new insulation on "
            "its cold side and none between it and the room; tested under pressure.",
            pipes=Figure(round(counts[0].amount), "count", noun="pipe"),
        ),
    )


BOX_EXTENDERS = Work(
    key="box-extenders",
    name="Boxes brought out",
    causes=(),
    trade="electrician",
    tasks=(Task("box_extender", "Extend electrical boxes", "box_extender", "each", "rough-in",
                "electrician"),),
    bought=MappingProxyType({"box_extender": "each"}),
    counted=_extenders,
    do=_extend,
    gate=Gate("licensed electrician", "No gap between box and the new face."),
    accepted="Every box flush with the new face, gasketed, covered.",
    warranty="By the electrician.",
    host="rough-in",
)  # fmt: skip


def _pipes(opened: bool) -> Work:
    host = "rough-in" if opened else "clear-hazards"
    return Work(
        key="pipes" if opened else "pipes-first",
        name="Pipes moved or guarded",
        causes=_PIPE_CAUSES,
        trade="plumber",
        tasks=(Task("pipe_run", "Move or guard pipes", "pipe_run", "each", host, "plumber"),),
        counted=_runs(opened),
        do=_guard,
        gate=Gate("licensed plumber", "Tested; photo of each before it is covered."),
        accepted="No fill between pipe and room; the pipe stays above freezing at the design day.",
        warranty="By the plumber; a pipe that stays in the wall is not covered against frost.",
        host=host,
    )


PIPES, PIPES_OF_CLOSED_WALLS = _pipes(True), _pipes(False)
