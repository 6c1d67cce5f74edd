"""Facts of one stack of layers: what is tight, how warm it stays, what covers the foam."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from warmside.options import BuildUp
from warmside.physics import humid_air
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import NBC_FILMS, resistances
from warmside.promises.rules.case import Case

TIGHT = 60e-12  # [kg/(m2 s Pa)] NBC 9.25.4.2: a vapour barrier passes this at most
PERM = 57.2e-12  # [kg/(m2 s Pa)] one perm
VERY_COLD = 6000.0  # [K d] and
DAMP = 0.40  # [-] from where a quarter stands for a third; our reading of "very cold or damp"
_THIN = 1e-3  # [m] less is a trace
_INSULATION = ("foam", "fill")
_SPACE = ("foam", "fill", "gap")
_SHEATHINGS = {
    "plywood": "structural panel", "osb": "structural panel", "gypsum-sheathing": "gypsum",
    "fibreboard-sheathing": "fibreboard", "board-sheathing": "lumber boards",
    "eps-board": "insulating board", "xps-board": "insulating board",
    "polyiso-board": "insulating board", "mineral-wool-board": "insulating board",
}  # fmt: skip
_COVERS = {
    "gypsum-board": "gypsum", "plaster-on-wood-lath": "plaster",
    "plaster-on-gypsum-lath": "plaster", "plywood": "structural panel", "osb": "structural panel",
    "board-sheathing": "lumber boards",
}  # fmt: skip
_Facts = dict[str, float | bool | str | None]
_Valued = Sequence[tuple[Layer, float]]  # layers with their resistance [m2 K/W], room side first


HIDDEN = "pocket"  # what every space is called that no work reaches
_REACHED = ("bay", "header", "floor line", "brace")  # where foam or fill can be put


def places(build_up: BuildUp) -> Iterator[tuple[str, Stack]]:
    """Every different insulated stack and what it is called; solid wood is left out.

    Air in a post, behind a block or in a pocket is hidden: the work does not get there.
    """
    fills = build_up.option.foam is not None or build_up.option.fill is not None
    seen = set()
    spaces = [s for s in build_up.stacks if any(x.role in _SPACE for x in s.layers)]
    for stack in spaces or build_up.stacks[:1]:
        layers = stack.sheets
        if (stack.kind, layers) not in seen:
            seen.add((stack.kind, layers))
            filled = any(layer.role in _INSULATION for layer in layers)
            reached = stack.kind in _REACHED and (filled or not fills)
            yield stack.kind if reached else HIDDEN, replace(stack, layers=layers)


def layer_facts(case: Case, where: str, stack: Stack) -> _Facts:
    """Every fact that follows from the layers of one stack."""
    valued = tuple(zip(stack.layers, resistances(stack), strict=True))
    return {
        "hidden": where == HIDDEN,
        **_fill(case, valued),
        **_barrier(case, valued),
        **_outboard(valued),
        **_classes(valued),
        **_foam(case, valued),
        **_cover(valued),
        **_pipe(case, valued),
    }


def permeance(layer: Layer) -> float:
    """Dry-cup permeance as installed [kg/(m2 s Pa)]."""
    return layer.permeability_dry / layer.thickness


def _fill(case: Case, valued: _Valued) -> _Facts:
    depth = case.build_up.frame.depth + case.build_up.option.furring
    inside = _inside_sheathing(valued)
    filled = sum(layer.thickness for layer, _ in inside if layer.role in _INSULATION)
    empty = sum(layer.thickness for layer, _ in inside if layer.role == "gap")
    return {
        "fill_share": min(filled / depth, 1.0),
        "part_filled": filled > _THIN,
        "empty_depth": empty if empty > _THIN else 0.0,
    }


def _inside_sheathing(valued: _Valued) -> _Valued:
    """From the room to the outer face of the framing."""
    outside = ("sheathing", "paper", "board", "cladding")
    ends = next((k for k, (layer, _) in enumerate(valued) if layer.role in outside), len(valued))
    return valued[:ends]


def _pipe(case: Case, valued: _Valued) -> _Facts:
    """Temperature of the coldest water pipe, its middle at its depth in this stack.

    By resistances alone, still air and a house that is heated: a leak makes it colder.
    """
    if case.wall is None or case.house is None:
        return {}
    depths = [pipe.depth for pipe in case.wall.pipes if pipe.kind in ("water", "drain")]
    known = [depth for depth in depths if depth is not None]
    if not depths or len(known) < len(depths):
        return {}
    inside = _inside_sheathing(valued)
    lining = [x.thickness for x, _ in inside if x.role not in (*_SPACE, "wood", "furring")]
    at = sum(lining) + case.build_up.option.furring + max(known)
    before, passed = NBC_FILMS.inside, 0.0
    for layer, value in valued:
        share = min(max((at - passed) / layer.thickness, 0.0), 1.0)
        before, passed = before + share * value, passed + layer.thickness
    whole = NBC_FILMS.inside + sum(value for _, value in valued) + NBC_FILMS.outside
    given = case.house.design_temperature
    outdoor = case.climate.design if given is None else given
    indoor = case.house.indoor_temperature
    return {"pipe_temperature": indoor - (indoor - outdoor) * before / whole}


@dataclass(frozen=True)
class _Plane:
    """The warm face of a layer, and the share of the resistance inside it."""

    layer: Layer
    share: float


def _plane(valued: _Valued, layer: Layer) -> _Plane:
    values = [value for _, value in valued]
    at = next(k for k, (one, _) in enumerate(valued) if one is layer)
    whole = NBC_FILMS.inside + sum(values) + NBC_FILMS.outside
    return _Plane(layer, (NBC_FILMS.inside + sum(values[:at])) / whole)


def _barrier(case: Case, valued: _Valued) -> _Facts:
    """The innermost layer tight enough to be the vapour barrier, and how warm its face stays."""
    inside = [layer for layer, _ in _inside_sheathing(valued)]
    tightest = min(inside, key=permeance)
    barrier = next((layer for layer in inside if permeance(layer) <= TIGHT), None)
    facts: _Facts = {
        "vapour_barrier": barrier is not None, "barrier_permeance": permeance(tightest),
    }  # fmt: skip
    house = case.house
    humidity = house.indoor_humidity if house else None
    if house is not None and humidity is not None:
        facts["room_dew_point"] = _dew_point(house.indoor_temperature, humidity)
    facts["very_cold_or_damp"] = case.climate.degree_days >= VERY_COLD or (humidity or 0.0) > DAMP
    if barrier is None or house is None:
        return facts
    plane = _plane(valued, barrier)
    given = house.design_temperature
    design = case.climate.design if given is None else given
    indoor = house.indoor_temperature
    return facts | {
        "inside_share": plane.share,
        "barrier_temperature": indoor - plane.share * (indoor - design),
    }


@lru_cache(maxsize=64)  # one room for every stack of every option
def _dew_point(temperature: float, humidity: float) -> float:
    return float(humid_air.dew_point(temperature, humidity))


def _outboard(valued: _Valued) -> _Facts:
    """The outermost layer tight to air and vapour; what lies beyond a vented space is out."""
    tight: Layer | None = None
    for layer, _ in valued:
        if layer.vented:
            break
        if layer.role in ("vapour control", "board", "foam") and permeance(layer) < TIGHT:
            tight = layer
    if tight is None:
        return {"low_permeance_layer": "none"}
    share = _plane(valued, tight).share
    role = {"vapour control": "sheet", "board": "board", "foam": "sprayed foam"}[tight.role]
    return {"low_permeance_layer": role, "outboard_ratio": (1.0 - share) / share}


def retarder_class(permeance: float) -> str:
    """Class I to III by permeance [kg/(m2 s Pa)], IRC Table R702.7(1); "none" above 10 perm."""
    for name, most in (("I", 0.1), ("II", 1.0), ("III", 10.0)):
        if permeance <= most * PERM * (1 + 1e-9):
            return name
    return "none"


def _classes(valued: _Valued) -> _Facts:
    """Class of the tightest layer before the insulation, and with the foam counted."""
    before: list[Layer] = []
    for layer, _ in valued:
        if layer.role in (*_SPACE, "wood", "furring"):
            break
        before.append(layer)
    tightest = min(map(permeance, before), default=float("inf"))
    foam = [permeance(layer) for layer, _ in valued if layer.role == "foam"]
    # foam of at most one perm is taken as class II, never as class I
    counted = min(tightest, max(min(foam), 0.11 * PERM)) if foam else tightest
    board = sum(value for layer, value in valued if layer.role == "board")
    sheathings = [_SHEATHINGS.get(x.material) for x, _ in valued if x.role == "sheathing"]
    return {
        "interior_class": retarder_class(tightest),
        "class_with_foam": retarder_class(counted),
        "outside_resistance": board,
        "sheathing": sheathings[-1] if sheathings else "none",
    }


def _foam(case: Case, valued: _Valued) -> _Facts:
    option, catalog = case.build_up.option, case.catalog
    if option.foam is None:
        return {}
    foam = [(layer, value) for layer, value in valued if layer.role == "foam"]
    thickness = sum(layer.thickness for layer, _ in foam)
    resistance = sum(value for _, value in foam)
    board = sum(value for layer, value in valued if layer.role == "board")
    row = catalog.foams.get(option.foam) if catalog else None
    return {
        "foam_thickness": thickness,
        "foam_permeance": 1.0 / sum(1.0 / permeance(layer) for layer, _ in foam) if foam else None,
        "foam_resistance": resistance,
        "foam_and_board_resistance": resistance + board,
        "foam_stops_air_from": row.air_barrier_from if row else None,
    }


def _cover(valued: _Valued) -> _Facts:
    """What lies between the foam and the room: the thickest layer that codes know by name."""
    before: list[Layer] = []
    for layer, _ in valued:
        if layer.role in ("foam", "board"):
            break
        before.append(layer)
    else:
        return {"foam_plastic": False}  # nothing of it in this stack
    finishes = [layer for layer in before if layer.role in ("finish", "wood")]
    known = [layer for layer in finishes if layer.material in _COVERS]
    if not finishes:
        return {"cover": "nothing", "cover_thickness": 0.0}
    cover = max(known or finishes, key=lambda layer: layer.thickness)
    return {
        "cover": _COVERS.get(cover.material, "another finish"), "cover_thickness": cover.thickness,
    }  # fmt: skip
