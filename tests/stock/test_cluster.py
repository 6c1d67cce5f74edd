"""A Dask cluster gives what this process gives, to the last digit."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from stock.small import archetypes, houses
from warmside.errors import InputError
from warmside.stock import Settings, run

QUICK = Settings(draws=2, sample=0.0, near_factor=0.0, near_surface=0.0, near_water=0.0, chunk=1)


def test_the_same_result_to_the_last_digit(tmp_path: Path):
    """One code, one result: a scheduler and two workers in threads of their own."""
    from distributed import LocalCluster

    here = run(houses(3), archetypes(), tmp_path / "here", QUICK)
    with LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        there = run(
            houses(3), archetypes(), tmp_path / "there", QUICK, address=cluster.scheduler_address
        )
    assert there.fresh == here.fresh == 3
    assert_frame_equal(
        pl.read_parquet(tmp_path / "there" / "stock.parquet"),
        pl.read_parquet(tmp_path / "here" / "stock.parquet"),
        check_exact=True,
    )


def test_workers_lost_one_after_another(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A task that its scheduler gives up is given out again; after five in a row the run ends."""
    from distributed import KilledWorker, LocalCluster

    from warmside.stock import WorkersLostError, workers

    asked = tmp_path / "asked"

    def lost(*_given: object) -> None:
        with asked.open("a") as file:
            file.write("x")
        raise KilledWorker("task", SimpleNamespace(address="nowhere"), 3)  # type: ignore[arg-type, no-untyped-call]

    monkeypatch.setattr(workers, "_alone", lost)
    with (
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
        ) as cluster,
        pytest.raises(WorkersLostError, match="5 times in a row"),
    ):
        run(houses(1), archetypes(), tmp_path, QUICK, address=cluster.scheduler_address)
    assert asked.read_text() == "xxxxx"


def test_nobody_at_the_address(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    from warmside.stock import workers

    monkeypatch.setattr(workers, "_PATIENCE", 0.5)
    with pytest.raises(InputError, match=r"cluster: read tcp://127\.0\.0\.1:9"):
        run(houses(1), archetypes(), tmp_path, QUICK, address="tcp://127.0.0.1:9")
