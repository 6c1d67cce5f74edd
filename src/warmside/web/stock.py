"""The stock: a table of houses sent in, judged in the background, read as a provider reads it."""

from __future__ import annotations

import gzip
import json
import os
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.fence import FILES, fenced
from warmside.store import Store, Task
from warmside.web.dossier import opened
from warmside.web.forms import Form, Sent
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.web import caller_of, web_of
from warmside.wording import to_plain

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
KIND = "stock"  # of its tasks and results
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]{0,60}")
_FILES: Mapping[str, tuple[str, str]] = {
    "stock.pdf": ("stock-pdf", "application/pdf"),
    "programme.csv": ("stock-programme", "text/csv; charset=utf-8"),
    "houses.csv": ("stock-houses", "text/csv; charset=utf-8"),
    "stock.parquet": ("stock-parquet", "application/octet-stream"),
    "refused.csv": ("stock-refused", "text/csv; charset=utf-8"),
}
_WISHES = {  # what the form asks: how it is called there, its usual value, least and most
    "years": ("Years", 5, 1, 40),
    "budget": ("Money a year", 250_000, 0, 10**9),
    "crew": ("Crew hours a year", 3_000, 0, 10**7),
}
_ASKED = tuple((name, called) for name, (called, *_) in _WISHES.items())
GOALS = {"saving": "money saved", "carbon": "carbon saved", "risk": "risk taken away"}
_GROUPED = re.compile(r"(?<=\d)[, ](?=\d{3}(?!\d))")  # of thousands


@router.get("/stock")
def stocks(request: Request) -> Response:
    """Runs so far, and the form for another."""
    return _form_page(request, 200, {}, ())


@router.post("/stock")
def send_in(request: Request, form: Form) -> Response:
    """Take a table and its archetypes in and ask for the run."""
    store, who = web_of(request).store, caller_of(request).name
    try:
        sent = {"table": _text(form.file("table"), "the table"), "archetypes": _archetypes(form)}
        wish = _wish(form)
        _look_through(sent)
    except InputError as error:
        return _form_page(request, 422, form.texts, error.faults)
    content = json.dumps(sent, sort_keys=True)
    inputs = store.results.key("stock-input", content)
    store.results.keep(inputs, "stock-input", gzip.compress(content.encode()))
    return then(f"/stock/{_ask(store, inputs, wish, who)}")


@router.get("/stock/{run}")
def stock_page(request: Request, run: str) -> Response:
    """One run: how far it is, or what it found."""
    return _run_page(request, run)


def _run_page(
    request: Request,
    run: str,
    typed: Mapping[str, str] | None = None,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    store = web_of(request).store
    task = _task(store, run)
    view = opened(store.results.get(store.results.key("stock-view", run)))
    if task is None and view is None:
        raise Problem(404, "Not found", "No such run of a stock.")
    wish = typed or (task.data if task else {}).get("wish", {})
    return page(
        request, "stock_run", status, view=view, task=task, run=run, wish=wish, goals=GOALS,
        asked=_ASKED, faults=faults,
    )  # fmt: skip


@router.post("/stock/{run}/plan")
def plan_again(request: Request, run: str, form: Form) -> Response:
    """The same houses with other money, crews or another goal; nothing is judged again."""
    store, task = web_of(request).store, _task(web_of(request).store, run)
    if task is None:
        raise Problem(404, "Not found", "Send the table in again.")
    try:
        wish = _wish(form)
    except InputError as error:
        return _run_page(request, run, form.texts, error.faults, 422)
    return then(f"/stock/{_ask(store, task.data['inputs'], wish, caller_of(request).name)}")


@router.post("/stock/{run}/cancel")
def cancel(request: Request, run: str, form: Form) -> Response:  # noqa: ARG001
    """Stop a run; what is finished of it is taken up when it is asked for again."""
    store = web_of(request).store
    task = _task(store, run)
    if task is not None:
        store.tasks.cancel(task.id)
    return then("/stock")


@router.get("/stock/{run}/{name}")
def stock_file(request: Request, run: str, name: str) -> Response:
    """The provider's paper, and the results as tables."""
    store = web_of(request).store
    kind, media = _FILES.get(name, ("", ""))
    data = store.results.get(store.results.key(kind, run)) if kind and _is_key(run) else None
    if data is None:
        raise Problem(404, "Not found", "This run has no such file.")
    headers = {"content-disposition": f'inline; filename="{name}"'}
    return Response(gzip.decompress(data), media_type=media, headers=headers)


def _form_page(
    request: Request, status: int, typed: Mapping[str, str], faults: tuple[Fault, ...]
) -> Response:
    tasks = [task for task in web_of(request).store.tasks.of() if task.kind == KIND]
    usual = {name: str(usual) for name, (_, usual, _, _) in _WISHES.items()}
    return page(
        request, "stock", status, tasks=tasks, typed=usual | dict(typed), faults=faults,
        goals=GOALS, asked=_ASKED,
    )  # fmt: skip


def _is_key(run: str) -> bool:
    return re.fullmatch("[0-9a-f]{64}", run) is not None


def _task(store: Store, run: str) -> Task | None:
    return next((t for t in store.tasks.of() if t.kind == KIND and t.key == run), None)


def _ask(store: Store, inputs: str, wish: Json, who: str) -> str:
    key = store.results.key(KIND, inputs, json.dumps(wish, sort_keys=True))
    there = store.results.get(store.results.key("stock-view", key))
    if there is None or _task(store, key) is None:
        store.tasks.ask(KIND, key, who, data={"inputs": inputs, "wish": wish})
    return key


def _text(data: bytes, what: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError([Fault(what, "bytes that are not UTF-8", "text saved as UTF-8")]) from None


def _archetypes(form: Sent) -> dict[str, str]:
    """Archetype files by name."""
    texts: dict[str, str] = {}
    for upload in form.files.get("archetypes", ()):
        data = upload.file.read()
        name = Path(upload.filename or "").stem
        if not data and not name:
            continue
        if not _NAME.fullmatch(name):
            raise InputError([Fault("archetype", repr(name)[:60], "a file named by a plain word")])
        texts[name] = _text(data, f"archetype {name}")
    if not texts:
        raise InputError([Fault("archetypes", "no file", "one survey file or more, *.toml")])
    return texts


def _wish(form: Sent) -> Json:
    """What is wanted, by names; `InputError` tells all that is wrong with it at once."""
    wish: Json = {"goal": form.get("goal", "saving")}
    faults = []
    if wish["goal"] not in GOALS:
        faults.append(Fault("Wanted most", repr(wish["goal"])[:40], ", ".join(GOALS.values())))
    for name, (called, usual, low, high) in _WISHES.items():
        text = form.get(name) or str(usual)
        number = _GROUPED.sub("", text)
        plain = number.isascii() and number.isdecimal() and len(number) < 12
        if plain and low <= int(number) <= high:
            wish[name] = int(number)
        else:
            allowed = f"a whole number from {low:,} to {high:,}"
            faults.append(Fault(called, repr(text)[:40], allowed))
    if faults:
        raise InputError(faults)
    return wish


def _look_through(sent: Json) -> None:
    """Refuse what cannot be run at all; single rows that cannot be used are told by the run."""
    with tempfile.TemporaryDirectory() as folder:
        fenced(_refuse_unusable, Path(folder), sent, lane=FILES, place="the table")


def _refuse_unusable(folder: Path, sent: Json) -> None:
    from warmside.stock import open_table, read_archetypes

    table = _laid_out(folder, sent)
    rows = open_table(table, read_archetypes(folder / "archetypes"))
    if not any(not isinstance(row, InputError) for row in rows):
        raise InputError([Fault("the table", "no row that can be used", "one house or more")])


def _laid_out(folder: Path, sent: Json) -> Path:
    """The files as the stock room reads them; the path of the table."""
    kinds = folder / "archetypes"
    kinds.mkdir(parents=True, exist_ok=True)
    for name, text in sent["archetypes"].items():
        (kinds / f"{name}.toml").write_text(text, encoding="utf-8")
    table = folder / "houses.csv"
    table.write_text(sent["table"], encoding="utf-8", newline="")
    return table


def do(store: Store, task: Task, where: str, tell: Callable[[str, int, int], None]) -> None:
    """Run a stock, then plan and typeset it; the target of its task.

    The run's folder stays beside the store, so that what is finished is never done again.
    """
    from warmside.documents import Wish, programme_csv, stock_paper, stock_view
    from warmside.stock import open_table, read_archetypes, read_stock, run

    found = store.results.get(task.data["inputs"])
    if found is None:
        raise InputError([Fault("the table", "no longer kept", "sent in again")])
    with _folder(where, task.data["inputs"]) as folder:
        table = _laid_out(folder, json.loads(gzip.decompress(found)))
        kinds = read_archetypes(folder / "archetypes")
        run(
            open_table(table, kinds), kinds, folder / "run", count=os.cpu_count() or 1,
            progress=lambda told: tell("houses judged", told.done, told.of),
        )  # fmt: skip
        stock = read_stock(folder / "run")
        tell("programme and papers", stock.made["houses"], stock.made["houses"] + 1)
        view = stock_view(stock, Wish(**task.data["wish"]), date.today())
        lists = [c for c, kind in stock.frame.schema.items() if kind.is_nested()]
        results = {
            "stock-view": json.dumps(to_plain(view)).encode(),
            "stock-pdf": stock_paper(view),
            "stock-programme": programme_csv(view),
            "stock-houses": stock.frame.drop(lists).write_csv().encode(),
            "stock-parquet": (folder / "run" / "stock.parquet").read_bytes(),
            "stock-refused": (folder / "run" / "refused.csv").read_bytes(),
        }
    for kind, data in results.items():
        store.results.keep(store.results.key(kind, task.key), kind, gzip.compress(data))
    store.results.trim()


@contextmanager
def _folder(where: str, inputs: str) -> Iterator[Path]:
    """Where a run is kept: beside a store that is a file, else for as long as it takes."""
    beside = Path(where).parent
    if "://" not in where and beside.is_dir():
        folder = beside / "stock-runs" / inputs[:24]
        folder.mkdir(parents=True, exist_ok=True)
        yield folder
        return
    with tempfile.TemporaryDirectory() as folder_name:
        yield Path(folder_name)
