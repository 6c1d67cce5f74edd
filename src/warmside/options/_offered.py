"""Which options a wall is studied with: those asked for, or a sensible set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import sizes_of
from warmside.options._option import Beyond, Option, Place
from warmside.options.kinds import KINDS, misfits
from warmside.options.kinds.leave import AS_FOUND
from warmside.survey import Hazard, House, Wall, Wanted

LEAVE = AS_FOUND


def offered(
    wall: Wall,
    house: House,
    catalog: Catalog,
    wanted: Iterable[Wanted] = (),
    hazards: Iterable[Hazard] = (),
) -> tuple[Option, ...]:
    """Options for ``wall``: "leave as found" first, then a usual set, then those wanted for it.

    One wanted with ``only`` leaves the usual set out. Ids are short, stable and unique.
    Lengths that are not given take common sizes.

    Raises
    ------
    UnknownRowError, InputError
        For a foam or board that the catalog lacks, a foam of the wrong family, a kind that is not
        known, or a key that its kind has no use for.
    """
    there = tuple(h for h in hazards if h.wall == wall.name and h.state != "cleared")
    place = Place(wall, sizes_of(wall, house, catalog.lumber).depth, catalog, there)
    mine = [one for one in wanted if not one.walls or wall.name in one.walls]
    asked = {option.id: option for option in (_option(one, place) for one in mine)}
    only = any(one.only for one in mine)
    usual = () if only else [one for kind in KINDS.values() for one in kind.usual(place)]
    options = {LEAVE.id: LEAVE}
    for option in (_option(one, place) for one in usual):
        if option.id not in asked:
            options.setdefault(option.id, option)
    return tuple((options | asked).values())


def thickness_options(
    wall: Wall, house: House, catalog: Catalog, foam: str | None = None
) -> Iterator[tuple[Beyond, Option]]:
    """Options of the curve of thicknesses, thin to thick, and what each takes beyond full depth.

    Parameters
    ----------
    wall, house, catalog
        As in `offered`.
    foam : str, optional
        A foam of the catalog; the usual one when not given.
    """
    place = Place(wall, sizes_of(wall, house, catalog.lumber).depth, catalog)
    for kind in KINDS.values():
        for beyond, one in kind.thicknesses(place.depth, foam):
            yield beyond, _option(one, place)


def _option(one: Wanted, place: Place) -> Option:
    where = f'option "{one.kind}" of wall "{place.wall.name}"'
    given = {key: getattr(one, key) for key in type(one).model_fields}
    faults = [Fault(f"{where}, {key}", read, allowed) for key, read, allowed in misfits(given)]
    if faults:
        raise InputError(faults)
    return KINDS[one.kind].option(one, place)
