"""The prices of a job: a table that is edited with its total beside, as text, as files."""

from __future__ import annotations

from typing import Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from warmside.errors import Fault, InputError
from warmside.store import StaleError, Store
from warmside.web import cached
from warmside.web.crew import crew_of
from warmside.web.forms import Form
from warmside.web.pages import page, then
from warmside.web.web import caller_of, web_of

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]


@router.get("/jobs/{job}/prices")
def prices_text(request: Request, job: str) -> Response:
    """The job's price list as text."""
    store = web_of(request).store
    kept = store.text("prices", job)
    text = kept.text or _default_prices(store, job)
    return _price_list(request, job, text, kept.revision)


def _price_list(
    request: Request, job: str, text: str, revision: int, status: int = 200,
    faults: tuple[Fault, ...] = (), stale: StaleError | None = None, as_text: bool = False,
) -> Response:  # fmt: skip
    """The prices as a table, and as text; with the total, where they can be read."""
    from warmside.estimate import COLUMNS, table_of

    store = web_of(request).store
    try:
        rows, total = table_of(text), _total(store, job, text)
    except InputError:
        rows, total = (), None
        try:
            rows = table_of(text)
        except InputError:
            as_text = True
    return page(
        request, "prices", status, store.job(job), text=text, revision=revision, faults=faults,
        stale=stale, rows=rows, columns=COLUMNS, total=total, as_text=as_text,
    )  # fmt: skip


@router.post("/jobs/{job}/prices")
def save_prices(request: Request, job: str, form: Form) -> Response:
    """Keep the job's own prices."""
    store, who = web_of(request).store, caller_of(request).name
    revision, as_text = form.number("revision"), "text" in form.texts
    kept = store.text("prices", job).text or _default_prices(store, job)
    text = form.texts.get("text", kept)
    try:
        text = _typed(form, kept)
        store.save("prices", text, revision, who, job)
    except InputError as error:
        return _price_list(request, job, text, revision, 422, error.faults, None, as_text)
    except StaleError as error:
        return _price_list(request, job, text, error.revision, 409, (), error, as_text)
    return then(f"/jobs/{job}/price")


@router.post("/jobs/{job}/prices/total")
def prices_total(request: Request, job: str, form: Form) -> Response:
    """What the job comes to by the prices as they are typed; nothing is kept."""
    store = web_of(request).store
    store.job(job)
    try:
        kept = store.text("prices", job).text or _default_prices(store, job)
        return JSONResponse(_total(store, job, _typed(form, kept)))
    except InputError as error:
        told = [{"place": f.place, "read": f.read, "allowed": f.allowed} for f in error.faults]
        return JSONResponse({"faults": told[:20]}, 422)


@router.get("/jobs/{job}/prices.{kind}")
def prices_file(request: Request, job: str, kind: Literal["csv", "xlsx"]) -> Response:
    """The job's prices as a table for a spreadsheet; no cell of it is computed."""
    from warmside.estimate import to_csv, to_xlsx

    store = web_of(request).store
    store.job(job)
    text = store.text("prices", job).text or _default_prices(store, job)
    data = to_xlsx(text) if kind == "xlsx" else to_csv(text).encode()
    media = {
        "csv": "text/csv; charset=utf-8",
        "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    }[kind]
    headers = {"content-disposition": f'attachment; filename="prices-{job}.{kind}"'}
    return Response(data, media_type=media, headers=headers)


def _typed(form: Form, kept: str) -> str:
    """The price file of what was typed into the table of ``kept``, or sent as text or as CSV."""
    from warmside.estimate import COLUMNS, from_csv, table_of, text_of

    if "text" in form.texts:
        text = form.texts["text"]
        heads = {cell.strip().lower() for cell in text.lstrip().partition("\n")[0].split(",")}
        return from_csv(text.lstrip()) if heads.issuperset(COLUMNS[:3]) else text
    return text_of(
        [form.texts.get(f"{n}.{name}", cell) for name, cell in zip(COLUMNS, row, strict=True)]
        for n, row in enumerate(table_of(kept))
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
    return {"lines": lines, "missing": list(house.missing), "unpriced": house.unpriced,
            "walls": len(parts)}  # fmt: skip


def _default_prices(store: Store, job: str) -> str:
    """The invented prices in the money of the job's country."""
    from warmside.catalog import country_of
    from warmside.estimate import default_text

    house = cached.read(store.text("survey", job).text).house
    rows = cached.catalog(store.text("catalog", job).text)
    country = country_of(rows.climate(house.climate))
    return default_text(country.currency) if country else default_text()
