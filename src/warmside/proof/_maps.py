"""Maps of a wall laid together from solved ones, bay by bay: the inner loop of a picture."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numba import njit


@njit(cache=True)
def laid_together(
    factor: npt.NDArray[np.float32],
    beside: npt.NDArray[np.float32],
    nearest: npt.NDArray[np.int16],
    across: npt.NDArray[np.int16],
    low: npt.NDArray[np.intp],
    share: npt.NDArray[np.float64],
    places: npt.NDArray[np.intp],
) -> npt.NDArray[np.float64]:
    """Solved maps (n, nz, nx) at flat ``places`` (m,), ``share`` of the way from ``low`` on.

    Both are by bay (n_bays,): every place takes ``factor`` by its ``nearest`` bay and adds
    ``beside`` by that ``across`` the wood.
    """
    size = np.uint64(nearest.size)
    start = low.astype(np.uint64) * size  # unsigned: no index counts from the end
    mine, other = factor.ravel(), beside.ravel()
    near, far = nearest.ravel(), across.ravel()
    out = np.empty(places.size)
    for m in range(places.size):
        p = np.uint64(places[m])
        j, n = np.uint64(near[p]), np.uint64(far[p])
        a, b = start[j] + p, start[n] + p
        held = mine[a] + share[j] * (mine[a + size] - mine[a])
        out[m] = held + other[b] + share[n] * (other[b + size] - other[b])
    return out
