"""Inside a wall for the client: every layer and piece of it with its computed temperature.

One answer holds the cells of the solved field; the page's script turns it, opens it layer by layer
and colours it for any temperature outdoors.
"""

from __future__ import annotations

import base64
import gzip
import json
from contextlib import aclosing
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response

from warmside.catalog import load
from warmside.store import Store
from warmside.web.fresh import ask_of
from warmside.web.problem import Problem
from warmside.web.studies import wall_of
from warmside.web.warm import WarmJobs
from warmside.web.warm_process import Ask
from warmside.web.web import web_of

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from warmside.physics.conduction import Inside, Solid

router = APIRouter(include_in_schema=False)
Json = dict[str, Any]
SHAPE = "1"  # raised when the page reads another shape
_LEVELS = 65534  # of a factor from 0 to 1, two bytes each; 0 is where there is no wall
_NOTHING = 255  # number of a cell that is not drawn: an opening, air


@dataclass(frozen=True)
class Part:
    """What is taken off in one go: its name for the client, the roles of its layers."""

    words: str
    roles: frozenset[str]


# in words of the offer; what is not named here is air
WALL_PARTS = (
    Part("Inside finish", frozenset({"finish", "vapour control"})),
    Part("Strips", frozenset({"furring"})),
    Part("Insulation", frozenset({"fill", "foam"})),
    Part("Wood frame", frozenset({"wood"})),
    Part("Boards and paper outside", frozenset({"sheathing", "paper"})),
    Part("Insulating board", frozenset({"board"})),
    Part("Siding", frozenset({"cladding"})),
)


def materials_of_walls() -> tuple[str, ...]:
    """What layers and pieces of walls are made of, by their names in the built-in catalog."""
    catalog = load()
    rows = (row.name for row in catalog.materials.values())
    return (*rows, *(foam.name for foam in catalog.foams.values()))


@router.get("/jobs/{job}/client/{wall}/inside")
async def client_inside(request: Request, job: str, wall: int, option: str = "") -> Response:
    """The wall with one option, cell by cell: solved when it is first asked for, then kept."""
    web = web_of(request)
    ask = await run_in_threadpool(_ask, web.store, job, wall, option)
    if web.warm is None or not ask.base:
        raise Problem(404, "Not to be opened", "Study the house again to look into its walls.")
    results = web.store.results
    key = results.key("inside", SHAPE, ask.base, str(wall), ask.inside)
    data = await run_in_threadpool(results.get, key)
    if data is None:
        found = plain(await _solved(web.warm, ask))
        data = gzip.compress(json.dumps(found, separators=(",", ":")).encode(), 6)
        await run_in_threadpool(results.keep, key, "inside", data)
    return Response(gzip.decompress(data), media_type="application/json")


def _ask(store: Store, job: str, wall: int, option: str) -> Ask:
    stands, data = wall_of(store, job, wall)
    id = option or data["chosen"]
    if id not in {one["id"] for one in data["options"]}:
        raise Problem(404, "Not found", "This wall has no such option.")
    return replace(ask_of(store, job, wall, stands.study["survey"]), inside=id)


async def _solved(warm: WarmJobs, ask: Ask) -> Inside:
    async with aclosing(warm.follow(ask)) as all_told:
        async for told in all_told:
            if told.fault:
                raise Problem(503, "The wall cannot be opened now", told.fault)
            if told.inside:
                return told.inside
    raise Problem(503, "The wall cannot be opened now", "Try again in a moment.")


def plain(inside: Inside) -> Json:
    """The wall as the page reads it: cells as one byte each, faces as two, x first, z last."""
    import numpy as np

    parts, numbers = _parts(inside.solids)
    part = np.append(numbers, _NOTHING)[inside.solid].astype(np.uint8)
    levels = np.nan_to_num(np.rint(np.clip(inside.factor, 0.0, 1.0) * _LEVELS) + 1.0)
    return {
        **{axis: np.round(getattr(inside, axis), 5).tolist() for axis in "xyz"},
        "parts": [{"words": words, "made_of": made} for words, made in parts],
        "part": _packed(part),
        "factor": _packed(levels.astype("<u2")),
        "pieces": [
            [int(number), *(round(v, 4) for v in (s.x0, s.x1, s.y0, s.y1, s.z0, s.z1))]
            for s, number in zip(inside.solids, numbers.tolist(), strict=True)
            if number != _NOTHING
        ],
    }


def _parts(
    solids: tuple[Solid, ...],
) -> tuple[list[tuple[str, list[str]]], npt.NDArray[np.int64]]:
    """The parts there are, from the room outwards, and which of them each solid belongs to."""
    import numpy as np

    mine = {role: n for n, part in enumerate(WALL_PARTS) for role in part.roles}
    kinds = [mine.get(s.layer.role, -1) if s.layer.conductivity is not None else -1 for s in solids]
    depths = {n: min(s.y0 for s, k in zip(solids, kinds, strict=True) if k == n)
              for n in set(kinds) - {-1}}  # fmt: skip
    order = sorted(depths, key=lambda n: (depths[n], n))
    parts = []
    for n in order:
        made = (s.layer.name for s, k in zip(solids, kinds, strict=True) if k == n)
        parts.append((WALL_PARTS[n].words, list(dict.fromkeys(made))))
    place = {n: k for k, n in enumerate(order)}
    return parts, np.array([place.get(k, _NOTHING) for k in kinds])


def _packed(values: npt.NDArray[Any]) -> str:
    return base64.b64encode(values.tobytes()).decode()
