"""The thickness curve: what each further half inch of foam gives, costs and needs."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.errors import Fault, InputError
from warmside.estimate import price, takeoff
from warmside.options import Beyond, BuildUp, Option, apply, thickness_options
from warmside.physics.conduction import combined
from warmside.promises import (
    Change,
    Three,
    Worth,
    banded,
    further_money,
    present_value_factor,
    worth,
)
from warmside.study.fields import solved_resistance
from warmside.study.house import Study
from warmside.study.parts import WallStudy
from warmside.wording import Figure, Sentence, counted, joined, lowered, say

HALF_INCH = 0.0127  # [m]
_NOTHING: Three = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class ThicknessStep:
    """One thickness: the whole framed wall, and what it gives beyond the step before."""

    option: Option
    beyond: Beyond  # what it takes beyond the full depth of the bays
    foam: float  # [m]
    added: float  # [m] insulation beyond the step before
    into_room: float  # [m] by which the wall grows into the room
    outwards: float  # [m] by which it grows outwards
    resistance: float  # [m2 K/W] whole framed wall
    further_resistance: float  # [m2 K/W]
    worth: Worth
    cost: float | None  # [currency] of this wall
    further_cost: float | None
    further_heat: float  # [J] a year
    further_money: Three | None  # [currency] a year, at today's price: least, best, most
    further_value: Three | None  # [currency] of that saving over the years, today
    passes: int
    trimming: bool  # foam stands within half an inch of the stud face
    refused: str = ""  # why it cannot be built here

    @property
    def pays(self) -> bool | None:
        """Whether what is added saves more than it costs; None where that is not known."""
        if self.further_cost is None or self.further_value is None:
            return None
        return self.further_value[1] >= self.further_cost


@dataclass(frozen=True)
class ThicknessCurve:
    """Thicknesses of one foam on one wall, thin to thick, furring and board last."""

    wall: str
    currency: str
    years: int
    steps: tuple[ThicknessStep, ...]
    best: ThicknessStep | None  # worth most over the years; None where it is not known
    sentence: Sentence


def thickness_curve(
    study: Study, wall: str, foam: str | None = None, *, studied_only: bool = False
) -> ThicknessCurve:
    """What each further half inch of closed-cell foam does on one wall, joints sealed throughout.

    From 25 mm by half inches to the full depth of the bays; from there furring filled with foam,
    and board outside, both compared with the full depth.

    Parameters
    ----------
    study : Study
        The house.
    wall : str
        Name of the wall.
    foam : str, optional
        A closed-cell foam of the catalog; its first one when not given.
    studied_only : bool
        Only thicknesses that the study holds as options, so that nothing new is solved.

    Returns
    -------
    ThicknessCurve
        Steps with what each adds, and one plain sentence.

    Raises
    ------
    InputError
        A wall that the study does not have, or a foam of another family.
    UnknownRowError
        A foam that the catalog does not hold.
    """
    chosen = study.catalog.foam(foam) if foam else None
    if chosen is not None and chosen.family != "closed-cell":
        raise InputError([Fault("thickness curve, foam", chosen.id, "a closed-cell foam")])
    place = study.wall(wall)
    steps: list[ThicknessStep] = []
    full: ThicknessStep | None = None
    held = [studied.option for studied in place.options]
    curve = thickness_options(place.wall, study.survey.house, study.catalog, foam)
    for beyond, option in curve:
        if studied_only and option not in held:
            continue
        if not beyond:
            before = steps[-1] if steps else None
            full = _step(study, place, option, beyond, before)
            steps.append(full)
            continue
        same = [step for step in steps if step.beyond == beyond]
        steps.append(_step(study, place, option, beyond, same[-1] if same else full))
    terms = study.heating.terms
    best = _best(steps)
    return ThicknessCurve(
        wall,
        study.prices.currency,
        terms.years if terms else study.prices.years,
        tuple(steps),
        best,
        joined([_sentence(steps, best, study), _put_forward(place, steps, best)]),
    )


def _step(
    study: Study, place: WallStudy, option: Option, beyond: Beyond, before: ThicknessStep | None
) -> ThicknessStep:
    as_found = place.as_found.build_up
    held = next((o for o in place.options if o.option == option), None)
    build_up = (
        held.build_up
        if held
        else apply(option, place.wall, place.frame, study.catalog, study.survey.hazards)
    )
    resistance = _resistance(place, build_up)
    there = place.as_found.change.before
    after = place.frame.net_area / resistance
    removed = held.change.removed if held else study.air.walls[place.wall.name].removed
    change = Change(there, after, removed)
    cost = held.cost if held else None
    if held is None and build_up.can_be_built:
        lines = takeoff(build_up, place.wall, study.catalog, study.prices)
        cost = price(lines, study.prices).known
    value = worth(change, study.heating, cost)
    money = further_money(value, before.worth if before else None)
    foam = study.catalog.foam(option.foam or "")
    behind = before.option if before else None
    return ThicknessStep(
        option=option,
        beyond=beyond,
        foam=option.thickness,
        added=option.thickness
        + option.board_thickness
        - ((behind.thickness + behind.board_thickness) if behind else 0.0),
        into_room=max(as_found.y0 - build_up.y0, 0.0),
        outwards=option.board_thickness,
        resistance=resistance,
        further_resistance=resistance
        - (before.resistance if before else place.as_found.warm.resistance),
        worth=value,
        cost=cost,
        further_cost=_less(cost, before.cost if before else 0.0),
        further_heat=value.heat.best - (before.worth.heat.best if before else 0.0),
        further_money=money,
        further_value=_valued(money, study),
        passes=foam.passes(option.thickness),
        trimming=not beyond and option.thickness > place.frame.depth - HALF_INCH,
        refused="; ".join(refusal.reason for refusal in build_up.refusals),
    )


def _resistance(place: WallStudy, build_up: BuildUp) -> float:
    """Resistance of the framed wall [m2 K/W], by the field where the study solved fields."""
    for studied in place.options:
        if studied.option == build_up.option:
            return studied.warm.resistance
    if place.as_found.warm.field is None:
        return combined(build_up.stacks).resistance
    return solved_resistance(build_up)


def _less(more: float | None, base: float | None) -> float | None:
    return None if more is None or base is None else more - base


def _valued(money: Three | None, study: Study) -> Three | None:
    terms = study.heating.terms
    if money is None or terms is None or terms.discount is None:
        return None
    factor = present_value_factor(terms.discount, terms.years, terms.rise)
    return money[0] * factor, money[1] * factor, money[2] * factor


def _best(steps: list[ThicknessStep]) -> ThicknessStep | None:
    """The step worth most over the years."""
    known = [(s.worth.net_present_value[1], s) for s in steps if s.worth.net_present_value]
    return max(known, key=lambda pair: pair[0])[1] if known else None


def _put_forward(
    place: WallStudy, steps: list[ThicknessStep], best: ThicknessStep | None
) -> Sentence:
    """Why another thickness is recommended than the one that pays best."""
    option = place.chosen.option
    if best is None or best.option == option:
        return say("")
    first = steps[0].option
    on_curve = first == option or first.is_thicker(option) or option.is_thicker(first)
    if not on_curve or place.chosen.price is None:
        return say("")
    return say(
        "We recommend {thickness}: {why}",
        thickness=Figure(option.thickness, "size"),
        why=lowered(str(place.why_chosen)),
    )


def _sentence(steps: list[ThicknessStep], best: ThicknessStep | None, study: Study) -> Sentence:
    """One plain sentence: where a further half inch stops paying."""
    if best is None or best.worth.net_present_value is None:
        return say(
            "Without a fuel price and a discount rate it is not known where foam stops paying."
        )
    terms = study.heating.terms
    if terms is None:
        return say("")
    currency, value = study.prices.currency, best.worth.net_present_value[1]
    where = Figure(best.foam, "size")
    invented = " (invented prices)" if study.prices.invented else ""
    after = [s for s in steps if not s.beyond and s.foam > best.foam + 1e-9 and s.pays is not None]
    lost = value < 0.0
    if not after:
        return say(
            "Up to {where}, the whole depth, each further half inch saves more than it costs over "
            "{years}, but the work as a whole does not pay{invented}."
            if lost
            else "Up to {where}, the whole depth, each further half inch saves more than it costs "
            "over {years}{invented}.",
            where=where,
            years=counted(terms.years, "year"),
            invented=invented,
        )
    following = after[0]
    return say(
        "No depth of foam pays here over {years}; {where} comes nearest. Going on to {thicker} "
        "adds {resistance} to the framed wall and {saving} a year, worth {worth}, and costs "
        "{cost}{invented}."
        if lost
        else "Foam pays best at {where}: going on to {thicker} adds {resistance} to the framed "
        "wall and {saving} a year, worth {worth} over {years}, and costs {cost}{invented}.",
        where=where,
        thicker=Figure(following.foam, "size"),
        resistance=Figure(following.further_resistance, "resistance"),
        saving=banded(following.further_money or _NOTHING, "money", currency),
        worth=banded(following.further_value or _NOTHING, "money", currency),
        years=counted(terms.years, "year"),
        cost=Figure(following.further_cost or 0.0, "money", currency=currency),
        invented=invented,
    )
