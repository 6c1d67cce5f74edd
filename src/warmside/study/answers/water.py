"""Vapour, rain, old boards, and what lies on both sides of the sheathing."""

from __future__ import annotations

from warmside.study.answers.answer import (
    Asked,
    finding_of,
    gathered,
    left,
    price_of,
    resistance,
    surveyed,
)
from warmside.wording import lowered


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
    if gathers is not None:
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
    if water or any(r.moisture > dry for r in readings):
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
    asked.say("studied", option=option.option.name, peak=gathered(option), left=left(option))
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
    asked.say(
        "studied",
        option=option.option.name,
        resistance=resistance(option),
        cost=price_of(asked, option),
        peak=gathered(option),
    )
    id = option.option.id
    least = finding_of(option, "foam_rsi_least")
    if least is not None and least.figure is not None and least.limit is not None:
        asked.say(
            "least", limit=least.limit_as("resistance", id), rsi=least.figure_as("resistance", id)
        )


def _sheathing(asked: Asked) -> str:
    layers = asked.wall.wall.found.sheathing
    return lowered(", ".join(asked.study.catalog.material(layer.material).name for layer in layers))


def _reason(refusals: tuple[object, ...]) -> str:
    return "; ".join(str(getattr(refusal, "reason", "")).rstrip(".") for refusal in refusals)
