"""Head of a job's papers: the house, the client, the contractor, how the client reads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from warmside.store import Store
from warmside.web import cached
from warmside.wording import Language, Style

if TYPE_CHECKING:
    from warmside.documents import Letter
    from warmside.estimate import PriceList


def letter_of(store: Store, job: str) -> Letter:
    """Head of a job's papers: the house, the client, the contractor of its price list."""
    from warmside.documents import Letter, Picture

    house, prices = cached.read(store.text("survey", job).text).house, prices_of(store, job)
    svg = store.text("mark", job).text
    mark = Picture(svg, prices.contractor.name or "Mark") if svg else None
    return Letter(house.name, house.place, house.client, prices.contractor, prices.invented, mark)


def prices_of(store: Store, job: str) -> PriceList:
    """The job's price list; that of its place where it has none of its own."""
    from warmside.estimate import read_prices

    return read_prices(price_text_of(store, job))


def price_text_of(store: Store, job: str) -> str:
    """Text of the job's price list, or of the invented one of its country and place."""
    kept = store.text("prices", job).text
    return kept if kept.strip() else default_prices_of(store, job)


def style_of_job(store: Store, job: str, language: Language) -> Style:
    """How the client of a job reads, by the country of the house."""
    from warmside.documents import client_style

    survey, rows = (store.text(kind, job).text for kind in ("survey", "catalog"))
    return client_style(cached.climate(survey, rows), language)


def default_prices_of(store: Store, job: str) -> str:
    """The invented prices in the money of the job's country, with the taxes of its place."""
    from warmside.catalog import currency_of, region_of
    from warmside.estimate import default_text

    survey, rows = (store.text(kind, job).text for kind in ("survey", "catalog"))
    climate = cached.climate(survey, rows)
    return default_text(currency_of(climate), region_of(climate))
