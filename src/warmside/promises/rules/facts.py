"""The facts of one option on one wall: of the house and place, of the work, of each stack."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from warmside.catalog import Facts, country_of, region_of
from warmside.options import LEAVE, apply
from warmside.physics.conduction import code_resistance
from warmside.promises.rules.case import Case
from warmside.promises.rules.layers import layer_facts, places
from warmside.survey import STOREY_HEIGHT, House, Wall
from warmside.works import blocks_close_it

CABLES_NEW = 1985  # cables for 90 °C since then, from memory
WIRED_NEW = 1950  # knob-and-tube wiring is presumed in older houses; from memory


def facts_of(case: Case) -> Iterator[tuple[str, Facts]]:
    """Facts of each insulated stack, with where it is; a fact that nobody knows is left out.

    Solid wood is no stack of its own here: codes ask their questions of the space between studs,
    and heat through wood counts in the wall's resistance.
    """
    whole = _known({
        **_place(case), **_work(case), **_wall(case), **_rim(case), **_outside(case),
        **_electrical(case), **_listing(case), **_house(case),
    })  # fmt: skip
    whole |= {"wall_resistance": code_resistance(case.build_up.stacks)}
    for where, stack in places(case.build_up):
        yield where, whole | _known(layer_facts(case, where, stack))


def _known(facts: dict[str, float | bool | str | None]) -> Facts:
    return {name: value for name, value in facts.items() if value is not None}


def _place(case: Case) -> dict[str, float | bool | str | None]:
    country = country_of(case.climate)
    return {
        "country": country.name if country else None,
        "region": region_of(case.climate),
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
        "resistance_before": _before(case),
    }


def _before(case: Case) -> float | None:
    """Resistance of the wall as found [m2 K/W]."""
    if case.wall is None or case.catalog is None:
        return None
    found = case.found or apply(LEAVE, case.wall, case.build_up.frame, case.catalog)
    return code_resistance(found.stacks)


def _rim(case: Case) -> dict[str, float | bool | str | None]:
    """Foam at the rim: as the survey has it, else none unless the work can reach it."""
    wall, sprays = case.wall, case.build_up.option.foam is not None
    if wall is None or wall.rim_foam is None:
        unknown = None if sprays and _rim_in_reach(case) else False
        return {"foam_at_rim": unknown, "bare_foam_at_rim": unknown}
    there = wall.rim_foam > 0.0
    return {
        "foam_at_rim": there,
        "bare_foam_at_rim": there and wall.rim_cover == "nothing",
        "rim_cover": wall.rim_cover,
        "rim_foam_thickness": wall.rim_foam,
    }


def _outside(case: Case) -> dict[str, float | bool | str | None]:
    """What lies around the outer face, and how near the lot line comes with the work."""
    wall, option = case.wall, case.build_up.option
    if wall is None:
        return {}
    added = option.board_thickness if option.board is not None else 0.0
    flashing = {"lapped": True, "missing": False}.get(wall.found.flashing or "")
    return {
        "lot_line_distance": None if wall.lot_line is None else max(wall.lot_line - added, 0.0),
        "flashing": flashing,
        "cladding_clearance": wall.found.cladding_clearance,
        "ground_gap": wall.found.cladding_clearance,  # board ends where the cladding does
    }


def _electrical(case: Case) -> dict[str, float | bool | str | None]:
    wall, option = case.wall, case.build_up.option
    wraps = option.foam is not None or option.fill is not None
    if wall is None:
        return {"insulation_round_cables": wraps}
    lights = [box for box in wall.boxes if box.kind == "recessed light"]
    boxes = [box for box in wall.boxes if box.kind not in ("recessed light", "duct")]
    allowed = ("for foam",) if option.foam is not None else ("for foam", "for insulation")
    labels = [None if box.rated is None else box.rated in allowed for box in lights]
    kept = [box.clearance for box in lights]
    year = wall.year_built or (case.house.year_built if case.house else 0)
    return {
        "insulation_round_cables": wraps,
        "cables_together": None if wall.cables_together is None else float(wall.cables_together),
        "old_cable": False if year >= CABLES_NEW or _rewired(case, wall) else None,
        "recessed_light": bool(lights),
        "light_contact": None if None in labels else all(labels),
        "light_clearance": min((one for one in kept if one is not None), default=None)
        if None not in kept
        else None,
        "box_in_wall": bool(boxes),
        "boxes_reachable": all(box.reachable for box in boxes),
    }


def _rewired(case: Case, wall: Wall) -> bool:
    """Whether somebody named looked at old cables and ruled them out."""
    return any(
        h.recorded and h.wall in (None, wall.name) and h.kind == "aluminium wiring"
        for h in case.hazards
    )


def _listing(case: Case) -> dict[str, float | bool | str | None]:
    """What was read in the listing of the foam on the truck."""
    house = case.house
    if house is None or house.listing is None or case.build_up.option.foam is None:
        return {}
    return {
        "foam_standard": house.listing.standard,
        "flame_spread": house.listing.flame_spread,
        "smoke_developed": house.listing.smoke_developed,
        "foam_density": house.listing.density,
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
        "blocks_fitted": blocks_close_it(case.build_up, wall),
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
        "burns_fuel": _burns(house),
        "alarms_asked": float(house.bedrooms) + ceil(house.storeys),
        "smoke_alarms": _count(house.smoke_alarms),
        "co_alarms": _count(house.carbon_monoxide_alarms),
        "co_distance": house.alarm_distance,
    }


def _count(number: int | None) -> float | None:
    return None if number is None else float(number)


def _burns(house: House) -> bool:
    """Whether a flame burns in the house, or a car next to it."""
    vents = (house.heating.venting, *(one.venting for one in house.appliances))
    return house.attached_garage or any(vent != "none" for vent in vents)


def flame_facts(house: House, drop: float) -> Facts:
    """What the whole house's clauses ask of its flames; ``drop`` [Pa] by all fans together.

    Flames beside the heating that nobody looked for are not known, unless the heating itself
    already draws its air from the rooms.
    """
    prone = ("natural draft", "induced draft")
    heater = house.heating.venting
    draws = [one for one in house.appliances if one.venting in prone]
    water = any("water" in one.name.lower() for one in draws)
    looked = bool(house.appliances) or house.other_flames != "unknown"
    spills = heater in prone or bool(draws) or (None if not looked else False)
    if heater == "natural draft":
        boiler = house.heating.appliance == "boiler" and water
        flames = "draft boiler and draft water heater" if boiler else "draft furnace or boiler"
    elif heater == "induced draft":
        flames = "fan-assisted and draft water heater" if water else "fan-assisted alone"
    elif draws:
        flames = "draft water heater alone" if water else "draft furnace or boiler"
    else:
        flames = "sealed or none"
    return _known({"spill_prone": spills, "flames": flames, "exhaust_drop": drop})
