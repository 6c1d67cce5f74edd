"""The columns of each class of row, and the range that each figure must lie in.

A range is the widest that is physically sensible for the class: it catches a slipped decimal
point or a wrong unit, not a poor choice. Ranges that depend on the group of a material stand in
``GROUP_RANGES``. All ranges: from memory, about a fifth beyond the handbook tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from warmside.catalog._rows import Tag

Kind = Literal["materials", "foams", "joints", "fuels", "climates", "lumber"]
KINDS: tuple[Kind, ...] = get_args(Kind)
TAGS: tuple[str, ...] = get_args(Tag)

Form = Literal["name", "text", "number", "whole", "months", "pairs"]


@dataclass(frozen=True)
class Column:
    """One column: its name with the unit, the form of its cells, and what they may hold."""

    name: str
    form: Form
    low: float = 0.0
    high: float = 0.0
    required: bool = True
    words: tuple[str, ...] = ()  # allowed words of a text, any if empty

    @property
    def allowed(self) -> str:
        """What a cell may hold, as a sentence part."""
        if self.words:
            return "one of " + ", ".join(self.words)
        if self.name.startswith("source"):
            return "where the figure comes from, in plain text"
        span = f"between {self.low:g} and {self.high:g}"
        return {
            "name": "a short name of small letters, digits and hyphens",
            "text": "plain text",
            "number": f"a number {span}",
            "whole": f"a whole number {span}",
            "months": f"twelve numbers {span}",
            "pairs": f"pairs of [thickness mm, value], thickness rising, value {span}",
        }[self.form]


def _text(name: str, *, required: bool = True, words: tuple[str, ...] = ()) -> Column:
    return Column(name, "text", required=required, words=words)


def _number(name: str, low: float, high: float, *, required: bool = True) -> Column:
    return Column(name, "number", low, high, required)


def _source(suffix: str = "") -> tuple[Column, Column]:
    return _text(f"source{suffix}"), _text(f"tag{suffix}", words=TAGS)


ID = Column("id", "name")
NAME = _text("name")
NOTE = _text("note", required=False)
GROUPS = (
    "wood",
    "board",
    "insulation",
    "membrane",
    "masonry",
    "finish",
    "cladding",
    "air",
    "paint",
)

COLUMNS: dict[Kind, tuple[Column, ...]] = {
    "materials": (
        ID,
        NAME,
        _text("group", words=GROUPS),
        _number("thickness_mm", 0.01, 500.0, required=False),
        _number("conductivity_w_mk", 0.015, 400.0, required=False),
        _number("resistance_m2k_w", 0.001, 10.0, required=False),
        _number("density_kg_m3", 1.0, 9000.0),
        _number("specific_heat_j_kgk", 300.0, 4200.0),
        _number("permeability_dry_ng_msPa", 1e-6, 200.0, required=False),
        _number("permeability_wet_ng_msPa", 1e-6, 200.0, required=False),
        _number("permeance_dry_ng_m2sPa", 0.01, 20_000.0, required=False),
        _number("permeance_wet_ng_m2sPa", 0.01, 20_000.0, required=False),
        _number("emissivity", 0.02, 1.0),
        *_source("_heat"),
        *_source("_vapour"),
        NOTE,
    ),
    "foams": (
        ID,
        NAME,
        _text("family", words=("closed-cell", "open-cell")),
        _number("density_kg_m3", 5.0, 80.0),
        _number("in_place_density_kg_m3", 5.0, 90.0),
        _number("specific_heat_j_kgk", 1000.0, 2000.0),
        Column("aged_resistance_mm_m2k_w", "pairs", 0.1, 20.0),
        Column("permeance_mm_ng_m2sPa", "pairs", 1.0, 5000.0),
        _number("air_barrier_from_mm", 10.0, 300.0),
        _number("pass_max_mm", 10.0, 300.0),
        _number("total_max_mm", 20.0, 600.0),
        _number("wait_between_passes_min", 0.0, 1440.0),
        _number("occupancy_wait_h", 0.0, 2000.0, required=False),
        _number("set_mass_kg", 1.0, 2000.0),
        _number("waste_open_bays", 0.0, 1.0),
        _number("waste_small_bays", 0.0, 1.0),
        _number("emissivity", 0.02, 1.0),
        *_source("_heat"),
        *_source("_vapour"),
        *_source("_use"),
        NOTE,
    ),
    "joints": (
        ID,
        NAME,
        _text("kinds", required=False),
        _text("unit", words=("m", "each", "m2")),
        *(
            _number(f"{state}_{what}_cm2", 0.0, 200.0)
            for state in ("open", "sealed")
            for what in ("best", "low", "high")
        ),
        _number("bead_mm", 2.0, 40.0),
        *_source(),
        NOTE,
    ),
    "fuels": (
        ID,
        NAME,
        _text("unit"),
        _number("heat_content_mj", 0.5, 50_000.0),
        _number("co2_kg", 0.0, 5000.0),
        _number("co2_low_kg", 0.0, 5000.0),
        _number("co2_high_kg", 0.0, 5000.0),
        Column("year", "whole", 1990, 2100),
        *_source(),
        NOTE,
    ),
    "climates": (
        ID,
        NAME,
        _text("region"),
        _number("latitude_deg", -90.0, 90.0),
        _number("longitude_deg", -180.0, 180.0),
        _number("elevation_m", -430.0, 5000.0),
        Column("mean_c", "months", -60.0, 50.0),
        Column("daily_max_c", "months", -55.0, 60.0),
        Column("daily_min_c", "months", -65.0, 45.0),
        Column("humidity", "months", 0.05, 1.0),
        _number("design_c", -60.0, 20.0),
        _number("design_1_c", -60.0, 20.0),
        _number("degree_days_kd", 0.0, 15_000.0),
        *_source(),
        *_source("_humidity"),
        *_source("_design"),
        NOTE,
    ),
    "lumber": (
        Column("nominal", "name"),
        Column("first_year", "whole", 1700, 2100),
        Column("last_year", "whole", 1700, 2100),
        _number("width_in", 0.5, 12.0),
        _number("depth_in", 1.0, 16.0),
        *_source(),
        NOTE,
    ),
}

# group -> conductivity [W/(m K)], density [kg/m3], permeability [ng/(m s Pa)]
Span = tuple[float, float]
GROUP_RANGES: dict[str, dict[str, Span]] = {
    "wood": {"conductivity": (0.07, 0.25), "density": (250, 1100), "permeability": (0.3, 40)},
    "board": {"conductivity": (0.04, 0.6), "density": (150, 1500), "permeability": (0.1, 120)},
    "insulation": {"conductivity": (0.015, 0.08), "density": (5, 250), "permeability": (0.3, 200)},
    "membrane": {"conductivity": (0.02, 400), "density": (50, 9000), "permeability": (1e-6, 20)},
    "masonry": {"conductivity": (0.1, 4.5), "density": (300, 3000), "permeability": (0.3, 60)},
    "finish": {"conductivity": (0.05, 1.5), "density": (250, 2500), "permeability": (0.1, 80)},
    "cladding": {"conductivity": (0.03, 1.5), "density": (50, 3000), "permeability": (0.1, 200)},
    "air": {"density": (0.9, 1.6), "permeability": (160, 220)},
    "paint": {"conductivity": (0.05, 1.0), "density": (500, 3000), "permeability": (1e-4, 2)},
}
FOAM_RANGES: dict[str, dict[str, Span]] = {
    "closed-cell": {"conductivity": (0.018, 0.035), "permeability": (0.5, 8)},
    "open-cell": {"conductivity": (0.030, 0.048), "permeability": (8, 120)},
}
