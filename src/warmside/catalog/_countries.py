"""What a place decides once for a house: the money, the code packs, the foam, the radon guideline.

One record a country; a house's own prices, own rows and the packs that are asked for go before it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from warmside.catalog._air import AirFigure
from warmside.catalog._rows import Climate, Foam, Fuel

_PROVINCES = {
    "Alberta": "AB", "British Columbia": "BC", "Manitoba": "MB", "New Brunswick": "NB",
    "Newfoundland and Labrador": "NL", "Northwest Territories": "NT", "Nova Scotia": "NS",
    "Nunavut": "NU", "Ontario": "ON", "Prince Edward Island": "PE", "Quebec": "QC",
    "Saskatchewan": "SK", "Yukon": "YT",
}  # fmt: skip
_ELECTRICITY = {
    "Alberta": "electricity-ab", "British Columbia": "electricity-bc",
    "Manitoba": "electricity-mb", "Nova Scotia": "electricity-ns", "Ontario": "electricity-on",
    "Quebec": "electricity-qc", "Saskatchewan": "electricity-sk",
}  # fmt: skip
GUIDELINE = "radon-guideline"


@dataclass(frozen=True)
class Country:
    """What goes without saying in a country.

    Attributes
    ----------
    id : str
        Of its climates.
    name : str
        As code packs are headed.
    currency : str
        ISO 4217.
    foams : Mapping[str, str]
        Usual built-in row of a family, where it is not the first one.
    radon : str
        Row of the air figures above which to act.
    fuels : Mapping[str, str]
        Row of a fuel as it is sold there, by its first row.
    electricity : str
        Row of the fuels that cools rooms, where the province has none of its own.
    """

    id: Literal["CA", "US"]
    name: str
    currency: str
    foams: Mapping[str, str]
    radon: str
    fuels: Mapping[str, str]
    electricity: str


COUNTRIES: Mapping[str, Country] = {
    "CA": Country("CA", "Canada", "CAD", {}, GUIDELINE, {}, "electricity-on"),
    "US": Country("US", "United States", "USD",
                  {"closed-cell": "closed-cell-us", "open-cell": "open-cell-us"},
                  "radon-action-level-us",
                  {fuel: f"{fuel}-us" for fuel in ("natural-gas", "heating-oil", "propane")},
                  "electricity-us"),
}  # fmt: skip


def country_of(climate: Climate) -> Country | None:
    """The country of a climate, by its row or its region; None where neither says."""
    return COUNTRIES.get("CA" if climate.region in _PROVINCES else climate.country)


def currency_of(climate: Climate) -> str:
    """What is paid with at a place; Canada's dollars where no country is known."""
    country = country_of(climate)
    return country.currency if country else COUNTRIES["CA"].currency


def region_of(climate: Climate) -> str:
    """Province, territory or state whose law a house of that climate is under, by its two letters
    where they are known."""
    region = climate.jurisdiction or climate.region
    return _PROVINCES.get(region, region)


def electricity_of(climate: Climate) -> str:
    """Row of the fuels that is the electricity of a place; "" where no country is known."""
    own = _ELECTRICITY.get(climate.region)
    country = country_of(climate)
    return own or (country.electricity if country else "")


def usual_foams(foams: Mapping[str, Foam], country: Country | None) -> Mapping[str, Foam]:
    """``foams`` with the country's usual ones first of their family."""
    for family, id in country.foams.items() if country else ():
        foams = _first(foams, family, id)
    return foams


def usual_air(air: Mapping[str, AirFigure], country: Country | None) -> Mapping[str, AirFigure]:
    """``air`` with the country's radon figure as the guideline."""
    figure = air.get(country.radon) if country else None
    if figure is None or figure.id == GUIDELINE:
        return air
    return {**air, GUIDELINE: replace(figure, id=GUIDELINE)}


def usual_fuels(fuels: Mapping[str, Fuel], country: Country | None) -> Mapping[str, Fuel]:
    """``fuels`` as the country sells them, each under the name that every country calls it."""
    sold = country.fuels if country else {}
    here = {
        id: fuels[own]
        for id, own in sold.items()
        if own in fuels and id in fuels and fuels[id].source.tag != "own figure"
    }
    return {**fuels, **here}


def _first(foams: Mapping[str, Foam], family: str, id: str) -> Mapping[str, Foam]:
    """The row ``id`` before the first of its family, unless that is the user's own."""
    first = next((key for key, foam in foams.items() if foam.family == family), None)
    if first is None or id not in foams or foams[first].source_heat.tag == "own figure":
        return foams
    order: dict[str, Foam] = {}
    for key, foam in foams.items():
        if key == first:
            order[id] = foams[id]
        order.setdefault(key, foam)
    return order
