"""Commands over a whole store: copies of it, putting one back, its people, erasing a client."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from warmside.cli.telling import Told, told

if TYPE_CHECKING:
    from warmside.store import Erased, Role, Store

_COMMAND = "command line"  # who did it, in the shop's history


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


def _open(data: Path, store: str) -> Store:
    """The store that is there; nothing is made where none is."""
    from warmside.store import Store

    if not store and not (data / "warmside.sqlite").is_file():
        raise Told(f"{data}: there is no store here; warmside serve --data {data} makes one.")
    return told(lambda: Store.open(where(data, store)))


@click.group()
def people() -> None:
    """Who may sign in: add the first owner, set a password anew, see and end sessions."""


_password = click.option(
    "--password-file",
    type=click.File("r", encoding="utf-8"),
    help="File with the password in its first line; - reads it from the input. Asked for without.",
)


def _typed(password_file: Any) -> str:
    if password_file is None:
        return str(click.prompt("Password", hide_input=True, confirmation_prompt=True))
    return str(password_file.readline(1000)).rstrip("\r\n")


@people.command("list")
@store_options
def people_list(data: Path, store: str) -> None:
    """Everyone with their role."""
    with _open(data, store) as opened:
        for person in told(opened.people.all):
            gone = "" if person.active else ", let go"
            click.echo(f"{person.name}: {person.role}{gone}, since {person.created:%Y-%m-%d}")


@people.command("add")
@click.argument("name")
@click.option("--role", type=click.Choice(["owner", "estimator", "crew"]), required=True)
@_password
@store_options
def people_add(name: str, role: Role, password_file: Any, data: Path, store: str) -> None:
    """Add NAME. The first owner of a new store is added so, too, before it is first served."""
    from warmside.store import Store

    if not store:
        data.mkdir(parents=True, exist_ok=True, mode=0o700)
    password = _typed(password_file)
    with told(lambda: Store.open(where(data, store))) as opened:
        told(lambda: opened.people.add(name, role, password, _COMMAND))
    click.echo(f"{name} may sign in as {role}.")


@people.command("password")
@click.argument("name")
@_password
@store_options
def people_password(name: str, password_file: Any, data: Path, store: str) -> None:
    """Give NAME another password, and sign them out everywhere."""
    password = _typed(password_file)
    with _open(data, store) as opened:
        told(lambda: opened.people.set_password(name, password, _COMMAND))
    click.echo(f"{name} has another password.")


@people.command("sessions")
@store_options
def people_sessions(data: Path, store: str) -> None:
    """Who is signed in, since when, and when last seen (to an hour)."""
    with _open(data, store) as opened:
        found = told(opened.sessions.all)
    for one in found:
        click.echo(f"{one.name}: since {one.created:%Y-%m-%d %H:%M}, "
                   f"seen {one.used:%Y-%m-%d %H:%M} UTC")  # fmt: skip
    if not found:
        click.echo("Nobody is signed in.")


@people.command("sign-out")
@click.argument("name")
@store_options
def people_sign_out(name: str, data: Path, store: str) -> None:
    """Sign NAME out on every browser."""
    with _open(data, store) as opened:
        count = told(lambda: opened.sessions.end_all(name))
    click.echo(f"{name} is signed out of {count} browser{'' if count == 1 else 's'}.")


@click.command()
@click.option("--client", required=True, help="The client's name, as it stands in the surveys.")
@click.option("--yes", is_flag=True, help="Do it; without this it is only said what would go.")
@click.option("--receipt", type=click.Path(path_type=Path), help="New file for the receipt.")
@store_options
def erase(client: str, yes: bool, receipt: Path | None, data: Path, store: str) -> None:
    """Erase every job of a client for good: surveys, photos, records, history, results."""
    with _open(data, store) as opened:
        kept = told(lambda: (*opened.jobs(), *opened.jobs(archived=True)))
        mine = [job for job in kept if job.client.casefold() == client.strip().casefold()]
        if not mine:
            raise Told(f"No job is of the client '{client}'. Nothing was erased.")
        if not yes:
            for job in mine:
                click.echo(f"Would erase {job.id}, {job.name}, last changed {job.changed:%Y-%m-%d}")
            click.echo("Nothing was erased. Add --yes to do it.")
            return
        if receipt is not None and receipt.exists():
            raise Told(f"{receipt} is there already. Nothing was erased.")
        gone = [told(lambda job=job: opened.erase(job.id, _COMMAND)) for job in mine]  # type: ignore[misc]
    text = _receipt(client, gone, [] if store else _older_copies(data))
    if receipt is not None:
        told(lambda: receipt.write_text(text, encoding="utf-8"))
    click.echo(text, nl=False)


def _older_copies(data: Path) -> list[Path]:
    """Stores beside the store: as it was before an upgrade, or before a copy was put back."""
    return sorted(p for p in data.glob("*.sqlite") if p.name != "warmside.sqlite")


def _receipt(client: str, gone: list[Erased], copies: list[Path]) -> str:
    from datetime import UTC, datetime

    lines = [f"Erased for {client}, {datetime.now(UTC):%Y-%m-%d %H:%M} UTC:"]
    lines += [
        f"  job {one.job}, {one.name}: {one.changes} changes with all texts and records, "
        f"{one.photos} photos, and {one.results} results that were computed"
        for one in gone
    ]
    lines.append("The history of the shop keeps the number of each job and that it was erased.")
    lines.append("Backup copies that were made before still hold it until they are removed.")
    lines += [f"So does {path}" for path in copies]
    return "\n".join(lines) + "\n"
