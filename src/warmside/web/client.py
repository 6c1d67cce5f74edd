"""The client's view: one wall today and after the work, in plain words, at a kitchen table.

Nothing of the shop stands on it: no cost, margin or other job. What moves under its sliders was
solved ahead, depth by depth, and is exact for any pair of air temperatures.
"""

from __future__ import annotations

import base64
import gzip
import json
from contextlib import aclosing
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response

from warmside.store import Store
from warmside.web.figures import ask_of
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.studies import OUTSIDE_RANGE, standing, wall_of, within
from warmside.web.warm import WarmJobs
from warmside.web.warm_process import Ask
from warmside.web.web import web_of

if TYPE_CHECKING:
    from warmside.study.depths import Depth

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
SHAPE = "1"  # raised when the page reads another shape
_LEVELS = 65535  # of a factor from 0 to 1, two bytes each: a thousandth of a degree


@router.get("/jobs/{job}/client")
def client(request: Request, job: str) -> Response:
    """On to the first wall that is worked on; where nothing is studied yet, to the study."""
    store = web_of(request).store
    store.job(job)
    stands = standing(store, job)
    if stands.dossier is None:
        return then(f"/jobs/{job}/study")
    first = next((n for n, wall in enumerate(stands.study["walls"], 1) if _worked(wall)), 1)
    return then(f"/jobs/{job}/client/{first}")


@router.get("/jobs/{job}/client/{wall}")
def client_wall(request: Request, job: str, wall: int, outside: float | None = None) -> Response:
    """One wall, today and after the work, and what we advise for the house."""
    web = web_of(request)
    stands, data = wall_of(web.store, job, wall)
    cold = stands.study["outside"] if outside is None else outside
    within("outdoors", cold, OUTSIDE_RANGE)
    options = {option["id"]: option for option in data["options"]}
    return page(
        request, "client", job=None, house=web.store.job(job), stands=stands, wall=data,
        number=wall, found=data["options"][0], after=options[data["chosen"]],
        outside=cold, outside_range=OUTSIDE_RANGE, offer=stands.study["offer"],
        moves=web.warm is not None,
    )  # fmt: skip


@router.get("/jobs/{job}/client/{wall}/depths.json")
async def client_depths(request: Request, job: str, wall: int) -> Response:
    """The wall at every depth of foam: solved when it is first asked for, then kept."""
    web = web_of(request)
    ask = await run_in_threadpool(_ask, web.store, job, wall)
    if web.warm is None or not ask.base:
        raise Problem(404, "Not to be moved", "Study the house again to have its sliders.")
    results = web.store.results
    key = results.key("depths", SHAPE, ask.base, str(wall))
    data = await run_in_threadpool(results.get, key)
    if data is None:
        data = gzip.compress(json.dumps({"depths": await _solved(web.warm, ask)}).encode(), 6)
        await run_in_threadpool(results.keep, key, "depths", data)
    return Response(gzip.decompress(data), media_type="application/json")


def _ask(store: Store, job: str, wall: int) -> Ask:
    stands, _ = wall_of(store, job, wall)
    return replace(ask_of(store, job, wall, stands.study["survey"]), depths=True)


async def _solved(warm: WarmJobs, ask: Ask) -> list[Json]:
    found: list[Json] = []
    async with aclosing(warm.follow(ask)) as all_told:
        async for told in all_told:
            if told.fault:
                raise Problem(503, "The sliders cannot be made now", told.fault)
            if told.depth:
                found.append(_plain(told.depth))
    return found


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


def _worked(wall: Json) -> bool:
    return bool(wall["chosen"] != wall["options"][0]["id"])
