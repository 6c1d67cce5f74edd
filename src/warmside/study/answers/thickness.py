"""How thick, why not thicker, and what the wood between the foam does."""

from __future__ import annotations

from warmside.promises import Figure, further_money
from warmside.study.answers.answer import (
    Asked,
    computed,
    price_of,
    resistance,
    surveyed,
)
from warmside.study.parts import OptionStudy

THREE_INCHES = 0.0762  # [m]
SAME = 0.002  # [m] thicknesses nearer than this are one


def how_thick(asked: Asked) -> None:
    """Thickness, passes, rest between them, limit of the listing."""
    option, foam = asked.chosen.option, asked.foam
    if foam is None:
        asked.say("no_foam", option=option.name)
        return
    asked.say(
        "put_forward",
        option=option.name,
        thickness=computed(option.thickness, "length"),
        depth=surveyed(asked.wall.frame.depth, "length"),
        passes=computed(foam.passes(option.thickness), "count"),
        pass_most=Figure(foam.pass_max, "length", foam.source_use),
    )
    asked.say(
        "wait",
        wait=Figure(foam.wait_between_passes, "time", foam.source_use),
        total_most=Figure(foam.total_max, "length", foam.source_use),
    )


def why_not_three(asked: Asked) -> None:
    """Three inches of closed-cell foam against what is put forward."""
    option = asked.chosen.option
    three = next(
        (
            o
            for o in asked.bays_of("closed-cell")
            if abs(o.option.thickness - THREE_INCHES) < SAME and o.price
        ),
        None,
    )
    if three is None:
        asked.ask()
    elif three.option.id == option.id:
        asked.say("same", option=option.name)
    else:
        _against(asked, three)
    asked.say("studs", framing=computed(asked.wall.frame.framing_share, "share"))


def _against(asked: Asked, other: OptionStudy) -> None:
    more = price_of(asked, other).value - price_of(asked, asked.chosen).value
    asked.say(
        "more" if more >= 0.0 else "less",
        other=other.option.name,
        now=resistance(asked.chosen),
        then=resistance(other),
        cost=asked.money(abs(more)),
    )
    _saves(asked, other)


def _saves(asked: Asked, other: OptionStudy) -> None:
    """What the other option saves beyond the one put forward, with its band."""
    more = further_money(other.worth, asked.chosen.worth)
    if more is not None:
        low, best, high = more
        asked.say("saves", saving=asked.money(best, low, high))


def half_inch(asked: Asked) -> None:
    """The next thicker option of the same kind."""
    option = asked.chosen.option
    thicker = [o for o in asked.studied(lambda o: o.is_thicker(option)) if o.price]
    if not thicker or option.foam is None:
        asked.say("none")
        asked.ask()
        return
    following = min(thicker, key=lambda o: o.option.thickness)
    added = following.warm.resistance - asked.chosen.warm.resistance
    more = price_of(asked, following).value - price_of(asked, asked.chosen).value
    asked.say(
        "step",
        thickness=computed(option.thickness, "length"),
        thicker=computed(following.option.thickness, "length"),
        added=computed(added, "resistance"),
        cost=asked.money(more),
    )
    _saves(asked, following)


def studs(asked: Asked) -> None:
    """Foam between studs against the whole wall; open-cell foam beside it."""
    option, foam = asked.chosen.option, asked.foam
    whole, found = resistance(asked.chosen), resistance(asked.wall.as_found)
    if foam is not None:
        nominal = option.thickness / foam.conductivity(option.thickness)
        asked.say(
            "nominal",
            nominal=Figure(nominal, "resistance", foam.source_heat),
            whole=whole,
            found=found,
        )
    elif asked.chosen.option.kind.worked:
        asked.say("whole", whole=whole, found=found)
    else:
        asked.say("left", found=found)
    asked.say("wood", framing=computed(asked.wall.frame.framing_share, "share"))
    field = asked.chosen.warm.field
    if field is not None:
        share = sum(k.share for k in field.by_kind if k.kind not in ("bay", "pocket"))
        asked.say("heat", heat=computed(share, "share"))
    other = next((o for o in asked.bays_of("open-cell") if o.price), None)
    if other is not None and other.option.id != option.id:
        asked.say(
            "open",
            other=other.option.name,
            resistance=resistance(other),
            cost=price_of(asked, other),
        )


def cold_studs(asked: Asked) -> None:
    """The coldest place of the room side against dew and mould."""
    cold, mould = asked.finding("coldest_surface_c"), asked.finding("surface_factor")
    if cold is None or mould is None:
        return
    asked.say(
        "coldest",
        outside=surveyed(asked.study.outside.design, "temperature"),
        place=asked.chosen.warm.coldest.where,
        surface=asked.figure(cold, "temperature"),
        dew=asked.limit(cold, "temperature"),
    )
    asked.say("mould", factor=asked.figure(mould, "factor"), needed=asked.limit(mould, "factor"))
