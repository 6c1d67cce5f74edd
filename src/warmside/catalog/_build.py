"""From checked cells to rows in SI, with the checks that need more than one cell."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from warmside.catalog._air import AirFigure, VentingRow, air_figure, check_air, venting
from warmside.catalog._cells import Cells
from warmside.catalog._clauses import check_clause, clause, pack
from warmside.catalog._codes import Clause, CodePack
from warmside.catalog._columns import FOAM_RANGES, GROUP_RANGES, Kind
from warmside.catalog._fills import FillState, check_fill, fill_state
from warmside.catalog._hazards import (
    HazardRow,
    NeverAlone,
    Presumption,
    hazard,
    never_alone,
    presumption,
)
from warmside.catalog._moisture import check_moisture, moisture
from warmside.catalog._rows import (
    Climate,
    Foam,
    Fuel,
    JointRow,
    Lumber,
    Material,
    MoistureRow,
)
from warmside.catalog._site import (
    Reminder,
    Sign,
    SiteFigure,
    check_site,
    reminder,
    sign,
    site_figure,
)
from warmside.catalog._usual import Usual, check_usual, usual
from warmside.catalog._words import TradeWord, trade_word
from warmside.units import HOUR, INCH, MINUTE

Row = (
    Material | Foam | JointRow | Fuel | Climate | Lumber | MoistureRow | HazardRow | SiteFigure
    | Reminder | Sign | AirFigure | VentingRow | CodePack | Clause | Presumption | NeverAlone
    | Usual | TradeWord | FillState
)  # fmt: skip

MM, CM2, NG, MEGA = 1e-3, 1e-4, 1e-12, 1e6


def build(kind: Kind, cells: Cells) -> Row | None:
    """The row of ``cells``, or None if it has faults, which ``cells`` has noted."""
    check, make = _CLASSES[kind]
    check(cells)
    return make(cells) if cells.sound else None


def _check_material(cells: Cells) -> None:
    group = cells.text("group")
    if not cells.holds("group"):
        return
    spans = GROUP_RANGES[group]
    if group == "air":
        if cells.holds("conductivity_w_mk") or cells.holds("resistance_m2k_w"):
            cells.refuse("conductivity_w_mk", "a value", "nothing: air has none of its own")
    elif _one_given(cells, "conductivity_w_mk", "resistance_m2k_w"):
        column = "conductivity_w_mk" if cells.holds("conductivity_w_mk") else "resistance_m2k_w"
        cells.within(column, _conductivity(cells) or 0.0, spans["conductivity"], "W/(m K)")
    if cells.holds("density_kg_m3"):
        cells.within("density_kg_m3", cells.number("density_kg_m3"), spans["density"], "kg/m3")
    _check_vapour(cells, spans["permeability"])


def _check_vapour(cells: Cells, span: tuple[float, float]) -> None:
    found: dict[str, float] = {}
    for state in ("dry", "wet"):
        column, other = f"permeability_{state}_ng_msPa", f"permeance_{state}_ng_m2sPa"
        if _one_given(cells, column, other):
            column = column if cells.holds(column) else other
            found[column] = _permeability(cells, state) / NG
            cells.within(column, found[column], span, "ng/(m.s.Pa)")
    if len(found) == 2:
        (_, dry), (column, wet) = found.items()
        if wet < dry:
            cells.refuse(column, f"{wet:g} ng/(m.s.Pa)", "not less than the dry value")


def _one_given(cells: Cells, column: str, for_thickness: str) -> bool:
    """Refuse the row unless exactly one of two columns is filled, the second with a thickness."""
    if cells.faulty(column, for_thickness, "thickness_mm"):
        return False
    if cells.holds(column) == cells.holds(for_thickness):
        read = "both" if cells.holds(column) else "nothing"
        cells.refuse(column, read, f"either {column} or {for_thickness}")
        return False
    if cells.holds(for_thickness) and not cells.holds("thickness_mm"):
        allowed = f"the thickness that {for_thickness} belongs to"
        cells.refuse("thickness_mm", "nothing", allowed)
        return False
    return True


def _conductivity(cells: Cells) -> float | None:
    """Conductivity as given, or thickness over resistance [W/(m K)]; None for air."""
    if cells.holds("resistance_m2k_w"):
        return cells.number("thickness_mm", MM) / cells.number("resistance_m2k_w")
    return cells.optional("conductivity_w_mk")


def _permeability(cells: Cells, state: str) -> float:
    """Permeability as given, or permeance times thickness [kg/(m s Pa)]."""
    if cells.holds(f"permeance_{state}_ng_m2sPa"):
        return cells.number(f"permeance_{state}_ng_m2sPa", NG) * cells.number("thickness_mm", MM)
    return cells.number(f"permeability_{state}_ng_msPa", NG)


def _material(cells: Cells) -> Material:
    return Material(
        id=cells.text("id"),
        name=cells.text("name"),
        group=cells.text("group"),  # type: ignore[arg-type]  # checked with its column
        thickness=cells.optional("thickness_mm", MM),
        conductivity=_conductivity(cells),
        density=cells.number("density_kg_m3"),
        specific_heat=cells.number("specific_heat_j_kgk"),
        permeability_dry=_permeability(cells, "dry"),
        permeability_wet=_permeability(cells, "wet"),
        emissivity=cells.number("emissivity"),
        source_heat=cells.source("_heat"),
        source_vapour=cells.source("_vapour"),
        note=cells.text("note"),
        like=cells.text("like"),
    )


def _check_foam(cells: Cells) -> None:
    cells.ordered("density_kg_m3", "in_place_density_kg_m3")
    cells.ordered("pass_max_mm", "total_max_mm")
    cells.ordered("waste_open_bays", "waste_small_bays")
    for _, count in _listed(cells):
        if count != round(count):
            cells.refuse("listed_passes_mm", f"{count:g} passes", "whole passes")
    if not cells.holds("family"):
        return
    spans = FOAM_RANGES[cells.text("family")]
    column = "aged_resistance_mm_m2k_w"
    for _, value in _foam_conductivity(cells) if cells.holds(column) else ():
        cells.within(column, value, spans["conductivity"], "W/(m K)")
    column = "permeance_mm_ng_m2sPa"
    for _, value in _foam_permeability(cells) if cells.holds(column) else ():
        cells.within(column, value / NG, spans["permeability"], "ng/(m.s.Pa)")


def _foam_conductivity(cells: Cells) -> tuple[tuple[float, float], ...]:
    return tuple((mm * MM, mm * MM / r) for mm, r in cells.pairs("aged_resistance_mm_m2k_w"))


def _foam_permeability(cells: Cells) -> tuple[tuple[float, float], ...]:
    return tuple((mm * MM, p * NG * mm * MM) for mm, p in cells.pairs("permeance_mm_ng_m2sPa"))


def _foam(cells: Cells) -> Foam:
    return Foam(
        id=cells.text("id"),
        name=cells.text("name"),
        family=cells.text("family"),  # type: ignore[arg-type]  # checked with its column
        density=cells.number("density_kg_m3"),
        in_place_density=cells.number("in_place_density_kg_m3"),
        specific_heat=cells.number("specific_heat_j_kgk"),
        conductivity_by_thickness=_foam_conductivity(cells),
        permeability_by_thickness=_foam_permeability(cells),
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
        like=cells.text("like"),
        listed_passes=tuple((mm * MM, round(n)) for mm, n in _listed(cells)),
    )


def _listed(cells: Cells) -> tuple[tuple[float, float], ...]:
    column = "listed_passes_mm"
    return cells.pairs(column) if cells.holds(column) else ()


def _check_joint(cells: Cells) -> None:
    for state in ("open", "sealed"):
        cells.ordered(f"{state}_low_cm2", f"{state}_best_cm2", f"{state}_high_cm2")
    for what in ("low", "best", "high"):
        cells.ordered(f"sealed_{what}_cm2", f"open_{what}_cm2")


def _joint(cells: Cells) -> JointRow:
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


def _check_fuel(cells: Cells) -> None:
    cells.ordered("co2_low_kg", "co2_kg", "co2_high_kg")


def _fuel(cells: Cells) -> Fuel:
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


def _check_climate(cells: Cells) -> None:
    cells.ordered("design_1_c", "design_c")
    names = ("daily_min_c", "mean_c", "daily_max_c")
    if cells.holds(*names):
        months = zip(*(cells.months(name) for name in names), strict=True)
        if not all(low <= mean <= high for low, mean, high in months):
            read = cells.months("mean_c")
            cells.refuse("mean_c", read, "between daily_min_c and daily_max_c in every month")


def _climate(cells: Cells) -> Climate:
    return Climate(
        id=cells.text("id"),
        name=cells.text("name"),
        region=cells.text("region"),
        latitude=cells.number("latitude_deg"),
        longitude=cells.number("longitude_deg"),
        elevation=cells.number("elevation_m"),
        mean=cells.months("mean_c"),
        daily_max=cells.months("daily_max_c"),
        daily_min=cells.months("daily_min_c"),
        humidity=cells.months("humidity"),
        design=cells.number("design_c"),
        design_1=cells.number("design_1_c"),
        degree_days=cells.number("degree_days_kd"),
        source=cells.source(),
        source_humidity=cells.source("_humidity"),
        source_design=cells.source("_design"),
        note=cells.text("note"),
        utc_offset=cells.optional("utc_h"),
        wind=cells.months("wind_m_s") if cells.holds("wind_m_s") else None,
        rain=cells.months("rain_mm") if cells.holds("rain_mm") else None,
    )


def _check_lumber(cells: Cells) -> None:
    cells.ordered("first_year", "last_year")
    cells.ordered("width_in", "depth_in")


def _lumber(cells: Cells) -> Lumber:
    return Lumber(
        nominal=cells.text("nominal"),
        first=int(cells.number("first_year")),
        last=int(cells.number("last_year")),
        width=cells.number("width_in", INCH),
        depth=cells.number("depth_in", INCH),
        source=cells.source(),
        note=cells.text("note"),
    )


def _check_venting(cells: Cells) -> None:
    cells.ordered("low_pa", "limit_pa")


def _no_more(_cells: Cells) -> None:
    """Each cell alone says all."""


_CLASSES: dict[Kind, tuple[Callable[[Cells], None], Callable[[Cells], Row]]] = {
    "materials": (_check_material, _material),
    "foams": (_check_foam, _foam),
    "joints": (_check_joint, _joint),
    "fuels": (_check_fuel, _fuel),
    "climates": (_check_climate, _climate),
    "lumber": (_check_lumber, _lumber),
    "moisture": (check_moisture, moisture),
    "hazards": (_no_more, hazard),
    "site": (check_site, site_figure),
    "reminders": (_no_more, reminder),
    "signs": (_no_more, sign),
    "air": (check_air, air_figure),
    "venting": (_check_venting, venting),
    "presumed": (_no_more, presumption),
    "never": (_no_more, never_alone),
    "usual": (check_usual, usual),
    "words": (_no_more, trade_word),
    "fills": (check_fill, fill_state),
    "packs": (_no_more, pack),
    "clauses": (check_clause, clause),
}


def overlapping(rows: list[Lumber]) -> tuple[Lumber, Lumber] | None:
    """Two rows of one nominal size whose years overlap, if there are any."""
    for a, b in pairwise(sorted(rows, key=lambda row: (row.nominal, row.first))):
        if a.nominal == b.nominal and b.first <= a.last:
            return a, b
    return None
