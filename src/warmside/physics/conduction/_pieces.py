"""Painted blocks in one form, so that what is alike in every wall and option is solved once.

Lines across which nothing changes are left out, bodies of one conductivity are one, and of a piece
and its mirror images one stands for all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from warmside.physics.conduction._field_bodies import Blocks, Body, Space, triple

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int32]
_DIGITS = 6  # of lengths [m] and conductivities [W/(m K)]: closer is alike
_FAR = 1.0  # [m] a body's own ends are of no use once it is painted


@dataclass(frozen=True)
class Alike:
    """Blocks that are equal to others of the same content, made by `alike`."""

    key: tuple[tuple[bytes, ...], str]
    blocks: Blocks = field(compare=False)


def alike(blocks: Blocks, mirrored: Sequence[int] = ()) -> tuple[Alike, tuple[bool, ...]]:
    """Blocks in their one form, and along which of the axes ``mirrored`` they were turned round.

    Parameters
    ----------
    blocks : Blocks
        As `by_material` hands them back.
    mirrored : sequence of int
        Axes along which a mirror image is the same for whoever asks; coordinates along them count
        from where the mirror stands.
    """
    lines, what = merged(blocks.lines, blocks.what)
    table, what = _used(_table(blocks), what)
    forms: list[tuple[tuple[Floats, ...], Ints, tuple[int, ...]]] = [(_rounded(lines), what, ())]
    for axis in mirrored:
        line = forms[0][0][axis]
        own, turned = line.tobytes(), (0.0 - line[::-1]).tobytes()
        if turned <= own:  # by the lines alone, where they tell; only what is even comes both ways
            both = [(*_turned(of, inside, axis), (*axes, axis)) for of, inside, axes in forms]
            forms = both if turned < own else forms + both
    lines, what, axes = forms[0] if len(forms) == 1 else min(forms, key=lambda f: f[1].tobytes())
    content = (*_content(lines, what), table.tobytes())
    found = Alike(
        (content, _around(blocks.spaces)), Blocks(lines, what, _bodies(table), blocks.spaces)
    )
    return found, tuple(axis in axes for axis in mirrored)


def by_material(blocks: Blocks) -> Blocks:
    """The same with one body for each conductivity, rising."""
    table, number = np.unique(np.round(_table(blocks), _DIGITS), axis=0, return_inverse=True)
    new = number.ravel().astype(np.int32)
    what = np.where(blocks.what >= 0, new[np.maximum(blocks.what, 0)], blocks.what)
    return Blocks(blocks.lines, what, _bodies(table), blocks.spaces)


def _table(blocks: Blocks) -> Floats:
    """Conductivities of the bodies (n, 3) [W/(m K)]."""
    return np.array([triple(body.conductivity) for body in blocks.bodies]).reshape(-1, 3)


def _bodies(table: Floats) -> tuple[Body, ...]:
    ends = (-_FAR, _FAR, -_FAR, _FAR, -_FAR, _FAR)
    return tuple(Body(*ends, (x, y, z)) for x, y, z in table.tolist())


def _around(spaces: Sequence[Space]) -> str:
    return ";".join(f"{space.environment} {space.film}" for space in spaces)


def merged(lines: tuple[Floats, ...], what: Ints) -> tuple[tuple[Floats, ...], Ints]:
    """Blocks without the lines across which nothing changes; both ends stay."""
    left = []
    for axis, line in enumerate(lines):
        slabs = np.moveaxis(what, axis, 0).reshape(line.size + 1, -1)
        kept = (slabs[1:] != slabs[:-1]).any(axis=1)
        kept[0] = kept[-1] = True
        what = what.take(np.append(0, np.flatnonzero(kept) + 1), axis)
        left.append(line[kept])
    return tuple(left), what


def _used(table: Floats, what: Ints) -> tuple[Floats, Ints]:
    """Only the materials that are there, in the same order."""
    there = np.zeros(table.shape[0] + 1, bool)
    there[np.maximum(what, -1)] = True  # the last takes what is no body
    there[-1] = False
    new = np.append(np.cumsum(there[:-1]) - 1, 0).astype(np.int32)
    return table[there[:-1]], np.where(what >= 0, new[np.maximum(what, -1)], what)


def _rounded(lines: tuple[Floats, ...]) -> tuple[Floats, ...]:
    return tuple(np.round(line, _DIGITS) + 0.0 for line in lines)  # + 0.0: no negative zero


def _turned(lines: tuple[Floats, ...], what: Ints, axis: int) -> tuple[tuple[Floats, ...], Ints]:
    """The mirror image along an axis."""
    turned = tuple(0.0 - line[::-1] if n == axis else line for n, line in enumerate(lines))
    return turned, np.ascontiguousarray(np.flip(what, axis))


def _content(lines: tuple[Floats, ...], what: Ints) -> tuple[bytes, ...]:
    return (*(line.tobytes() for line in lines), what.tobytes())
