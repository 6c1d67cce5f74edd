"""Loads, on import, what every worker process of a study needs.

The server process that workers come from imports this once: the libraries that the rooms load only
when they use them, and the compiled loops that start no threads, for a process with threads must
not be copied. The field's loops share their work among threads and are loaded by each worker.
"""

from __future__ import annotations

import scipy.ndimage

import warmside.study
from warmside.physics.moisture import warm

__all__ = ["scipy", "warmside"]

warm()
