"""A survey file checked against everything: its own rules, and the catalog's rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from difflib import get_close_matches
from typing import Any

from warmside.catalog import Catalog, Foam, Material, load
from warmside.errors import Fault, InputError, UnknownRowError, WarmsideError
from warmside.framing import frame_wall
from warmside.options import KINDS, misfits
from warmside.plausibility import (
    Unlikely,
    doubts_of_house,
    doubts_of_services,
    doubts_of_wall,
)
from warmside.promises import house_air, impossible, reading_release
from warmside.survey import (
    Accepted,
    Checked,
    Doubt,
    House,
    Survey,
    believed_water,
    schema,
    usual_water,
)
from warmside.survey import check as check_text
from warmside.units import DAY
from warmside.weather import coldest_month
from warmside.wording import PAPER

Path = tuple[str | int, ...]

# Where the file names a row of the catalog, by the kind of row.
_PLACES = (
    ("climate", ("house", "climate")),
    ("fuel", ("house", "heating", "fuel")),
    *(
        ("material", ("wall", "found", key))
        for key in ("finish", "vapour_control", "fill", "sheathing", "paper", "cladding")
    ),
    ("foam", ("option", "foam")),
    ("material", ("option", "board")),
    ("material", ("option", "fill")),
    ("hazard", ("hazard", "kind")),
)


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
        The survey when there is no fault, the faults, and what is unusual: figures that a person
        looks at again before anything is computed from them, until the survey says why they stay.
    """
    checked = check_text(text)
    known = catalog or load()
    faults = [*checked.faults, *_unfit_rows(checked, known), *_misfits(checked)]
    if checked.survey is not None:
        faults += _unframable(checked, checked.survey, known)
        faults += _impossible_reading(checked, checked.survey.house, known)
        unlikely = tuple(_unlikely(checked.survey, known))
        faults += [
            checked.fault_at(one.path, _read_at(checked, one), one.usual)
            for one in unlikely
            if one.impossible
        ]
        checked = replace(checked, doubts=tuple(_doubts(checked, unlikely)))
    faults.sort(key=lambda fault: fault.line or 0)
    return replace(checked, survey=None, faults=tuple(faults)) if faults else checked


def _unlikely(survey: Survey, catalog: Catalog) -> Iterator[Unlikely]:
    yield from doubts_of_house(survey, catalog, date.today())
    for number, wall in enumerate(survey.walls):
        yield from doubts_of_wall(number, wall, survey.house, catalog)
        yield from doubts_of_services(number, wall, survey.hazards)


def _read_at(checked: Checked, one: Unlikely) -> str:
    """What the survey says there, and what follows from it."""
    read = checked.read_at(one.path)
    return f"{read}: {one.shows}" if one.shows else read


def accept(checked: Checked, reasons: Mapping[str, str], by: str = "") -> Checked:
    """Keep what was looked at again: each doubt that ``reasons`` names, with its reason.

    Parameters
    ----------
    checked : Checked
        A survey without faults.
    reasons : mapping of str to str
        Reasons by the name of the warning, each for every figure that it is told of.
    by : str
        Who looked.

    Raises
    ------
    InputError
        A warning that does not stand, or a reason that says nothing.
    """
    survey, standing = checked.survey, {doubt.warning for doubt in checked.doubts}
    faults = [
        Fault("accept", name, f"a warning that stands here{_named(name, standing)}")
        for name in reasons
        if name not in standing
    ]
    faults += [
        Fault("accept", f'{name} for "{reason}"', "a reason of 3 to 400 characters: what was seen")
        for name, reason in reasons.items()
        if not 3 <= len(reason.strip()) <= 400 or not reason.isprintable()
    ]
    if faults or survey is None:
        raise InputError(faults)
    kept = tuple(
        Accepted(warning=d.warning, read=d.read, reason=reasons[d.warning], by=by,
                 date=date.today().isoformat())
        for d in checked.doubts
        if d.warning in reasons
    )  # fmt: skip
    return replace(
        checked,
        survey=survey.model_copy(update={"accepted": (*survey.accepted, *kept)}),
        doubts=tuple(d for d in checked.doubts if d.warning not in reasons),
    )


def _named(name: str, standing: set[str]) -> str:
    near = get_close_matches(name, sorted(standing), n=1, cutoff=0.5)
    return f"; nearest: {near[0]}" if near else f": {', '.join(sorted(standing)) or 'none'}"


def _doubts(checked: Checked, unlikely: tuple[Unlikely, ...]) -> Iterator[Doubt]:
    """Each doubt once, by place; those that were looked at again are left out."""
    survey = checked.survey
    looked_at = {(a.warning, a.read) for a in survey.accepted} if survey else set()
    seen: dict[tuple[str, str, str], Doubt] = {}
    for one in unlikely:
        if one.impossible:
            continue
        read = checked.read_at(one.path)
        if (one.warning, read) in looked_at:
            continue
        place, line = checked.place_of(one.path), checked.line_of(one.path)
        key = (one.warning, read, one.usual)
        if key not in seen:
            seen[key] = Doubt(one.warning, place, read, one.shows, one.usual, line)
        elif place not in seen[key].place:
            seen[key] = replace(seen[key], place=f"{seen[key].place}; {place}")
    yield from sorted(seen.values(), key=lambda doubt: doubt.line or 0)


def _unfit_rows(checked: Checked, catalog: Catalog) -> Iterator[Fault]:
    """Names that the catalog does not hold, and rows that cannot be run hour by hour.

    Read even where other things are wrong.
    """
    for kind, name, path in _names(checked.data):
        try:
            row = getattr(catalog, kind)(name)
            dry = isinstance(row, Material | Foam) and row.moisture is None
            if dry and not _behind_air(checked.data, path):
                yield checked.fault_at(path, name, _moisture_wanted(row, catalog))
        except UnknownRowError as error:
            allowed = f"a {kind} of the catalog (warmside catalog {kind})"
            if error.near:
                allowed += f"; nearest: {', '.join(error.near)}"
            yield checked.fault_at(path, name, allowed)


def _behind_air(data: Mapping[str, object], path: Path) -> bool:
    """Whether the row is a cladding before a vented space, which is not simulated."""
    if path[0] != "wall" or path[-1] != "cladding":
        return False
    walls = data.get("wall")
    wall = walls[path[1]] if isinstance(walls, list) and isinstance(path[1], int) else None
    found = wall.get("found") if isinstance(wall, Mapping) else None
    return isinstance(found, Mapping) and found.get("cladding_vented") is True


def _moisture_wanted(row: Material | Foam, catalog: Catalog) -> str:
    """What to add to a row of which nobody said how it holds water."""
    kind = "foams" if isinstance(row, Foam) else "materials"
    place = catalog.places.get((kind, row.id), "its row")
    return (
        f"a row that tells how it holds water, since the wall is run hour by hour: to {place} add "
        f'like = "id of a row that takes up water alike", or a [[moisture]] table with '
        f'material = "{row.id}"'
    )


def _misfits(checked: Checked) -> Iterator[Fault]:
    """Kinds of option that are not known, and keys that a kind has no use for."""
    for place, table in _at(checked.data, ("option",), ()):
        for key, read, allowed in misfits(table if isinstance(table, Mapping) else {}):
            if checked.survey is not None or key == "kind":
                yield checked.fault_at((*place, key), read, allowed)


def survey_schema() -> dict[str, Any]:
    """JSON Schema of the survey file under its own names, the kinds of option listed."""
    found = schema()
    kind = found["$defs"]["Wanted"]["properties"]["kind"]
    kind["enum"] = list(KINDS)
    kind["description"] = "; ".join(f"{one.name}: {one.meaning}" for one in KINDS.values())
    return found


def _names(data: object) -> Iterator[tuple[str, str, Path]]:
    """Kind of row, name and place of every text in the file that names a row."""
    for kind, path in _PLACES:
        for place, value in _at(data, path, ()):
            name = value.get("material") if isinstance(value, Mapping) else value
            if isinstance(name, str) and name:
                yield kind, name, place


def _at(data: object, path: tuple[str, ...], walked: Path) -> Iterator[tuple[Path, object]]:
    """Values at ``path``, every entry of a list on the way taken in turn."""
    if isinstance(data, list):
        for k, item in enumerate(data):
            yield from _at(item, path, (*walked, k))
    elif not path:
        yield walked, data
    elif isinstance(data, Mapping) and path[0] in data:
        yield from _at(data[path[0]], path[1:], (*walked, path[0]))


def _unframable(checked: Checked, survey: Survey, catalog: Catalog) -> Iterator[Fault]:
    """Walls that cannot be framed as they are described."""
    for k, wall in enumerate(survey.walls):
        try:
            frame_wall(wall, survey.house, catalog.lumber)
        except InputError as error:
            for fault in error.faults:
                path = ("wall", k, *fault.path)
                yield replace(fault, line=checked.line_of(path), path=path)
        except WarmsideError as error:
            yield checked.fault_at(("wall", k), str(error), "a wall that can be framed")


def _impossible_reading(checked: Checked, house: House, catalog: Catalog) -> Iterator[Fault]:
    """A humidity that no house could hold with the air that leaks into this one.

    With the coldest month's means alone: no year is made for it.
    """
    if house.indoor_humidity is None:
        return
    try:
        climate = catalog.climate(house.climate)
    except WarmsideError:
        return  # told already
    air = house_air(house, (), (), catalog, coldest_month(climate))
    leakage = air.leakage.flow_50
    least, best, most = (air.monthly(q) for q in (leakage.low, leakage.best, leakage.high))
    release = reading_release(house, best, least, most)
    if not impossible(house, release):
        return
    lowest, highest = believed_water(house)
    reason = "" if house.moisture_reason else " (up to 40 with a moisture_reason)"
    humidity = PAPER(house.indoor_humidity, "share")
    coming_in = PAPER(float(best.flow[best.coldest]), "flow")
    read = (
        f"{humidity}, which asks for {release.best * DAY:.0f} kg of water a day "
        f"with the {coming_in} of outdoor air that come in when it is "
        "coldest"
    )
    allowed = (
        f"a winter reading that asks for {lowest:g} to {highest:.0f} kg a day{reason}; "
        f"{usual_water(house.people)}. Read again, check the fan test and the volume, or leave the "
        "humidity out: the usual is then taken"
    )
    yield checked.fault_at(("house", "indoor_humidity"), read, allowed)
