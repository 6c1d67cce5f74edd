"""Which options a wall is studied with: those asked for, or a sensible set."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from warmside.catalog import Catalog, Foam
from warmside.errors import Fault, InputError
from warmside.framing import sizes_of
from warmside.options._layers import NEW_BATT, NEW_BOARD, NEW_VAPOUR_CONTROL, row_of
from warmside.options._parts import Option, OptionKind
from warmside.survey import House, Wall, Wanted
from warmside.units import show

LEAVE = Option("leave", "Leave as found", "leave")

_INCH = 0.0254  # [m]
_DEFAULT_FOAM = 3 * _INCH
_THIN_FOAM = 2 * _INCH  # under batts
_FURRING = 1.5 * _INCH
_BOARD = 1.5 * _INCH
_LAYERS = (1.5 * _INCH, 2 * _INCH, 2.5 * _INCH, 3 * _INCH)
_FULL = 5e-4  # [m] within this of the depth is the full depth
_FAMILY = {"open-cell": "open-cell"}  # every other kind takes closed-cell foam


def offered(
    wall: Wall, house: House, catalog: Catalog, wanted: Iterable[Wanted] = ()
) -> tuple[Option, ...]:
    """Options for ``wall``: "leave as found" first, then those wanted for it, or a usual set.

    Ids are short, stable and unique. Lengths that are not given take common sizes.

    Raises
    ------
    UnknownRowError, InputError
        For a foam or board that the catalog lacks, or a foam of the wrong family.
    """
    depth = sizes_of(wall, house, catalog.lumber).depth
    here = [one for one in wanted if not one.walls or wall.name in one.walls]
    asked = here or _usual(depth)
    options = {LEAVE.id: LEAVE}
    for one in asked:
        if one.kind != "leave":
            option = _option(one, wall, depth, catalog)
            options.setdefault(option.id, option)
    return tuple(options.values())


def _usual(depth: float) -> list[Wanted]:
    shallow = [t for t in _LAYERS if t < depth - 0.003]
    return [
        Wanted(kind="batt and poly"),
        *(Wanted(kind="closed-cell", thickness=t) for t in shallow),
        Wanted(kind="closed-cell", thickness=depth),
        Wanted(kind="open-cell", thickness=depth),
        Wanted(kind="foam and batt"),
        Wanted(kind="furring and foam"),
        Wanted(kind="foam and board"),
        Wanted(kind="from outside"),
    ]


def _option(one: Wanted, wall: Wall, depth: float, catalog: Catalog) -> Option:
    foam = None if one.kind == "batt and poly" else _foam(one, wall, catalog)
    furring = (one.furring or _FURRING) if one.kind == "furring and foam" else 0.0
    board = (one.board or NEW_BOARD) if one.kind == "foam and board" else None
    board_thickness = (one.board_thickness or _BOARD) if board else 0.0
    if board:
        row_of(catalog.materials, "material", board)
    thickness = (one.thickness or _usual_foam(one.kind, depth, furring)) if foam else 0.0
    option = Option(
        id="",
        name="",
        kind=one.kind,
        foam=foam.id if foam else None,
        thickness=thickness,
        furring=furring,
        board=board,
        board_thickness=board_thickness,
        fill=NEW_BATT if one.kind in ("batt and poly", "foam and batt") else None,
        vapour_control=NEW_VAPOUR_CONTROL if one.kind == "batt and poly" else None,
        seal_joints=one.seal_joints,
    )
    full = abs(thickness - depth - furring) < _FULL
    return replace(
        option, id=_id(option, foam, full, catalog), name=_name(option, foam, full, catalog)
    )


def _id(option: Option, foam: Foam | None, full: bool, catalog: Catalog) -> str:
    short = {"closed-cell": "cc", "open-cell": "oc"}
    parts = ["outside"] if option.kind == "from outside" else []
    parts += [f"furring-{_mm(option.furring)}"] if option.furring else []
    if foam:
        parts += [short[foam.family], "full" if full else _mm(option.thickness)]
    parts += ["batt"] if option.fill else []
    parts += ["poly"] if option.vapour_control else []
    parts += [f"board-{_mm(option.board_thickness)}"] if option.board else []
    parts += [foam.id] if foam and foam is not _first(catalog, foam.family) else []
    parts += [option.board] if option.board and option.board != NEW_BOARD else []
    parts += [] if option.seal_joints else ["unsealed"]
    return "-".join(parts)


def _name(option: Option, foam: Foam | None, full: bool, catalog: Catalog) -> str:
    parts = [f"furring {_long(option.furring)}"] if option.furring else []
    if foam:
        usual = foam is _first(catalog, foam.family)
        what = f"{foam.family} foam" if usual else foam.name
        parts.append(f"{what} {_long(option.thickness)}{', full depth' if full else ''}")
    parts += ["batts"] if option.fill else []
    parts += ["polyethylene"] if option.vapour_control else []
    if option.board:
        board = catalog.materials[option.board].name
        parts.append(f"{_long(option.board_thickness)} of {board[0].lower()}{board[1:]} outside")
    parts += [] if option.seal_joints else ["joints not sealed"]
    text = ", ".join(parts[:-1]) + (" and " if len(parts) > 1 else "") + parts[-1]
    text = f"from outside: {text}" if option.kind == "from outside" else text
    return text[0].upper() + text[1:]


def _mm(value: float) -> str:
    return f"{value * 1e3:.0f}"


def _long(value: float) -> str:
    return show(value, "length")


def _first(catalog: Catalog, family: str) -> Foam | None:
    return next((foam for foam in catalog.foams.values() if foam.family == family), None)


def _foam(one: Wanted, wall: Wall, catalog: Catalog) -> Foam:
    family = _FAMILY.get(one.kind, "closed-cell")
    if one.foam is None:
        return _first(catalog, family) or row_of(catalog.foams, "foam", family)
    foam = row_of(catalog.foams, "foam", one.foam)
    if one.kind in ("closed-cell", "open-cell") and foam.family != family:
        place = f'option "{one.kind}" of wall "{wall.name}", foam'
        raise InputError([Fault(place, f"'{foam.id}', {foam.family}", f"a {family} foam")])
    return foam


def _usual_foam(kind: OptionKind, depth: float, furring: float) -> float:
    return {
        "open-cell": depth,
        "from outside": depth,
        "foam and batt": min(_THIN_FOAM, depth),
        "furring and foam": depth + furring,
    }.get(kind, min(_DEFAULT_FOAM, depth))
