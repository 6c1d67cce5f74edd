"""A survey file checked against everything: its own rules, and the catalog's rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from warmside.catalog import Catalog, load
from warmside.errors import Fault, InputError, UnknownRowError, WarmsideError
from warmside.framing import frame_wall
from warmside.survey import Checked, Survey, Wall
from warmside.survey import check as check_text

Path = tuple[str | int, ...]


def check(text: str, catalog: Catalog | None = None) -> Checked:
    """Check a survey file: every fault, with its line, what was read and what is allowed.

    Parameters
    ----------
    text : str
        The file's text.
    catalog : Catalog, optional
        Rows that names in the file must match; the built-in ones when not given.

    Returns
    -------
    Checked
        The survey when there is no fault, and the faults.
    """
    checked = check_text(text)
    if checked.survey is None:
        return checked
    known = catalog or load()
    faults = [
        *_unknown_rows(checked, checked.survey, known),
        *_unframable(checked, checked.survey, known),
    ]
    return replace(checked, survey=None, faults=tuple(faults)) if faults else checked


def _unknown_rows(checked: Checked, survey: Survey, catalog: Catalog) -> Iterator[Fault]:
    """Names that the catalog does not hold."""
    for kind, name, path in _names(survey):
        try:
            getattr(catalog, kind)(name)
        except UnknownRowError as error:
            near = ", ".join(error.near) or f"a {kind} of the catalog (warmside catalog {kind})"
            yield checked.fault_at(path, name, near)


def _names(survey: Survey) -> Iterator[tuple[str, str, Path]]:
    yield "climate", survey.house.climate, ("house", "climate")
    yield "fuel", survey.house.heating.fuel, ("house", "heating", "fuel")
    for k, wall in enumerate(survey.walls):
        for name, path in _materials(wall):
            yield "material", name, ("wall", k, "found", *path)
    for k, option in enumerate(survey.options):
        if option.foam:
            yield "foam", option.foam, ("option", k, "foam")
        if option.board:
            yield "material", option.board, ("option", k, "board")


def _materials(wall: Wall) -> Iterator[tuple[str, Path]]:
    found = wall.found
    for key in ("finish", "sheathing"):
        for k, layer in enumerate(getattr(found, key)):
            yield layer.material, (key, k)
    for key in ("vapour_control", "fill", "paper"):
        name = getattr(found, key)
        if name is not None:
            yield name, (key,)
    if found.cladding is not None:
        yield found.cladding.material, ("cladding",)


def _unframable(checked: Checked, survey: Survey, catalog: Catalog) -> Iterator[Fault]:
    """Walls that cannot be framed as they are described."""
    for k, wall in enumerate(survey.walls):
        try:
            frame_wall(wall, survey.house, catalog.lumber)
        except InputError as error:
            line = checked.line_of(("wall", k))
            for fault in error.faults:
                yield Fault(fault.place, fault.read, fault.allowed, line)
        except WarmsideError as error:
            yield checked.fault_at(("wall", k), str(error), "a wall that can be framed")
