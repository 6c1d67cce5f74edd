"""A job of one wall that is studied, and pages over it with warm processes that follow a script."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from datetime import date
from typing import Any

from fastapi.testclient import TestClient

from warmside.store import Store
from warmside.study import Study, study, with_choices
from warmside.survey import read, template, write
from warmside.web import Web, create_app
from warmside.web.dossier import PARTS, keep_pages, keep_papers
from warmside.web.warm_process import Ask, Told


class Scripted:
    """Warm processes that tell what they were given, and keep what they are asked."""

    def __init__(self, *told: Told) -> None:
        self.told, self.asked = told, list[Ask]()

    def start(self) -> None: ...

    def stop(self) -> None: ...

    async def follow(self, ask: Ask) -> AsyncGenerator[Told]:
        self.asked.append(ask)
        for one in self.told:
            yield one


def client_of(store: Store, warm: Any = None) -> TestClient:
    """Pages over a store, as a client reads them; nothing is followed."""
    web = Web(store, b"s" * 32, hosts=lambda _: True, warm=warm)
    return TestClient(create_app(web), follow_redirects=False)


def keep(store: Store, texts: dict[str, str], made: Study, today: date) -> None:
    """Keep everything that pages and papers need of a study."""
    list(keep_pages(store, texts, made, today))
    keep_papers(store, texts, made, today)


def kept(store: Store, *, left: bool = False, climate: str = "", fields: bool = True) -> str:
    """The job; ``left``: with nothing done on its wall."""
    found = read(template())
    house = found.house.model_copy(update={"climate": climate} if climate else {})
    one = found.model_copy(update={"house": house, "walls": found.walls[:1], "options": ()})
    job = store.new_job(write(one), "owner").id
    texts = {part: store.text(part, job).text for part in PARTS}  # type: ignore[arg-type]
    made = study(read(texts["survey"]), years=0, fields=fields)
    if left:
        made = with_choices(made, {wall.wall.name: "leave" for wall in made.walls})
    keep(store, texts, made, date(2026, 3, 4))
    return job
