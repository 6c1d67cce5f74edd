"""How the loops are compiled: cached on disk, division as the processor does it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt
from numba import njit

FloatArray: TypeAlias = npt.NDArray[np.float64]
IntArray: TypeAlias = npt.NDArray[np.int64]
Function = TypeVar("Function", bound=Callable[..., Any])

SOURCES = (
    "_compile.py",
    "_potential.py",
    "_workspace.py",
    "_fluxes.py",
    "_jacobian.py",
    "_blocks.py",
    "_newton.py",
    "_stepping.py",
    "_loops.py",
)


@cache
def _stamp() -> str:
    """Fingerprint of all sources that are compiled together."""
    here = Path(__file__).parent
    return hashlib.sha256(b"".join((here / name).read_bytes() for name in SOURCES)).hexdigest()


def compiled(function: Function) -> Function:
    """Compile ``function``, which makes no arrays, kept on disk until any of the sources changes.

    Python's check of every division for zero would keep the compiler from vector instructions; a
    zero divisor gives an infinity here, which the step control refuses. "contract" alone lets it
    join a product and a sum; checks for NaN stay what they are. The arrays handed over live in the
    caller: counting who holds them at every call, with atomic additions, took a third of the time.
    """
    return _kept(function, _nrt=False)


def making(function: Function) -> Function:
    """Compile ``function``, which makes arrays, as ``compiled`` does."""
    return _kept(function)


def _kept(function: Function, **how: Any) -> Function:
    found: Any = njit(cache=True, error_model="numpy", fastmath={"contract"}, **how)(function)
    # The cache looks at a function's own file only, and would keep a loop into which an older
    # version of another file was compiled.
    index = found._cache._cache_file
    index._source_stamp = (index._source_stamp, _stamp())
    result: Function = found
    return result
