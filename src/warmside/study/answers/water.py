"""Vapour, rain, old boards, and what lies on both sides of the sheathing."""

from __future__ import annotations

from warmside.promises import TRACE
from warmside.study.answers.answer import (
    Asked,
    finding_of,
    gathered,
    left,
    price_of,
    resistance,
    surveyed,
)
from warmside.study.parts import OptionStudy
from warmside.wording import lowered
from warmside.wording.sentence import Part


def poly(asked: Asked) -> None:
    """Permeance on the warm side against the first vapour rule of the packs."""
    rule = asked.finding("vapour_permeance_most")
    if rule is None or rule.figure is None:
        asked.ask()
    else:
        asked.say(
            "holds" if rule.verdict == "holds" else "short",
            permeance=asked.figure(rule, "permeance"),
            limit=asked.limit(rule, "permeance"),
        )
    control = asked.wall.wall.found.vapour_control
    if control and asked.foam is not None:
        asked.say("old", control=lowered(asked.study.catalog.material(control).name))


def trap(asked: Asked) -> None:
    """Water by diffusion and by leaking air."""
    gathers, leaks = asked.finding("condensate_peak_kg_m2"), asked.finding("leak_water_kg")
    worked = asked.chosen.option.kind.worked
    if gathers is not None and gathered(asked.chosen).value < TRACE:
        asked.say("none")
    elif gathers is not None:
        asked.say(
            "gathers",
            peak=asked.figure(gathers, "water"),
            limit=asked.limit(gathers, "water"),
            left=left(asked.chosen),
        )
    if leaks is not None:
        asked.say(
            "leaks",
            after=asked.figure(leaks, "mass"),
            before=asked.limit(leaks, "mass"),
        )
        if worked:
            asked.say("sealed" if asked.chosen.option.seal_joints else "unsealed")
    _not_dry(asked, asked.chosen, "short" if worked else "short_left")
    asked.say("rain")


def rain(asked: Asked) -> None:
    """Moisture readings, and what must be stopped first."""
    readings = asked.wall.wall.readings
    dry = asked.study.catalog.site_figure("wood-moisture").most
    if not readings:
        asked.ask()
    else:
        highest = max(readings, key=lambda reading: reading.moisture)
        asked.say(
            "readings",
            count=surveyed(len(readings), "count"),
            highest=surveyed(highest.moisture, "share"),
            where=highest.where,
            limit=surveyed(dry, "share"),
        )
    name = asked.wall.wall.name
    water = any(
        h.kind == "bulk water" and h.open and h.wall in (None, name)
        for h in asked.study.survey.hazards
    )
    damp = asked.wall.wall.found.wet_fill
    if water or damp or any(r.moisture > dry for r in readings):
        asked.say("wet")
    if asked.foam is not None or not readings:
        asked.say("hidden")


def siding(asked: Asked) -> None:
    """Whether a sheathing stands between foam and siding."""
    found = asked.wall.wall.found
    if found.sheathing:
        asked.say("sheathed", sheathing=_sheathing(asked))
    elif found.cladding is not None:
        asked.say("bare")
    else:
        asked.ask()


def felt(asked: Asked) -> None:
    """Foam straight on the old boards."""
    found = asked.wall.wall.found
    if found.sheathing and asked.foam is not None:
        asked.say("straight", sheathing=_sheathing(asked), peak=gathered(asked.chosen))
    if found.paper:
        asked.say("paper", paper=lowered(asked.study.catalog.material(found.paper).name))
    else:
        asked.ask()
    asked.say("clean")


def sandwich(asked: Asked) -> None:
    """Foam inside and board outside, as studied on this wall."""
    option = next(asked.studied(lambda o: o.foam and o.board), None)
    if option is None:
        asked.ask()
        return
    peak = gathered(option)
    if peak.value < TRACE:
        asked.say("none", option=option.option.name)
    else:
        asked.say("studied", option=option.option.name, peak=peak, left=left(option))
    _not_dry(asked, option, "short")
    id = option.option.id
    ratio = finding_of(option, "outboard_ratio_least")
    if ratio is not None and ratio.figure is not None and ratio.limit is not None:
        asked.say("ratio", ratio=ratio.figure_as("factor", id), limit=ratio.limit_as("factor", id))
    if option.build_up.refusals:
        asked.say("refused", option=option.option.name, reason=_reason(option.build_up.refusals))


def flash(asked: Asked) -> None:
    """Thin foam with batts, as studied on this wall."""
    option = next(asked.studied(lambda o: o.foam and o.fill), None)
    if option is None:
        asked.ask()
        return
    if option.build_up.refusals:
        asked.say("refused", option=option.option.name, reason=_reason(option.build_up.refusals))
        return
    peak = gathered(option)
    what: dict[str, Part] = {
        "option": option.option.name,
        "resistance": resistance(option),
        "cost": price_of(asked, option),
    }
    if peak.value < TRACE:
        asked.say("none", **what)
    else:
        asked.say("studied", **what, peak=peak)
    _not_dry(asked, option, "short")
    id = option.option.id
    least = finding_of(option, "foam_rsi_least")
    if least is not None and least.figure is not None and least.limit is not None:
        asked.say(
            "least", limit=least.limit_as("resistance", id), rsi=least.figure_as("resistance", id)
        )


def _not_dry(asked: Asked, option: OptionStudy, sentence: str) -> None:
    """What of an option does not stay dry by the hour, where anything does not."""
    hours = option.dry.hourly
    short = [] if hours is None else [f for f in hours.findings if f.verdict == "falls short"]
    if short:
        asked.say(sentence, reason=short[0].reason)
        asked.links.append((option.option.id, short[0].key))


def _sheathing(asked: Asked) -> str:
    layers = asked.wall.wall.found.sheathing
    return lowered(", ".join(asked.study.catalog.material(layer.material).name for layer in layers))


def _reason(refusals: tuple[object, ...]) -> str:
    return "; ".join(str(getattr(refusal, "reason", "")).rstrip(".") for refusal in refusals)
