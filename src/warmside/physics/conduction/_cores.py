"""Loops compiled twice: for all cores, and for one alone."""

from __future__ import annotations

from types import FunctionType
from typing import Any

from numba import njit


def compiled_twice(loop: Any, **how: Any) -> tuple[Any, Any]:
    """Compile a loop over ``prange`` for all cores and for this one alone.

    On a small field waking the others takes longer than the sums. The compiler's cache names what
    it keeps by a function's name and line, whatever it was compiled for: under one name the second
    would be loaded in the first one's form.

    Returns
    -------
    shared, alone
        Of the same arguments.
    """
    alone = FunctionType(loop.__code__, loop.__globals__, f"{loop.__name__}_alone")
    alone.__qualname__ = f"{loop.__qualname__}_alone"
    alone.__module__ = loop.__module__
    return njit(parallel=True, cache=True, **how)(loop), njit(cache=True, **how)(alone)
