"""Numbered papers on both engines: eight people at once, each with a connection of its own."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date
from decimal import Decimal

from test_job_papers import contract
from warmside.contract import read_account
from warmside.errors import InputError
from warmside.store import Store
from warmside.web import issuing

DAY = date(2026, 11, 29)


def test_eight_people_at_once_ask_for_every_stage_once(address: str, survey: str) -> None:
    """No number is missing or given twice, no stage is asked for twice, no cent is lost."""
    with Store.open(address) as store:
        jobs = [store.new_job(survey, "anna").id for _ in range(3)]
        for job in jobs:
            store.papers.issue(job, "contract", lambda n, _: contract(n, "999.99"), "anna")

    def work(person: int) -> list[int]:
        mine = []
        with Store.open(address) as store:
            for turn in range(9):
                job = jobs[(person + turn) % len(jobs)]
                try:
                    mine.append(
                        issuing.issue_invoice(store, job, f"person {person}", DAY)["number"]
                    )
                except InputError:
                    continue  # all of this job was asked for
        return mine

    with ThreadPoolExecutor(8) as people:
        given = [number for mine in people.map(work, range(8)) for number in mine]
    # four stages, and what was kept back
    assert sorted(given) == list(range(1, 3 * 5 + 1))
    with Store.open(address) as store:
        for job in jobs:
            papers = store.papers.of(job)
            account = read_account(papers)
            assert account is not None
            assert account.asked == account.money
            assert account.money.total == Decimal("999.99") + Decimal("130.00")
            stages = [p["stage"] for p in papers if p["kind"] == "invoice"]
            assert stages == ["stage 1", "stage 2", "stage 3", "stage 4", "what was kept back"]
