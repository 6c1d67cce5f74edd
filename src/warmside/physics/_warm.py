"""Compiling the solvers ahead of their first use."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from importlib import import_module
from multiprocessing import get_context

ROOMS = ("conduction", "moisture")  # nothing compiled is shared, so neither waits for the other


def warm(room: str) -> None:
    """Compile the solver of one room into its cache."""
    import_module(f"warmside.physics.{room}").warm()


def warm_all() -> None:
    """Compile every solver, each in a process of its own."""
    with ProcessPoolExecutor(len(ROOMS), get_context("spawn")) as pool:
        list(pool.map(warm, ROOMS))
