"""A store on either engine, fresh for each test; a private database server where one is needed."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import psycopg
import pytest

from databases import database_server
from warmside.store import Store
from warmside.store.tables import metadata

SURVEY = """\
# Seen on a cold morning
[house]
name = "House on the corner"
place = "An invented town"
client = "Ångström household"  # spelt so
climate = "{climate}"
year_built = 1948
volume = "300 m3"

[[wall]]
name = "north"
faces = "N"
frame = "platform"
length = "24 ft"
height = "8 ft"
notes = "Stained below the sill"

[[wall]]
name = "east"
faces = "E"
frame = "platform"
length = "5 m"
height = "2.4 m"
"""


@pytest.fixture(scope="session")
def survey() -> str:
    """A survey that reads, with remarks."""
    from warmside.catalog import load

    return SURVEY.format(climate=next(iter(load().climates)))


@pytest.fixture(scope="session")
def _server() -> Iterator[str]:
    with database_server() as folder:
        yield folder


@pytest.fixture(scope="session")
def _sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("template") / "store.sqlite"
    Store.open(path).close()
    return path


_NUMBER = count()


@pytest.fixture(scope="session")
def new_database(_server: str) -> Callable[[], str]:
    """Makes empty databases on the server, each by its address."""

    def make() -> str:
        name = f"t{next(_NUMBER)}"
        admin = f"host={_server} user=warmside dbname=postgres"
        with psycopg.connect(admin, autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}"'.encode())
        return f"postgresql://warmside@/{name}?host={_server}"

    return make


@pytest.fixture(scope="session")
def _postgres(new_database: Callable[[], str]) -> str:
    address = new_database()
    Store.open(address).close()
    return address


def _empty(address: str) -> None:
    """Take everything out again but the shop, as it was."""
    tables = ", ".join(f'"{name}"' for name in metadata.tables)
    with psycopg.connect(address) as connection:
        shop = connection.execute("SELECT * FROM job WHERE id = 'shop'").fetchone()
        assert shop is not None
        connection.execute(f"TRUNCATE {tables}".encode())
        fresh = (*shop[:8], 0, False)
        connection.execute("INSERT INTO job VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)", fresh)


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.part("postgres"))])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Address of an empty store, on one engine after the other."""
    if request.param == "sqlite":
        template = request.getfixturevalue("_sqlite_template")
        yield str(shutil.copy(template, tmp_path / "store.sqlite"))
        return
    address = request.getfixturevalue("_postgres")
    yield address
    _empty(address)


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """An empty store."""
    with Store.open(address) as opened:
        yield opened


@pytest.fixture
def lite(_sqlite_template: Path, tmp_path: Path) -> Iterator[Store]:
    """An empty store in a SQLite file, for what does not depend on the engine."""
    with Store.open(shutil.copy(_sqlite_template, tmp_path / "lite.sqlite")) as opened:
        yield opened
