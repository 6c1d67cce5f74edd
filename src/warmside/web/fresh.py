"""What warm processes are asked; the study follows what changes no wall: prices, choices, notes.

Where a warm process holds the job its pages are made before the answer goes out; papers and curves
follow in the background.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from contextlib import aclosing, suppress
from dataclasses import replace

from anyio import from_thread
from fastapi import Request

from warmside.errors import BusyError
from warmside.store import Store
from warmside.web.dossier import PARTS
from warmside.web.letterhead import price_text_of
from warmside.web.studies import ask, only_money, standing
from warmside.web.warm import WarmJobs
from warmside.web.warm_process import Ask
from warmside.web.web import caller_of, web_of

_MOST = 3.0  # [s] that an answer waits; what takes longer goes on after it
_GOING = set[asyncio.Task[None]]()  # a task lives as long as somebody holds it


def freshen(request: Request, job: str) -> None:
    """Bring the study up to date where no wall is computed again; only in a thread of its own."""
    web, who = web_of(request), caller_of(request).name
    if not only_money(web.store, job):
        return
    if web.warm is not None and web.warm.holds(job):
        survey = web.store.text("survey", job).text
        wanted = replace(ask_of(web.store, job, 1, survey), pages=True)
        from_thread.run(_begin, web.warm, wanted)
    ask(web.store, job, who)


async def _begin(warm: WarmJobs, wanted: Ask) -> None:
    """Begin the pages and wait a while for them."""
    going = asyncio.create_task(_kept(warm, wanted))
    _GOING.add(going)
    going.add_done_callback(_GOING.discard)
    await asyncio.wait({going}, timeout=_MOST)


async def _kept(warm: WarmJobs, wanted: Ask) -> None:
    with suppress(BusyError):  # what could not be made is left to the background
        async with aclosing(warm.follow(wanted)) as all_told:
            async for told in all_told:
                if told.ends:
                    return


def ask_of(store: Store, job: str, wall: int, survey: str) -> Ask:
    """What is asked of a wall of ``survey``, beside its last study and with the job's prices."""
    texts = {part: store.text(part, job).revision for part in PARTS}  # type: ignore[arg-type]
    base = _last_study(store, job, texts)
    return Ask(job, base, texts, survey, price_text_of(store, job), wall)


def _last_study(store: Store, job: str, texts: Mapping[str, int]) -> str:
    """Key of the last study, where it was made of this catalog and weather; "" for none."""
    stands = standing(store, job)
    if not stands.shown or stands.fresh:
        return stands.body
    made = next((t.data for t in store.tasks.of(job, 40) if t.key == stands.shown), {})
    same = all(made.get(part) == texts[part] for part in ("catalog", "weather"))
    return stands.body if same else ""
