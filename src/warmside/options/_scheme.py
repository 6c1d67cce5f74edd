"""What an option makes of a wall: the sheets inside and outside, and what goes into the space."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from warmside.catalog import Catalog, FillState
from warmside.framing import Frame
from warmside.options._furring import STRIP_SPACING, STRIP_WIDTH
from warmside.options._layers import (
    AIR,
    NEW_FINISH,
    NEW_PAINT,
    NEW_PAPER,
    NEW_SHEATHING,
    WOOD,
    Scheme,
    Sheet,
    row_of,
    sheet,
)
from warmside.options._option import Option
from warmside.survey import FoundLayer, Wall

_FULL = 5e-4  # [m] foam that misses the full depth by less is meant to fill it
_STRIPS = 0.019  # [m] vented space behind cladding put back over board; common practice


def scheme(option: Option, wall: Wall, frame: Frame, catalog: Catalog) -> Scheme:
    """Scheme of ``option`` on ``wall``; UnknownRowError or InputError where a row is missing."""
    found, said = wall.found, list[str]()
    fill, fill_thickness, state = option.fill, None, None
    if fill is None and not option.kind.opened.bays:
        fill, fill_thickness = found.fill, found.fill_thickness
        state = fill_state(wall, catalog)
        if fill and fill_thickness:
            said.append("The fill found lies against the sheathing; the rest of the bay is air.")
    elif found.fill and option.kind.opened.bays:
        said.append(f"The old fill ({found.fill}, found {found.fill_state}) is removed.")
    if option.furring:
        said.append(
            f"Furring: strips {STRIP_WIDTH * 1e3:.0f} mm wide, level, "
            f"{STRIP_SPACING * 1e3:.0f} mm on centre, and at foot and top."
        )
    foam = row_of(catalog.foams, "foam", option.foam) if option.foam else None
    return Scheme(
        inside=_inside(option, wall, catalog, said),
        outside=_outside(option, wall, catalog, said),
        furring=option.furring,
        foam=foam,
        foam_thickness=_snapped(option, frame) if foam else 0.0,
        fill=row_of(catalog.materials, "material", fill) if fill else None,
        fill_thickness=fill_thickness,
        fill_state=state,
        from_outside=option.kind.sprays_from_outside,
        wood=row_of(catalog.materials, "material", WOOD),
        air=row_of(catalog.materials, "material", AIR),
        assumptions=tuple(said),
    )


def fill_state(wall: Wall, catalog: Catalog) -> FillState | None:
    """What the state of the fill found does to it; a share that somebody saw goes before it."""
    found = wall.found
    if found.fill is None:
        return None
    missing, state = found.fill_missing, catalog.fill_state(found.fill_state, found.fill)
    if missing is None:
        return state
    seen = state or catalog.fill_state("missing in places", found.fill)
    shares = {f"empty_share{end}": missing for end in ("", "_low", "_high")}
    return seen and replace(seen, state=found.fill_state, **shares)  # type: ignore[arg-type]


def _inside(option: Option, wall: Wall, catalog: Catalog, said: list[str]) -> tuple[Sheet, ...]:
    rows, found, place = catalog.materials, wall.found, f'wall "{wall.name}"'
    if not option.kind.opened.room:
        finish, control = found.finish, found.vapour_control
        said += _unpainted(finish, catalog)
    else:
        new = (NEW_PAINT, NEW_FINISH)
        finish, control = tuple(FoundLayer(material=id) for id in new), option.vapour_control
        names = " over ".join(row_of(rows, "material", id).name.lower().rstrip(".") for id in new)
        said.append(f"The old finish comes off; the new one is {names}.")
    sheets = [sheet(rows, layer, "finish", place) for layer in finish]
    if control:
        sheets.append(sheet(rows, control, "vapour control", place))
    return tuple(sheets)


def _unpainted(finish: tuple[FoundLayer, ...], catalog: Catalog) -> Iterator[str]:
    """What is taken where nobody entered the coats of paint on plaster that stays."""
    rows = [catalog.materials.get(layer.material) for layer in finish]
    bare = [row.name for row in rows if row and ("plaster" in row.id or "gypsum" in row.id)]
    if bare and not any(row and row.group == "paint" for row in rows):
        yield (
            f"No coats of paint were entered: {bare[0].lower().rstrip('.')} counts as bare, which "
            "lets most vapour through. Count the coats and enter them as layers of the finish "
            "(latex-paint, alkyd-paint): two of alkyd can change what is said of dry."
        )


def _outside(option: Option, wall: Wall, catalog: Catalog, said: list[str]) -> tuple[Sheet, ...]:
    rows, found, place = catalog.materials, wall.found, f'wall "{wall.name}"'
    sheathing: tuple[FoundLayer, ...] = found.sheathing
    paper, vented = found.paper, found.cladding_vented
    if option.kind.opened.sheathing:
        sheathing, paper = (FoundLayer(material=NEW_SHEATHING),), NEW_PAPER
        said.append("Cladding and old sheathing come off; new sheathing and paper go on.")
    sheets = [sheet(rows, layer, "sheathing", place) for layer in sheathing]
    if paper:
        sheets.append(sheet(rows, paper, "paper", place))
    if option.board:
        board = FoundLayer(material=option.board, thickness=option.board_thickness or None)
        sheets.append(sheet(rows, board, "board", place))
        vented = True
        gap = FoundLayer(material=AIR, thickness=_STRIPS)
        sheets.append(sheet(rows, gap, "gap", place, vented=True))
        said.append(
            f"The cladding goes back over the board on upright strips of {_STRIPS * 1e3:.0f} mm, "
            "vented at foot and top."
        )
    if found.cladding:
        sheets.append(sheet(rows, found.cladding, "cladding", place, vented))
    return tuple(sheets)


def _snapped(option: Option, frame: Frame) -> float:
    for full in (frame.depth, frame.depth + option.furring):
        if abs(option.thickness - full) < _FULL:
            return full
    return option.thickness
