"""In which units a drawing for the builders of a country is scaled."""

from __future__ import annotations

from warmside.catalog import Climate, country_of
from warmside.drawings import Resistance
from warmside.units import BTU, KWH
from warmside.wording import Style


def reader_of(climate: Climate) -> Style:
    """How builders of the country of a climate read."""
    country = country_of(climate)
    return Style.of_paper(country.id if country else "")


def _american(climate: Climate) -> bool:
    country = country_of(climate)
    return country is not None and country.id == "US"


def resistance_of(climate: Climate) -> Resistance:
    """Of thermal resistance."""
    return "R" if _american(climate) else "m² K/W"


def heat_of(climate: Climate) -> tuple[str, float]:
    """Of a year's heat: its name, and what one of it is [J]."""
    return ("million Btu", 1e6 * BTU) if _american(climate) else ("MWh", 1e3 * KWH)
