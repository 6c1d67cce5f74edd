"""From checked cells to rows in SI, with the checks that need more than one cell."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from warmside.catalog._cells import Cells
from warmside.catalog._columns import FOAM_RANGES, GROUP_RANGES, Kind
from warmside.catalog._rows import Climate, Foam, Fuel, JointRow, Lumber, Material

Row = Material | Foam | JointRow | Fuel | Climate | Lumber

MM, CM2, NG, INCH, MINUTE, HOUR, MEGA = 1e-3, 1e-4, 1e-12, 0.0254, 60.0, 3600.0, 1e6


def build(kind: Kind, cells: Cells) -> Row | None:
    """The row of ``cells``, or None if it has faults, which ``cells`` has noted."""
    if not cells.sound:
        return None
    row = _BUILDERS[kind](cells)
    return row if cells.sound else None


def _material(cells: Cells) -> Material | None:
    group = cells.text("group")
    thickness = cells.optional("thickness_mm", MM)
    conductivity = _conductivity(cells, group, thickness)
    dry = _permeability(cells, "dry", thickness)
    wet = _permeability(cells, "wet", thickness)
    if dry is None or wet is None or not cells.sound:
        return None
    _material_in_range(cells, group, conductivity, dry, wet)
    return Material(
        id=cells.text("id"),
        name=cells.text("name"),
        group=group,  # type: ignore[arg-type]  # one of GROUPS, checked with its column
        thickness=thickness,
        conductivity=conductivity,
        density=cells.number("density_kg_m3"),
        specific_heat=cells.number("specific_heat_j_kgk"),
        permeability_dry=dry,
        permeability_wet=wet,
        emissivity=cells.number("emissivity"),
        source_heat=cells.source("_heat"),
        source_vapour=cells.source("_vapour"),
        note=cells.text("note"),
    )


def _material_in_range(
    cells: Cells, group: str, conductivity: float | None, dry: float, wet: float
) -> None:
    spans = GROUP_RANGES[group]
    if conductivity is not None:
        column = "conductivity_w_mk" if _given(cells, "conductivity_w_mk") else "resistance_m2k_w"
        cells.within(column, conductivity, spans["conductivity"], "W/(m K)")
    cells.within("density_kg_m3", cells.number("density_kg_m3"), spans["density"], "kg/m3")
    for state, value in (("dry", dry), ("wet", wet)):
        column = _vapour_column(cells, state)
        cells.within(column, value / NG, spans["permeability"], "ng/(m.s.Pa)")
    if wet < dry:
        allowed = "not less than the dry value"
        cells.refuse(_vapour_column(cells, "wet"), f"{wet / NG:g} ng/(m.s.Pa)", allowed)


def _vapour_column(cells: Cells, state: str) -> str:
    column = f"permeability_{state}_ng_msPa"
    return column if _given(cells, column) else f"permeance_{state}_ng_m2sPa"


def _given(cells: Cells, column: str) -> bool:
    return cells.optional(column) is not None


def _conductivity(cells: Cells, group: str, thickness: float | None) -> float | None:
    """From conductivity, or thickness over resistance; exactly one of them is given."""
    conductivity = cells.optional("conductivity_w_mk")
    resistance = cells.optional("resistance_m2k_w")
    if group == "air":
        if conductivity is not None or resistance is not None:
            cells.refuse("conductivity_w_mk", "a value", "nothing: air has none of its own")
        return None
    if (conductivity is None) == (resistance is None):
        read = "nothing" if conductivity is None else "both"
        cells.refuse("conductivity_w_mk", read, "either conductivity_w_mk or resistance_m2k_w")
        return None
    if resistance is None:
        return conductivity
    if thickness is None:
        cells.refuse("thickness_mm", "nothing", "the thickness that resistance_m2k_w belongs to")
        return None
    return thickness / resistance


def _permeability(cells: Cells, state: str, thickness: float | None) -> float | None:
    """From permeability, or permeance times thickness; exactly one of them is given."""
    permeability = cells.optional(f"permeability_{state}_ng_msPa", NG)
    permeance = cells.optional(f"permeance_{state}_ng_m2sPa", NG)
    column = f"permeability_{state}_ng_msPa"
    if (permeability is None) == (permeance is None):
        read = "nothing" if permeability is None else "both"
        cells.refuse(column, read, f"either {column} or permeance_{state}_ng_m2sPa")
        return None
    if permeance is None:
        return permeability
    if thickness is None:
        cells.refuse("thickness_mm", "nothing", "the thickness that the permeance belongs to")
        return None
    return permeance * thickness


def _foam(cells: Cells) -> Foam:
    spans = FOAM_RANGES[cells.text("family")]
    conductivity = tuple(
        (mm * MM, mm * MM / r) for mm, r in cells.pairs("aged_resistance_mm_m2k_w")
    )
    permeability = tuple(
        (mm * MM, p * NG * mm * MM) for mm, p in cells.pairs("permeance_mm_ng_m2sPa")
    )
    for _, value in conductivity:
        cells.within("aged_resistance_mm_m2k_w", value, spans["conductivity"], "W/(m K)")
    for _, value in permeability:
        cells.within("permeance_mm_ng_m2sPa", value / NG, spans["permeability"], "ng/(m.s.Pa)")
    cells.ordered("density_kg_m3", "in_place_density_kg_m3")
    cells.ordered("pass_max_mm", "total_max_mm")
    cells.ordered("waste_open_bays", "waste_small_bays")
    return Foam(
        id=cells.text("id"),
        name=cells.text("name"),
        family=cells.text("family"),  # type: ignore[arg-type]  # checked with its column
        density=cells.number("density_kg_m3"),
        in_place_density=cells.number("in_place_density_kg_m3"),
        specific_heat=cells.number("specific_heat_j_kgk"),
        conductivity_by_thickness=conductivity,
        permeability_by_thickness=permeability,
        air_barrier_from=cells.number("air_barrier_from_mm", MM),
        pass_max=cells.number("pass_max_mm", MM),
        total_max=cells.number("total_max_mm", MM),
        wait_between_passes=cells.number("wait_between_passes_min", MINUTE),
        occupancy_wait=cells.optional("occupancy_wait_h", HOUR),
        set_mass=cells.number("set_mass_kg"),
        waste_open_bays=cells.number("waste_open_bays"),
        waste_small_bays=cells.number("waste_small_bays"),
        emissivity=cells.number("emissivity"),
        source_heat=cells.source("_heat"),
        source_vapour=cells.source("_vapour"),
        source_use=cells.source("_use"),
        note=cells.text("note"),
    )


def _joint(cells: Cells) -> JointRow:
    for state in ("open", "sealed"):
        cells.ordered(f"{state}_low_cm2", f"{state}_best_cm2", f"{state}_high_cm2")
    for what in ("low", "best", "high"):
        cells.ordered(f"sealed_{what}_cm2", f"open_{what}_cm2")
    kinds = cells.text("kinds").split(";")
    return JointRow(
        id=cells.text("id"),
        name=cells.text("name"),
        unit=cells.text("unit"),  # type: ignore[arg-type]  # checked with its column
        open_best=cells.number("open_best_cm2", CM2),
        open_low=cells.number("open_low_cm2", CM2),
        open_high=cells.number("open_high_cm2", CM2),
        sealed_best=cells.number("sealed_best_cm2", CM2),
        sealed_low=cells.number("sealed_low_cm2", CM2),
        sealed_high=cells.number("sealed_high_cm2", CM2),
        bead=cells.number("bead_mm", MM),
        source=cells.source(),
        note=cells.text("note"),
        kinds=tuple(kind.strip() for kind in kinds if kind.strip()),
    )


def _fuel(cells: Cells) -> Fuel:
    cells.ordered("co2_low_kg", "co2_kg", "co2_high_kg")
    return Fuel(
        id=cells.text("id"),
        name=cells.text("name"),
        unit=cells.text("unit"),
        heat_content=cells.number("heat_content_mj", MEGA),
        co2=cells.number("co2_kg"),
        co2_low=cells.number("co2_low_kg"),
        co2_high=cells.number("co2_high_kg"),
        year=int(cells.number("year")),
        source=cells.source(),
        note=cells.text("note"),
    )


def _climate(cells: Cells) -> Climate:
    mean, high, low = (cells.months(f"{name}_c") for name in ("mean", "daily_max", "daily_min"))
    if not all(n <= m <= x for n, m, x in zip(low, mean, high, strict=True)):
        cells.refuse("mean_c", mean, "between daily_min_c and daily_max_c in every month")
    cells.ordered("design_1_c", "design_c")
    return Climate(
        id=cells.text("id"),
        name=cells.text("name"),
        region=cells.text("region"),
        latitude=cells.number("latitude_deg"),
        longitude=cells.number("longitude_deg"),
        elevation=cells.number("elevation_m"),
        mean=mean,
        daily_max=high,
        daily_min=low,
        humidity=cells.months("humidity"),
        design=cells.number("design_c"),
        design_1=cells.number("design_1_c"),
        degree_days=cells.number("degree_days_kd"),
        source=cells.source(),
        source_humidity=cells.source("_humidity"),
        source_design=cells.source("_design"),
        note=cells.text("note"),
    )


def _lumber(cells: Cells) -> Lumber:
    cells.ordered("first_year", "last_year")
    cells.ordered("width_in", "depth_in")
    return Lumber(
        nominal=cells.text("nominal"),
        first=int(cells.number("first_year")),
        last=int(cells.number("last_year")),
        width=cells.number("width_in", INCH),
        depth=cells.number("depth_in", INCH),
        source=cells.source(),
        note=cells.text("note"),
    )


_BUILDERS: dict[Kind, Callable[[Cells], Row | None]] = {
    "materials": _material,
    "foams": _foam,
    "joints": _joint,
    "fuels": _fuel,
    "climates": _climate,
    "lumber": _lumber,
}


def overlapping(rows: list[Lumber]) -> tuple[Lumber, Lumber] | None:
    """Two rows of one nominal size whose years overlap, if there are any."""
    for a, b in pairwise(sorted(rows, key=lambda row: (row.nominal, row.first))):
        if a.nominal == b.nominal and b.first <= a.last:
            return a, b
    return None
