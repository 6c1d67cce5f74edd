"""The columns of each class of row, and the range that each figure must lie in.

A range is the widest that is physically sensible for the class: it catches a slipped decimal
point or a wrong unit, not a poor choice. Ranges that depend on the group of a material stand in
``GROUP_RANGES``. All ranges: from memory, about a fifth beyond the handbook tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from warmside.catalog._codes import AppliesTo, Recall
from warmside.catalog._rows import Curve, Only, Tag
from warmside.physics.assembly import MouldClass, Timber
from warmside.wording import Kind as FigureKind

Kind = Literal[
    "materials", "foams", "joints", "fuels", "climates", "lumber", "moisture", "hazards", "site",
    "reminders", "signs", "air", "venting", "packs", "clauses", "presumed", "never",
    "usual", "words", "fills",
]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)
TAGS: tuple[str, ...] = get_args(Tag)
# the heading of a row in a TOML file, where it is not the kind's own name
_HEADINGS: dict[Kind, str] = {
    "materials": "material", "foams": "foam", "joints": "joint", "fuels": "fuel",
    "climates": "climate", "hazards": "hazard", "reminders": "reminder", "signs": "sign",
    "words": "word", "packs": "code_pack", "clauses": "clause", "fills": "fill",
}  # fmt: skip
HEADINGS: dict[str, Kind] = {_HEADINGS.get(kind, kind): kind for kind in KINDS}
# as files of earlier versions have them
OLD_HEADINGS: dict[str, Kind] = {
    kind: kind for kind in ("materials", "foams", "joints", "fuels", "climates")
}

Form = Literal["name", "text", "number", "whole", "months", "pairs", "tables"]


@dataclass(frozen=True)
class Column:
    """One column: its name with the unit, the form of its cells, and what they may hold."""

    name: str
    form: Form
    low: float = 0.0
    high: float = 0.0
    required: bool = True
    words: tuple[str, ...] = ()  # allowed words of a text, any if empty
    longest: int = 800  # letters of a text

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
            "text": f"plain text of up to {self.longest} letters",
            "number": f"a number {span}",
            "whole": f"a whole number {span}",
            "months": f"twelve numbers {span}",
            "pairs": f"pairs of [thickness mm, value], thickness rising, value {span}",
            "tables": "a list of inline tables, each in braces",
        }[self.form]


def _text(
    name: str, *, required: bool = True, words: tuple[str, ...] = (), longest: int = 800
) -> Column:
    return Column(name, "text", required=required, words=words, longest=longest)


def _number(name: str, low: float, high: float, *, required: bool = True) -> Column:
    return Column(name, "number", low, high, required)


def _source(suffix: str = "") -> tuple[Column, Column]:
    return _text(f"source{suffix}"), _text(f"tag{suffix}", words=TAGS)


ID = Column("id", "name")
NAME = _text("name")
NOTE = _text("note", required=False)
LIKE = Column("like", "name", required=False)
FAMILIES = ("closed-cell", "open-cell")
FILL_STATES = ("damp", "wet", "slumped", "hung loose", "missing in places")
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
        LIKE,
        NOTE,
    ),
    "foams": (
        ID,
        NAME,
        _text("family", words=FAMILIES),
        _number("density_kg_m3", 5.0, 80.0),
        _number("in_place_density_kg_m3", 5.0, 90.0),
        _number("specific_heat_j_kgk", 1000.0, 2000.0),
        Column("aged_resistance_mm_m2k_w", "pairs", 0.1, 20.0),
        Column("permeance_mm_ng_m2sPa", "pairs", 1.0, 5000.0),
        _number("air_barrier_from_mm", 10.0, 300.0),
        _number("pass_max_mm", 10.0, 300.0),
        Column("listed_passes_mm", "pairs", 1.0, 20.0, required=False),
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
        LIKE,
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
        _text("unit", longest=20),
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
        Column("utc_h", "number", -12.0, 14.0, required=False),
        Column("wind_m_s", "months", 0.0, 30.0, required=False),
        Column("rain_mm", "months", 0.0, 2000.0, required=False),
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
    "moisture": (
        Column("material", "name"),
        _text("curve", words=get_args(Curve)),
        *(
            _number(f"at_{percent}_percent", 0.0, 300.0, required=False)
            for percent in (50, 80, 93, 97)
        ),
        _number("free_percent", 0.1, 100_000.0),
        _number("absorption_kg_m2s05", 0.0, 0.99),
        _number("conductivity_per_water_w_m2_kgk", 0.0, 0.02),
        _text("mould_class", words=get_args(MouldClass)),
        _text("timber", required=False, words=get_args(Timber)),
        *_source("_sorption"),
        *_source("_liquid"),
        NOTE,
    ),
    "hazards": (
        _text("kind", longest=60),
        _text("title", longest=120),
        _text("stops"),
        _text("clears"),
        _text("do"),
        *_source(),
    ),
    "site": (
        ID,
        _text("family", required=False, words=FAMILIES),
        NAME,
        _number("low", -1e9, 1e9, required=False),
        _number("high", -1e9, 1e9, required=False),
        _text("unit", longest=20),
        *_source(),
    ),
    "reminders": (ID, _text("text"), *_source()),
    "signs": (ID, _text("head", longest=60), _text("text")),
    "air": (ID, NAME, _number("value", 0.0, 1e6), _text("unit", longest=20), *_source()),
    "venting": (
        _text("kind", longest=60),
        NAME,
        _number("limit_pa", 0.5, 100.0),
        _number("low_pa", 0.5, 100.0),
        *_source(),
    ),
    "presumed": (
        ID,
        _text("hazard", longest=60),
        _text("country", required=False, words=("Canada", "United States")),
        Column("built_from", "whole", 1600, 2200, required=False),
        Column("built_before", "whole", 1600, 2200, required=False),
        _text("frame", required=False, words=("platform", "balloon")),
        _text("venting", required=False),
        _text("asks"),
        *_source(),
    ),
    "never": (
        ID,
        _text("findings"),
        _text("only", required=False, words=get_args(Only)),
        _text("hazard", longest=60),
        *_source(),
    ),
    "usual": (
        ID,
        NAME,
        _text("of", longest=60),
        _text("kind", words=get_args(FigureKind)),
        _text("after", required=False, longest=60),
        Column("built_from", "whole", 1600, 2200, required=False),
        Column("built_before", "whole", 1600, 2200, required=False),
        *(
            _number(end, -1e10, 1e10, required=False)
            for end in ("refuse_low", "ask_low", "low", "high", "ask_high", "refuse_high")
        ),
        *_source(),
    ),
    "words": (
        ID,
        _text("kind", words=("material", "fuel", "foam")),
        _text("means"),
        *_source(),
    ),
    "fills": (
        ID,
        _text("state", words=FILL_STATES),
        _text("materials", required=False),
        *(_number(f"conductivity_times{end}", 0.5, 10.0) for end in ("", "_low", "_high")),
        *(_number(f"empty_share{end}", 0.0, 0.95) for end in ("", "_low", "_high")),
        _number("water_share", 0.0, 0.5),
        _text("stops_air", words=("yes", "no")),
        *_source(),
        NOTE,
    ),
    "packs": (
        ID,
        NAME,
        _text("country"),
        _text("edition"),
        _text("closing", longest=2000),
    ),
    "clauses": (
        Column("pack", "name"),
        Column("id", "name", required=False),
        _text("number", longest=60),
        _text("title", longest=200),
        _text("paraphrase", longest=2000),
        _text("applies_to", words=get_args(AppliesTo)),
        Column("when", "tables", required=False),
        Column("tests", "tables", required=False),
        Column("tolerated", "tables", required=False),
        _text("passes", required=False, words=("holds", "needs a person")),
        _text("fails", required=False, words=("falls short", "needs a person")),
        _text("mixed", required=False, words=("falls short", "needs a person")),
        _text("recall", required=False, words=get_args(Recall)),
        _text("asks", required=False, longest=2000),
        _text("change", required=False, longest=2000),
        Column("cases", "tables", required=False),
        *_source(),
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
