"""From the plan to the receipt in the pages and by command: the same papers, to the cent."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from studied import keep
from warmside.cli import main
from warmside.contract import read_account
from warmside.store import Store
from warmside.study import Study, study, with_choices
from warmside.study.report.letters import rebate_file
from warmside.study.report.orders import orders
from warmside.survey import read, template
from warmside.web import issuing
from warmside.web.dossier import PARTS
from warmside.wording import Figure, to_plain
from web.test_pages import browser, send

DAY = date(2026, 11, 29)


@pytest.fixture(scope="module")
def house() -> Study:
    found = read(template())
    one = study(found.model_copy(update={"walls": found.walls[:1], "options": ()}), fields=False)
    wall = one.walls[0]
    opened = next(
        o for o in wall.options
        if o.build_up.can_be_built and o.option.foam and o.price and not o.price.missing
    )  # fmt: skip
    return with_choices(one, {wall.wall.name: opened.option.id})


def studied(store: Store, house: Study) -> str:
    """A job whose study stands."""
    job = store.new_job(template(), "owner").id
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    keep(store, texts, house, DAY)
    return job


CHANGE = {"found": "rot in the sill", "promise": "none", "price": "250.55", "days": "2",
          "signed_by": "The owners"}  # fmt: skip


def by_pages(store: Store, job: str) -> None:
    client, page = browser(store), f"/jobs/{job}/papers"

    def give(kind: str, **fields: str) -> None:
        assert send(client, f"{page}/{kind}", page, **fields).status_code == 303, kind

    give("order")
    for kind in ("permit", "insurer", "rebate"):
        give(kind)
    give("contract", accepted_by="The owners")
    give("invoice")
    give("change", **CHANGE)
    for number in range(2, 20):
        account = issuing.account_of(store, job)
        assert account is not None
        if not account.next_stage and not account.left and not account.held:
            break
        give("invoice")
        give("receipt", invoice=str(number - 1), amount=str(account.due))
    account = issuing.account_of(store, job)
    assert account is not None
    give("receipt", invoice="1", amount=str(account.due))


def by_command(folder: Path, job: str, out: Path) -> None:
    def run(*words: str) -> str:
        told = CliRunner().invoke(main, ["papers", *words, "--data", str(folder)])
        assert told.exit_code == 0, told.output
        return told.output

    run("orders", job)
    for kind in ("permit", "insurer", "rebate"):
        run("letter", kind, job)
    run("contract", job, "--accepted-by", "The owners")
    run("invoice", job)
    run("change", job, "--found", CHANGE["found"], "--promise", "none", "--price", "250.55",
        "--days", "2", "--signed-by", "The owners")  # fmt: skip
    for number in range(2, 20):
        *_, line = run("list", job).splitlines()
        due = re.search(r"([\d,.]+) due", line)
        assert due
        amount = due[1].replace(",", "")
        if CliRunner().invoke(main, ["papers", "invoice", job, "--data", str(folder)]).exit_code:
            break
        run("receipt", job, "--invoice", str(number - 1), "--amount", amount)
    run("receipt", job, "--invoice", "1", "--amount", amount)
    run("write", job, "--out", str(out), "--paper", "a4")


def test_pages_and_commands_give_the_same_papers_to_the_cent(tmp_path: Path, house: Study) -> None:
    papers = []
    with Store.open(tmp_path / "pages.sqlite") as store:
        job = studied(store, house)
        by_pages(store, job)
        papers.append(store.papers.of(job))
    folder = tmp_path / "data"
    folder.mkdir()
    with Store.open(folder / "warmside.sqlite") as store:
        job = studied(store, house)
    by_command(folder, job, tmp_path / "out")
    with Store.open(folder / "warmside.sqlite") as store:
        papers.append(store.papers.of(job))
    unlike = ("by", "date")
    told = [[{k: v for k, v in p.items() if k not in unlike} for p in all_] for all_ in papers]
    assert told[0] == told[1]
    account = read_account(papers[1])
    assert account is not None
    # exact: contract and change, all invoices, all receipts
    (agreed,) = (p for p in papers[1] if p["kind"] == "contract")
    (change,) = (p for p in papers[1] if p["kind"] == "change")
    sums = [
        sum((Decimal(p["before_tax"]) + sum(Decimal(t["amount"]) for t in p["taxes"])
             for p in (agreed, change)), Decimal(0)),
        sum((Decimal(line["amount"]) for p in papers[1] if p["kind"] == "invoice"
             for line in p["lines"]), Decimal(0)),
        sum((Decimal(p["amount"]) for p in papers[1] if p["kind"] == "receipt"), Decimal(0)),
        account.money.total,
    ]  # fmt: skip
    assert len(set(sums)) == 1
    assert sums[0] > house.price.total > 0
    assert account.due == account.left == account.held == 0
    for kind in ("contract", "change", "invoice", "receipt", "order"):
        numbers = [p["number"] for p in papers[1] if p["kind"] == kind]
        assert numbers == list(range(1, len(numbers) + 1)), kind
    files = {path.name for path in (tmp_path / "out").iterdir()}
    for p in papers[1]:
        assert f"{p['kind']}-{p['number']}.pdf" in files
    assert {"rebate-1.csv", "money.csv", "moisture.ics", "warranty-1.pdf"} <= files
    sheet = PdfReader(tmp_path / "out" / "contract-1.pdf").pages[0].mediabox
    assert float(sheet.width) == pytest.approx(595.3, abs=0.5)  # ISO 216: A4 is 210 mm wide


def test_a_later_letter_names_the_one_before_it(store: Store, house: Study) -> None:
    job = studied(store, house)
    client, page = browser(store), f"/jobs/{job}/papers"
    for number in (1, 2):
        assert send(client, f"{page}/permit", page).status_code == 303
        text = PdfReader(io.BytesIO(client.get(f"{page}/permit/{number}.pdf").content))
        said = " ".join(" ".join(p.extract_text() for p in text.pages).split())
        assert ("in the place of number 1" in said) == (number == 2)
    assert send(client, f"{page}/order", page).status_code == 303
    assert send(client, f"{page}/order", page).status_code == 422  # nothing new in them
    assert "in the place of 1" in client.get(page).text
    for path in ("rebate/1.csv", "order/99.pdf"):
        assert client.get(f"{page}/{path}").status_code == 404
    assert send(client, f"{page}/rebate", page).status_code == 303
    rows = list(
        csv.DictReader(io.StringIO(client.get(f"{page}/rebate/1.csv").text.lstrip("\ufeff")))
    )
    assert {row["what"] for row in rows} >= {"Area", "R in the bay", "R of the wall, after"}


def test_the_rebate_file_carries_the_fan_test_that_was_recorded(store: Store, house: Study) -> None:
    """By hand: 0.25 m3/s x 3600 / V changes an hour."""
    job = studied(store, house)
    volume = read(template()).house.volume
    store.records.add(job, "fan-test", {"flow_50": 0.25, "day": "2027-02-01"}, "owner")
    made = issuing.issue_letter(store, job, "rebate", "owner", DAY)
    table = issuing.rebate_table(store, job, made["number"])
    assert table
    rows = [r for r in csv.DictReader(io.StringIO(table)) if r["of"] == "Measured after"]
    assert float(next(r["value"] for r in rows if r["what"] == "flow")) == pytest.approx(0.25)
    changes = float(next(r["value"] for r in rows if r["what"] == "air change"))
    assert changes == pytest.approx(0.25 * 3600 / volume, rel=1e-4)


def test_orders_hold_what_is_bought_and_no_money(house: Study) -> None:
    """Every priced good stands in one order, whole and never less; no hours, no amount of money."""
    told = orders(house)
    assert told[0].to == "materials"
    bought = {}
    for order in told:
        for passage in order.passages:
            if "How much" in passage.head:
                for name, amount, _ in passage.table:
                    assert isinstance(amount, Figure)
                    assert amount.value == int(amount.value) or amount.kind in (
                        "foam",
                        "span",
                        "liquid",
                    )
                    bought[order.to, name] = amount
    price = house.walls[0].chosen.price
    assert price is not None
    goods = [line for line in price.lines
             if line.quantity.group not in ("labour", "fixed", "bin") and line.amount]  # fmt: skip
    assert len(goods) >= 4
    for line in goods:
        to = "materials" if line.trade == "own crew" else line.trade
        amount = bought[to, line.quantity.name]
        if amount.kind in ("number", "count"):
            assert 0 <= Decimal(amount.value) - line.amount < 1 + Decimal("0.005")
    trades = {line.trade for line in price.lines if line.quantity.group == "labour"}
    assert {order.to for order in told[1:]} >= trades - {"own crew"}
    whole = str(to_plain(told))
    assert not re.search(r"CAD|USD|\$|'labour'|'hours'|'money'|'cents'|margin", whole)


def test_the_rebate_file_s_resistances_by_hand(house: Study) -> None:
    """Thickness over conductivity in the bay; exact: 1 m2 K/W is 5.678 h ft2 F/Btu."""
    wall = house.walls[0]
    (row,) = next(p for p in rebate_file(house) if p.heading == "The walls").table
    nominal = row[2]
    assert isinstance(nominal, Figure)
    bay = max((s for s in wall.chosen.build_up.stacks if s.kind == "bay"), key=lambda s: s.area)
    foam = [layer for layer in bay.layers if layer.role == "foam"]
    by_hand = sum(layer.thickness / layer.conductivity for layer in foam if layer.conductivity)
    assert by_hand > 0.5
    assert nominal.value == pytest.approx(by_hand, rel=1e-9)
    area, after = row[1], row[6]
    assert isinstance(area, Figure)
    assert isinstance(after, Figure)
    assert area.value == pytest.approx(wall.frame.net_area, rel=1e-12)
    assert after.value < nominal.value + 2.0  # wood takes from it; layers and films add
