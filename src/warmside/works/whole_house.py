"""What is done once for a house, whatever is done to its walls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.options import Gate, Step, Trade

Only = Literal["", "foam", "flames"]  # where foam is sprayed, where a flame may spill
SET_UP, RE_ENTRY, HAND_OVER = "set-up", "re-entry", "hand-over"


@dataclass(frozen=True)
class HouseWork:
    """One work for the whole house; ``row`` is the fixed row of the price file that pays it.

    Without a row its trade makes its own offer, and no money of it is in the price.
    """

    key: str
    name: str
    causes: tuple[str, ...]  # keys of the findings that ask for it
    trade: Trade
    row: str
    step: Step
    last: bool  # after the walls, else before them
    accepted: str
    warranty: str
    only: Only = ""


_OFFER = "Its trade makes its own offer."
_FIXED = "Charged once for the house."
_WITH_AFTER = "Charged with the one after the work."


def _work(
    key: str, name: str, causes: tuple[str, ...], do: str, who: str, asks: str, accepted: str,
    warranty: str, last: bool = True, row: str = "", trade: Trade = "own crew", untimed: str = "",
    only: Only = "",
) -> HouseWork:  # fmt: skip
    untimed = untimed or (_FIXED if row else _OFFER)
    step = Step(key, name, (do,), Gate(who, asks), untimed)
    return HouseWork(key, name, causes, trade, row, step, last, accepted, warranty, only)


HOUSE_WORKS: tuple[HouseWork, ...] = (
    _work(
        SET_UP, "Set up", (),
        "Machines, air supply, bins and signs in place; lots of drums or bags written down; the "
        "day's plan told to the people of the house.",
        "crew lead", "People of the house, neighbours and pets know; photo of every room.",
        "In place before the first wall is opened.", "None: it is of the day.",
        last=False, row="mobilisation",
    ),
    _work(
        "fan-test-before", "Fan test before the work", (),
        "Before the first wall is opened, by several points.",
        "whoever runs the fan", "Written down with its points; photo of the gauge.",
        "The test on file.", "The second test is held against it.",
        last=False, untimed=_WITH_AFTER,
    ),
    _work(
        "combustion-test-before", "Flames tested for spillage before the work", (),
        "Every flame that draws its air from the house, with all fans running.",
        "a licensed gas or oil technician", "No spillage, carbon monoxide in bounds, in writing.",
        "The test on file.", "By the technician.", last=False, trade="plumber", only="flames",
    ),
    _work(
        "fan-test", "Fan test after the work",
        ("air_change_50_per_h", "house_air_change_50_per_h"),
        "After the last wall is closed, by the points of the first; smoke at what still draws.",
        "whoever runs the fan", "Written down with its points; photo of the gauge.",
        "Both tests on file.", "What was promised of air is held against the second test.",
        row="fan_test",
    ),
    _work(
        "combustion-test", "Flames tested for spillage after the work",
        ("depressurisation_pa", "hazard_combustion_appliance"),
        "Every flame that draws its air from the house, with all fans running.",
        "a licensed gas or oil technician", "No spillage, carbon monoxide in bounds, in writing.",
        "Both tests on file.", "By the technician.", trade="plumber", only="flames",
    ),
    _work(
        "fresh-air", "Fresh air built with the work",
        ("ventilation_m3_s", "humidity_after_share", "hazard_room_humidity",
         "canada-nbc-2020:ca.ventilation", "us-irc-2021:us.ventilation"),
        "Fan of the flow asked for, balanced in and out, set and measured when the walls are "
        "closed.",
        "a ventilation person", "Flows measured and written down.",
        "Runs at the flow asked for.", "By whoever built it.", trade="electrician",
    ),
    _work(
        "alarms", "Smoke and carbon monoxide alarms",
        ("canada-nbc-2020:ca.alarms", "us-irc-2021:us.alarms"),
        "What is missing is added, linked where the finish is opened.",
        "a licensed electrician", "Every alarm sounds when one is tested.",
        "All sound together.", "By the maker.", trade="electrician",
    ),
    _work(
        RE_ENTRY, "Let people back in",
        ("occupancy_wait_s", "isocyanate", "hazard_re_entry", "hazard_isocyanate"),
        "Time before re-entry kept by listing and label, its log and the air's readings with it.",
        "the applicator", "Time over and air changed; the client told in writing.",
        "The log on file.", "None: it is of the day.", only="foam",
    ),
    _work(
        HAND_OVER, "Hand over",
        ("radon_bq_m3", "hazard_radon", "us-irc-2021:us.receipt",
         "canada-nbc-2020:ca.alterations"),
        "Receipt of the insulation posted; a radon measurement of three winter months begun.",
        "the crew lead; the client", "Papers and readings given over; the house shown.",
        "Papers on file with both.", "The term is in the agreement.",
    ),
)  # fmt: skip


def house_works(foam: bool, flames: bool) -> tuple[HouseWork, ...]:
    """What is done once for a house: ``foam`` is sprayed there, ``flames`` may spill there."""
    done = {"": True, "foam": foam, "flames": flames}
    return tuple(work for work in HOUSE_WORKS if done[work.only])
