"""The facts of one option on one wall: of the house and place, of the work, of each stack."""

from __future__ import annotations

from collections.abc import Iterator

from warmside.catalog import Facts, country_of
from warmside.promises.rules.case import Case
from warmside.promises.rules.layers import layer_facts, places
from warmside.survey import STOREY_HEIGHT, Wall

WIRED_NEW = 1950  # knob-and-tube wiring is presumed in older houses; from memory


def facts_of(case: Case) -> Iterator[tuple[str, Facts]]:
    """Facts of each insulated stack, with where it is; a fact that nobody knows is left out.

    Solid wood is no stack of its own here: codes ask their questions of the space between studs,
    and heat through wood counts in the wall's resistance.
    """
    whole = _known({**_place(case), **_work(case), **_wall(case), **_house(case)})
    for where, stack in places(case.build_up):
        yield where, whole | _known(layer_facts(case, where, stack))


def _known(facts: dict[str, float | bool | str | None]) -> Facts:
    return {name: value for name, value in facts.items() if value is not None}


def _place(case: Case) -> dict[str, float | bool | str | None]:
    country = country_of(case.climate)
    return {
        "country": country.name if country else None,
        "region": case.climate.region,
        "zone": zone_word(case.climate.zone) or None,
        "degree_days": case.climate.degree_days,
        "alteration": True,
    }


def zone_word(zone: str) -> str:
    """A climate zone as clauses write it: the number alone, and 4C for marine 4."""
    return zone if zone.upper() == "4C" else zone.rstrip("ABCabc")


def _work(case: Case) -> dict[str, float | bool | str | None]:
    option = case.build_up.option
    opened, sprays = option.kind.opened, option.foam is not None
    return {
        "opens_room": opened.room,
        "opens_bays": opened.bays,
        "takes_cladding_off": opened.cladding,
        "sprays_foam": sprays,
        "foam_family": _family(case) if sprays else "none",
        "board_outside": option.board is not None,
        "foam_plastic": sprays or _foam_board(option.board),
        "tightens": sprays or option.seal_joints,
        "openings_changed": False,  # no kind of option touches a window
        "joints_sealed": option.seal_joints,
        "air_sheet": option.vapour_control == "polyethylene",
        "sheet_sealed": option.seal_joints,
        "foam_in_attic_or_crawl": None if _over_crawl(case) and sprays else False,
        "bare_foam_at_rim": None if sprays and _rim_in_reach(case) else False,
    }


def _family(case: Case) -> str | None:
    foam = case.build_up.option.foam
    row = case.catalog.foams.get(foam) if case.catalog and foam else None
    return row.family if row else None


def _foam_board(board: str | None) -> bool:
    """Whether a board is of foam plastic; boards of mineral wool or wood fibre are not."""
    return board is not None and board.split("-")[0] in ("eps", "xps", "polyiso")


def _over_crawl(case: Case) -> bool:
    house, wall = case.house, case.wall
    crawl = house is not None and house.around.foundation == "crawl space"
    return crawl and wall is not None and wall.frame == "balloon"


def _rim_in_reach(case: Case) -> bool:
    """Bays of a balloon frame run past the joist ends into the basement."""
    wall = case.wall
    return wall is not None and wall.frame == "balloon" and wall.storey < 2


def _wall(case: Case) -> dict[str, float | bool | str | None]:
    wall, depth = case.wall, case.build_up.frame.depth
    facts: dict[str, float | bool | str | None] = {"stud_depth": depth}
    if wall is None:
        return facts
    blocks = wall.fire_blocks
    balloon = wall.frame == "balloon"
    height = max(top for _, _, top in wall.columns)
    closed = {"present": True, "missing": False}.get(blocks) if balloon else True
    storey = height / max(round(height / STOREY_HEIGHT), 1)  # blocks at each floor line
    return facts | {
        "year_built": float(wall.year_built or case.house.year_built) if case.house else None,
        "stud_spacing": wall.spacing,
        "floor_lines_blocked": closed,
        "block_spacing": None if closed is None else storey if closed and balloon else height,
        "cladding_vented": wall.found.cladding_vented or case.build_up.option.board is not None,
        "drained_membrane": bool(wall.found.paper) or case.build_up.option.kind.opened.sheathing,
        "water_pipe": any(pipe.kind in ("water", "drain") for pipe in wall.pipes),
        "wiring": _wiring(case, wall),
    }


def _wiring(case: Case, wall: Wall) -> str | None:
    """Old open wiring: live, cleared, none, or None where nobody looked."""
    old = ("knob-and-tube wiring", "energised old wiring")
    mine = [h for h in case.hazards if h.kind in old and h.wall in (None, wall.name)]
    if any(h.state == "found" for h in mine):
        return "live"
    if any(h.open for h in mine):
        return None
    if mine:
        return "cleared by a named person"
    year = wall.year_built or (case.house.year_built if case.house else 0)
    return "none" if year >= WIRED_NEW else None


def _house(case: Case) -> dict[str, float | bool | str | None]:
    house = case.house
    if house is None:
        return {}
    floor = house.floor
    return {
        "bedrooms": float(house.bedrooms),
        # ASHRAE 62.2: 0.15 L/s of each m2 and 3.5 L/s for each bedroom and one more
        "ventilation_need": (0.15 * floor + 3.5 * (house.bedrooms + 1)) * 1e-3,
        "fans": house.mechanical_ventilation,
        "heat_recovery": False if house.mechanical_ventilation in (None, 0.0) else None,
        "burns_fuel": house.heating.venting != "none",
        "alarms_asked": float(house.bedrooms) + house.storeys,
    }
