"""An option put together from its parts: its short id, and its name as a client reads it."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from warmside.catalog import Catalog, Foam
from warmside.errors import Fault, InputError
from warmside.options._layers import NEW_BATT, NEW_BOARD, row_of
from warmside.options._option import Kind, Option, Place
from warmside.survey import Wanted
from warmside.units import INCH
from warmside.wording import Figure, Sentence, capital, joined, lowered, plain, say

Family = Literal["closed-cell", "open-cell"]
FULL = 5e-4  # [m] within this of the depth is the full depth
USUAL_FOAM = 3 * INCH
THIN_FOAM = 2 * INCH  # under batts
_SHORT = {"closed-cell": "cc", "open-cell": "oc"}


def made(
    kind: Kind,
    asked: Wanted,
    place: Place,
    *,
    foam: Foam | None = None,
    thickness: float = 0.0,
    furring: float = 0.0,
    board: str | None = None,
    board_thickness: float = 0.0,
    fill: str | None = None,
    vapour_control: str | None = None,
    called: str = "",
) -> Option:
    """The option of these parts with its id and name; lengths in metres.

    ``called`` goes before both: where the work is done from, if not from the room.
    """
    catalog = place.catalog
    for row in (board, fill, vapour_control):
        if row:
            row_of(catalog.materials, "material", row)
    option = Option(
        id="",
        name="",
        kind=kind,
        foam=foam.id if foam else None,
        thickness=(asked.thickness or thickness) if foam else 0.0,
        furring=furring,
        board=board,
        board_thickness=board_thickness,
        fill=fill,
        vapour_control=vapour_control,
        seal_joints=asked.seal_joints,
    )
    full = abs(option.thickness - place.depth - furring) < FULL
    said = _said(option, foam, full, catalog, called)
    return replace(
        option,
        id=_id(option, foam, full, catalog, called),
        name=capital(str(said)),
        said=said,
    )


def foam_of(asked: Wanted, place: Place, family: Family, strict: bool = False) -> Foam:
    """The foam asked for, or the first of the family; ``strict``: no other family will do."""
    if asked.foam is None:
        foams = place.catalog.foams
        return usual_foam(place.catalog, family) or row_of(foams, "foam", family)
    foam = row_of(place.catalog.foams, "foam", asked.foam)
    if strict and foam.family != family:
        where = f'option "{asked.kind}" of wall "{place.wall.name}", foam'
        raise InputError([Fault(where, f"'{foam.id}', {foam.family}", f"a {family} foam")])
    return foam


def usual_foam(catalog: Catalog, family: str) -> Foam | None:
    """The first foam of the family."""
    return next((foam for foam in catalog.foams.values() if foam.family == family), None)


def _id(option: Option, foam: Foam | None, full: bool, catalog: Catalog, called: str) -> str:
    parts = [called.split()[-1]] if called else []
    parts += [f"furring-{_mm(option.furring)}"] if option.furring else []
    if foam:
        parts += [_SHORT[foam.family], "full" if full else _mm(option.thickness)]
    parts += ["batt"] if option.fill else []
    parts += ["poly"] if option.vapour_control else []
    parts += [f"board-{_mm(option.board_thickness)}"] if option.board else []
    parts += [foam.id] if foam and foam is not usual_foam(catalog, foam.family) else []
    parts += [option.fill] if option.fill and option.fill != NEW_BATT else []
    parts += [option.board] if option.board and option.board != NEW_BOARD else []
    parts += [] if option.seal_joints else ["unsealed"]
    return "-".join(parts)


def _said(option: Option, foam: Foam | None, full: bool, catalog: Catalog, called: str) -> Sentence:
    """The parts in the order in which they are put in: ``closed-cell foam 2" and batts``."""
    parts = [say("furring {deep}", deep=_deep(option.furring))] if option.furring else []
    if foam:
        usual = foam is usual_foam(catalog, foam.family)
        what = f"{foam.family} foam" if usual else foam.name
        whole = "{what} {deep}, full depth" if full else "{what} {deep}"
        parts.append(say(whole, what=what, deep=_deep(option.thickness)))
    if option.fill:
        fill = catalog.materials[option.fill].name
        parts.append(plain("batts" if option.fill == NEW_BATT else lowered(fill)))
    parts += [plain("polyethylene")] if option.vapour_control else []
    if option.board:
        board = lowered(catalog.materials[option.board].name)
        deep = _deep(option.board_thickness)
        parts.append(say("{deep} of {board} outside", deep=deep, board=board))
    parts += [] if option.seal_joints else [say("joints not sealed")]
    text = parts[-1]
    if len(parts) > 1:
        text = say("{first} and {last}", first=joined(parts[:-1], ", "), last=text)
    return say("{called}: {what}", called=called, what=text) if called else text


def _deep(value: float) -> Figure:
    return Figure(value, "size")


def _mm(value: float) -> str:
    return f"{value * 1e3:.0f}"
