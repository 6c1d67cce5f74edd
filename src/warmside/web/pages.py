"""Turning what a page shows into HTML: one environment, everything escaped."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterable
from datetime import date, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from warmside import __version__
from warmside.store import Job
from warmside.web.access import BROWSER
from warmside.web.files import address
from warmside.web.navigation import entries
from warmside.web.problem import Problem
from warmside.web.web import Caller, web_of
from warmside.wording import Figure, Sentence, Style, beside_english, capital, counted, say
from warmside.wording.sentence import Part

_COMPASS = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW"
_POWER = re.compile(r"(?<![A-Za-z0-9])(m|cm|mm|ft|in)([23])(?![0-9])")
# what a crew reads in its own language
CREWS_PAGES = ("site_plan", "site_wall", "site_day", "site_hours")
SIGNS = {"holds": "✓", "falls short": "✕", "needs a person": "?",
         "does not apply": "n/a", "not judged": "–"}  # fmt: skip


@cache
def _environment() -> Environment:
    folder = Path(str(resources.files("warmside.web"))) / "templates"
    environment = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        auto_reload=False,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(
        when=_when,
        day=_day,
        svg=_svg,
        written=_written,
        beside=_beside,
        capital=capital,
        compass=_compass,
        groupby_kept=_groups,
        raised=_raised,
    )
    environment.globals["said"] = _said
    environment.globals.update(signs=SIGNS, version=__version__, counted=counted, static=address)
    return environment


def page(
    request: Request,
    name: str,
    status: int = 200,
    job: Job | None = None,
    write: Style | None = None,
    **shown: Any,
) -> Response:
    """The page ``name`` with what it shows; ``job`` brings that job's own navigation.

    ``write`` is how its reader reads, where that is not who calls; then all of it is in one
    language.
    """
    web = web_of(request)
    browser = request.cookies.get(BROWSER, "")
    fresh = "" if 20 <= len(browser) <= 60 else secrets.token_urlsafe(24)
    caller: Caller = getattr(request.state, "caller", Caller("", "crew"))
    body = (
        _environment()
        .get_template(f"{name}.html")
        .render(
            **shown,
            job=job,
            caller=caller,
            write=write or writing_of(request),
            languages=request.headers.get("accept-language", ""),
            entries=entries(caller, request.url.path, job.id) if job else [],
            share=web.share,
            saved=request.query_params.get("saved") == "1",
            form_token=web.token_for(fresh or browser),
            path=request.url.path,
            crews_page=name in CREWS_PAGES,
            whole_language=write.language if write else "en",
        )
    )
    response = HTMLResponse(body, status)
    if fresh:
        response.set_cookie(BROWSER, fresh, httponly=True, samesite="strict", max_age=31_536_000,
                            secure=web.secure)  # fmt: skip
    return response


def fragment(request: Request, name: str, **shown: Any) -> str:
    """Part of a page, to be put into one that is open."""
    template = _environment().get_template(f"{name}.html")
    return template.render(**shown, write=writing_of(request))


def writing_of(request: Request) -> Style:
    """How the caller wants quantities written."""
    caller: Caller | None = getattr(request.state, "caller", None)
    if caller is None or not caller.name:
        return Style()
    return web_of(request).writing(caller.name)


def problem_page(request: Request, problem: Problem) -> Response:
    """The page that tells what went wrong."""
    response = page(request, "problem", problem.status, problem=problem)
    if problem.wait:
        response.headers["retry-after"] = str(problem.wait)
    return response


def then(path: str) -> Response:
    """After something was done: on to ``path``."""
    return RedirectResponse(path, status_code=303)


@pass_context
def _when(context: Context, moment: datetime) -> Markup:
    """A moment on the computer's own clock, as the reader writes dates."""
    local = moment.astimezone()
    write: Style = context["write"]
    return Markup('<time datetime="{}">{}</time>').format(
        local.isoformat(timespec="seconds"), write.moment(local, context["languages"])
    )


@pass_context
def _day(context: Context, day: date) -> str:
    """A day as the reader writes dates."""
    write: Style = context["write"]
    return write.date(day, context["languages"])


@pass_context
def _written(context: Context, part: Part | None) -> str:
    """A figure or a sentence as the reader writes quantities; "" for None."""
    write: Style = context["write"]
    return "" if part is None else _raised(write.part(part))


@pass_context
def _beside(context: Context, part: Part) -> str:
    """A line of safety as the reader reads it, with the English beside another language."""
    return _raised(beside_english(part, context["write"]))


@pass_context
def _said(context: Context, template: str, **parts: Any) -> str:
    """A sentence of a page with what it names, in the reader's language."""
    named = {k: v if isinstance(v, (Sentence, Figure)) else str(v) for k, v in parts.items()}
    style: Style = context["write"]
    return _raised(style.sentence(say(template, **named)))


def _compass(azimuth: float) -> str:
    """Degrees clockwise from north as a point of the compass, with the degrees where between."""
    points = tuple(_COMPASS.split())
    nearest = round(azimuth / 22.5)
    name = points[nearest % 16]
    return name if abs(azimuth - nearest * 22.5) < 0.1 else f"{name} ({azimuth:.0f}°)"


def _raised(text: str) -> str:
    """Units with their figures raised: m², W/(m²·K)."""
    return _POWER.sub(lambda m: m[1] + "²³"[int(m[2]) - 2], text)


def _groups(rows: Iterable[Any], by: str) -> list[tuple[str, list[Any]]]:
    """Rows by an attribute, groups and rows in the order they come in."""
    found: dict[str, list[Any]] = {}
    for row in rows:
        found.setdefault(getattr(row, by), []).append(row)
    return list(found.items())


def _svg(drawing: str) -> Markup:
    """A drawing of ours (its texts are escaped where it is drawn) as part of the page."""
    return Markup(drawing)  # noqa: S704
