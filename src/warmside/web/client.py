"""The client's view: one wall today and after the work, in plain words, at a kitchen table.

Nothing of the shop stands on it: no cost, margin or other job. What moves under its sliders was
solved ahead, depth by depth, and is exact for any pair of air temperatures.
"""

from __future__ import annotations

import base64
import gzip
import json
from contextlib import aclosing
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response

from warmside.errors import Fault, InputError
from warmside.store import Store
from warmside.web.dossier import PARTS
from warmside.web.figures import last_study
from warmside.web.letterhead import default_prices_of
from warmside.web.pages import page, then
from warmside.web.problem import Problem
from warmside.web.studies import OUTSIDE_RANGE, Standing, standing
from warmside.web.web import Web, web_of

if TYPE_CHECKING:
    from warmside.study.depths import Depth

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
SHAPE = "1"  # raised when the page reads another shape
_LEVELS = 65535  # of a factor from 0 to 1, two bytes each: a thousandth of a degree


@router.get("/jobs/{job}/client")
def client(request: Request, job: str) -> Response:
    """On to the first wall that is worked on."""
    stands = _stands(web_of(request).store, job)
    assert stands.dossier is not None  # noqa: S101 - looked at
    walls = stands.dossier["walls"]
    first = next((n for n, wall in enumerate(walls, 1) if _worked(wall)), 1)
    return then(f"/jobs/{job}/client/{first}")


@router.get("/jobs/{job}/client/{wall}")
def client_wall(request: Request, job: str, wall: int, outside: float | None = None) -> Response:
    """One wall, today and after the work, and what we advise for the house."""
    web = web_of(request)
    stands = _stands(web.store, job)
    data = _wall(stands, wall)
    assert stands.dossier is not None  # noqa: S101 - looked at
    cold = stands.dossier["outside"] if outside is None else outside
    low, high = OUTSIDE_RANGE
    if not low <= cold <= high:
        raise InputError([Fault("outdoors", f"{cold:g} °C"[:40], f"{low:g} to {high:g} °C")])
    options = {option["id"]: option for option in data["options"]}
    return page(
        request, "client", job=None, house=web.store.job(job), stands=stands, wall=data,
        number=wall, found=data["options"][0], after=options[data["chosen"]],
        worked=[(n, w) for n, w in enumerate(stands.dossier["walls"], 1) if _worked(w)],
        left=[(n, w) for n, w in enumerate(stands.dossier["walls"], 1) if not _worked(w)],
        outside=cold, outside_range=OUTSIDE_RANGE, offer=stands.dossier["offer"],
        moves=web.warm is not None,
    )  # fmt: skip


@router.get("/jobs/{job}/client/{wall}/depths.json")
async def client_depths(request: Request, job: str, wall: int) -> Response:
    """The wall at every depth of foam: solved when it is first asked for, then kept."""
    web = web_of(request)
    asked = await run_in_threadpool(_asked, web, job, wall)
    key = asked.pop("key")
    data = await run_in_threadpool(web.store.results.get, key)
    if data is None:
        data = await _solved(web, key, asked)
    headers = {"content-encoding": "gzip"} if _takes_gzip(request) else {}
    return Response(
        data if headers else gzip.decompress(data), media_type="application/json", headers=headers
    )


def _takes_gzip(request: Request) -> bool:
    return "gzip" in request.headers.get("accept-encoding", "")


def _asked(web: Web, job: str, wall: int) -> Json:
    store = web.store
    stands = _stands(store, job)
    _wall(stands, wall)
    there = {part: store.text(part, job) for part in PARTS}  # type: ignore[arg-type]
    texts = {part: kept.revision for part, kept in there.items()}
    base = last_study(store, job, texts)
    if web.warm is None or not base:
        raise Problem(404, "Not to be moved", "Study the house again to have its sliders.")
    assert stands.dossier is not None  # noqa: S101 - looked at
    return {
        "key": store.results.key("depths", SHAPE, base, str(wall)), "job": job, "base": base,
        "texts": texts, "survey": stands.dossier["survey"],
        "prices": there["prices"].text or default_prices_of(store, job), "wall": wall,
        "depths": True,
    }  # fmt: skip


async def _solved(web: Web, key: str, asked: Json) -> bytes:
    assert web.warm is not None  # noqa: S101 - looked at
    found: list[Json] = []
    async with aclosing(web.warm.follow(**asked)) as all_told:
        async for told in all_told:
            if told.fault:
                raise Problem(503, "The sliders cannot be made now", told.fault)
            if told.depth:
                found.append(_plain(told.depth))
    data = gzip.compress(json.dumps({"depths": found}).encode(), 6)
    await run_in_threadpool(web.store.results.keep, key, "depths", data)
    return data


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


def _stands(store: Store, job: str) -> Standing:
    store.job(job)
    found = standing(store, job)
    if found.dossier is None:
        raise Problem(404, "Not studied yet", "The client's view comes with the study.")
    return found


def _wall(stands: Standing, wall: int) -> Json:
    walls = stands.dossier["walls"] if stands.dossier else []
    if not 1 <= wall <= len(walls):
        raise Problem(404, "Not found", f"There is no study of wall {wall} of this job.")
    found: Json = walls[wall - 1]
    return found


def _worked(wall: Json) -> bool:
    return bool(wall["chosen"] != wall["options"][0]["id"])
