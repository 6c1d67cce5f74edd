"""A wall: fill against depth, material against its place, sizes against trade and year."""

from __future__ import annotations

from collections.abc import Iterator

from warmside.catalog import Catalog, Material
from warmside.plausibility.likelihood import Path, Unlikely, held
from warmside.survey import AsFound, FoundLayer, House, Wall
from warmside.wording import PAPER

# groups of materials that may stand in each place of the wall, and that place in words
_PLACES: dict[str, tuple[str, tuple[str, ...]]] = {
    "finish": ("the room side of a wall", ("finish", "paint", "board", "wood")),
    "vapour_control": ("vapour control", ("membrane", "paint")),
    "fill": ("the fill of a stud bay", ("insulation",)),
    "sheathing": ("sheathing", ("board", "wood", "insulation")),
    "paper": ("the paper behind the cladding", ("membrane",)),
    "cladding": ("cladding", ("cladding", "wood", "board")),
}
# within a group, what does not belong there all the same
_ELSEWHERE = {
    "cladding": ("gypsum-sheathing", "fibreboard-sheathing"),
    "fill": ("eps-board", "xps-board", "polyiso-board"),
}
_SLACK = 0.002  # [m] a batt pressed in


def doubts_of_wall(number: int, wall: Wall, house: House, catalog: Catalog) -> Iterator[Unlikely]:
    """What is unusual of one wall.

    Parameters
    ----------
    number : int
        Of the wall in the survey, counted from 0.
    wall, house : Wall, House
        As read.
    catalog : Catalog
        What is usual; materials and lumber. A name that it does not hold is told elsewhere.
    """
    place: Path = ("walls", number)
    year = wall.year_built or house.year_built
    yield from _outline(place, wall, catalog)
    yield from _studs(place, wall, year, catalog)
    yield from _found(place, wall.found, catalog)
    yield from _depth(place, wall, year, catalog)
    for n, opening in enumerate(wall.openings):
        row = catalog.usual_of("opening side")
        for key in ("width", "height"):
            side = getattr(opening, key)
            yield from held(row, side, (*place, "openings", n, key), f"a {opening.kind} {{}} wide"
                            if key == "width" else f"a {opening.kind} {{}} high")  # fmt: skip
    row = catalog.usual_of("moisture")
    for n, reading in enumerate(wall.readings):
        more = ", unsure above about 30 %"
        path = (*place, "readings", n, "moisture")
        yield from held(row, reading.moisture, path, "{} in wood", more)


def _outline(place: Path, wall: Wall, catalog: Catalog) -> Iterator[Unlikely]:
    more = "; inches for feet?"
    row = catalog.usual_of("wall length")
    yield from held(row, wall.length, (*place, "length"), "a wall of {}", more)
    row = catalog.usual_of(f"height {wall.frame}")
    height = max(top for _, _, top in wall.columns)
    key = "height" if wall.height is not None else "profile"
    yield from held(row, height, (*place, key), f"a {wall.frame} frame {{}} high", more)
    row = catalog.usual_of("spacing")
    yield from held(row, wall.spacing, (*place, "spacing"), "studs every {}")


def _studs(place: Path, wall: Wall, year: int, catalog: Catalog) -> Iterator[Unlikely]:
    width, depth = wall.stud_width, wall.stud_depth
    if width is not None and depth is not None and width > depth:
        told = "wider than deep"
        yield Unlikely("stud-swapped", (*place, "stud_width"), told,
                       "studs stand on their narrow side; width and depth swapped?")  # fmt: skip
        return
    if width is not None:
        yield from held(catalog.usual_of("stud width"), width, (*place, "stud_width"), "{} wide")
    if depth is not None:
        usual = _stud_depth(wall, year, catalog)
        if usual is not None:
            row = catalog.usual_of("depth from year")
            more = f", which is {PAPER(usual, 'length')} for a {wall.stud} of {year}"
            yield from held(row, depth / usual, (*place, "stud_depth"), "{}", more)


def _stud_depth(wall: Wall, year: int, catalog: Catalog) -> float | None:
    try:
        return catalog.stud(wall.stud, year).depth
    except LookupError:
        return None


def _depth(place: Path, wall: Wall, year: int, catalog: Catalog) -> Iterator[Unlikely]:
    """A fill thicker than the bay."""
    thick = wall.found.fill_thickness
    depth = wall.stud_depth or _stud_depth(wall, year, catalog)
    if thick is None or depth is None or thick <= depth + _SLACK:
        return
    told = "thicker than the bay is deep"
    usual = f"up to {PAPER(depth, 'length')}, the depth of the studs"
    yield Unlikely("fill-depth", (*place, "found", "fill_thickness"), told, usual, impossible=True)


def _found(place: Path, found: AsFound, catalog: Catalog) -> Iterator[Unlikely]:
    for key in _PLACES:
        entry = getattr(found, key)
        layers = entry if isinstance(entry, tuple) else (entry,) if entry else ()
        for n, layer in enumerate(layers):
            path = (*place, "found", key)
            if isinstance(entry, tuple):
                path = (*path, n)
            yield from _layer(path, key, layer, catalog)


def _layer(path: Path, key: str, layer: FoundLayer | str, catalog: Catalog) -> Iterator[Unlikely]:
    name = layer if isinstance(layer, str) else layer.material
    row: Material | None = catalog.materials.get(name)
    if row is None:
        return
    where, groups = _PLACES[key]
    if row.group not in groups or name in _ELSEWHERE.get(key, ()):
        likely = [m.id for m in catalog.materials.values()
                  if m.group == groups[0] and m.id not in _ELSEWHERE.get(key, ())]  # fmt: skip
        told = f"{row.name} as {where}"
        yield Unlikely(f"material-{key}".replace("_", "-"), path, told, ", ".join(likely[:4]))
    thickness = None if isinstance(layer, str) else layer.thickness
    if thickness is not None and row.thickness:
        usual = catalog.usual_of("layer thickness")
        more = f", {PAPER(row.thickness, 'length')}"
        yield from held(usual, thickness / row.thickness, path, "{}", more)
