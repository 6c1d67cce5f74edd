"""What a house of its years is presumed to hide, until somebody says how it was ruled out."""

from __future__ import annotations

from collections.abc import Iterator

from warmside.catalog import Catalog, Country, Presumption, country_of
from warmside.errors import UnknownRowError
from warmside.survey import Hazard, House, Survey, Wall


def with_presumed(survey: Survey, catalog: Catalog) -> Survey:
    """The survey with the hazards presumed beside those noted, each with its question."""
    more = presumed_hazards(survey, catalog)
    return survey.model_copy(update={"hazards": (*survey.hazards, *more)}) if more else survey


def presumed_hazards(survey: Survey, catalog: Catalog) -> tuple[Hazard, ...]:
    """Hazards that year, country, frame and heating make likely and that nobody spoke of.

    One that is noted anywhere, or settled for the whole house, is not presumed; one that is
    settled for a wall alone stays presumed for the others.

    Parameters
    ----------
    survey : Survey
        What was found.
    catalog : Catalog
        Its presumptions, and the country of the place.

    Returns
    -------
    tuple of Hazard
        In the order of the catalog, with state "presumed": for the house, or for the walls that
        alone are of those years.
    """
    found: dict[tuple[str, str | None], Hazard] = {}
    country = _country(survey.house.climate, catalog)
    for row in catalog.presumed.values():
        if row.country and (country is None or row.country != country.name):
            continue
        for hazard in _of(row, survey):
            found.setdefault((hazard.kind, hazard.wall), hazard)
    return tuple(found.values())


def _country(place: str, catalog: Catalog) -> Country | None:
    """The country of a place as surveyed: a name, a ZIP code or a position; None if unknown."""
    try:
        return country_of(catalog.climate(place))
    except UnknownRowError:  # told where the place is read
        return None


def _of(row: Presumption, survey: Survey) -> Iterator[Hazard]:
    spoken = [hazard for hazard in survey.hazards if hazard.kind == row.hazard]
    if any(hazard.open or hazard.wall is None for hazard in spoken):
        return
    settled = {hazard.wall for hazard in spoken}
    walls = [w for w in survey.walls if _likely(row, survey.house, w) and w.name not in settled]
    if not walls:
        return
    if len(walls) == len(survey.walls):
        yield _hazard(row, survey.house.year_built, None)
        return
    for wall in walls:
        yield _hazard(row, wall.year_built or survey.house.year_built, wall.name)


def _likely(row: Presumption, house: House, wall: Wall) -> bool:
    year = wall.year_built or house.year_built
    return (
        row.since <= year < row.before
        and row.frame in ("", wall.frame)
        and not (row.frame and wall.fire_blocks == "present")
        and (not row.venting or house.heating.venting in row.venting)
    )


def _hazard(row: Presumption, year: int, wall: str | None) -> Hazard:
    why = f"{_beside_year(row)}built {year}"
    return Hazard(kind=row.hazard, wall=wall, state="presumed", where=why, notes=row.asks)


def _beside_year(row: Presumption) -> str:
    """What beside the year makes it likely."""
    if row.venting:
        return "an appliance that draws its air from the house, "
    return f"{row.frame} frame, " if row.frame else ""
