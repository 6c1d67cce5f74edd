"""An application over a new store in memory of the disk, and people who call it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from warmside.store import Store
from warmside.survey import template


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "warmside.sqlite") as opened:
        yield opened


@pytest.fixture
def job(store: Store) -> str:
    return store.new_job(template(), "owner").id
