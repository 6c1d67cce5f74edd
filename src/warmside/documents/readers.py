"""Who reads what is set for a house: its builders and its client, as people of its country do."""

from __future__ import annotations

from datetime import date
from typing import Any

from warmside.catalog import Climate, country_of
from warmside.drawings import Resistance
from warmside.study import Study
from warmside.units import BTU, KWH
from warmside.wording import Country, Language, Style


def head_of(study: Study, today: date) -> dict[str, Any]:
    """What head and foot of every paper about a study say: fields of its `PaperView`."""
    house, invented = study.survey.house, study.prices.invented
    head = {"house": house.name, "place": house.place, "client": house.client}
    return head | {"date": today, "prices_invented": invented}


def country_id(climate: Climate) -> Country:
    """The country of a climate; "" where none is known."""
    country = country_of(climate)
    return country.id if country else ""


def builder_style(climate: Climate) -> Style:
    """How builders of the climate's country read."""
    return Style.of_paper(country_id(climate))


def client_style(climate: Climate, language: Language = "en") -> Style:
    """How clients of the climate's country read, in a language."""
    return Style.of_client(country_id(climate), language)


def resistance_of(climate: Climate) -> Resistance:
    """In what a chart for builders has resistances."""
    return "R" if country_id(climate) == "US" else "m² K/W"


def heat_of(climate: Climate) -> tuple[str, float]:
    """In what a chart has a year's heat: the unit's name, and one of it [J]."""
    return ("million Btu", 1e6 * BTU) if country_id(climate) == "US" else ("MWh", 1e3 * KWH)
