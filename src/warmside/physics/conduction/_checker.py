"""The order of cells in memory: by two colours, like the squares of a board seen from the room.

A depth line at (i, k) has colour (i + k) mod 2, so that all its four neighbours have the other
one, and stands at place q = k // 2 among the lines of its colour in row i. Arrays are ordered
(colour, i, line, q). What is computed for one colour then reads and writes memory in one run,
and never touches what it does not need. The first k of a colour's row is

    o = (i + colour) mod 2,

the neighbours at i - 1 and i + 1 have the same q, and those at k - 1 and k + 1 have q - 1 + o
and q + o. All lines that are not idle lie in the slice [1 - o, h - o] of the h places; their
neighbours at k - 1 are then [0, h - 1] of the other colour, and those at k + 1 are [1, h].
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

_Number = TypeVar("_Number", np.float64, np.float32)


def checkered_shape(shape: tuple[int, ...]) -> tuple[int, int, int, int]:
    """Shape by colours of an array (i, line, k)."""
    n, length, m = shape
    return 2, n, length, (m + 1) // 2


def checkered(plain: npt.NDArray[_Number]) -> npt.NDArray[_Number]:
    """Order an array (i, line, k) by colours."""
    out = np.zeros(checkered_shape(plain.shape), plain.dtype)
    for colour, i, o in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 0)):
        part = plain[i::2, :, o::2]
        out[colour, i::2, :, : part.shape[2]] = part
    return out


def plain(checkered: npt.NDArray[_Number], m: int) -> npt.NDArray[_Number]:
    """Order an array by colours as (i, line, k) again, with ``m`` lines along k."""
    _, n, length, _ = checkered.shape
    out = np.empty((n, length, m), checkered.dtype)
    for colour, i, o in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 0)):
        part = out[i::2, :, o::2]
        part[...] = checkered[colour, i::2, :, : part.shape[2]]
    return out
