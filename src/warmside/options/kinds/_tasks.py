"""Goods and tasks that several kinds share, each task in the step where the crew does it."""

from __future__ import annotations

from warmside.options._work import Task, Ware

# A new inside finish: paint and plaster by area, boards by the sheet.
FINISH = (
    Ware("finish", "paint", "m2", 0.0, of="paint"),
    Ware("finish", "plaster", "m2", 0.10, of="plaster"),
    Ware("finish", "finish_sheet", "sheet", 0.10),
)
VAPOUR_CONTROL = (
    Ware("vapour control", "paint", "m2", 0.0, of="paint"),
    Ware("vapour control", "vapour_control", "m2", 0.10),
)
BATTS = (Ware("fill", "batt", "m2", 0.05, in_bays=True),)
BOARD_OUTSIDE = (Ware("board", "exterior_board", "m2", 0.10),)
SHEATHING = (
    Ware("sheathing", "sheathing_sheet", "sheet", 0.10),
    Ware("paper", "membrane", "m2", 0.15),
)

STRIP = (
    Task("strip", "Strip the inside finish", "strip", "m2", "strip"),
    Task("remove_fill", "Take out old fill", "old_fill", "m3", "strip"),
    Task("clean", "Clean the bays", "bay_area", "m2", "strip"),
    Task("load", "Load the bin", "debris", "m3", "strip"),
)
STRIP_OUTSIDE = (
    Task("strip_outside", "Strip the outside layers", "strip_outside", "m2", "strip-outside"),
    Task("load", "Load the bin", "debris", "m3", "strip-outside"),
)
SEAL = (
    Task("seal", "Seal the joints", "joint", "m", "seal-joints"),
    Task("gasket", "Fit box gaskets", "box_gasket", "each", "seal-joints"),
)
SPRAY = (
    Task("mask", "Mask, ventilate, set up", "masking", "m2", "spray"),
    Task("spray_closed_cell", "Spray closed-cell foam", "foam_closed_cell", "board ft", "spray"),
    Task("spray_open_cell", "Spray open-cell foam", "foam_open_cell", "board ft", "spray"),
    Task("second_pass", "Look over and spray again", "later_passes", "board ft", "more-passes"),
    Task("trim", "Trim flush with the studs", "trim", "m2", "check"),
    Task("check", "Probe, core, photograph", "sprayed_area", "m2", "check"),
)
FILL = (Task("batt", "Fit batts", "batt", "m2", "fill"),)
CONTROL = (
    Task("vapour_control", "Fit the vapour control layer", "vapour_control", "m2",
         "vapour-control"),
)  # fmt: skip
COVER = (
    Task("board", "Hang and fill finish sheets", "finish_sheet", "sheet", "cover",
         "drywaller"),
    Task("plaster", "Plaster", "plaster", "m2", "cover", "drywaller"),
    Task("paint", "Paint, two coats", "paint", "m2", "cover", "painter"),
)  # fmt: skip
CLADDING = (Task("cladding", "Put the cladding back", "refit", "m2", "cladding", "carpenter"),)
CLEAR_UP = (Task("clean_up", "Clean up", "wall_area", "m2", "clear-up"),)
