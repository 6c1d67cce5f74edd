"""Own rows laid over those of another catalog, row by row, with the checks between rows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from warmside.catalog._air import AirFigure
from warmside.catalog._catalog import Catalog
from warmside.catalog._codes import CodePack
from warmside.catalog._columns import Kind
from warmside.catalog._moisture import MOST_WATER, most_water, stand_in
from warmside.catalog._near import nearest
from warmside.catalog._rows import Foam, JointRow, Lumber, Material
from warmside.catalog._shelf import Shelf
from warmside.catalog._site import SiteFigure

R = TypeVar("R")
K = TypeVar("K")
_EMPTY = Catalog({}, {}, {}, {}, {}, ())


def merged(shelf: Shelf, base: Catalog | None, own_files: tuple[str, ...] = ()) -> Catalog:
    """The rows of ``shelf`` over those of ``base``; alone where there is none.

    Raises
    ------
    CatalogError
        Every fault of the rows, and of what they name in each other.
    """
    under = base or _EMPTY
    if base is not None:
        _refuse_unread(shelf, base)
    lumber: list[Lumber] = list(shelf.of("lumber").values())
    replaced = {row.nominal for row in lumber}
    own_site = shelf.of("site")
    materials = _over(under.materials, shelf.of("materials"))
    foams = _over(under.foams, shelf.of("foams"))
    wet = _with_moisture(shelf, under, {**materials, **foams})
    found = Catalog(
        materials={id: wet[id] for id in materials},  # type: ignore[misc]  # as it was
        foams={id: wet[id] for id in foams},  # type: ignore[misc]
        joints=_over(under.joints, _kinds_kept(under.joints, shelf.of("joints"))),
        fuels=_over(under.fuels, shelf.of("fuels")),
        climates=_over(under.climates, shelf.of("climates")),
        lumber=(*lumber, *(row for row in under.lumber if row.nominal not in replaced)),
        hazards=_over(under.hazards, shelf.of("hazards")),
        presumed=_over(under.presumed, shelf.of("presumed")),
        never=_over(under.never, shelf.of("never")),
        usual=_over(under.usual, shelf.of("usual")),
        words=_over(under.words, shelf.of("words")),
        fills=_over(under.fills, shelf.of("fills")),
        site=(
            *own_site.values(),
            *(row for row in under.site if (row.id, row.family) not in own_site),
        ),
        reminders=_in_place(under.reminders, shelf.of("reminders")),
        signs=_in_place(under.signs, shelf.of("signs")),
        air=_over(under.air, shelf.of("air")),
        venting=_over(under.venting, shelf.of("venting")),
        packs=with_clauses(shelf, under.packs),
        own_files=own_files,
        places=shelf.places() if base is not None else {},
    )
    shelf.settle()
    return found


def _over(base: Mapping[K, R], own: Mapping[K, R]) -> dict[K, R]:
    """Own rows first, so that they are found first."""
    return {**own, **{key: row for key, row in base.items() if key not in own}}


def _in_place(base: Iterable[R], own: Mapping[str, R]) -> tuple[R, ...]:
    """Rows that people read in their order: an own one where the one it replaces stood."""
    rows = {row.id: row for row in base}  # type: ignore[attr-defined]  # reminders and signs
    return tuple({**rows, **own}.values())


def _kinds_kept(base: Mapping[str, JointRow], own: Mapping[str, JointRow]) -> dict[str, JointRow]:
    """An own row in place of a built-in one serves the same kinds, unless it names its own."""
    return {
        key: replace(row, kinds=base[key].kinds) if key in base and not row.kinds else row
        for key, row in own.items()
    }


def _with_moisture(
    shelf: Shelf, base: Catalog, rows: Mapping[str, Material | Foam]
) -> dict[str, Material | Foam]:
    """Each row with its moisture: its own, that of the row it is like or of the row it replaces."""
    own = shelf.of("moisture")
    for id in own.keys() - rows.keys():
        allowed = "the id of a material or foam" + nearest(id, rows)
        shelf.refuse("moisture", id, "material", id, allowed)
    found = dict(rows)
    for id in own.keys() & rows.keys():
        found[id] = replace(rows[id], moisture=own[id])
        held, percent = most_water(rows[id], own[id]), own[id].free * 100.0
        if held > MOST_WATER:
            most = f"at most {percent * MOST_WATER / held:.3g}: no pore holds more than water"
            shelf.refuse("moisture", id, "free_percent", f"{percent:g}", most)
    for id, row in rows.items():
        kind: Kind = "foams" if isinstance(row, Foam) else "materials"
        if id in own or id not in shelf.of(kind):
            continue
        other = found.get(row.like)
        built_in = base.moisture.get(id)
        if row.like and (other is None or other.moisture is None or other.moisture.assumed):
            known = [name for name, one in found.items() if one.moisture]
            allowed = "the id of a row with moisture of its own" + nearest(row.like, known)
            shelf.refuse(kind, id, "like", row.like, allowed)
        elif other is not None and other.moisture is not None:
            found[id] = replace(row, moisture=stand_in(row, other, other.moisture))
        elif built_in is not None:
            found[id] = replace(row, moisture=built_in)
    return found


def _refuse_unread(shelf: Shelf, base: Catalog) -> None:
    """Figures that the program asks for by name: no other name, and nothing that it lacks then."""
    ids = {row.id for row in base.site}
    by_key = {(row.id, row.family): row for row in base.site}
    for key, row in shelf.of("site").items():
        if row.id not in ids:
            _refuse_name(shelf, "site", key, "id", row.id, ids)
        else:
            like = by_key.get(key) or next(one for one in base.site if one.id == row.id)
            _refuse_other_form(shelf, key, row, like)
    for id, figure in shelf.of("air").items():
        if id not in base.air:
            _refuse_name(shelf, "air", id, "id", id, base.air)
        else:
            _refuse_unit(shelf, "air", id, figure, base.air[id])
    asked = {row.of for row in base.usual.values()}
    for id, row in shelf.of("usual").items():
        if row.of not in asked:
            _refuse_name(shelf, "usual", id, "of", row.of, asked)
    for kind in shelf.of("venting"):
        if kind not in base.venting:
            _refuse_name(shelf, "venting", kind, "kind", kind, base.venting)


def _refuse_name(
    shelf: Shelf, kind: Kind, key: str | tuple[str, ...], column: str, read: str,
    known: Iterable[str],
) -> None:  # fmt: skip
    names = sorted(known)
    allowed = f"one of {', '.join(names)}{nearest(read, names)}"
    shelf.refuse(kind, key, column, read, allowed)


def _refuse_other_form(
    shelf: Shelf, key: tuple[str, ...], row: SiteFigure, like: SiteFigure
) -> None:
    _refuse_unit(shelf, "site", key, row, like)
    for end in ("low", "high"):
        if getattr(like, end) is not None and getattr(row, end) is None:
            shelf.refuse("site", key, end, "nothing", "a number: the program asks for this end")


def _refuse_unit(
    shelf: Shelf, kind: Kind, key: str | tuple[str, ...], row: SiteFigure | AirFigure,
    like: SiteFigure | AirFigure,
) -> None:  # fmt: skip
    if row.unit != like.unit:
        shelf.refuse(kind, key, "unit", row.unit, f'"{like.unit}", in which the figure is read')


def with_clauses(shelf: Shelf, base: Mapping[str, CodePack]) -> dict[str, CodePack]:
    """Code packs with their clauses: an own clause replaces the one of its number and title.

    Raises
    ------
    CatalogError
        Every fault of the reading, clauses of no pack and packs of no clause included.
    """
    heads: dict[str, CodePack] = shelf.of("packs")
    packs = {
        **{id: heads.get(id, pack) for id, pack in base.items()},
        **{id: pack for id, pack in heads.items() if id not in base},
    }
    clauses = {
        id: {(c.number, c.title): c for c in base[id].clauses} if id in base else {} for id in packs
    }
    for key, clause in shelf.of("clauses").items():
        if key[0] in clauses:
            clauses[key[0]][key[1:]] = clause
        elif not shelf.reading.faults:
            _refuse_name(shelf, "clauses", key, "pack", key[0], packs)
    for id in heads:
        if not clauses[id] and not shelf.reading.faults:
            shelf.refuse("packs", id, "clause", "nothing", "at least one [[clause]] of this pack")
    shelf.settle()
    return {id: replace(pack, clauses=tuple(clauses[id].values())) for id, pack in packs.items()}
