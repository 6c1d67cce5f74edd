"""What the elevation of a wall shows, piece by piece: to be read, pointed at and moved.

The same rows stand on a page of their own for those who read rather than look, and tell the script
beside the drawing what lies where.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from warmside.wording import Style

if TYPE_CHECKING:
    from warmside.framing import Frame
    from warmside.store import Photo
    from warmside.survey import Wall

Show = Callable[[float], str]
Spot = tuple[float, float, float, float]  # x0, z0, x1, z1 [m]
_NEAR = 2e-3  # [m]


@dataclass(frozen=True)
class Moves:
    """What moving a piece changes: fields of a row of the wall's form, and what they hold now [m].

    ``per`` metres of movement to the right change the field ``x`` by one metre; without a row it is
    a field of the wall itself. What has ``wide`` and ``high`` can be drawn larger or smaller.
    """

    row: str
    x: str
    x_now: float
    z: str = ""
    z_now: float = 0.0
    wide: str = ""
    wide_now: float = 0.0
    high: str = ""
    high_now: float = 0.0
    per: float = 1.0

    @property
    def fields(self) -> Iterator[tuple[str, str, float]]:
        """For the script: what a field is to the piece, its name in the form, what it holds [m]."""
        for what, key, now in (
            ("x", self.x, self.x_now), ("z", self.z, self.z_now),
            ("wide", self.wide, self.wide_now), ("high", self.high, self.high_now),
        ):  # fmt: skip
            if key:
                yield what, f"{self.row}.{key}" if self.row else key, round(now, 6)


@dataclass(frozen=True)
class Piece:
    """One piece: what it is, its size and place in words, where it lies."""

    group: str
    name: str
    words: str
    spot: Spot
    moves: Moves | None = None

    @property
    def place(self) -> str:
        """Where it lies [mm], for the script."""
        return ",".join(f"{value * 1000:.0f}" for value in self.spot)


def pieces(frame: Frame, wall: Wall, write: Style) -> tuple[Piece, ...]:
    """Every piece, the small ones first that lie over the large ones."""

    def size(value: float) -> str:
        return write(value, "length")

    return (
        *_services(wall, size),
        *_openings(wall, size),
        *_partitions(wall, size),
        *_members(frame, wall, size),
        *_hollows(frame, size),
        *_joints(frame, size),
    )


def in_the_form(found: Iterable[Piece], rows: Mapping[str, str]) -> tuple[Piece, ...]:
    """The pieces of a wall that is being changed, by the names its rows have in the form."""
    return tuple(
        replace(piece, moves=replace(piece.moves, row=rows.get(piece.moves.row, piece.moves.row)))
        if piece.moves else piece
        for piece in found
    )  # fmt: skip


def photo_pieces(photos: Iterable[Photo], write: Style) -> Iterator[Piece]:
    """Where photos are pinned, numbered as the wall's page numbers them."""
    for n, photo in enumerate(photos, 1):
        if photo.x is not None and photo.z is not None:
            place = f"{write(photo.x, 'length')} from the left, {write(photo.z, 'length')} up"
            words = f"{photo.caption}, {place}" if photo.caption else place
            yield Piece("Photos", f"photo {n}", words, _round(photo.x, photo.z))


def _services(wall: Wall, size: Show) -> Iterator[Piece]:
    for n, box in enumerate(wall.boxes):
        moves = Moves(f"box.{n}", "x", box.x, "z", box.z)
        words = f"{size(box.x)} from the left, {size(box.z)} up"
        yield Piece("Boxes and pipes", f"{box.kind} {n + 1}", words, _round(box.x, box.z), moves)
    for n, pipe in enumerate(wall.pipes):
        upright = pipe.run == "vertical"
        moves = Moves(f"pipe.{n}", "x", pipe.x, "" if upright else "z", pipe.z)
        words = f"{size(pipe.x)} from the left, " + (
            "up the wall" if upright else f"{size(pipe.z)} up, through the wall"
        )
        spot = _round(pipe.x, pipe.z)
        if upright:
            spot = (spot[0], 0.0, spot[2], wall.height_between(pipe.x, pipe.x))
        yield Piece("Boxes and pipes", f"{pipe.kind} {n + 1}", words, spot, moves)
    for n, reading in enumerate(wall.readings):
        if reading.x is None or reading.z is None:
            continue
        moves = Moves(f"reading.{n}", "x", reading.x, "z", reading.z)
        words = f"{reading.moisture:.0%} in {reading.wood}, {reading.where}"
        spot = _round(reading.x, reading.z)
        yield Piece("Boxes and pipes", f"moisture reading {n + 1}", words, spot, moves)


def _round(x: float, z: float) -> Spot:
    return (x - 0.05, z - 0.05, x + 0.05, z + 0.05)


def _openings(wall: Wall, size: Show) -> Iterator[Piece]:
    for n, hole in enumerate(wall.openings):
        words = (
            f"{hole.kind}, {size(hole.width)} wide, {size(hole.height)} high, "
            f"{size(hole.left)} from the left, sill {size(hole.sill)} up"
        )
        spot = (hole.left, hole.sill, hole.left + hole.width, hole.sill + hole.height)
        moves = Moves(f"opening.{n}", "left", hole.left, "sill", hole.sill,
                      "width", hole.width, "height", hole.height)  # fmt: skip
        yield Piece("Windows and doors", hole.name, words, spot, moves)


def _partitions(wall: Wall, size: Show) -> Iterator[Piece]:
    for n, partition in enumerate(wall.partitions):
        at = partition.at
        words = f"{partition.post} post, centre {size(at)} from the left"
        spot = (at - 0.05, 0.0, at + 0.05, wall.height_between(at, at))
        name = f"inside wall {n + 1}"
        yield Piece("Inside walls", name, words, spot, Moves(f"partition.{n}", "at", at))


def _members(frame: Frame, wall: Wall, size: Show) -> Iterator[Piece]:
    for member in frame.members:
        r = member.rect
        long, wide = max(r.width, r.height), min(r.width, r.height)
        words = (
            f"{size(long)} long, {size(wide)} by {size(member.y1 - member.y0)}, "
            f"{size(r.x0)} from the left"
        )
        spot = (r.x0, r.z0, r.x1, r.z1)
        moves = _on_layout(wall, (r.x0 + r.x1) / 2) if member.kind == "stud" else None
        yield Piece("Members", member.name, words, spot, moves)


def _on_layout(wall: Wall, centre: float) -> Moves | None:
    """A stud on layout moves by its spacing, and all others on layout with it."""
    from_left = wall.layout_from == "left"
    along = centre if from_left else wall.length - centre
    count = round(along / wall.spacing)
    if count < 1 or abs(along - count * wall.spacing) > _NEAR:
        return None
    return Moves("", "spacing", wall.spacing, per=count if from_left else -count)


def _hollows(frame: Frame, size: Show) -> Iterator[Piece]:
    for pocket in frame.pockets:
        r = pocket.rect
        words = f"{size(r.width)} wide, {size(r.height)} high; foam does not reach: {pocket.why}"
        yield Piece("Pockets", pocket.name, words, (r.x0, r.z0, r.x1, r.z1))
    for bay in frame.bays:
        r = bay.rect
        ends = f", open at the {' and the '.join(bay.open_at)}" if bay.open_at else ""
        words = (
            f"{bay.kind}, {size(r.width)} wide, {size(r.height)} high, {size(bay.depth)} deep{ends}"
        )
        yield Piece("Bays", bay.name, words, (r.x0, r.z0, r.x1, r.z1))


def _joints(frame: Frame, size: Show) -> Iterator[Piece]:
    for joint in frame.joints:
        if joint.kind in ("box", "penetration"):
            continue  # the box or pipe itself stands above
        x0, z0, x1, z1 = joint.line
        words = f"{joint.kind}, {size(joint.length)} long, between {' and '.join(joint.between)}"
        spot = (min(x0, x1), min(z0, z1), max(x0, x1), max(z0, z1))
        yield Piece("Joints", joint.name, words, spot)
