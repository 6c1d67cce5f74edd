"""Profiles and helpers for every test."""

from __future__ import annotations

import os
import shutil
from glob import glob

import pytest
from hypothesis import HealthCheck, settings

# Debian keeps the programs of the database server beside the path, by version
BESIDE = sorted(glob("/usr/lib/postgresql/*/bin"), reverse=True)
os.environ["PATH"] = os.pathsep.join([os.environ.get("PATH", os.defpath), *BESIDE])

# Compiled functions make the first call slow: no deadline. The check profile repeats itself.
settings.register_profile("check", max_examples=500, deadline=None, derandomize=True)
settings.register_profile(
    "nightly", max_examples=20_000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("develop", max_examples=50, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "develop"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip tests whose system part is missing, but never under CI."""
    for item in items:
        for mark in item.iter_markers("part"):
            part = mark.args[0]
            if shutil.which(part) is None:
                if os.environ.get("CI") == "true":
                    raise pytest.UsageError(f"CI needs '{part}' for {item.nodeid}")
                item.add_marker(pytest.mark.skip(reason=f"'{part}' is not installed here"))
