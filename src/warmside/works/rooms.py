"""What is done in the rooms before a wall is opened from inside, and after it is closed."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from warmside.catalog import Source
from warmside.options import BROKEN, BuildUp, Gate, Quantity, Task, Trade
from warmside.survey import Wall
from warmside.wording import Figure, Sentence, say
from warmside.works._item import OPENING, SAFE, Counts, Work

IN_FRONT = 3.0  # [m] of floor before a wall that is opened from the room
_FLOOR = Source("3 m of floor before the wall, on each floor that it passes", "common practice")
_EDGES = Source("length of the wall without doors; heads and sides of the openings", "computed")
_BROKEN = Source("one part in seven of old trim splits", "common practice")
_HEATERS = Source("count of the survey", "own figure")
CLOSED = ("cover", "close", "cladding")


def _opened(build_up: BuildUp) -> bool:
    return build_up.option.kind.opened.room


def floors(wall: Wall) -> int:
    """Floors that the wall passes."""
    return 2 if wall.frame == "balloon" and wall.floor_line is not None else 1


def _floor(build_up: BuildUp, wall: Wall) -> Counts:
    """Floor to cover, and the length of wall that furniture is moved from."""
    if not _opened(build_up):
        return ()
    metres = build_up.frame.length * floors(wall)
    area = say("{length} of wall × {out}", length=Figure(metres, "span"),
               out=Figure(IN_FRONT, "span"))  # fmt: skip
    furniture = say("{length} of wall", length=Figure(metres, "span"))
    return (
        Quantity("protection", "Floor, doors and registers to cover", metres * IN_FRONT, "m2",
                 area, _FLOOR),
        Quantity("furniture", "Wall to clear of furniture", metres, "m", furniture, _FLOOR,
                 priced=False),
    )  # fmt: skip


def trim_length(build_up: BuildUp) -> float:
    """Baseboard and casing of the wall [m].

    Its length, and ``2 h + 2 w`` round each window, ``2 h`` beside each door: the head of a door's
    casing is as long as the baseboard that stops at it.
    """
    frame = build_up.frame
    metres = frame.length
    for hole in frame.holes:
        metres += 2 * hole.rect.height + (2 * hole.rect.width if hole.kind == "window" else 0.0)
    return metres


def _trim_off(build_up: BuildUp, wall: Wall) -> Counts:
    """Trim by length; heights of balloon walls carry a second baseboard."""
    if not _opened(build_up):
        return ()
    metres = _trim(build_up, wall)
    how = say(
        "{length}: baseboard, and casing of {openings}",
        length=Figure(metres, "span"),
        openings=Figure(len(build_up.frame.holes), "count", noun="opening"),
    )
    return (
        Quantity("trim_length", "Trim and baseboard to take off", metres, "m", how, _EDGES,
                 priced=False),
    )  # fmt: skip


def _trim_on(build_up: BuildUp, wall: Wall) -> Counts:
    """The same trim again, and new pieces for what split."""
    if not _opened(build_up):
        return ()
    metres = _trim(build_up, wall)
    how = say("{length} × {share} split", length=Figure(metres, "span"),
              share=Figure(BROKEN, "share"))  # fmt: skip
    back = say("{length} taken off goes back", length=Figure(metres, "span"))
    return (
        Quantity("trim_back", "Trim and baseboard to put back", metres, "m", back, _EDGES,
                 priced=False),
        Quantity("trim_piece", "New trim to match, for what splits", metres * BROKEN, "m", how,
                 _BROKEN),
    )  # fmt: skip


def _trim(build_up: BuildUp, wall: Wall) -> float:
    return trim_length(build_up) + build_up.frame.length * (floors(wall) - 1)


def _primed(build_up: BuildUp, wall: Wall) -> Counts:  # noqa: ARG001
    """New finish to prime before it is painted."""
    if not _opened(build_up):
        return ()
    area = build_up.frame.net_area
    how = say("{area}, one coat", area=Figure(area, "area"))
    return (Quantity("primer", "Primer on the new finish", area, "m2", how, _EDGES),)


def _heaters(name: str, of: str, key: str) -> Callable[[BuildUp, Wall], Counts]:
    def count(build_up: BuildUp, wall: Wall) -> Counts:
        number = int(getattr(wall, of))
        if not _opened(build_up) or not number:
            return ()
        how = say("{count} on the wall", count=str(number))
        return (Quantity(key, name, float(number), "each", how, _HEATERS, priced=False),)

    return count


def _says(*lines: str) -> Callable[[Counts], tuple[str | Sentence, ...]]:
    def do(counts: Counts) -> tuple[str | Sentence, ...]:
        return (say("{what}: {how}.", what=counts[0].name, how=counts[0].how), *lines)

    return do


PROTECTION = Work(
    key="protect",
    name="Cover the room",
    causes=(),
    tasks=(
        Task("protect", "Cover floor and furniture", "protection", "m2", "protect"),
        Task("furniture", "Move furniture away and back", "furniture", "m", "protect"),
    ),
    bought=MappingProxyType({"protection": "m2"}),
    counted=_floor,
    do=_says(
        "Furniture moved out or to the middle and covered; paths, doors and registers covered and "
        "taped, the air handler off.",
    ),
    gate=Gate("crew lead", "Covered; photo of every room as it was found."),
    accepted="Rooms photographed, floor and furniture covered.",
    warranty="What was damaged for want of cover is made good.",
    before=OPENING,
    after=SAFE,
)
_OLD_PAINT = "Old paint: dust contained, as the lead rule asks."
TRIM_OFF = Work(
    key="trim-off",
    name="Take the trim off",
    causes=(),
    trade="carpenter",
    tasks=(
        Task("trim_take", "Take trim off", "trim_length", "m", "trim-off", "carpenter"),
    ),
    counted=_trim_off,
    do=_says(
        "Scored along the paint, lifted with a flat bar, numbered; nails pulled through from "
        "behind.",
        _OLD_PAINT,
    ),
    gate=Gate("carpenter", "Whole, numbered, stacked flat; photo taken."),
    accepted="Off and numbered; what split was shown.",
    warranty="Pieces that split are replaced to match.",
    before=("strip", "strip-outside"),
    after=SAFE,
)  # fmt: skip
TRIM_ON = Work(
    key="trim-on",
    name="Put the trim back",
    causes=(),
    trade="carpenter",
    tasks=(
        Task("trim_put", "Put trim back", "trim_back", "m", "trim-on", "carpenter"),
    ),
    bought=MappingProxyType({"trim_piece": "m"}),
    counted=_trim_on,
    do=_says("On its numbers, filled and touched up; a bead where it meets wall and floor."),
    gate=Gate("carpenter", "Tight, filled, clean."),
    accepted="Back on its numbers, tight to wall and floor.",
    warranty="Stays tight for the term of the work's warranty; paint shades may differ.",
    before=("clear-up",),
    after=CLOSED,
)  # fmt: skip
PRIMER = Work(
    key="primer",
    name="Prime before paint",
    causes=(),
    trade="painter",
    tasks=(Task("prime", "Prime the new finish", "primer", "m2", "cover", "painter"),),
    bought=MappingProxyType({"primer": "m2"}),
    counted=_primed,
    do=_says("One coat of primer, two of paint; a vapour-retarder primer where the plan says so."),
    gate=Gate("crew lead", "Primed whole before paint."),
    accepted="Even under a light held along the wall.",
    warranty="Paint holds for the term of the work's warranty.",
    host="cover",
)


def _heater(name: str, of: str, trade: Trade, off: str, on: str) -> tuple[Work, Work]:
    """Taken off before the wall is opened, and set again when it is closed."""
    key, words = name.replace(" ", "_"), name.capitalize()
    who = "a licensed electrician" if trade == "electrician" else "a heating technician"
    first = Work(
        key=f"{name.replace(' ', '-')}s-off",
        name=f"{words}s off",
        causes=(),
        trade=trade,
        tasks=(Task(f"{key}_off", f"Take {name}s off", f"{key}_off", "each",
                    f"{name.replace(' ', '-')}s-off", trade),),
        counted=_heaters(f"{words}s to take off", of, f"{key}_off"),
        do=_says(off),
        gate=Gate(who, "Off, capped or dead; photo taken."),
        accepted="Off without a drip or a live end.",
        warranty="By its own trade.",
        before=("trim-off", "strip", "strip-outside"),
        after=SAFE,
    )  # fmt: skip
    last = Work(
        key=f"{name.replace(' ', '-')}s-back",
        name=f"{words}s back",
        causes=(),
        trade=trade,
        tasks=(Task(f"{key}_back", f"Set {name}s again", f"{key}_back", "each",
                    f"{name.replace(' ', '-')}s-back", trade),),
        counted=_heaters(f"{words}s to set again", of, f"{key}_back"),
        do=_says(on),
        gate=Gate(who, "Set, tested, warm."),
        accepted="Runs, no drip, fast to the wall.",
        warranty="By its own trade.",
        before=("clear-up",),
        after=CLOSED,
    )  # fmt: skip
    return first, last


RADIATORS = _heater(
    "radiator", "radiators", "plumber",
    "Isolated and drained, lifted by two, pipes capped.",
    "Set by two, filled and bled; the system brought back to its pressure.",
)  # fmt: skip
BASEBOARD_HEATERS = _heater(
    "baseboard heater", "baseboard_heaters", "electrician",
    "Circuit dead and locked, heater off, ends in a covered box.",
    "Set, wired and tested; clear of trim and furniture.",
)  # fmt: skip
