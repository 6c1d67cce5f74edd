"""The command line: thin calls to the rooms, no formulas."""

from __future__ import annotations

import gc
import json
import os
import signal
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from warmside import __version__
from warmside.cli.papers import papers
from warmside.cli.store import backup, erase, people, restore, store_options, where
from warmside.cli.telling import Told as _Told
from warmside.cli.telling import told as _told
from warmside.wording import Figure, counted, listed
from warmside.workers import one_core_each

if TYPE_CHECKING:
    from warmside.options import Sealing
    from warmside.physics.climate import HourlyClimate
    from warmside.study import Spread, Study
    from warmside.web import Certificate

_INTERRUPTED = 128 + signal.SIGINT


def run() -> None:
    """The command line as a process of its own; 130 where it was interrupted, as shells have it."""
    one_core_each()
    try:
        status = main(prog_name="warmside", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        status = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped.", err=True)
        status = _INTERRUPTED
    finally:
        gc.freeze()  # what a study leaves goes with the process, without a last look through it
    raise SystemExit(status if isinstance(status, int) else 0)


_ACCEPT = click.option(
    "--accept",
    "reasons",
    multiple=True,
    metavar="WARNING=REASON",
    help="Keep an unusual figure after a second look. May be given more than once.",
)


_LANGUAGE = click.option(
    "--language",
    type=click.Choice(["en", "fr"]),
    default="en",
    show_default=True,
    help="Of what the client reads.",
)
_PAPER = click.option(
    "--paper",
    type=click.Choice(["us-letter", "a4"]),
    default="us-letter",
    show_default=True,
    help="Size of what the client reads.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def main() -> None:
    """From a surveyed old wood-framed wall to a computed, priced and provable job."""


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
def new(file: Path) -> None:
    """Write a filled-in survey template to FILE, ready to be changed."""
    from warmside.survey import template

    _write_new(file, template())
    click.echo(f"Wrote {file}. Change it to your house, then: warmside check {file}")


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@_ACCEPT
def check(file: Path, own: Path | None, reasons: tuple[str, ...]) -> None:
    """List every fault of the survey FILE: its line, what was read, what is allowed."""
    survey, _ = _survey(file, own, reasons)
    walls, hazards = len(survey.walls), len(survey.hazards)
    click.echo(
        f"{file}: no fault. {survey.house.name}, {counted(walls, 'wall')}, "
        f"{counted(hazards, 'hazard')}."
    )


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@click.option("--prices", "prices_file", type=click.Path(path_type=Path), help="Your price file.")
@click.option(
    "--codes",
    multiple=True,
    help="A code pack: your own file, or the id of a built-in one. May be given more than once.",
)
@click.option(
    "--weather",
    "hours",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A year of hours in an open format, or its months, given one by one.",
)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to.")
@click.option("--json", "as_json", is_flag=True, help="Print the study as JSON, write nothing.")
@click.option("--severe", is_flag=True, help="Judge moisture in a year 2 K colder than the mean.")
@click.option(
    "--years",
    type=click.IntRange(1, 30),
    help="How many years every option and path is run hour by hour; one without it.",
)
@click.option(
    "--draws",
    type=click.IntRange(10, 2000),
    default=32,
    show_default=True,
    help="In how many draws of what is not known exactly each promise is judged again.",
)
@_LANGUAGE
@_PAPER
@_ACCEPT
def study(
    file: Path,
    own: Path | None,
    prices_file: Path | None,
    codes: tuple[str, ...],
    hours: tuple[Path, ...],
    out: Path | None,
    as_json: bool,
    years: int | None,
    severe: bool,
    draws: int,
    language: Any,
    paper: Any,
    reasons: tuple[str, ...],
) -> None:
    """Study the surveyed house in FILE and write its papers."""
    folder = None if as_json else _folder(out, file)
    survey, catalog = _survey(file, own, reasons)
    year = _hours(hours, catalog, survey.house.climate)
    result = _study(survey, catalog, prices_file, codes, as_json, years, year, severe)
    from warmside.study import json_text, spread

    chances = spread(result, draws, workers=os.cpu_count() or 1)
    if folder is None:
        click.echo(json_text(result, chances), nl=False)
        return
    _papers(result, folder, chances, _client(result, prices_file, language, paper))


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@click.option("--prices", "prices_file", type=click.Path(path_type=Path), help="Your price file.")
@click.option(
    "--option",
    "options",
    multiple=True,
    metavar="[WALL=]ID",
    help="What is done: an option's id for every wall, or for one. Without it the house is "
    "studied and the options put forward are taken.",
)
@click.option(
    "--forecast",
    type=click.Path(path_type=Path),
    help="CSV of the coming hours, or a year in an open format.",
)
@click.option(
    "--weather",
    "hours",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A year of hours to study by and, without a forecast, to plan by.",
)
@click.option("--sealing", type=click.Choice(["before", "after"]), default="before")
@click.option("--crew", "people", type=click.IntRange(1, 20), default=2, show_default=True)
@click.option(
    "--calendar", "first", type=click.DateTime(["%Y-%m-%d"]), help="First day of the work: writes "
    "calendar.ics, in which no step stands before its gate or its trade.",
)  # fmt: skip
@click.option(
    "--language", type=click.Choice(["en", "es"]), default="en", show_default=True,
    help="Of the sheet; lines of safety have the English beside them.",
)  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to.")
@_ACCEPT
def crew(
    file: Path,
    own: Path | None,
    prices_file: Path | None,
    options: tuple[str, ...],
    forecast: Path | None,
    hours: tuple[Path, ...],
    sealing: Sealing,
    people: int,
    first: datetime | None,
    language: Any,
    out: Path | None,
    reasons: tuple[str, ...],
) -> None:
    """Write the crew sheet for the house in FILE: passes, gates, joint maps, signs. No money."""
    folder = _folder(out, file)
    survey, rows = _survey(file, own, reasons)
    from warmside.documents import write_crew_sheet
    from warmside.estimate import read_prices
    from warmside.site import climate_hours, hours_from, parse_options
    from warmside.weather import station_of
    from warmside.wording import PAPER

    near = station_of(rows.climate(survey.house.climate))
    year = _hours(hours, rows, survey.house.climate)
    text = _told(lambda: forecast.read_text("utf-8", "replace")) if forecast else ""
    coming = _told(lambda: climate_hours(year, date.today())) if year else None
    if forecast:
        coming = _told(lambda: hours_from(text, date.today(), near=near))
    prices = _told(lambda: read_prices(prices_file)) if prices_file else None
    if options:
        chosen = _told(lambda: parse_options(survey, options))
    else:
        studied = _study(survey, rows, prices_file, year=year)
        chosen = {wall.wall.name: wall.chosen_id for wall in studied.walls}
    for path in _told(
        lambda: list(
            write_crew_sheet(
                survey,
                rows,
                chosen,
                folder,
                None,
                prices,
                coming,
                sealing,
                people,
                replace(PAPER, language=language),
            )
        )
    ):
        click.echo(f"Wrote {path}")
    if first is not None:
        from warmside.site import Terms, book, calendar, plan_house

        terms = Terms(first.date(), people)
        plans = _told(lambda: plan_house(survey, rows, chosen, prices, sealing, people))
        file = folder / "calendar.ics"
        booked = book(plans, terms, not survey.house.spill_free)
        file.write_bytes(calendar(booked, survey.house.name, datetime.now(UTC), terms))
        click.echo(f"Wrote {file}")


@main.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("demo-out"),
    show_default=True,
    help="Folder to write to.",
)
@click.option("--proof", is_flag=True, help="Its (synthetic) proof and close-out papers as well.")
@_LANGUAGE
@_PAPER
def demo(out: Path, proof: bool, language: Any, paper: Any) -> None:
    """Study the demonstration house and write its papers."""
    from warmside.workers import make_ready

    make_ready()  # the workers import the solvers while this process does
    _folder(out, out)
    from warmside.demo import survey_text
    from warmside.survey import read

    result = _study(read(survey_text(), "demonstration house"), None, None)
    _papers(result, out, None, _client(result, None, language, paper))
    if proof:
        from warmside.demo import proof_picture, proof_text

        _close_out(result, proof_text(), proof_picture, out)


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("proof", type=click.Path(path_type=Path))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@click.option("--prices", "prices_file", type=click.Path(path_type=Path), help="Your price file.")
@click.option("--by", default="", help="Contractor's name and licence, as it is to be printed.")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to.")
@_ACCEPT
def prove(
    file: Path,
    proof: Path,
    own: Path | None,
    prices_file: Path | None,
    by: str,
    out: Path | None,
    reasons: tuple[str, ...],
) -> None:
    """Judge the house in FILE by what was measured, in PROOF, and write the close-out papers.

    Pictures that PROOF names lie beside it.
    """
    from warmside.survey import load

    folder = _folder(out, file)
    survey, rows = _survey(file, own, reasons)
    text = _told(lambda: load(proof))
    _told(lambda: _read_proof(text))  # its faults come before minutes of work
    result = _study(survey, rows, prices_file)

    def picture(name: str) -> bytes:
        return proof.with_name(Path(name).name).read_bytes()

    _close_out(result, text, picture, folder, by)


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@click.option("--prices", "prices_file", type=click.Path(path_type=Path), help="Your price file.")
@click.option(
    "--option", "options", multiple=True, metavar="[WALL=]ID",
    help="What is done, as in crew. Without it the house is studied.",
)  # fmt: skip
@click.option("--room", default="20 C", show_default=True, help="Air in the room by then.")
@click.option("--outside", default="0 C", show_default=True, help="Air outside by then.")
@click.option(
    "--camera", type=float, default=0.1, show_default=True, metavar="K",
    help="What the camera tells apart within a picture.",
)  # fmt: skip
@click.option(
    "--acceptance", default="average with tolerance", show_default=True,
    type=click.Choice(["average", "average with tolerance", "minimum"]),
    help="How thickness is sold.",
)  # fmt: skip
@_ACCEPT
def foresee(
    file: Path,
    own: Path | None,
    prices_file: Path | None,
    options: tuple[str, ...],
    room: str,
    outside: str,
    camera: float,
    acceptance: Any,
    reasons: tuple[str, ...],
) -> None:
    """Say what thermal pictures and probes of the house in FILE will be able to show.

    Before anybody takes them; the usual conditions met (room held, no sun since the day before).
    """
    from warmside import units
    from warmside.documents import foreseen
    from warmside.proof import usual
    from warmside.site import parse_options, plan_house

    air = _told(
        lambda: usual(units.parse(room, "temperature"), units.parse(outside, "temperature"))
    )
    survey, rows = _survey(file, own, reasons)
    if options:
        chosen = _told(lambda: parse_options(survey, options))
    else:
        chosen = {w.wall.name: w.chosen_id for w in _study(survey, rows, prices_file).walls}
    plans = _told(lambda: plan_house(survey, rows, chosen, None, "before", 2))
    for line in _told(lambda: list(foreseen(survey, plans, rows, air, camera, acceptance))):
        click.echo(line)


for _command in (backup, restore, people, erase, papers):
    main.add_command(_command)


@main.command()
@store_options
@click.option("--port", type=click.IntRange(0, 65535), default=8765, show_default=True)
@click.option("--share", is_flag=True, help="Open to the local network; everyone signs in.")
@click.option(
    "--behind",
    default="",
    metavar="https://NAME",
    help="People reach the pages by this address, over a proxy on this computer that ends TLS; "
    "everyone signs in.",
)
@click.option(
    "--certificate",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Serve over TLS with this certificate (PEM, with its chain); --key names its key.",
)
@click.option("--key", type=click.Path(path_type=Path, dir_okay=False), help="Key, as PEM.")
@click.option(
    "--own-certificate",
    is_flag=True,
    help="Serve over TLS with a certificate of this computer's own; phones trust it by pairing.",
)
@click.option(
    "--backup-to",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="Folder for copies of the store, made while it runs. Best on another disk.",
)
@click.option(
    "--backup-every",
    type=click.IntRange(1, 100_000),
    default=60,
    show_default=True,
    help="Minutes from one copy to the next.",
)
@click.option(
    "--backup-keep",
    type=click.IntRange(1, 10_000),
    default=72,
    show_default=True,
    help="Copies kept; older ones are removed.",
)
def serve(
    data: Path,
    store: str,
    port: int,
    share: bool,
    behind: str,
    certificate: Path | None,
    key: Path | None,
    own_certificate: bool,
    backup_to: Path | None,
    backup_every: int,
    backup_keep: int,
) -> None:
    """Open the pages in the browser: jobs, walls, studies, papers."""
    from warmside.demo import proof_picture, proof_text, survey_text
    from warmside.web import Backups, take_in
    from warmside.web import serve as serve_pages

    def first_owner() -> tuple[str, str]:
        click.echo("Nobody can sign in yet. The owner, who adds the others:")
        name = click.prompt("Name")
        return name, click.prompt("Password", hide_input=True, confirmation_prompt=True)

    def told(address: str) -> None:
        if " " in address:  # more about what was told
            click.echo(address)
            return
        kept = "the database" if store else data
        click.echo(f"Warmside is at {address} (stop with Ctrl-C). The jobs are kept in {kept}.")
        if not backup_to:
            click.echo("No copies are made: see --backup-to, or warmside backup.")

    def first_proof(jobs: Any, job: str) -> None:
        take_in(jobs, job, proof_text(), proof_picture, "warmside")

    copies = None
    if backup_to:
        copies = Backups(where(data, store), backup_to, backup_every, backup_keep)
    _told(
        lambda: serve_pages(
            data,
            port,
            share,
            survey_text(),
            first_owner,
            told,
            store,
            first_proof,
            copies,
            behind,
            _certificate(data, certificate, key, own_certificate, behind),
        )
    )


def _certificate(
    data: Path, file: Path | None, key: Path | None, own: bool, behind: str
) -> Certificate | None:
    """The certificate that the options ask for."""
    from warmside.web import given_certificate, own_certificate

    if sum((file is not None, own, bool(behind))) > 1:
        raise _Told("One of --certificate, --own-certificate and --behind: TLS ends at one place.")
    if (file is None) != (key is None):
        raise _Told("--certificate and --key go together.")
    if file is not None and key is not None:
        return given_certificate(file, key)
    return own_certificate(data) if own else None


@main.group()
def stock() -> None:
    """Many houses, partly known: which ones first, with what, in which year."""


@stock.command("run")
@click.argument("houses", type=click.Path(path_type=Path))
@click.option(
    "--archetypes",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of archetypes: survey files with what varies from house to house.",
)
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), required=True, help="Results folder."
)
@click.option("--draws", default=8, show_default=True, help="Draws of each house's unknowns.")
@click.option("--sample", default=0.05, show_default=True, help="Share of houses checked in full.")
@click.option("--seed", default=1, show_default=True)
@click.option("--workers", type=click.IntRange(1, 256), help="Processes of this computer.")
@click.option("--cluster", default="", help="Address of a Dask scheduler, in their place.")
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@click.option("--prices", "prices_file", type=click.Path(path_type=Path), help="Your price file.")
@click.option(
    "--weather",
    "hours",
    multiple=True,
    metavar="[CLIMATE=]FILE",
    help="A year of hours in an open format, for one climate of the table or for all.",
)
def stock_run(
    houses: Path,
    archetypes: Path | None,
    out: Path,
    draws: int,
    sample: float,
    seed: int,
    workers: int | None,
    cluster: str,
    own: Path | None,
    prices_file: Path | None,
    hours: tuple[str, ...],
) -> None:
    """Judge every house of a table (CSV, Parquet) or of a folder of surveys.

    What an earlier run into the same folder finished is not done again.
    """
    from warmside.catalog import load
    from warmside.estimate import read_prices
    from warmside.stock import Settings, open_table, read_archetypes, read_surveys, run

    def work() -> Any:
        catalog = load(own)
        settings = Settings(draws=draws, sample=sample, seed=seed)
        prices = read_prices(prices_file) if prices_file else None
        rows: Any
        if houses.is_dir():
            rows, kinds = read_surveys(houses, catalog)
        else:
            kinds = dict(read_archetypes(archetypes or houses.parent / "archetypes", catalog))
            rows = open_table(houses, kinds)
            for fault in rows.faults:
                click.echo(f"{houses}: {fault}", err=True)
        count = workers or os.cpu_count() or 1
        given = dict(_of_climate(one, catalog) for one in hours)
        return run(rows, kinds, out, settings, catalog, prices, count, cluster, _how_far(), given)

    found = _told(work)
    for fault in found.faults[:20]:
        click.echo(f"{houses}: {fault}", err=True)
    if found.refused:
        click.echo(f"{found.refused} rows could not be used: {out / 'refused.csv'}", err=True)
    click.echo(
        f"{found.houses} houses judged, {found.fresh} of them now, in {found.seconds:.0f} s."
    )
    click.echo(f"Wrote {out / 'stock.parquet'}. Next: warmside stock report {out}")


@stock.command("report")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--goal", type=click.Choice(["saving", "carbon", "risk"]), default="saving", show_default=True
)
@click.option("--years", type=click.IntRange(1, 40), default=5, show_default=True)
@click.option("--budget", default=250_000.0, show_default=True, help="Money a year.")
@click.option("--crew-hours", default=3000.0, show_default=True, help="Of all crews, a year.")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Where to write.")
def stock_report(
    folder: Path, goal: Any, years: int, budget: float, crew_hours: float, out: Path | None
) -> None:
    """Write the provider's paper and the programme from the results in FOLDER."""
    from warmside.documents import Wish, write_stock_papers
    from warmside.stock import checked, read_stock

    found = _told(lambda: read_stock(folder))
    wish = Wish(goal, years, budget, crew_hours)
    click.echo(checked(found).sentence)
    for path in _told(lambda: list(write_stock_papers(found, out or folder, wish))):
        click.echo(f"Wrote {path}")


@stock.command("demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("demo-stock"),
    show_default=True,
    help="Folder to write to.",
)
@click.option("--houses", type=click.IntRange(1, 1_000_000), default=60, show_default=True)
def stock_demo(out: Path, houses: int) -> None:
    """Write an invented stock: a table of houses and the archetypes they are of."""
    from warmside.demo import write_stock

    table = _told(lambda: write_stock(out, houses))
    click.echo(f"Wrote {table} (invented). Next: warmside stock run {table} --out {out / 'run'}")


def _how_far() -> Any:
    """Progress on a terminal: houses done, time left; None elsewhere."""
    if not sys.stderr.isatty():
        return None

    def tell(told: Any) -> None:
        left = "" if told.seconds_left is None else f", {told.seconds_left / 60.0:.0f} min left"
        click.echo(f"\r  {told.done}/{told.of} houses{left:<20}", nl=False, err=True)

    return tell


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
@click.option(
    "--weather",
    "hours",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A year of hours in an open format; the mean year without it.",
)
@click.option("--computed", help='What the study computed for the work: "9000 kWh".')
@_ACCEPT
def bills(
    file: Path,
    own: Path | None,
    hours: tuple[Path, ...],
    computed: str | None,
    reasons: tuple[str, ...],
) -> None:
    """Read the fuel bills in FILE, and what they show that the work saved."""
    survey, rows = _survey(file, own, reasons)
    from warmside import units
    from warmside.catalog import load as load_catalog
    from warmside.promises import bill_sentence, billed, saved_sentence
    from warmside.weather import usual_year

    known = (rows or load_catalog()).at(survey.house.climate)
    year = _hours(hours, rows, survey.house.climate)
    climate = known.climate(survey.house.climate)
    fuel = known.fuel(survey.house.heating.fuel)
    found = _told(lambda: billed(survey.house, fuel, year or usual_year(climate)))
    if found is None:
        click.echo("The survey has no bills: add [[house.bill]] tables, twelve months of them.")
        return
    click.echo(str(bill_sentence(found, 1.0)))
    if found.saved is not None:
        heat = _told(lambda: units.parse(computed, "energy")) if computed else None
        click.echo(saved_sentence(found, heat, survey.house.name))


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--from", "source", type=click.Path(path_type=Path), help="A price file to write as a table, "
    "or a table to write as a price file; the (invented) list that comes with it when not given.",
)  # fmt: skip
def prices(file: Path, source: Path | None) -> None:
    """Write a price list to FILE, to put your own figures in: .toml, .csv or .xlsx by its ending.

    All three are read wherever a price file is asked for.
    """
    from warmside.estimate import default_text, price_text, to_csv, to_xlsx

    text = _told(lambda: price_text(source)) if source else default_text()
    kind = file.suffix.lower()
    if kind == ".xlsx":
        _write_new(file, _told(lambda: to_xlsx(text)))
    else:
        _write_new(file, _told(lambda: to_csv(text)) if kind == ".csv" else text)
    click.echo(f"Wrote {file}. Put your own figures in, then: warmside study ... --prices {file}")


@main.command()
@click.option(
    "--room",
    "rooms",
    multiple=True,
    help="Only this room, or measured. May be given more than once.",
)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to.")
def verify(rooms: tuple[str, ...], out: Path | None) -> None:
    """Compute every check of the register, and what was measured; the worst of each first."""
    from warmside.documents import case_row, measured_row, write_verification
    from warmside.verify import verify as run

    show = sys.stderr.isatty()

    def told(case: Any) -> None:
        if show:
            click.echo(f"\r  {case.room}: {case.what[:60]:<60}", nl=False, err=True)

    report = _told(lambda: run(rooms, told))
    if show:
        click.echo("\r" + " " * 80 + "\r", nl=False, err=True)
    click.echo("verdict     share  case, its worst figure, its source")
    for outcome in report.outcomes:
        click.echo(_case(case_row(outcome)))
    if report.measured:
        click.echo("\ndeviation   measured figure, computed beside it, its source")
    for found in report.measured:
        click.echo(_measured(measured_row(found)))
    click.echo(report.sentence)
    if out:
        for path in _told(lambda: list(write_verification(report, out))):
            click.echo(f"Wrote {path}")
    if report.disagreeing:
        raise SystemExit(1)


# what a person asks for -> the class of its rows
_CATALOG_KINDS = {
    "material": "materials", "moisture": "moisture", "foam": "foams", "joint": "joints",
    "fill": "fills",
    "fuel": "fuels", "climate": "climates", "lumber": "lumber", "hazard": "hazards",
    "site": "site", "air": "air", "venting": "venting",
}  # fmt: skip


@main.command()
def schema() -> None:
    """Print the JSON Schema of the survey file."""
    from warmside.study import survey_schema

    click.echo(json.dumps(survey_schema(), indent=1, ensure_ascii=False))


@main.command()
@click.argument("kind", type=click.Choice([*_CATALOG_KINDS, "code"]))
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
def catalog(kind: str, own: Path | None) -> None:
    """List the rows of one KIND with their names and sources."""
    from warmside.catalog import load, sources

    known = _told(lambda: load(own))
    if kind == "code":
        rows = [(pack.id, pack.name, pack.edition) for pack in known.packs.values()]
    else:
        found = [line for line in sources(known) if line.kind == _CATALOG_KINDS[kind]]
        # a row may have several sources: the first stands for it
        rows = list({one.row: (one.row, one.name, f"{one.text} ({one.tag})")
                     for one in reversed(found)}.values())[::-1]  # fmt: skip
    wide = max(len(row[0]) for row in rows)
    for id_, name, source in rows:
        click.echo(f"{id_:<{wide}}  {name}")
        click.echo(f"{'':<{wide}}  {source}")


@main.group()
def place() -> None:
    """The weather of a place: what is known of one, and a new one from a file of hours."""


@place.command("add")
@click.argument("file", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--name", required=True, help="As it is to be shown; its id is made of it.")
@click.option("--region", required=True, help="State or province.")
@click.option("--source", required=True, help="Where the file is from, for the papers.")
@click.option("--near", default="", help="A place whose zone holds, where the file names none.")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="File to write.")
def place_add(
    file: tuple[Path, ...], name: str, region: str, source: str, near: str, out: Path
) -> None:
    """Write a climate row of your own: from a year of hours in an open format, or from the
    monthly normals of Environment and Climate Change Canada.

    Use it with --catalog OUT, and hours themselves with --weather FILE.
    """
    from warmside import weather
    from warmside.catalog import load

    def row() -> str:
        at = weather.station_of(load().climate(near)) if near else None
        with file[0].open("rb") as first:
            text = weather.text_of(first)
        if weather.is_normals(text):
            found = weather.read_normals(text, at)
        else:
            year = weather.whole_year(weather.open_weather(*file, near=at))
            found = weather.figures_of(year)
            for note in year.notes:
                click.echo(f"  {note}")
        for note in found.notes:
            click.echo(f"  {note}")
        return weather.climate_row(found, name, region, source)

    text = _told(row)
    _write_new(out, text)
    id = text.split('"')[1]
    click.echo(f'Wrote {out}. In the survey: climate = "{id}"; then --catalog {out}')


@place.command("list")
@click.argument("words", default="")
def place_list(words: str) -> None:
    """List the places of the table, or those whose name or state has WORDS in it."""
    from warmside.catalog import places

    for one in places():
        line = f"{one.id:<32} {one.name}, {one.region}"
        if words.lower() in line.lower():
            click.echo(line)


@place.command("show")
@click.argument("key")
@click.option("--catalog", "own", type=click.Path(path_type=Path), help="Your own catalog rows.")
def place_show(key: str, own: Path | None) -> None:
    """Show the weather that KEY stands for: a name, a ZIP code or "latitude, longitude"."""
    from warmside.catalog import completed, load
    from warmside.weather import supports

    found = _told(lambda: completed(load(own).climate(key)))
    click.echo(f"{found.id}: {found.name}, {found.region}")
    click.echo(f"  {found.latitude:.2f}, {found.longitude:.2f}, {found.elevation:.0f} m")
    months = " ".join(f"{t:.0f}" for t in found.mean)
    click.echo(f"  mean of the months, January first: {months} °C; {found.source}")
    click.echo(f"  humidity: {found.source_humidity}")
    for what, source in found.sources:
        click.echo(f"  {what}: {source}")
    click.echo("It supports:")
    for study_of, by in supports(found).items():
        click.echo(f"  {study_of}: {by}")
    if found.said:
        click.echo("Borrowed, derived or missing:")
        for note in found.said:
            click.echo(f"  {note}")


def _case(row: Any) -> str:
    """A case on the screen: how it came out, its worst figure, its source."""
    told = f"{row.verdict:<10} {row.used:>6}  {row.case}"
    if row.allowed != "–":
        told += f": computed {row.computed}, source {row.expected} ±{row.allowed}"
    return f"{told}\n{'':<19}{row.figure}; {row.source} ({row.tag})"


def _measured(row: Any) -> str:
    """A measured figure on the screen."""
    told = f"{row.deviation:>6}  {row.verdict:<10}  {row.what} [{row.unit}]"
    told += f": computed {row.computed}, measured {row.measured} (stated: {row.stated})"
    why = f"\n{'':<20}{row.why}" if row.why else ""
    return f"{told}\n{'':<20}{row.source} ({row.tag}){why}"


def _write_new(file: Path, content: str | bytes) -> None:
    def write() -> None:
        with file.open("xb") as target:
            target.write(content if isinstance(content, bytes) else content.encode())

    if file.exists():
        raise _Told(f"{file} is there already; it was left as it is.")
    _told(write)


def _survey(file: Path, own: Path | None, reasons: tuple[str, ...] = ()) -> tuple[Any, Any]:
    from warmside.catalog import load
    from warmside.study import accept
    from warmside.study import check as check_all
    from warmside.survey import load as load_text

    rows = _told(lambda: load(own))
    checked = _told(lambda: check_all(load_text(file), rows))
    if checked.faults:
        lines = "\n".join(f"{file}: {fault}" for fault in (*checked.faults, *checked.doubts))
        count = len(checked.faults)
        raise _Told(f"{lines}\n{count} fault{'s' if count > 1 else ''}.")
    if reasons:
        checked = _told(lambda: accept(checked, dict(map(_reason, reasons))))
    if checked.doubts:
        raise _Told(_to_look_at(file, checked.doubts))
    found: Any = checked.survey
    return found, rows.at(found.house.climate)


def _reason(given: str) -> tuple[str, str]:
    """A warning and why it is set aside, from ``WARNING=REASON``."""
    warning, _, reason = given.partition("=")
    return warning.strip(), reason.strip()


def _to_look_at(file: Path, doubts: Any) -> str:
    """What is unusual, and how to go on."""
    lines = "\n".join(f"{file}: {doubt}" for doubt in doubts)
    first = doubts[0].warning
    return (
        f"{lines}\n{counted(len(doubts), 'figure looks', 'figures look')} unusual: nothing is "
        "computed before a second look. Mend the survey, or say why it is so:\n"
        f'  --accept "{first}=measured twice"\n'
        "The reason is kept in the study and stands in the papers. In the survey itself, for good: "
        "an [[accepted]] table with warning, read, reason."
    )


def _hours(files: tuple[Path, ...], rows: Any, climate: str) -> HourlyClimate | None:
    """The year in the files given, at the place of the house where they do not say; or None."""
    if not files:
        return None
    from warmside.weather import open_weather, station_of, whole_year

    near = station_of(rows.climate(climate))
    year: HourlyClimate = _told(lambda: whole_year(open_weather(*files, near=near)))
    return year


def _of_climate(given: str, rows: Any) -> tuple[str, HourlyClimate]:
    """A climate ("" for all) and its year, from ``[CLIMATE=]FILE``."""
    from warmside.weather import open_weather, station_of, whole_year

    climate, _, file = given.rpartition("=")
    near = station_of(rows.climate(climate)) if climate else None
    return climate, whole_year(open_weather(Path(file), near=near))


def _study(
    survey: Any,
    rows: Any,
    prices_file: Path | None,
    codes: tuple[str, ...] = (),
    quiet: bool = False,
    years: int | None = None,
    year: HourlyClimate | None = None,
    severe: bool = False,
) -> Study:
    from warmside.workers import make_ready

    make_ready()  # the workers import the solvers while this process does
    from warmside.catalog import chosen_packs
    from warmside.catalog import load as load_catalog
    from warmside.estimate import read_prices
    from warmside.study import study as run

    own_prices = _told(lambda: read_prices(prices_file)) if prices_file else None
    packs = _told(lambda: chosen_packs(rows or load_catalog(), codes)) if codes else None
    show = sys.stderr.isatty() and not quiet

    def progress(what: str, done: int, of: int) -> None:
        if done == 1:  # the workers are at the other options: this process has time
            import warmside.documents  # noqa: F401
        if show:
            end = "\n" if done == of else ""
            click.echo(f"\r  {done}/{of} options  {what:<40}{end}", nl=False, err=True)

    result: Study = _told(
        lambda: run(
            survey,
            rows,
            own_prices,
            packs,
            progress=progress,
            weather=year,
            workers=os.cpu_count() or 1,
            years=years or 1,
            severe=severe,
        )
    )
    return result


def _read_proof(text: str) -> Any:
    from warmside.proof import read_proof

    return read_proof(text)


def _folder(out: Path | None, file: Path) -> Path:
    """The folder to write to, which can be written: told before the run, not after it."""
    folder = out or file.with_suffix("").with_name(f"{file.stem}-papers")

    def tried() -> None:
        there = next(place for place in (folder, *folder.absolute().parents) if place.exists())
        with tempfile.TemporaryFile(dir=there):
            pass

    _told(tried)
    return folder


def _close_out(
    result: Study, text: str, picture: Callable[[str], bytes], folder: Path, by: str = ""
) -> None:
    from warmside.documents import write_close_out
    from warmside.study import measure, prove

    found = _told(lambda: _read_proof(text))
    proven = _told(lambda: prove(result, measure(result, found, picture)))
    papers = write_close_out(proven, folder, prepared_by=by, re_entry=found.re_entry)
    for path in _told(lambda: list(papers)):
        click.echo(f"Wrote {path}")


def _client(result: Study, prices_file: Path | None, language: Any, paper: Any) -> Any:
    """How the client reads the offer; the contractor's mark lies beside the price file."""
    from warmside.documents import ForClient, mark_of

    one = result.prices.contractor
    folder = prices_file.parent if prices_file else Path()
    mark = _told(lambda: mark_of(folder / one.mark, one.name)) if one.mark else None
    return ForClient(language, paper, mark)


def _advice(result: Study) -> None:
    """What is recommended, wall by wall, and what it comes to."""
    from warmside.documents import builder_style

    style = builder_style(result.outside.climate)
    for wall in result.walls:
        text = f"{wall.wall.name}: {style.sentence(wall.why_chosen)}"
        click.echo(click.wrap_text(text, 96, subsequent_indent="    "))
    price, worth = result.price, result.worth.money
    total = Figure(float(price.total), "money", currency=price.currency)
    if not price.total:
        parts = [f"the {part.kind}" for part in result.plans.best.quotes]
        others = f" At other trades' prices this pays: {listed(parts)}." if parts else ""
        click.echo(f"Together: no work on the walls now, and no price.{others}\n")
        return
    saved = style.figure(replace(total, value=worth.best)) if worth else ""
    saving = f", saves about {saved} a year" if worth else ""
    click.echo(f"Together: {style.figure(total)}, taxes included{saving}.\n")


def _papers(result: Study, folder: Path, chances: Spread | None, client: Any) -> None:
    from warmside.documents import write_papers

    _advice(result)

    def write() -> None:
        for path in write_papers(result, folder, chances=chances, client=client):
            click.echo(f"Wrote {path}")

    _told(write)
