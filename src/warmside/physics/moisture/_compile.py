"""How the loops are compiled: cached on disk, division as the processor does it."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from numba import njit

FloatArray: TypeAlias = npt.NDArray[np.float64]
IntArray: TypeAlias = npt.NDArray[np.int64]

# Python's check of every division for zero keeps the compiler from vector instructions; a zero
# divisor gives an infinity here, which the step control refuses.
# "contract" alone lets it join a product and a sum; checks for NaN stay what they are.
compiled = njit(cache=True, error_model="numpy", fastmath={"contract"})
