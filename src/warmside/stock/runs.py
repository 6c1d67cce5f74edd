"""A stock run: every house of the table judged once, results kept chunk by chunk."""

from __future__ import annotations

import csv
import json
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from hashlib import blake2b
from itertools import chain, islice
from pathlib import Path
from tempfile import SpooledTemporaryFile
from typing import Any

from warmside import __version__
from warmside.catalog import Catalog, load
from warmside.errors import Fault, InputError, inert
from warmside.estimate import PriceList, default_prices
from warmside.physics.climate import HourlyClimate
from warmside.stock import schema
from warmside.stock.archetype import Archetype, Known
from warmside.stock.effect_sizes import effects
from warmside.stock.files import (
    readable,
    told_when_full,
    write_frame,
    write_rows,
    write_whole,
)
from warmside.stock.judgement import Ground, Judged, Row, calibrate, factor_key, judge
from warmside.stock.settings import Settings
from warmside.stock.table import Table
from warmside.stock.workers import workers

FORMAT = 1  # of the folder; raised when a column changes its meaning
# Houses of an archetype from which it is itself looked at: its factors, its unknowns' effects
_FEW = {"factors": 3, "effects": 20}
_REFUSED = "refused.csv"
_HELD = 1_000_000  # letters of it that are held in memory
_SHOWN = 200  # refused rows that are held for the caller; the file has them all


@dataclass(frozen=True)
class Told:
    """How far a run is."""

    done: int  # houses, those of earlier runs included
    of: int
    refused: int
    seconds_left: float | None  # [s] None until something is known


Progress = Callable[[Told], None]
Rows = Table | Sequence[Known | InputError]


@dataclass(frozen=True)
class Summary:
    """What a run came to; the results lie in its folder."""

    folder: Path
    houses: int  # judged, now or before
    fresh: int  # judged by this run
    refused: int  # rows that could not be used
    faults: tuple[Fault, ...]  # the first of them
    seconds: float  # [s] on the clock


def run(
    rows: Rows,
    archetypes: Mapping[str, Archetype],
    folder: Path,
    settings: Settings | None = None,
    catalog: Catalog | None = None,
    prices: PriceList | None = None,
    count: int = 1,
    address: str = "",
    progress: Progress | None = None,
    weather: Mapping[str, HourlyClimate] | None = None,
) -> Summary:
    """Judge every house; what an earlier run finished is taken from its folder.

    Parameters
    ----------
    rows : Table or sequence
        Houses, from ``open_table`` or ``read_surveys``.
    archetypes : mapping
        By name.
    folder : Path
        Where results are kept; made where it is missing.
    settings : Settings, optional
        Draws, seed, sample.
    catalog, prices : optional
        The built-in ones when not given.
    count : int
        Processes of this machine.
    address : str
        Scheduler of a Dask cluster; used in the place of processes where given.
    progress : callable, optional
        Called whenever something is done.
    weather : mapping, optional
        A whole year of hours by climate, or under "" for all; made of the normals where none is
        given.

    Returns
    -------
    Summary
        What was done; rows that could not be used are in ``refused.csv`` of the folder.

    Raises
    ------
    DiskFullError, WorkersLostError
        What was finished is kept; the same call goes on from there.
    """
    begun = time.monotonic()
    ground = Ground(
        catalog or load(),
        prices or default_prices(),
        archetypes,
        settings or Settings(),
        dict(weather or {}),
    )
    total = rows.rows if isinstance(rows, Table) else len(rows)
    tell = progress or (lambda _told: None)
    with _notes(folder) as bad, workers(ground, count, address) as crew:
        keeper = _Keeper(folder, ground, total, bad)
        keeper.take_up(rows)
        tell(keeper.told())
        sizes = _sizes(keeper.left, ground.settings.chunk, crew.count)
        chunks = _chunks(keeper.missing(rows), sizes)
        # one stream: nobody waits for the last archetype before the first house
        tasks: Iterator[Task] = chain(keeper.unseen(), chunks)
        for done in crew.run(work, tasks):
            keeper.keep(done)
            tell(keeper.told())
        return keeper.close(time.monotonic() - begun)


def _notes(folder: Path) -> SpooledTemporaryFile[str]:
    """Room for refused rows: beside the results, for a large table may be refused whole."""
    folder.mkdir(parents=True, exist_ok=True)
    return SpooledTemporaryFile(
        max_size=_HELD, mode="w+", encoding="utf-8", errors="replace", newline="", dir=str(folder)
    )


@dataclass(frozen=True)
class Lookup:
    """What is learnt of an archetype once, for all its houses."""

    kind: str  # one of _LEARN
    archetype: str


@dataclass(frozen=True)
class Learnt:
    """A lookup and what came of it."""

    of: Lookup
    rows: tuple[Row, ...]


_LEARN = {"factors": calibrate, "effects": effects}
JudgedHouses = tuple[tuple[str, Judged], ...]
Task = Lookup | tuple[Known, ...]


def work(task: Task, ground: Ground) -> Learnt | JudgedHouses:
    """Look an archetype up, or judge the houses of a chunk; what a worker is given to do."""
    if isinstance(task, Lookup):
        return Learnt(task, _LEARN[task.kind](task.archetype, ground))
    return tuple((ground.key_of(known), judge(known, ground)) for known in task)


def _sizes(left: int, most: int, count: int) -> Iterator[int]:
    """Houses of one chunk after another: ever fewer at the end, so that all workers end together.

    Half of each worker's share of what is left (guided self-scheduling), at most ``most``.
    """
    while True:
        size = min(max(left // (2 * count), 1), most)
        yield size
        left -= size


def _chunks(houses: Iterator[Known], sizes: Iterator[int]) -> Iterator[tuple[Known, ...]]:
    while chunk := tuple(islice(houses, next(sizes))):
        yield chunk


class _Keeper:
    """The folder of a run: what is done, what is missing, what could not be used."""

    def __init__(
        self, folder: Path, ground: Ground, total: int, bad: SpooledTemporaryFile[str]
    ) -> None:
        self._folder, self._ground, self._total = folder, ground, total
        for name in ("houses", "unknowns", *_FEW):
            (folder / name).mkdir(parents=True, exist_ok=True)
        self._keys: list[str] = []  # of the table's houses, in its order
        self._done = self._kept()
        self._fresh = self._refused = self._before = self.left = 0
        self._faults: list[Fault] = []
        self._bad = bad
        self._counts: dict[str, int] = {}
        self._began = time.monotonic()

    def _kept(self) -> set[str]:
        """Keys of houses that an earlier run finished; files that cannot be read are made again."""
        import polars as pl

        keys: set[str] = set()
        for path in (self._folder / "houses").glob("*.parquet"):
            whole = readable(path) and readable(self._folder / "unknowns" / path.name)
            if whole:
                keys.update(pl.read_parquet(path, columns=["key"])["key"].unique())
        return keys

    def take_up(self, rows: Rows) -> None:
        """Look all rows through: which are done, which cannot be used."""
        for row in rows:
            if isinstance(row, InputError):
                self.refuse(row.faults)
                continue
            self._counts[row.archetype] = self._counts.get(row.archetype, 0) + 1
            self._keys.append(self._ground.key_of(row))
        self._before = sum(key in self._done for key in self._keys)
        self.left = len(self._keys) - self._before
        self._began = time.monotonic()

    def missing(self, rows: Rows) -> Iterator[Known]:
        """Houses that are not done yet."""
        for row in rows:
            if not isinstance(row, InputError) and self._ground.key_of(row) not in self._done:
                yield row

    def refuse(self, faults: Iterable[Fault]) -> None:
        """Note a row that cannot be used."""
        self._refused += 1
        write = csv.writer(self._bad).writerow
        for fault in faults:
            with told_when_full(self._folder / _REFUSED):
                write(map(inert, (fault.place, fault.read, fault.allowed)))
            if len(self._faults) < _SHOWN:
                self._faults.append(fault)

    def keep(self, done: Learnt | JudgedHouses) -> None:
        """Keep what a worker has done."""
        if isinstance(done, Learnt):
            path = self._learnt(done.of.kind, done.of.archetype)
            write_rows(path, done.rows, getattr(schema, done.of.kind)())
        else:
            self._keep_houses(done)

    def _keep_houses(self, judged: JudgedHouses) -> None:
        """Keep a chunk: the file of its houses comes last, and says that it is whole."""
        good = [(key, one) for key, one in judged if not one.refused]
        for _, one in judged:
            if one.refused:
                self.refuse(one.refused)
        if not good:
            return
        name = blake2b("".join(key for key, _ in good).encode(), digest_size=12).hexdigest()
        path = self._folder / "unknowns" / f"{name}.parquet"
        write_rows(path, [row for _, one in good for row in one.draws], schema.unknowns())
        path = self._folder / "houses" / f"{name}.parquet"
        write_rows(path, [row for _, one in good for row in one.rows], schema.houses())
        self._done.update(key for key, _ in good)
        self._fresh += len(good)

    def unseen(self) -> Iterator[Lookup]:
        """What is not known yet of archetypes with houses enough."""
        for kind, few in _FEW.items():
            for name, count in sorted(self._counts.items()):
                known = name in self._ground.archetypes
                if count >= few and known and not readable(self._learnt(kind, name)):
                    yield Lookup(kind, name)

    def _learnt(self, kind: str, archetype: str) -> Path:
        return self._folder / kind / f"{factor_key(archetype, self._ground)}.parquet"

    def told(self) -> Told:
        """How far it is."""
        done, passed = self._before + self._fresh, time.monotonic() - self._began
        left = self._total - done - self._refused
        rest = passed / self._fresh * left if self._fresh else None
        return Told(done, self._total, self._refused, rest)

    def close(self, seconds: float) -> Summary:
        """Write what a reader opens: one table of all houses, and how it was made."""
        self._bad.seek(0)
        pieces = iter(lambda: self._bad.read(_HELD).encode("utf-8", "replace"), b"")
        write_whole(self._folder / _REFUSED, chain((b"place,read,allowed\r\n",), pieces))
        write_frame(self._folder / "stock.parquet", _all(self._folder, self._keys, "houses"))
        write_frame(self._folder / "drawn.parquet", _all(self._folder, self._keys, "unknowns"))
        write_whole(self._folder / "run.json", json.dumps(self._made(seconds), indent=1).encode())
        return Summary(
            self._folder, self._before + self._fresh, self._fresh, self._refused,
            tuple(self._faults), seconds,
        )  # fmt: skip

    def _made(self, seconds: float) -> dict[str, Any]:
        names = [name for name in self._counts if name in self._ground.archetypes]
        keys = {name: factor_key(name, self._ground) for name in names}
        return {
            "format": FORMAT,
            "made_by": f"warmside {__version__}",
            "settings": asdict(replace(self._ground.settings)),
            "currency": self._ground.prices.currency,
            "invented": self._ground.prices.invented,
            "houses": self._before + self._fresh,
            "refused": self._refused,
            "seconds": seconds,
            "archetypes": {
                name: {
                    "houses": self._counts[name],
                    "factors": keys[name],
                    "unknowns": {u.field: u.name for u in self._ground.archetypes[name].unknowns},
                }
                for name in names
            },
        }


def _all(folder: Path, keys: Iterable[str], kind: str) -> Any:
    """Rows of the table's houses, in its order, whichever chunk holds them."""
    import polars as pl

    columns = getattr(schema, kind)()
    files = sorted((folder / kind).glob("*.parquet"))
    if not files:
        return pl.DataFrame(schema=columns)
    wanted = pl.LazyFrame({"key": list(keys)}, schema={"key": pl.String}).with_row_index("order")
    second = "option" if kind == "houses" else "unknown"
    # a house that two runs finished stands in two files, alike
    found = pl.scan_parquet(files, glob=False).unique(["key", second], maintain_order=False)
    return (
        wanted.join(found, on="key", how="inner").sort("order", second).drop("order")
        .select(list(columns)).collect()
    )  # fmt: skip
