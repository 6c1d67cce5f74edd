"""What can be put into a wall by hand, and the lines that a piece comes to stand by.

Studs stand on marks at the spacing from one end of the wall; heads of windows and doors share one
height, and boxes another (common practice, no source). A hand near such a line is taken to mean it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from warmside.wording import Style

if TYPE_CHECKING:
    from warmside.framing import Frame
    from warmside.survey import Opening, Wall

INCH = 0.0254  # [m]
Stand = tuple[str, float, str, str]  # "x" or "z", where [m], what, row of the form that it is of


@dataclass(frozen=True)
class Part:
    """Something to put in: fields of a new row of the form, and its size [m]."""

    words: str
    row: str
    fields: dict[str, str]
    x: str = "x"
    z: str = ""
    wide: float = 0.0
    high: float = 0.0
    up: float = 0.0

    def to_json(self) -> dict[str, object]:
        """For the script beside the drawing."""
        return asdict(self)


def stands(frame: Frame, wall: Wall) -> tuple[Stand, ...]:
    """Upright lines (x) and level lines (z) that pieces of the wall stand by."""
    return (*_on_the_layout(frame, wall), *_ends(wall), *_of_openings(wall), *_of_the_rest(wall))


def _on_the_layout(frame: Frame, wall: Wall) -> Iterator[Stand]:
    """Faces and middles of the studs that the spacing asks for, whether or not one stands there."""
    wide = next((m.rect.width for m in frame.members if m.kind == "stud"), 1.5 * INCH)
    count = 1
    while (along := count * wall.spacing) < wall.length - wide / 2:
        x = along if wall.layout_from == "left" else wall.length - along
        for shift, what in ((-wide / 2, "face"), (0.0, "middle"), (wide / 2, "face")):
            yield "x", round(x + shift, 5), f"{what} of stud mark {count}", ""
        count += 1


def _ends(wall: Wall) -> Iterator[Stand]:
    yield "x", 0.0, "left end", ""
    yield "x", wall.length / 2, "middle of the wall", ""
    yield "x", wall.length, "right end", ""
    yield "z", 0.0, "foot of the wall", ""


def _of_openings(wall: Wall) -> Iterator[Stand]:
    for n, hole in enumerate(wall.openings):
        row = f"opening.{n}"
        for share, side in ((0.0, "left side"), (0.5, "middle"), (1.0, "right side")):
            yield "x", hole.left + share * hole.width, f"{side} of {hole.name}", row
        yield "z", hole.sill, f"sill of {hole.name}", row
        yield "z", hole.sill + hole.height, f"head of {hole.name}", row


def _of_the_rest(wall: Wall) -> Iterator[Stand]:
    for n, box in enumerate(wall.boxes):
        yield "z", box.z, f"height of {box.kind} {n + 1}", f"box.{n}"
    for n, partition in enumerate(wall.partitions):
        yield "x", partition.at, f"inside wall {n + 1}", f"partition.{n}"


def parts(wall: Wall, write: Style) -> tuple[Part, ...]:
    """What may be put into the wall, of the size and height of its last one of that kind.

    Where it has none: a window 30 by 54 in with its head where a door's is, a door 34 by 82 in, an
    outlet 16 in up (common practice, no source).
    """
    window = _last(wall, "window") or (30 * INCH, 54 * INCH, 28 * INCH)
    door = _last(wall, "door") or (34 * INCH, 82 * INCH, 0.0)
    outlet = wall.boxes[-1].z if wall.boxes else 16 * INCH
    return (
        _opening("Window", "window", window, write),
        _opening("Door", "door", door, write),
        Part("Inside wall", "partition", {"post": "two-stud"}, "at"),
        Part("Box", "box", {"kind": "outlet", "z": write(outlet, "length")}, z="z", up=outlet),
        Part("Pipe or cable", "pipe", {"kind": "cable", "z": write(outlet, "length"),
                                       "run": "through"}, z="z", up=outlet),
    )  # fmt: skip


def _last(wall: Wall, kind: str) -> tuple[float, float, float] | None:
    found: list[Opening] = [hole for hole in wall.openings if hole.kind == kind]
    return (found[-1].width, found[-1].height, found[-1].sill) if found else None


def _opening(words: str, kind: str, size: tuple[float, float, float], write: Style) -> Part:
    wide, high, up = size
    fields = {"name": kind, "kind": kind} | {
        key: write(value, "length")
        for key, value in (("width", wide), ("height", high), ("sill", up))
    }
    return Part(words, "opening", fields, "left", "sill", wide, high, up)
