"""Commands over a whole store: copies of it, and putting one back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from warmside.cli.telling import told


def where(data: Path, store: str) -> str:
    """Address of the store that the options name."""
    return store or str(data / "warmside.sqlite")


def store_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The two options that say which store is meant, as ``serve`` has them."""
    command = click.option(
        "--store",
        default="",
        envvar="WARMSIDE_STORE",
        metavar="URL",
        help="The jobs are in PostgreSQL: postgresql://user@host/database. A password belongs in "
        "the environment variable WARMSIDE_STORE, not here.",
    )(command)
    return click.option(
        "--data",
        type=click.Path(path_type=Path, file_okay=False),
        default=Path("warmside-data"),
        show_default=True,
        help="Folder of the store.",
    )(command)


@click.command()
@store_options
@click.option(
    "--to",
    type=click.Path(path_type=Path),
    required=True,
    help="A folder that is there, or a new file. Best on another disk.",
)
@click.option(
    "--keep",
    type=click.IntRange(1, 10_000),
    help="Copies of this shop that the folder keeps; older ones are removed.",
)
def backup(data: Path, store: str, to: Path, keep: int | None) -> None:
    """Copy everything that is kept into one file, while people go on working.

    The copy is opened and looked through before it counts: each text and photo is held against
    its SHA-256. It holds clients and pictures of their homes: keep it as safe as the store.
    """
    from warmside.store import back_up

    copy = told(lambda: back_up(where(data, store), to, keep))
    click.echo(f"Wrote {copy.path}: {copy}.")


@click.command()
@click.argument("copy", type=click.Path(path_type=Path))
@store_options
@click.option("--replace", is_flag=True, help="In the place of the store there, which is kept.")
@click.option("--check", is_flag=True, help="Only look through the copy; put nothing back.")
def restore(copy: Path, data: Path, store: str, replace: bool, check: bool) -> None:
    """Put a COPY that `backup` made into an empty place: a new folder or an empty database.

    Stop the server first. A copy may go into the other kind of store than it came from.
    """
    from warmside.store import checked_copy
    from warmside.store import restore as put_back

    if check:
        click.echo(f"{copy} can be put back: {told(lambda: checked_copy(copy))}.")
        return
    found = told(lambda: put_back(copy, where(data, store), replace))
    if found.before:
        click.echo(f"What stood there before is kept in {found.before}.")
    click.echo(f"Put back into {'the database' if store else data}: {found.copy}.")
