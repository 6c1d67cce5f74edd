"""What is known: materials, foams, joints, fuels, climates, code packs, each with its source."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, lru_cache
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from markupsafe import Markup

from warmside.catalog import Catalog, Climate, climate_of, places, sources
from warmside.web import cached
from warmside.web.pages import page
from warmside.web.problem import Problem

router = APIRouter(include_in_schema=False)
_ONE = Markup('<option value="{}">{}</option>')
KINDS = {
    "materials": "Materials and membranes",
    "foams": "Sprayed foams",
    "joints": "Joints and holes",
    "fills": "States of old fill",
    "fuels": "Fuels",
    "climates": "Climates",
    "lumber": "Sizes of lumber by year",
    "moisture": "Water in materials",
    "hazards": "Hazards that stop work",
    "site": "Limits of the working day",
    "air": "Air for people and flames",
    "codes": "Code packs",
}


def built_in() -> Catalog:
    """The catalog that comes with the program."""
    return cached.catalog("")


@lru_cache(maxsize=16)
def offered(rows: str = "") -> Markup:
    """Ids and names that a form offers while somebody types, a job's own rows among them."""
    found = cached.catalog(rows)
    kinds = ("materials", "fuels", "climates", "foams")
    return Markup("\n").join(
        Markup('<datalist id="known-{}">{}</datalist>').format(
            kind, Markup("").join(_ONE.format(id, name) for id, name in _known(found, kind))
        )
        for kind in kinds
    )


def _known(found: Catalog, kind: str) -> Iterator[tuple[str, str]]:
    """Ids and names of a class; of climates the places of the table as well."""
    yield from ((row.id, row.name) for row in getattr(found, kind).values())
    if kind == "climates":
        yield from ((place.id, f"{place.name}, {place.region}") for place in places())


@router.get("/catalog")
def catalog(request: Request) -> Response:
    """The classes of the catalog."""
    return page(request, "catalog", kinds=KINDS)


@router.get("/catalog/{kind}")
def catalog_kind(request: Request, kind: str) -> Response:
    """All rows of one class."""
    if kind not in KINDS:
        raise Problem(404, "Not found", f"The catalog has {', '.join(KINDS)}.")
    if kind == "codes":
        return page(request, "codes", packs=tuple(built_in().packs.values()))
    head, rows = _TABLES[kind](built_in())
    return page(request, "rows", kind=kind, title=KINDS[kind], head=head, rows=rows)


@router.get("/sources")
def all_sources(request: Request) -> Response:
    """Every source of every figure, with how far it was read."""
    lines = sources(built_in())
    tags = sorted({line.tag for line in lines})
    counted = [(tag, sum(line.tag == tag for line in lines)) for tag in tags]
    return page(request, "sources", lines=lines, counted=counted)


Table = tuple[tuple[str, ...], list[tuple[Any, ...]]]


def _materials(found: Catalog) -> Table:
    rows = [
        (m.id, m.name, m.group, _n(m.thickness, 1000), _n(m.conductivity), _n(m.density),
         _n(m.permeability_dry, 1e12), m.source_heat, m.source_vapour)
        for m in found.materials.values()
    ]  # fmt: skip
    return (
        "id", "name", "group", "usual mm", "W/(m·K)", "kg/m³", "ng/(m·s·Pa), dry", "heat from",
        "vapour from",
    ), rows  # fmt: skip


def _foams(found: Catalog) -> Table:
    rows = [
        (f.id, f.name, f.family, _n(f.density), _n(f.conductivity(0.0508)),
         _n(f.permeability(0.0508), 1e12), _n(f.pass_max, 1000), _n(f.total_max, 1000),
         f.source_heat, f.source_use)
        for f in found.foams.values()
    ]  # fmt: skip
    return (
        "id", "name", "family", "kg/m³", "W/(m·K) at 51 mm", "ng/(m·s·Pa) at 51 mm",
        "pass, most mm", "in all, most mm", "heat from", "use from",
    ), rows  # fmt: skip


def _fills(found: Catalog) -> Table:
    def share(low: float, best: float, high: float) -> str:
        return f"{best:.3g} ({low:.3g} to {high:.3g})"

    rows = [
        (f.id, f.state, ", ".join(f.materials) or "any",
         share(f.conductivity_times_low, f.conductivity_times, f.conductivity_times_high),
         share(f.empty_share_low, f.empty_share, f.empty_share_high), _n(f.water_share),
         "yes" if f.stops_air else "no", f.source)
        for f in found.fills.values()
    ]  # fmt: skip
    return (
        "id", "state", "fill", "heat let through, of the sound one", "empty, of every bay",
        "water, by volume", "slows air", "from",
    ), rows  # fmt: skip


def _joints(found: Catalog) -> Table:
    rows = [
        (j.id, j.name, f"cm² per {j.unit}", _span(j.open_low, j.open_best, j.open_high),
         _span(j.sealed_low, j.sealed_best, j.sealed_high), j.source)
        for j in found.joints.values()
    ]  # fmt: skip
    return ("id", "name", "leakage at 4 Pa", "open", "sealed", "from"), rows


def _fuels(found: Catalog) -> Table:
    rows = [
        (f.id, f.name, f.unit, _n(f.heat_content, 1e-6), _n(f.co2), str(f.year), f.source)
        for f in found.fuels.values()
    ]
    return ("id", "name", "unit", "MJ per unit", "kg CO₂ per unit", "year", "from"), rows


@cache
def _places() -> tuple[Climate, ...]:
    return tuple(map(climate_of, places()))


def _climates(found: Catalog) -> Table:
    rows = [
        (c.id, c.name, c.region, _n(c.mean[0]), _n(c.mean[6]), _n(c.design), _n(c.degree_days),
         c.source, c.source_design)
        for c in (*found.climates.values(), *_places())
    ]  # fmt: skip
    return (
        "id", "name", "region", "January °C", "July °C", "design °C", "degree-days < 18 °C",
        "normals from", "design from",
    ), rows  # fmt: skip


def _lumber(found: Catalog) -> Table:
    rows = [
        (r.nominal, f"{r.first}-{r.last}", _n(r.width, 1000), _n(r.depth, 1000), r.source)
        for r in found.lumber
    ]
    return ("nominal", "years", "width mm", "depth mm", "from"), rows


def _hazards(found: Catalog) -> Table:
    rows = [(h.kind, h.stops, h.do, h.clears, h.source) for h in found.hazards.values()]
    return ("hazard", "stops", "do", "cleared by", "from"), rows


def _moisture(found: Catalog) -> Table:
    rows = [
        (id, "wood" if row.curve == "wood" else ", ".join(_n(w, 100) for w in row.points),
         _n(row.free, 100), _n(row.absorption), row.mould_class, row.source_sorption,
         row.source_liquid)
        for id, row in found.moisture.items()
    ]  # fmt: skip
    return (
        "material", "% by mass at 50, 80, 93, 97 %", "in liquid water, %", "kg/(m²·√s)", "mould",
        "held, from", "drawn, from",
    ), rows  # fmt: skip


def _site(found: Catalog) -> Table:
    rows = [
        (r.id, r.name, r.family or "any foam", _n(r.low), _n(r.high), r.unit, r.source)
        for r in found.site
    ]
    return ("id", "name", "for", "least", "most", "unit", "from"), rows


def _air(found: Catalog) -> Table:
    rows = [(r.id, r.name, _n(r.value), r.unit, r.source) for r in found.air.values()]
    rows += [(v.kind, v.name, _n(v.limit), "Pa", v.source) for v in found.venting.values()]
    return ("id", "name", "value", "unit", "from"), rows


_TABLES = {
    "materials": _materials,
    "foams": _foams,
    "joints": _joints,
    "fills": _fills,
    "fuels": _fuels,
    "climates": _climates,
    "lumber": _lumber,
    "moisture": _moisture,
    "hazards": _hazards,
    "site": _site,
    "air": _air,
}


def _n(value: float | None, times: float = 1.0) -> str:
    return "–" if value is None else f"{value * times:.3g}" if abs(value * times) < 1000 else (
        f"{value * times:.0f}"
    )  # fmt: skip


def _span(low: float, best: float, high: float) -> str:
    return f"{best * 1e4:.3g} ({low * 1e4:.3g} to {high * 1e4:.3g})"
