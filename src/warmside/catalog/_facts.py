"""The facts that clauses ask about: a closed vocabulary, each with its unit and its question.

A fact is what one wall, option, house and place say of themselves; a clause only compares facts.
Who adds a clause needs no code as long as its facts stand here.
"""

from __future__ import annotations

from dataclasses import dataclass

from warmside.wording import Kind

VERDICT_OF = "verdict "  # "verdict 9.25.4.2": what an earlier clause of the same pack said


@dataclass(frozen=True)
class FactKind:
    """What a fact is called, in what it is measured, and what is asked when nobody knows it.

    ``kind`` is that of a figure, "text" or "yes or no"; the latter has a phrase for either.
    """

    name: str
    kind: Kind | str
    asks: str
    unit: str = ""
    yes: str = ""
    no: str = ""

    @property
    def is_number(self) -> bool:
        """Whether it can be held against a limit."""
        return self.kind not in ("text", "yes or no")


def _number(name: str, kind: Kind, unit: str, asks: str) -> FactKind:
    return FactKind(name, kind, asks, unit)


def _text(name: str, asks: str) -> FactKind:
    return FactKind(name, "text", asks)


def _yes(yes: str, no: str, asks: str) -> FactKind:
    return FactKind(asks, "yes or no", asks, yes=yes, no=no)


_NG, _RSI = "kg/(m2 s Pa)", "m2 K/W"
_LISTING = "the product's listing, from the contractor"

FACTS: dict[str, FactKind] = {
    # the place and the work
    "country": _text("the country", "In which country does the house stand?"),
    "region": _text("the province or state", "In which province or state does the house stand?"),
    "zone": _text(
        "the climate zone of the energy code",
        "Which climate zone does the county table of the energy code give?",
    ),
    "degree_days": _number("degree-days below 18 °C", "degree days", "K d", "How cold is it?"),
    "alteration": _yes(
        "this is an alteration of an old wall", "this is new work", "Is this an alteration?"
    ),
    "year_built": _number("the year built", "number", "", "When was the house built?"),
    "bedrooms": _number("bedrooms", "number", "", "How many bedrooms are there?"),
    # the option
    "opens_room": _yes(
        "the finish of the room comes off", "the finish of the room stays",
        "Is the wall opened from the room?",
    ),
    "opens_bays": _yes(
        "the bays are opened", "the bays stay closed", "Are the bays opened?"
    ),
    "takes_cladding_off": _yes(
        "the cladding comes off", "the cladding stays", "Does the cladding come off?"
    ),
    "sprays_foam": _yes("foam is sprayed", "no foam is sprayed", "Is foam sprayed?"),
    "foam_family": _text("the foam", "Which foam is sprayed?"),
    "board_outside": _yes(
        "board goes on outside", "no board goes on outside", "Does board go on outside?"
    ),
    "foam_plastic": _yes(
        "foam or foam board is in the wall", "there is no foam in the wall", "Is there foam?"
    ),
    "tightens": _yes(
        "the house leaks less air after the work", "the work changes no leak",
        "Does the work make the house tighter?",
    ),
    "openings_changed": _yes(
        "the work changes openings", "the work leaves the openings as they are",
        "Does the work change the size of a window?",
    ),
    # heat
    "wall_resistance": _number(
        "resistance of the whole wall", "resistance", _RSI, "What is the wall's resistance?"
    ),
    "resistance_before": _number(
        "resistance of the wall as found", "resistance", _RSI, "What was the wall's resistance?"
    ),
    "heat_recovery": _yes(
        "a heat recovery ventilator runs", "no heat recovery ventilator runs",
        "Does a heat recovery ventilator run?",
    ),
    "fill_share": _number(
        "share of the opened depth that is insulated", "share", "-", "How deep is the insulation?"
    ),
    "part_filled": _yes(
        "part of the opened depth is filled", "the opened depth stays empty",
        "Is the opened depth filled?",
    ),
    # vapour
    "vapour_barrier": _yes(
        "a layer passes at most 60 ng/(Pa s m²)", "no layer passes as little as 60 ng/(Pa s m²)",
        "Is there a vapour barrier?",
    ),
    "barrier_permeance": _number(
        "permeance of the tightest layer inside the sheathing", "permeance", _NG,
        f"What is the permeance of the vapour barrier, by {_LISTING}?",
    ),
    "barrier_temperature": _number(
        "temperature of the vapour barrier's warm face at the design temperature", "temperature",
        "degC", "How cold does the vapour barrier get?",
    ),
    "room_dew_point": _number(
        "dew point of the room air in winter", "temperature", "degC",
        "What is the humidity of the rooms in winter, read with an instrument?",
    ),
    "inside_share": _number(
        "share of the resistance on the warm side of the vapour barrier", "share", "-",
        "Where does the vapour barrier lie?",
    ),
    "very_cold_or_damp": _yes(
        "the place is very cold or the rooms are damp", "the place is not very cold, the rooms dry",
        "Is the house damp?",
    ),
    "low_permeance_layer": _text(
        "the outermost layer that passes little air and vapour", "Which layer is tight?"
    ),
    "outboard_ratio": _number(
        "resistance outside the tight layer, as a multiple of that inside it", "factor", "-",
        "Where does the tight layer lie?",
    ),
    "interior_class": _text(
        "vapour retarder class of the room side", "Which vapour retarder is on the room side?"
    ),
    "class_with_foam": _text(
        "vapour retarder class of the room side, foam counted",
        "Which vapour retarder is on the room side?",
    ),
    "foam_permeance": _number(
        "permeance of the foam as installed", "permeance", _NG,
        f"What is the permeance of the foam, by {_LISTING}?",
    ),
    "foam_resistance": _number(
        "resistance of the foam", "resistance", _RSI, "What is the resistance of the foam?"
    ),
    "foam_and_board_resistance": _number(
        "resistance of foam and outside board", "resistance", _RSI, "What lies outside?"
    ),
    "outside_resistance": _number(
        "resistance of the board outside", "resistance", _RSI, "What board lies outside?"
    ),
    "sheathing": _text("the sheathing", "What is the sheathing made of?"),
    "cladding_vented": _yes(
        "the cladding is vented", "the cladding is not vented", "Is the cladding vented?"
    ),
    "stud_depth": _number("depth of the framing", "length", "m", "How deep are the studs?"),
    "stud_spacing": _number("spacing of the studs", "length", "m", "How far apart are the studs?"),
    "hidden": _yes(
        "the work does not reach this space", "the work reaches this space",
        "Is there a hollow space?",
    ),
    # air
    "foam_thickness": _number(
        "least thickness of the foam", "length", "m", "How thick is the foam?"
    ),
    "foam_stops_air_from": _number(
        "the thickness from which the foam stops air", "length", "m",
        f"From which thickness does the foam stop air, by {_LISTING}?",
    ),
    "joints_sealed": _yes(
        "the joints between wood are sealed", "the joints between wood are not sealed",
        "Are the joints between wood sealed?",
    ),
    "air_sheet": _yes(
        "polyethylene covers the wall", "no polyethylene covers the wall",
        "Does a sheet recognised as an air barrier cover the wall?",
    ),
    "sheet_sealed": _yes(
        "its seams, edges and boxes are sealed", "its seams, edges and boxes are not sealed",
        "Are the seams, edges and boxes of the sheet sealed?",
    ),
    # fire
    "cover": _text("what covers the foam", "What covers the foam towards the room?"),
    "cover_thickness": _number(
        "thickness of the foam's cover", "size", "m", "How thick is the cover of the foam?"
    ),
    "foam_in_attic_or_crawl": _yes(
        "foam faces an attic or crawl space", "no foam of this work faces an attic or crawl space",
        "Does foam face an attic or crawl space?",
    ),
    "bare_foam_at_rim": _yes(
        "foam is left bare at the rim", "this work leaves no foam bare at the rim",
        "Is foam left bare at the rim joist or sill?",
    ),
    "foam_at_rim": _yes(
        "foam is left or put at the rim", "no foam is at the rim",
        "Is there foam at the rim joist or sill?",
    ),
    "rim_cover": _text("what covers the foam at the rim", "What covers the foam at the rim?"),
    "rim_foam_thickness": _number(
        "thickness of the foam at the rim", "length", "m", "How thick is the foam at the rim?"
    ),
    "foam_density": _number(
        "density of the foam in its report", "density", "kg/m3", "What is the foam's density?"
    ),
    "floor_lines_blocked": _yes(
        "the bays are closed at each floor and ceiling line",
        "the bays run open past a floor or ceiling line",
        "Are the bays closed at each floor and ceiling line?",
    ),
    "blocks_fitted": _yes(
        "this work fits the blocks, and shows each with a photo before the bays are closed",
        "no blocks are part of this work",
        "Are fire blocks fitted with this work?",
    ),
    "empty_depth": _number(
        "depth of the air left in the bay", "length", "m", "How much of the bay stays empty?"
    ),
    "block_spacing": _number(
        "height between fire blocks", "span", "m", "How far apart are the fire blocks?"
    ),
    "flame_spread": _number(
        "flame spread of the foam", "number", "-", f"What is the flame spread, by {_LISTING}?"
    ),
    "smoke_developed": _number(
        "smoke developed by the foam", "number", "-", f"What is the smoke value, by {_LISTING}?"
    ),
    "foam_standard": _text(
        "the standard that the foam is listed to",
        f"To which standard is the foam made and sprayed, by {_LISTING}?",
    ),
    "smoke_alarms": _number("smoke alarms", "number", "", "How many smoke alarms are there?"),
    "alarms_asked": _number(
        "one alarm for each bedroom and storey", "number", "", "How many alarms are asked?"
    ),
    "co_alarms": _number(
        "carbon monoxide alarms", "number", "", "How many carbon monoxide alarms are there?"
    ),
    "co_distance": _number(
        "a bedroom's door from the nearest carbon monoxide alarm", "span", "m",
        "How far is the farthest bedroom's door from a carbon monoxide alarm?",
    ),
    "burns_fuel": _yes(
        "an appliance burns fuel or a garage is attached", "nothing is known to burn fuel",
        "Does anything burn fuel?",
    ),
    "wiring": _text("old open wiring", "Has an electrician looked for old open wiring?"),
    "insulation_round_cables": _yes(
        "insulation is put round the wall's cables", "no insulation is put round cables",
        "Is insulation put round cables?",
    ),
    "cables_together": _number(
        "loaded cables in one hole or bundle", "number", "",
        "How many loaded cables share one hole or bundle?",
    ),
    "old_cable": _yes(
        "cables may be of aluminium or for 60 °C only", "cables are of copper and of 1985 or later",
        "Are there cables of aluminium, or from before 1985?",
    ),
    "recessed_light": _yes(
        "a recessed light sits in the wall", "no recessed light sits in the wall",
        "Is there a recessed light?",
    ),
    "light_contact": _yes(
        "its label allows this insulation to touch it",
        "its label does not allow this insulation to touch it",
        "What does the label of the recessed light allow to touch it?",
    ),
    "light_clearance": _number(
        "room kept around a recessed light", "length", "m",
        "How far from the recessed light does the insulation end?",
    ),
    "box_in_wall": _yes("a box sits in the wall", "no box sits in the wall", "Is there a box?"),
    "boxes_reachable": _yes(
        "every box stays in reach", "a box is covered for good", "Do all boxes stay in reach?"
    ),
    # flames, for the whole house
    "spill_prone": _yes(
        "a flame draws its air from the rooms", "no flame draws its air from the rooms",
        "Is there another flame beside the heating: a water heater, fireplace or stove?",
    ),
    "flames": _text("the flames of the house", "Which flames are there?"),
    "exhaust_drop": _number(
        "pressure that all fans together draw, where the house may be tightest", "pressure", "Pa",
        "How tight is the house after the work?",
    ),
    # water, insects, way out
    "lot_line_distance": _number(
        "distance to the lot line after the work", "span", "m", "How far is the lot line?"
    ),
    "ground_gap": _number(
        "foam above the ground", "length", "m", "How far above the ground does the foam begin?"
    ),
    "water_pipe": _yes(
        "a water or waste pipe runs in the wall", "no water or waste pipe is known in the wall",
        "Does a water pipe run in the wall?",
    ),
    "pipe_temperature": _number(
        "temperature of the pipe at the design temperature", "temperature", "degC",
        "How deep in the wall does the pipe lie, and is all new insulation on its cold side?",
    ),
    "drained_membrane": _yes(
        "a membrane lies behind the cladding", "no membrane lies behind the cladding",
        "Does a drained membrane lie behind the cladding?",
    ),
    "flashing": _yes(
        "flashings lap into the membrane", "flashings do not lap into the membrane",
        "Do flashings lap into the membrane at heads and sills?",
    ),
    "cladding_clearance": _number(
        "cladding above the ground", "length", "m", "How far above the ground is the cladding?"
    ),
    "window_area": _number(
        "clear opening of the smallest bedroom window after the work", "number", "m²",
        "What is the clear opening of the smallest bedroom window after the work?",
    ),
    "window_side": _number(
        "least side of that clear opening", "length", "m", "What is the least side of it?"
    ),
    # fresh air
    "fans": _number(
        "fans that run all the time", "flow", "m3/s", "How much air do fans move that always run?"
    ),
    "ventilation_need": _number(
        "fresh air for the floor area and bedrooms", "flow", "m3/s", "How large is the floor?"
    ),
}  # fmt: skip
