"""One house of the stock: an archetype with what is known of the house itself put into it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any

from pydantic import ValidationError

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError, UnknownRowError
from warmside.stock.archetype import Archetype, Known
from warmside.stock.unknown import Unknown, Value
from warmside.survey import House, Survey, Wall

# What runs along a wall and grows with the house; sizes of lumber and heights do not
_ALONG = {
    "openings": ("left", "width"),
    "partitions": ("at",),
    "braces": ("from_x", "to_x"),
    "boxes": ("x",),
    "pipes": ("x",),
    "profile": ("x",),
    "readings": ("x",),
}
# Fields that name a row of the catalog, by the kind of row
_ROWS = {
    "house.climate": "climate",
    "house.heating.fuel": "fuel",
    "wall.found.vapour_control": "material",
    "wall.found.fill": "material",
    "wall.found.paper": "material",
    "wall.found.cladding.material": "material",
}
STRETCH = (0.5, 2.0)  # [-] of the archetype's lengths in plan; beyond it is another kind of house


@dataclass(frozen=True)
class StockHouse:
    """A house as it is judged: each unknown at its likeliest value, and what is left unknown."""

    id: str
    archetype: str
    survey: Survey
    unknowns: tuple[Unknown, ...]

    def with_values(self, values: Sequence[Value]) -> Survey:
        """The survey with other values of the unknowns, in their order."""
        changed = dict(zip((u.field for u in self.unknowns), values, strict=True))
        return _with(self.survey, changed)


def realise(known: Known, archetypes: Mapping[str, Archetype], catalog: Catalog) -> StockHouse:
    """Put what is known of a house into its archetype.

    Where the floor area is known, lengths in plan grow by its root and the volume with it:
    ``s = sqrt(A / A_0)``; an assumption that stands in for a measured wall.

    Raises
    ------
    InputError
        Values that no house of the kind can have, each with its row and column.
    """
    kind = archetypes.get(known.archetype)
    place = f"row {known.row}"
    if kind is None:
        names = ", ".join(archetypes)
        raise InputError([Fault(f"{place}, archetype", f'"{known.archetype}"'[:60], names)])
    given = dict(known.values)
    _check_rows(given, catalog, place)
    area = given.pop("house.floor_area", None)
    survey = kind.survey
    if area is not None:
        survey = _stretched(survey, float(area), place)
    left = tuple(u for u in kind.unknowns if u.field not in given)
    likeliest = {u.field: u.likeliest for u in left}
    try:
        survey = _with(survey, likeliest | given | {"house.name": known.id})
    except InputError as error:
        raise InputError(
            [Fault(f"{place}, {f.place}", f.read, f.allowed) for f in error.faults]
        ) from None
    return StockHouse(known.id, known.archetype, survey, left)


def _with(survey: Survey, values: Mapping[str, Value]) -> Survey:
    """The survey with the fields changed; what does not change stays the same object."""
    try:
        changes: dict[str, Any] = {}
        of_house = _of("house", values)
        if of_house:
            changes["house"] = House.model_validate(_put(survey.house.model_dump(), of_house))
        of_walls = _of("wall", values)
        if of_walls:
            changes["walls"] = tuple(
                Wall.model_validate(_put(wall.model_dump(), of_walls)) for wall in survey.walls
            )
        return survey.model_copy(update=changes) if changes else survey
    except ValidationError as error:
        faults = []
        for detail in error.errors(include_url=False):
            field = ".".join(str(part) for part in detail["loc"])
            read = repr(detail.get("input"))[:60]
            faults.append(Fault(field or "house", read, str(detail["msg"])[:200]))
        raise InputError(faults) from None


def _of(first: str, values: Mapping[str, Value]) -> dict[str, Value]:
    """Fields of the house, or of the walls, without their first word."""
    return {f.partition(".")[2]: v for f, v in values.items() if f.partition(".")[0] == first}


def _put(tables: dict[str, Any], values: Mapping[str, Value]) -> dict[str, Any]:
    """Set values deep in plain tables; an empty text takes the value out."""
    for field, value in values.items():
        *way, last = field.split(".")
        here = tables
        for key in way:
            below = here.get(key)
            here[key] = below = {} if below is None else below
            here = below
        here[last] = None if value == "" else value
    return tables


def _stretched(survey: Survey, area: float, place: str) -> Survey:
    """The house grown in plan to a floor area [m2]."""
    usual = survey.house.floor_area
    if usual is None:
        allowed = "an archetype that gives its own floor_area"
        raise InputError([Fault(f"{place}, area", f"{area:g} m2", allowed)])
    factor = sqrt(area / usual) if area > 0.0 else 0.0
    if not STRETCH[0] <= factor <= STRETCH[1]:
        low, high = (usual * end**2 for end in STRETCH)
        allowed = f"{low:.0f} to {high:.0f} m2 for this archetype of {usual:.0f} m2"
        raise InputError([Fault(f"{place}, area", f"{area:g} m2", allowed)])
    house = survey.house.model_copy(
        update={"floor_area": area, "volume": survey.house.volume * factor**2}
    )
    walls = tuple(_longer(wall, factor) for wall in survey.walls)
    return survey.model_copy(update={"house": house, "walls": walls})


def _longer(wall: Wall, factor: float) -> Wall:
    tables = wall.model_dump()
    tables["length"] *= factor
    for list_name, keys in _ALONG.items():
        for item in tables[list_name]:
            for key in keys:
                if item[key] is not None:
                    item[key] *= factor
    return Wall.model_validate(tables)


def _check_rows(given: Mapping[str, Value], catalog: Catalog, place: str) -> None:
    """Refuse names that the catalog does not hold."""
    faults = []
    for field, value in given.items():
        if field not in _ROWS or value == "":
            continue
        try:
            getattr(catalog, _ROWS[field])(str(value))
        except UnknownRowError as error:
            near = ", ".join(error.near) or f"a {_ROWS[field]} of the catalog"
            faults.append(Fault(f"{place}, {field}", f'"{value}"'[:60], near))
    if faults:
        raise InputError(faults)
