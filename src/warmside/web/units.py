"""Each person's own page: the units they read and write in, by kind of quantity."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.web.forms import Form
from warmside.web.pages import page, then, writing_of
from warmside.web.web import caller_of, web_of
from warmside.web.writing import LANGUAGES, chosen
from warmside.wording import DATES, STEPS, WAYS, Style

router = APIRouter(include_in_schema=False)
# what each kind is met in, with a value [SI] to show the ways by
_MET: Mapping[str, tuple[str, float]] = {
    "length": ("lumber, walls, windows, thickness", 1.5748),
    "area": ("walls, floors, gaps", 41.2),
    "volume": ("the heated house", 566.0),
    "temperature": ("room, weather, surfaces", -12.5),
    "thermal resistance": ("walls and layers", 2.13),
    "permeance": ("what lets vapour through", 57.2e-12),
    "foam": ("what is sprayed", 1.9),
}
_DAY = date(2026, 3, 4)


@router.get("/units")
def units_page(request: Request) -> Response:
    """The caller's choices, each with an example."""
    return _page(request, writing_of(request).to_json())


@router.post("/units")
def save_units(request: Request, form: Form) -> Response:
    """Keep the caller's choices."""
    try:
        web_of(request).set_writing(caller_of(request).name, chosen(form.texts))
    except InputError as error:
        return _page(request, form.texts, error.faults, 422)
    return then("/units?kept=1")


def _page(
    request: Request,
    typed: Mapping[str, str],
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> Response:
    kinds = [
        (kind.replace(" ", "_"), kind, where, [(name, way.write(value)) for name, way in
                                               WAYS[kind].items()])
        for kind, (where, value) in _MET.items()
    ]  # fmt: skip
    languages = request.headers.get("accept-language", "")
    days = [(name, Style(dates=name).date(_DAY, languages)) for name in DATES]
    kept = request.query_params.get("kept") == "1"
    return page(
        request, "units", status, kinds=kinds, steps=STEPS, days=days, typed=typed, faults=faults,
        kept=kept, languages_offered=tuple(LANGUAGES.items()),
    )  # fmt: skip
