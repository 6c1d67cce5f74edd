"""The prices of a job: a table that is edited with its total beside, as text, as files."""

from __future__ import annotations

from typing import Any, Literal, get_args

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from warmside.errors import Fault, InputError
from warmside.options import Trade
from warmside.store import StaleError, Store
from warmside.web import cached
from warmside.web.crew import crew_of
from warmside.web.forms import Form, Sent
from warmside.web.fresh import freshen
from warmside.web.letterhead import price_text_of
from warmside.web.pages import page, then
from warmside.web.price_sheet import Row, Section, at_cells, sheet
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
_NONE = "No wall has an option put forward yet: the total comes with the study."


@router.get("/jobs/{job}/prices")
def prices_page(request: Request, job: str) -> Response:
    """The job's price list as a table, and as text."""
    store = web_of(request).store
    kept = store.text("prices", job)
    text = price_text_of(store, job)
    return _price_list(request, job, text, kept.revision)


def _price_list(
    request: Request, job: str, text: str, revision: int, status: int = 200,
    faults: tuple[Fault, ...] = (), stale: StaleError | None = None, as_text: bool = False,
    typed: Sent | None = None,
) -> Response:  # fmt: skip
    """The prices as a table, and as text; with the total, where they can be read.

    ``typed`` is a table that was refused: its cells stand over those of ``text``.
    """
    store = web_of(request).store
    sections: tuple[Section, ...] = ()
    total = None
    try:
        sections = _sections(store, job, text, typed)
        total = _total(store, job, text) if typed is None else None
    except InputError:
        as_text = as_text or not sections
    cells = at_cells(faults, sections) if typed else {}
    return page(
        request, "prices", status, store.job(job), text=text, revision=revision,
        faults=tuple(cells) or faults, fault_fields={f: name for f, name in cells.items() if name},
        stale=stale, sections=sections, total=total, as_text=as_text, trades=get_args(Trade),
    )  # fmt: skip


def _sections(store: Store, job: str, text: str, typed: Sent | None) -> tuple[Section, ...]:
    from warmside.estimate import table_of

    rows = table_of(text)
    known = cached.catalog(store.text("catalog", job).text)
    return sheet(rows if typed is None else _overlaid(typed, rows), known)


@router.post("/jobs/{job}/prices")
def save_prices(request: Request, job: str, form: Form) -> Response:
    """Keep the job's own prices."""
    store, who = web_of(request).store, caller_of(request).name
    revision, as_text = form.number("revision"), "text" in form.texts
    kept = price_text_of(store, job)
    text = form.texts.get("text", kept)
    try:
        text = _typed(form, kept)
        store.save("prices", text, revision, who, job)
    except InputError as error:
        typed = None if as_text else form
        return _price_list(request, job, text, revision, 422, error.faults, None, as_text, typed)
    except StaleError as error:
        return _price_list(request, job, text, error.revision, 409, (), error, as_text)
    freshen(request, job)
    return then(f"/jobs/{job}/price")


@router.post("/jobs/{job}/prices/total")
def prices_total(request: Request, job: str, form: Form) -> Response:
    """What the job comes to by the prices as they are typed; nothing is kept."""
    store = web_of(request).store
    store.job(job)
    kept = price_text_of(store, job)
    try:
        return JSONResponse(_total(store, job, _typed(form, kept)))
    except InputError as error:
        cells = at_cells(error.faults, _sections(store, job, kept, form))
        told = [{"place": f.place, "read": f.read, "allowed": f.allowed} for f in cells]
        return JSONResponse({"faults": told[:20]}, 422)


@router.get("/jobs/{job}/prices.{kind}")
def prices_file(request: Request, job: str, kind: Literal["csv", "xlsx"]) -> Response:
    """The job's prices as a table for a spreadsheet; no cell of it is computed."""
    from warmside.estimate import to_csv, to_xlsx

    store = web_of(request).store
    store.job(job)
    text = price_text_of(store, job)
    data = to_xlsx(text) if kind == "xlsx" else to_csv(text).encode()
    media = {
        "csv": "text/csv; charset=utf-8",
        "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    }[kind]
    headers = {"content-disposition": f'attachment; filename="prices-{job}.{kind}"'}
    return Response(data, media_type=media, headers=headers)


def _typed(form: Sent, kept: str) -> str:
    """The price file of what was typed into the table of ``kept``, or sent as text or as CSV."""
    from warmside.estimate import COLUMNS, from_csv, table_of, text_of

    if "text" in form.texts:
        text = form.texts["text"]
        heads = {cell.strip().lower() for cell in text.lstrip().partition("\n")[0].split(",")}
        return from_csv(text.lstrip()) if heads.issuperset(COLUMNS[:3]) else text
    return text_of(_overlaid(form, table_of(kept)))


def _overlaid(form: Sent, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """The table with what was typed into its cells."""
    from warmside.estimate import COLUMNS

    return tuple(
        tuple(form.texts.get(f"{n}.{name}", cell) for name, cell in zip(COLUMNS, row, strict=True))
        for n, row in enumerate(rows)
    )


def _total(store: Store, job: str, text: str) -> Json:
    """Sums of the house by a price file, and what has no price in it."""
    from warmside.estimate import combine, price, read_prices, takeoff
    from warmside.study.report import sums

    prices, crew = read_prices(text), crew_of(store, job)
    walls = {wall.name: wall for wall in cached.read(store.text("survey", job).text).walls}
    parts = [
        price(takeoff(plan.build_up, walls[plan.wall], crew.catalog, prices), prices)
        for plan in crew.plans
    ]
    house = combine(parts, prices)
    lines = [{"name": one.name, "amount": one.amount} for one in sums(house, house.top_up)]
    notes = [f"No price: {'; '.join(house.missing)}."] if house.missing else []
    if crew.undecided:
        notes.append(f"Not counted, as no option is put forward: {', '.join(crew.undecided)}.")
    return {"lines": lines if parts else [], "missing": list(house.missing),
            "unpriced": house.unpriced, "note": " ".join(notes) if parts else _NONE}  # fmt: skip
