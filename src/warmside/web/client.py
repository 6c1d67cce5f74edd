"""The client's view: one wall today and after the work, in plain words, at a kitchen table.

Nothing of the shop stands on it: no cost, margin or other job; figures and words are those of the
offer. What moves under its sliders is solved depth by depth, the one looked at first, and is exact
for any pair of air temperatures. Whoever has a link reads the same.
"""

from __future__ import annotations

import base64
import gzip
import json
from collections.abc import AsyncIterator, Iterable, Iterator, Mapping
from contextlib import aclosing
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response, StreamingResponse

from warmside.errors import BusyError
from warmside.store import Store
from warmside.web.dossier import OFFERED
from warmside.web.fresh import ask_of
from warmside.web.inside import WALL_PARTS, materials_of_walls
from warmside.web.letterhead import style_of_job
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.studies import OUTSIDE_RANGE, WIDTHS, standing, thermal_picture, wall_of, within
from warmside.web.warm import WarmJobs
from warmside.web.warm_process import Ask
from warmside.web.web import web_of
from warmside.wording import Style

if TYPE_CHECKING:
    from warmside.study.depths import Depth

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
Language = Literal["en", "fr"]
Wish = Literal["warm", "dry", "price", "calm", "saving"]
# what may be asked for first, in words; ranked by ``study.report.wishes``
WISHES: Mapping[Wish, str] = {
    "warm": "Warmest",
    "dry": "Driest",
    "price": "Lowest price",
    "calm": "Least upset at home",
    "saving": "Saves most each year",
}
# what the page's script says
WORDS: Mapping[str, str] = {
    "opening": "an opening", "unpriced": "not priced", "place": "{t0} today, {t1} after",
    "picture": "The wall at {out} outdoors: coldest place {t0} today, {t1} after the work",
    "waits": "This depth is still being worked out; the picture shows {depth}.",
    "done": "Worked out: {n} of {all} depths.", "to": " to ",
    "none": "Foam cannot be put into this wall as it was found.",
}  # fmt: skip
SHAPE = "2"  # raised when the page reads another shape
_LEVELS = 65535  # of a factor from 0 to 1, two bytes each: a thousandth of a degree
_MOST_DEPTH = 1.0  # [m] that may be asked for first


@router.get("/jobs/{job}/client")
def client(request: Request, job: str) -> Response:
    """On to the first wall that is worked on; where nothing is studied yet, to the study."""
    store = web_of(request).store
    store.job(job)
    stands = standing(store, job)
    if stands.dossier is None:
        return then(f"/jobs/{job}/study")
    return then(f"/jobs/{job}/client/{first_wall(stands.study)}")


def first_wall(study: Json) -> int:
    """Number of the first wall that is worked on; the first where none is."""
    worked = (n for n, w in enumerate(study["walls"], 1) if w["chosen"] != w["options"][0]["id"])
    return next(worked, 1)


@router.get("/jobs/{job}/client/{wall}")
def client_wall(
    request: Request,
    job: str,
    wall: int,
    outside: float | None = None,
    language: Language = "en",
    wish: Wish = "warm",
    one: str = "",
    two: str = "",
) -> Response:
    """One wall, today and after the work, and what we advise for the house."""
    return view(request, job, wall, f"/jobs/{job}/client", outside, language, wish, (one, two))


def view(
    request: Request,
    job: str,
    wall: int,
    base: str,
    outside: float | None,
    language: Language,
    wish: Wish,
    pair: tuple[str, str],
    reader: str = "",
) -> Response:
    """The page, its addresses under ``base``; ``reader`` is who came by a link.

    ``outside`` is in the client's own degrees.
    """
    web = web_of(request)
    stands, data = wall_of(web.store, job, wall)
    write = style_of_job(web.store, job, language)
    way = write.steps("temperature")
    cold = stands.study["outside"] if outside is None else way["zero"] + outside * way["si"]
    within("outdoors", cold, OUTSIDE_RANGE)
    options = {option["id"]: option for option in data["options"]}
    order = sorted(data["ways"], key=lambda way: way["place"][wish])
    return page(
        request, "client", job=None, write=write, house=web.store.job(job), stands=stands,
        wall=data, number=wall, found=data["options"][0], after=options[data["chosen"]],
        outside=cold, outside_range=OUTSIDE_RANGE, offer=stands.study["offer"],
        moves=web.warm is not None,
        part_words={part.words: write.sentence(part.words) for part in WALL_PARTS},
        made_words=_in_words(materials_of_walls(), write),
        base=base, reader=reader, language=language,
        languages_offered=OFFERED, wish=wish, wishes=WISHES, order=order,
        pair=_pair(order, data["chosen"], pair), script=_for_script(write, stands.study),
        names={one["id"]: one["choice"]["name"] for one in data["ways"]},
        degrees=lambda celsius: round((celsius - way["zero"]) / way["si"]),
    )  # fmt: skip


def _pair(order: list[Json], ours: str, asked: tuple[str, str]) -> list[Json]:
    """The two ways side by side: those asked for, else what comes first, and what we advise."""
    by_id = {way["id"]: way for way in order}
    wanted = [id for id in asked if id in by_id]
    rest = [way["id"] for way in order if way["worked"]]
    ids = dict.fromkeys([*wanted, *rest[:1], ours, *rest[1:2], *by_id])
    return [by_id[id] for id in ids if id in by_id][:2]


def _in_words(names: Iterable[str], write: Style) -> dict[str, str]:
    """What names are called in the reader's language, where that is not English."""
    return {} if write.language == "en" else {name: write.sentence(name) for name in names}


def _for_script(write: Style, study: Json) -> Json:
    """How the page's script writes what moves: units, rounding, money and words."""
    return {
        "temperature": write.steps("temperature"),
        "resistance": write.steps("resistance"),
        "locale": write.locale.replace("_", "-"),
        "currency": study["currency"],
        "words": {name: write.sentence(text) for name, text in WORDS.items()},
    }


@router.get("/jobs/{job}/client/{wall}/thermal.svg")
def client_thermal(
    request: Request,
    job: str,
    wall: int,
    option: str = "",
    outside: float = 0.0,
    language: Language = "en",
    narrow: bool = False,
) -> Response:
    """How warm the room side is with one option, in the client's own units."""
    store = web_of(request).store
    stands, data = wall_of(store, job, wall)
    style = style_of_job(store, job, language)
    names = {way["id"]: way["choice"]["name"] for way in data["ways"]}
    title = style.sentence(names.get(option, ""))
    width = WIDTHS["narrow" if narrow else "wide"]
    drawn = thermal_picture(
        store, job, stands, wall, option or data["chosen"], (stands.study["room"], outside), style,
        width, title,
    )  # fmt: skip
    return Response(drawn, media_type="image/svg+xml")


@router.get("/jobs/{job}/client/{wall}/depths")
async def client_depths(request: Request, job: str, wall: int, first: float = 0.0) -> Response:
    """The wall at every depth of foam, as server-sent events: what is looked at comes first.

    Solved when it is first asked for, then kept. ``first`` [m]; 0: what we advise.
    """
    web = web_of(request)
    within("depth", first, (0.0, _MOST_DEPTH), "m")
    ask = await run_in_threadpool(_ask, web.store, job, wall, first)
    if web.warm is None or not ask.base:
        raise Problem(404, "Not to be moved", "Study the house again to have its sliders.")
    key = web.store.results.key("depths", SHAPE, ask.base, ask.prices, str(wall))
    kept = await run_in_threadpool(web.store.results.get, key)
    told = _solved(web.warm, web.store, ask, key) if kept is None else _kept(kept)
    return StreamingResponse(
        told, media_type="text/event-stream", headers={"x-accel-buffering": "no"}
    )


def _ask(store: Store, job: str, wall: int, first: float) -> Ask:
    stands, _ = wall_of(store, job, wall)
    ask = ask_of(store, job, wall, stands.study["survey"])
    return replace(ask, depths=True, first=first)


async def _kept(data: bytes) -> AsyncIterator[str]:
    for name, what in json.loads(gzip.decompress(data)):
        yield _event(name, what)


async def _solved(warm: WarmJobs, store: Store, ask: Ask, key: str) -> AsyncIterator[str]:
    """Every depth as it is known; kept once all are."""
    events: list[tuple[str, Json]] = []
    try:
        async with aclosing(warm.follow(ask)) as all_told:
            async for told in all_told:
                if told.fault:
                    yield _event("end", {"fault": told.fault})
                    return
                if not (told.depths or told.depth):
                    yield ": still at it\n\n"
                for name, what in _told(told.depths, told.depth):
                    events.append((name, what))
                    yield _event(name, what)
    except BusyError as error:
        yield _event("end", {"fault": str(error)})
        return
    events.append(("end", {"fault": ""}))
    data = gzip.compress(json.dumps(events).encode(), 6)
    await run_in_threadpool(store.results.keep, key, "depths", data)
    yield _event("end", {"fault": ""})


def _told(depths: tuple[float, ...], depth: Depth | None) -> Iterator[tuple[str, Json]]:
    if depths:
        yield "depths", {"all": sorted(depths), "first": depths[0]}
    if depth:
        yield "depth", _plain(depth)


def _event(kind: str, what: Json) -> str:
    return f"event: {kind}\ndata: {json.dumps(what)}\n\n"


def _plain(depth: Depth) -> Json:
    """A depth as the page reads it: factors as two bytes each, row by row from the left."""
    import numpy as np

    levels = np.clip(np.rint(depth.factor * _LEVELS), 1, _LEVELS).astype("<u2")
    levels[~depth.seen] = 0  # an opening
    saving = depth.saving and [depth.saving.low, depth.saving.best, depth.saving.high]
    return {
        "thickness": depth.thickness, "resistance": depth.resistance, "coldest": depth.coldest,
        "at": depth.coldest_at, "price": depth.price, "saving": saving,
        "x": np.round(depth.x, 4).tolist(), "z": np.round(depth.z, 4).tolist(),
        "factor": base64.b64encode(levels.tobytes()).decode(),
    }  # fmt: skip
