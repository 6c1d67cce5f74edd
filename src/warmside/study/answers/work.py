"""How the work is done: from which side, round openings and rims, in winter, for good."""

from __future__ import annotations

from warmside.catalog import Source
from warmside.framing import JointKind
from warmside.promises import Figure
from warmside.study.answers.answer import (
    Asked,
    computed,
    price_of,
    resistance,
    surveyed,
)
from warmside.units import POUND_FORCE
from warmside.wording import lowered

_FLOORS: tuple[JointKind, ...] = (
    "plate to floor", "sill to foundation", "ribbon and joist",
)  # fmt: skip
_BALLOON: tuple[JointKind, ...] = ("block to stud", "ribbon and joist")
WIRING = ("knob-and-tube wiring", "energised old wiring")
_RACKING = Source(
    "Racking of panels of 8 ft by 8 ft, studs 16 in apart, vinyl over felt outside and gypsum "
    "board inside, with and without foam; quoted by a contractor",
    "second-hand",
)
RACKED = (800.0 * POUND_FORCE, 2800.0 * POUND_FORCE)  # [N] without foam, with it


def wiring(asked: Asked) -> None:
    """Old wiring found, cleared or not, and boxes to look into."""
    name = asked.wall.wall.name
    found = [h for h in asked.study.survey.hazards if h.kind in WIRING and h.wall in (None, name)]
    known = asked.study.catalog
    for hazard in found:
        row = known.hazard(hazard.kind)
        if not hazard.open:
            asked.say("cleared", title=row.title, where=hazard.where, by=hazard.cleared_by)
        else:
            asked.say(
                "open", title=row.title, state=hazard.state, where=hazard.where, clears=row.clears
            )
    asked.rest_on(
        *(f for f in asked.chosen.safe if f.name in {known.hazard(k).title for k in WIRING})
    )
    if not found:
        asked.say("none")
        if asked.wall.wall.boxes and asked.chosen.option.kind.worked:
            asked.say("boxes", boxes=surveyed(len(asked.wall.wall.boxes), "count"))
    asked.say("later")


def from_outside(asked: Asked) -> None:
    """Work from outside beside what is put forward."""
    option = next(asked.studied(lambda o: o.kind.sprays_from_outside), None)
    if option is None:
        asked.ask()
    elif option.price is None:
        reason = "; ".join(r.reason.rstrip(".") for r in option.build_up.refusals)
        asked.say("refused", option=option.option.name, reason=reason)
    elif asked.chosen.price is None or option.option.id == asked.chosen.option.id:
        asked.say(
            "alone",
            option=option.option.name,
            resistance=resistance(option),
            cost=price_of(asked, option),
        )
    else:
        asked.say(
            "studied",
            option=option.option.name,
            resistance=resistance(option),
            cost=price_of(asked, option),
            chosen=lowered(asked.chosen.option.name),
            whole=resistance(asked.chosen),
            chosen_cost=price_of(asked, asked.chosen),
        )


def injected(asked: Asked) -> None:
    """A closed bay against what one pass may be."""
    foams = asked.study.catalog.foams.values()
    foam = asked.foam or next(f for f in foams if f.family == "closed-cell")
    depth = asked.wall.frame.depth
    if foam.passes(depth) > 1:
        asked.say(
            "depth",
            depth=surveyed(depth, "length"),
            pass_most=Figure(foam.pass_max, "length", foam.source_use),
        )
    else:
        asked.say("thin", depth=surveyed(depth, "length"))
    blown = (
        o for o in asked.studied(lambda o: o.fill and not o.foam) if not o.option.kind.opened.bays
    )
    fibre = next((o for o in blown if o.price), None)
    if fibre is None:
        asked.say("other")
        return
    asked.say(
        "fibre",
        option=fibre.option.name,
        resistance=resistance(fibre),
        cost=price_of(asked, fibre),
    )


def rim(asked: Asked) -> None:
    """Joints at floors and sills."""
    gains = [gain for gain in asked.chosen.tight.gains if gain.kind in _FLOORS]
    if not gains:
        asked.ask()
    else:
        asked.say(
            "joints",
            metres=computed(sum(g.length for g in gains), "span"),
            sealed=computed(sum(g.sealed for g in gains), "hole"),
            open=computed(sum(g.open for g in gains), "hole"),
        )
    asked.say("cover")


def headers(asked: Asked) -> None:
    """Gaps round frames, and spaces that foam does not reach."""
    frame = asked.wall.frame
    round_frames = frame.joint_length_by_kind().get("opening perimeter", 0.0)
    asked.say(
        "openings",
        openings=surveyed(len(frame.holes), "count"),
        perimeter=computed(round_frames, "span"),
    )
    pocket = asked.finding("pocket_surface_c")
    if pocket is None:
        asked.say("none")
        return
    asked.say(
        "pockets",
        pockets=computed(len(frame.pockets), "count"),
        surface=asked.figure(pocket, "temperature"),
    )
    asked.say("opened" if asked.chosen.option.kind.worked else "closed")


def brace(asked: Asked) -> None:
    """What is known of stiffness, and that none of it counts."""
    without, with_foam = RACKED
    asked.say(
        "tests",
        **{
            "with": Figure(with_foam, "force", _RACKING),
            "without": Figure(without, "force", _RACKING),
        },
    )
    asked.say("none")
    if asked.wall.wall.braces:
        asked.say("braces", braces=surveyed(len(asked.wall.wall.braces), "count"))


def balloon(asked: Asked) -> None:
    """Fire blocks and the ends of the bays."""
    wall = asked.wall.wall
    if wall.frame == "platform":
        asked.say("platform")
        return
    asked.say("balloon", state=wall.fire_blocks)
    if asked.chosen.option.kind.worked:
        asked.say("blocked")
    length = sum(gain.length for gain in asked.chosen.tight.gains if gain.kind in _BALLOON)
    if length > 0.0:
        asked.say("joints", metres=computed(length, "span"))
    if wall.fire_blocks == "unknown":
        asked.ask()


def mice(asked: Asked) -> None:
    """Pests, and taking it out again."""
    if asked.foam is None:
        asked.say("no_foam")
        return
    asked.say("pests")
    asked.say("removal", board_feet=foam_volume(asked))


def winter(asked: Asked) -> None:
    """Temperature and moisture of the wood; papers."""
    known = asked.study.catalog
    if asked.foam is None:
        asked.say("no_foam")
    else:
        warm = known.site_figure("substrate-temperature", asked.foam.family)
        asked.say(
            "cold",
            low=Figure(warm.least, "temperature", warm.source),
            high=Figure(warm.most, "temperature", warm.source),
            coldest=surveyed(asked.study.outside.coldest_month, "temperature"),
        )
    asked.say("wet", limit=surveyed(known.site_figure("wood-moisture").most, "share"))
    asked.say("papers")


def foam_volume(asked: Asked) -> Figure:
    """Foam in place, by the takeoff's stacks."""
    volume = sum(
        stack.area * layer.thickness
        for stack in asked.chosen.build_up.stacks
        for layer in stack.layers
        if layer.role == "foam"
    )
    return computed(volume, "foam")
