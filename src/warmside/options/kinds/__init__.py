"""Which kinds of option there are: one object in one file each, listed here and nowhere else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from types import MappingProxyType

from warmside.options._option import Kind
from warmside.options.kinds.batt_and_poly import BATT_AND_POLY
from warmside.options.kinds.board_outside import BOARD_OUTSIDE
from warmside.options.kinds.closed_cell import CLOSED_CELL
from warmside.options.kinds.dense_pack import FROM_OUTSIDE as DENSE_FROM_OUTSIDE
from warmside.options.kinds.dense_pack import FROM_ROOM as DENSE_FROM_ROOM
from warmside.options.kinds.dense_pack import THROUGH_STUCCO as DENSE_THROUGH_STUCCO
from warmside.options.kinds.foam_and_batt import FOAM_AND_BATT
from warmside.options.kinds.foam_and_board import FOAM_AND_BOARD
from warmside.options.kinds.from_outside import FROM_OUTSIDE
from warmside.options.kinds.furring_and_foam import FURRING_AND_FOAM
from warmside.options.kinds.joints import JOINTS
from warmside.options.kinds.leave import LEAVE
from warmside.options.kinds.mend_first import MEND_FIRST
from warmside.options.kinds.open_cell import OPEN_CELL

# In the order in which the usual set of a wall and the curve of thicknesses hold them.
KINDS: Mapping[str, Kind] = MappingProxyType({
    kind.name: kind
    for kind in (
        LEAVE,
        MEND_FIRST,
        JOINTS,
        BATT_AND_POLY,
        CLOSED_CELL,
        OPEN_CELL,
        FOAM_AND_BATT,
        FURRING_AND_FOAM,
        FOAM_AND_BOARD,
        FROM_OUTSIDE,
        BOARD_OUTSIDE,
        DENSE_FROM_OUTSIDE,
        DENSE_THROUGH_STUCCO,
        DENSE_FROM_ROOM,
    )
})  # fmt: skip


def misfits(given: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
    """What is wrong with an ``[[option]]``, beyond its values: key, what was read, allowed.

    Parameters
    ----------
    given : mapping
        Its keys and values; a value None counts as not given.
    """
    name = given.get("kind")
    if not isinstance(name, str) or not name:
        return  # the survey itself tells of it
    if name in KINDS:
        yield from KINDS[name].misfits(given)
        return
    near = get_close_matches(name.casefold(), KINDS, n=3)
    listed = ", ".join(f'"{known}"' for known in near or KINDS)
    yield "kind", f'"{name}"', f"nearest: {listed}" if near else f"one of {listed}"
