"""Contract to receipt: sums to the cent, numbers without a gap, papers read back."""

from __future__ import annotations

import csv
import io
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from warmside.contract import money_csv, read_account, read_paper, reminder
from warmside.documents import Letter, job_paper, set_paper, warranty_card
from warmside.errors import InputError
from warmside.estimate import Contractor
from warmside.store import Store
from warmside.survey import template
from warmside.web import issuing
from warmside.wording import Style

DAY = date(2026, 11, 29)
LETTER = Letter("The house on Mill Lane", "Lower Tamber", "The owners",
                Contractor("Invented <builder> & sons", "no. 0", "555-0100"), True)  # fmt: skip


def contract(number=1, before="1000.00", rate="0.13", shares=("0.15", "0.35", "0.30", "0.20"),
             holdback="0.10"):  # fmt: skip
    tax = (Decimal(before) * Decimal(rate)).quantize(Decimal("0.01"))
    return {
        "kind": "contract", "number": number, "date": DAY.isoformat(), "currency": "CAD",
        "before_tax": before, "taxes": [{"name": "Sales tax", "amount": str(tax)}],
        "rates": [{"name": "Sales tax", "share": rate}],
        "stages": [{"name": f"stage {k}", "share": s} for k, s in enumerate(shares, 1)],
        "holdback": holdback, "plan": "Best value", "accepted_by": "The owners",
    }  # fmt: skip


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "s.sqlite") as opened:
        yield opened


@pytest.fixture
def job(store):
    return store.new_job(template(), "anna").id


def agreed(store, job, **how):
    return store.papers.issue(job, "contract", lambda n, _: contract(n, **how), "anna")


cents = st.integers(1, 10**8).map(lambda c: f"{Decimal(c) / 100:.2f}")
rates = st.integers(0, 2500).map(lambda c: f"{Decimal(c) / 10000}")


@given(
    cents, rates, st.lists(st.integers(1, 60), min_size=1, max_size=5), st.integers(0, 30),
    st.lists(st.tuples(st.integers(0, 6), st.integers(-50_00, 50_000_00)), max_size=3),
)  # fmt: skip
@settings(deadline=None, max_examples=80)
def test_invoices_come_to_the_contract_and_its_changes_exactly(
    before, rate, weights, holdback, changes
):
    """Exact in cents: whatever changes between stages, and nothing stays kept back."""
    whole = sum(weights)
    shares = [(Decimal(w) / whole).quantize(Decimal("0.0001")) for w in weights[:-1]]
    shares.append(1 - sum(shares, Decimal(0)))
    papers = [contract(1, before, rate, [str(s) for s in shares], f"{Decimal(holdback) / 100}")]
    number = 0
    for step in range(len(weights) + 2):
        for place, (when, amount) in enumerate(changes, 1):
            if when == step:
                account = read_account(papers)
                (_, more), *taxes = account.taxed(Decimal(amount) / 100).lines
                if account.money.total + account.taxed(more).total < 0:
                    continue
                papers.append({
                    "kind": "change", "number": place, "date": DAY.isoformat(), "found": "x",
                    "before_tax": str(more), "signed_by": "o",
                    "taxes": [{"name": n, "amount": str(a)} for n, a in taxes],
                })  # fmt: skip
        account = read_account(papers)
        if account.next_stage is None and not account.left and not account.held:
            break
        stage, lines, held = account.invoice()
        number += 1
        papers.append({
            "kind": "invoice", "number": number, "date": DAY.isoformat(), "stage": stage,
            "lines": [{"name": n, "amount": str(a)} for n, a in lines.lines], "held": str(held),
            "stages_done": min(account.stages_done + 1, len(shares)),
        })  # fmt: skip
    account = read_account(papers)
    assert account.asked == account.money
    assert account.left == account.held == 0
    invoices = [read_paper(p) for p in papers if p["kind"] == "invoice"]
    assert sum(i.due for i in invoices) == account.money.total == account.due
    rows = list(csv.DictReader(io.StringIO(money_csv(papers))))
    assert sum(Decimal(r["due"]) for r in rows if r["due"]) == account.money.total
    asked = sum(Decimal(r["total"]) for r in rows if r["paper"] == "invoice")
    assert asked == sum(Decimal(r["total"]) for r in rows if r["paper"] in ("contract", "change"))


def test_a_contract_by_hand():
    """By hand: 1000.00 + 13 % = 1130.00; 15 % of it 169.50, 10 % of that kept back 16.95."""
    account = read_account([contract()])
    stage, lines, held = account.invoice()
    assert (stage, lines.total, held) == ("stage 1", Decimal("169.50"), Decimal("16.95"))
    assert dict(lines.lines) == {"Price before tax": Decimal("150.00"),
                                 "Sales tax": Decimal("19.50")}  # fmt: skip


def test_eight_people_at_once_get_numbers_without_a_gap(store, job):
    """Every other of them fails halfway: what fails uses no number."""
    other = store.new_job(template(), "ben").id
    for one in (job, other):
        agreed(store, one)

    def work(person):
        mine = []
        for turn in range(6):
            here = job if (person + turn) % 2 else other

            def made(number, _papers, fails=turn % 3 == 2):
                if fails:
                    raise InputError([])
                return {"kind": "invoice", "number": number, "date": DAY.isoformat(),
                        "stage": "x", "lines": [{"name": "a", "amount": "1.00"}],
                        "held": "0", "stages_done": 0}  # fmt: skip

            try:
                made = store.papers.issue(here, "invoice", made, f"person {person}")
                mine.append(made["number"])
            except InputError:
                pass
        return mine

    with ThreadPoolExecutor(8) as people:
        found = [n for mine in people.map(work, range(8)) for n in mine]
    assert len(found) == 32
    assert sorted(found) == list(range(1, 33))
    kept = [p["number"] for one in (job, other) for p in store.papers.of(one)
            if p["kind"] == "invoice"]  # fmt: skip
    assert sorted(kept) == list(range(1, 33))


def test_papers_cannot_be_taken_back(store, job):
    agreed(store, job)
    change = store.history(job)[0]
    assert change.part.startswith("paper/contract-")
    with pytest.raises(InputError):
        store.undo(job, change.number, "anna")


def test_from_contract_to_receipt(store, job):
    """To the cent, by the same functions as pages and commands."""
    agreed(store, job)
    issuing.issue_invoice(store, job, "anna", DAY)
    typed = {"found": "rot in the sill", "promise": "", "days": "2", "price": "250.50",
             "signed_by": "The owners"}  # fmt: skip
    issuing.issue_change(store, job, typed, "anna", DAY)
    second = issuing.issue_invoice(store, job, "anna", DAY)
    # by hand: (1000 + 250.50) x 0.50 - 150 = 475.25; its tax 0.50 x (130 + 32.57) - 19.50 = 61.785
    amounts = {line["name"]: line["amount"] for line in second["lines"]}
    assert amounts["Price before tax"] == "475.25"
    assert Decimal(amounts["Sales tax"]) in (Decimal("61.78"), Decimal("61.79"))
    account = issuing.account_of(store, job)
    assert account.money.total == Decimal("1250.50") + Decimal("162.57")
    issuing.issue_receipt(store, job, {"invoice": "1", "amount": "152.55"}, "anna", DAY)
    left = issuing.account_of(store, job).due
    assert left == account.due - Decimal("152.55")
    for amount in ("0", "-1", "1e400", "nan", "12.345", "", "ten", "99999999", str(left + 1)):
        with pytest.raises(InputError):
            issuing.issue_receipt(store, job, {"invoice": "1", "amount": amount}, "anna", DAY)
    with pytest.raises(InputError, match="receipt, invoice"):
        issuing.issue_receipt(store, job, {"invoice": "7", "amount": "1"}, "anna", DAY)
    numbers = [(p["kind"], p["number"]) for p in issuing.papers_of(store, job)]
    assert numbers == [("contract", 1), ("invoice", 1), ("change", 1), ("invoice", 2),
                       ("receipt", 1)]  # fmt: skip


def test_without_a_contract_nothing_is_asked_for(store, job):
    with pytest.raises(InputError, match="no contract"):
        issuing.issue_invoice(store, job, "anna", DAY)
    with pytest.raises(InputError, match="study"):
        issuing.issue_contract(store, job, "", "anna", DAY)
    assert issuing.account_of(store, job) is None
    assert store.papers.of(job) == ()


@pytest.mark.parametrize(
    ("text", "amount"),
    [("1,250.50", "1250.50"), ("-300", "-300"), ("1 250,50 $", "1250.50"), ("$12", "12")],
)
def test_money_is_read_as_people_type_it(text, amount):
    assert issuing.amount_of("price", text) == Decimal(amount)


@pytest.mark.parametrize(
    "change",
    [
        {"currency": "dollars"}, {"before_tax": "NaN"}, {"before_tax": "1e99"},
        {"stages": [{"name": "a", "share": "0.9"}]}, {"stages": []}, {"rates": []},
        {"number": 0}, {"date": "soon"}, {"extra": 1}, {"kind": "gift"}, {"holdback": "2"},
    ],
)  # fmt: skip
def test_a_contract_that_is_none_is_refused(change):
    with pytest.raises(InputError):
        read_paper(contract() | change)


@pytest.mark.parametrize("language", ["en", "fr"])
def test_papers_say_their_sums_to_the_cent(store, job, language):
    """CLDR by Babel: $169.50 and 169,50 $; one page each."""
    agreed(store, job)
    issuing.issue_invoice(store, job, "anna", DAY)
    papers = store.papers.of(job)
    style = Style.of_client("CA", language)
    texts = []
    for place, data in enumerate(papers):
        account = read_account(papers[: place + 1])
        made = set_paper(job_paper(read_paper(data), account, LETTER), style)
        pages = PdfReader(io.BytesIO(made)).pages
        assert len(pages) == 1
        texts.append(" ".join(pages[0].extract_text().split()))
    total, first, due = {
        "en": ("$1,130.00", "$169.50", "$152.55"),
        "fr": ("1 130,00 $", "169,50 $", "152,55 $"),
    }[language]
    for text, sums in zip(texts, ((total, first), (total, first, due)), strict=True):
        plain = text.replace("\u202f", " ").replace("\xa0", " ")
        for one in sums:
            assert one in plain, one
        assert "Invented <builder> & sons" in text
    assert ("Facture 1" if language == "fr" else "Invoice 1") in texts[1]
    card = warranty_card(read_paper(papers[0]), LETTER, DAY, 2)
    said = PdfReader(io.BytesIO(set_paper(card, style))).pages[0].extract_text()
    assert ("2 ans" if language == "fr" else "2 years") in said


def test_a_bookkeeper_s_table_runs_no_formula():
    papers = [contract() | {"plan": "=cmd|' /C calc'!A0"}]
    (row,) = csv.DictReader(io.StringIO(money_csv(papers)))
    assert not row["what"].startswith("=")
    assert (row["before_tax"], row["tax"], row["total"]) == ("1000.00", "130.00", "1130.00")


def test_the_reminder_is_a_calendar_by_rfc_5545():
    """RFC 5545: CRLF, at most 75 octets a line (3.1), text escaped (3.3.11), DTEND not included."""
    text = "Read, note; call \\ Ünïcødé\nand " + "é" * 200
    made = reminder("ab12", "House; 1", "Read the wood", text, date(2027, 10, 1),
                    datetime(2026, 11, 29, 12, tzinfo=UTC))  # fmt: skip
    assert "\r\n" in made
    assert "\n" not in made.replace("\r\n", "")
    assert all(len(line.encode()) <= 75 for line in made.split("\r\n"))
    whole = made.replace("\r\n ", "").split("\r\n")
    assert (whole[0], whole[-2], whole[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR", "")
    known = dict(line.split(":", 1) for line in whole if ":" in line)
    assert known["DTSTART;VALUE=DATE"] == "20271001"
    assert known["DTEND;VALUE=DATE"] == "20271002"
    assert known["RRULE"] == "FREQ=YEARLY"
    assert known["LOCATION"] == "House\\; 1"
    escaped = known["DESCRIPTION"]
    back = escaped.replace("\\\\", "\0").replace("\\n", "\n").replace("\\,", ",")
    assert back.replace("\\;", ";").replace("\0", "\\") == text
