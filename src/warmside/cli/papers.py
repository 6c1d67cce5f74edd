"""Commands over the numbered papers of a job in a store."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from warmside.cli.store import store_options, where
from warmside.cli.telling import told

_WHO = "command line"


@click.group()
def papers() -> None:
    """Contract, changes, invoices, receipts, orders and letters of a job in the pages' store."""


def _job_options(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.argument("job")(store_options(command))


def _in_store(data: Path, store: str, work: Callable[[Any], Any]) -> Any:
    from warmside.store import Store

    def run() -> Any:
        with Store.open(where(data, store)) as opened:
            return work(opened)

    return told(run)


def _given(made: dict[str, Any]) -> None:
    to, old = made.get("to", ""), made.get("supersedes", 0)
    parts = (made["date"], to, f"in the place of {old}" if old else "")
    click.echo(f"{made['kind']} {made['number']}, {', '.join(filter(None, parts))}")


@papers.command("list")
@_job_options
def list_(job: str, data: Path, store: str) -> None:
    """List the papers given out for JOB, and where its money stands."""
    from warmside.web import issuing

    def work(opened: Any) -> None:
        for one in issuing.papers_of(opened, job):
            _given(one)
        account = issuing.account_of(opened, job)
        if account is not None:
            click.echo(
                f"{account.money.currency} {account.money.total:,.2f} agreed, "
                f"{account.asked.total:,.2f} asked for, {account.held:,.2f} kept back, "
                f"{account.paid:,.2f} paid, {account.due:,.2f} due"
            )

    _in_store(data, store, work)


@papers.command()
@_job_options
@click.option("--accepted-by", default="", help="Who accepts the offer.")
def contract(job: str, data: Path, store: str, accepted_by: str) -> None:
    """Write the contract of what is offered for JOB."""
    from warmside.web import issuing

    _given(_in_store(data, store, lambda s: issuing.issue_contract(
        s, job, accepted_by, _WHO, date.today())))  # fmt: skip


@papers.command()
@_job_options
@click.option("--found", required=True, help="What was found when the wall was opened.")
@click.option("--promise", default="", help="What it changes in what is promised.")
@click.option("--price", default="0", help="Before tax, more or less.")
@click.option("--days", default="0", help="Days later; below 0 earlier.")
@click.option("--signed-by", "signed_by", required=True, help="Who agreed for the client.")
def change(job: str, data: Path, store: str, **typed: str) -> None:
    """Write a change order for JOB."""
    from warmside.web import issuing

    _given(_in_store(data, store, lambda s: issuing.issue_change(
        s, job, typed, _WHO, date.today())))  # fmt: skip


@papers.command()
@_job_options
def invoice(job: str, data: Path, store: str) -> None:
    """Write the invoice of the next stage of JOB."""
    from warmside.web import issuing

    _given(_in_store(data, store, lambda s: issuing.issue_invoice(s, job, _WHO, date.today())))


@papers.command()
@_job_options
@click.option("--invoice", required=True, help="Number of the invoice.")
@click.option("--amount", required=True, help="What came in.")
@click.option("--how", default="", help="How it was paid.")
def receipt(job: str, data: Path, store: str, **typed: str) -> None:
    """Write a receipt for money that came in for JOB."""
    from warmside.web import issuing

    _given(_in_store(data, store, lambda s: issuing.issue_receipt(
        s, job, typed, _WHO, date.today())))  # fmt: skip


@papers.command()
@_job_options
def orders(job: str, data: Path, store: str) -> None:
    """Write the orders of JOB: materials, then each trade, where they say something new."""
    from warmside.web import issuing

    for made in _in_store(data, store, lambda s: issuing.issue_orders(s, job, _WHO, date.today())):
        _given(made)


@papers.command()
@click.argument("kind", type=click.Choice(["permit", "insurer", "rebate"]))
@_job_options
def letter(kind: Any, job: str, data: Path, store: str) -> None:
    """Write the letter for the permit or to the insurer, or the rebate file, of JOB."""
    from warmside.web import issuing

    _given(_in_store(data, store, lambda s: issuing.issue_letter(
        s, job, kind, _WHO, date.today())))  # fmt: skip


@papers.command()
@_job_options
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), required=True)
@click.option("--language", type=click.Choice(["en", "fr"]), default="en", show_default=True)
@click.option("--paper", type=click.Choice(["us-letter", "a4"]), default="us-letter")
def write(job: str, data: Path, store: str, out: Path, language: Any, paper: Any) -> None:
    """Write every paper of JOB as PDF, its money as CSV and its reminder into a folder."""
    from warmside.contract import money_csv
    from warmside.documents.write import write_file
    from warmside.web import issuing

    def work(opened: Any) -> list[Path]:
        out.mkdir(parents=True, exist_ok=True)
        given, made = issuing.papers_of(opened, job), []
        kinds = [(one["kind"], one["number"]) for one in given]
        kinds += [("warranty", number) for kind, number in kinds if kind == "contract"]
        for kind, number in kinds:
            pdf = issuing.paper_pdf(opened, job, kind, number, language, paper)
            made.append(write_file(out / f"{kind}-{number}.pdf", pdf or b""))
        for number in (n for kind, n in kinds if kind == "rebate"):
            table = issuing.rebate_table(opened, job, number) or ""
            made.append(write_file(out / f"rebate-{number}.csv", table.encode("utf-8-sig")))
        made.append(write_file(out / "money.csv", money_csv(given).encode("utf-8-sig")))
        calendar = issuing.reminder_of(opened, job, language, date.today())
        made.append(write_file(out / "moisture.ics", calendar.encode()))
        return made

    for path in _in_store(data, store, work):
        click.echo(f"Wrote {path}")
