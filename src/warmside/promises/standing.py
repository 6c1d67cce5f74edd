"""A wall that stays closed: what readings and hazards say of it, promise by promise.

A house may keep its present failings: what is no worse than before is no fault of leaving it. What
was read or seen wet is another thing: readings overrule what is computed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from warmside.catalog import Catalog, Source
from warmside.options import BuildUp
from warmside.promises.dryness import FoundWet, found_wet
from warmside.promises.finding import Finding
from warmside.survey import Hazard, Wall
from warmside.wording import Figure, Promise, Sentence, Verdict, counted, plain, say

_LEFT = Source("What is not touched is no worse than before", "common practice")
_EXISTING = Source(
    "Existing-building rules ask nothing of a lawful wall that is left alone; the official decides",
    "common practice",
)


def wet_evidence(
    wall: Wall, hazards: Iterable[Hazard], build_up: BuildUp, catalog: Catalog
) -> tuple[Finding, ...]:
    """What was found wet in a wall whose bays stay closed; nothing where none was, or they open.

    Parameters
    ----------
    wall : Wall
        As surveyed, with its readings.
    hazards : iterable of Hazard
        Of the whole house.
    build_up : BuildUp
        The option applied to the wall.
    catalog : Catalog
        How dry wood must be.

    Returns
    -------
    tuple of Finding
        Of the promise dry: falls short, unless the option is to mend it first.
    """
    kind = build_up.option.kind
    if kind.opened.bays:
        return ()
    limit = catalog.site_figure("wood-moisture")
    verdict: Verdict = "needs a person" if kind.mends else "falls short"
    change = say(
        "Find the water, have its trade mend it, dry the wall and read again; the price of the "
        "mending is not known here."
    )

    def finding(key: str, name: str, reason: Sentence, figure: float | None) -> Finding:
        return Finding(
            "dry", key, name, figure, "kg/kg" if figure is not None else "",
            limit.most if figure is not None else None,
            "most" if figure is not None else "none", verdict, reason, change, limit.source,
        )  # fmt: skip

    found = [
        finding(one.key, _NAMES.get(one.what, "Water or rot found"), _reason(one, limit.most),
                one.moisture)
        for one in sorted(
            found_wet(wall, hazards, limit.most), key=lambda one: -(one.moisture or 0.0)
        )
        if one.named
    ]  # fmt: skip
    found.reverse()  # of two with one key the wetter stays
    return tuple({one.key: one for one in found}.values())[::-1]


_NAMES = {"wet wood": "Wood found wet", "wet fill": "Fill found wet", "damp fill": "Fill found wet"}


def _reason(one: FoundWet, limit: float) -> Sentence:
    """What was read or seen, in one or two sentences."""
    if one.moisture is not None:
        return say(
            "Wood read {moisture} at {where}: the wall is wet today, whatever is computed. Dry "
            "wood reads {limit} or less.",
            moisture=Figure(one.moisture, "share"),
            where=one.where,
            limit=Figure(limit, "share"),
        )
    if one.what.endswith("fill"):
        return say("The fill was found {state}.", state=one.what.split()[0])
    return say(
        "{what}, {state}: {where}.",
        what=one.what.capitalize(),
        state=one.state,
        where=one.where,
    )


def asked_of_closed(findings: Iterable[Finding], build_up: BuildUp) -> tuple[Finding, ...]:
    """Clauses for new work, held against a wall that stays closed: an official's question.

    No option drops out on a clause of which only the official can say whether it applies.
    """
    closed = not build_up.option.kind.opened.bays
    ask = plain(
        "Ask the building official whether this applies to an existing wall that stays closed."
    )
    return tuple(
        replace(one, verdict="needs a person", change=ask)
        if closed and one.verdict == "falls short"
        else one
        for one in findings
    )


def as_it_stands(wall: Wall, hazards: Iterable[Hazard], build_up: BuildUp) -> tuple[Finding, ...]:
    """Tight, legal, safe and worth it of a wall that is left; nothing where it is worked on."""
    if build_up.option.kind.worked:
        return ()
    open_ = [h for h in hazards if h.wall in (None, wall.name) and h.state != "cleared"]
    return tuple(_left(open_))


def _left(hazards: list[Hazard]) -> Iterator[Finding]:
    yield _finding("tight", "left_tight", "Joints", "holds",
                   say("The joints stay as they are: no tighter, no leakier."), _LEFT)  # fmt: skip
    legal = say("Nothing is altered, so that no clause is called up.")
    yield _finding("legal", "left_legal", "An existing wall", "does not apply", legal, _EXISTING)
    if hazards:
        reason = say(
            "{what} noted: nothing is disturbed, but what was seen should be looked at all the "
            "same.",
            what=counted(len(hazards), "hazard"),
        )
    else:
        reason = say("Nothing is disturbed, sprayed or shut in.")
    yield _finding("safe", "left_safe", "Nothing disturbed",
                   "needs a person" if hazards else "holds", reason, _LEFT)  # fmt: skip
    yield _finding("worth it", "left_worth", "Cost and saving", "holds",
                   say("It costs nothing and saves nothing."), _LEFT)  # fmt: skip


def _finding(
    promise: Promise, key: str, name: str, verdict: Verdict, reason: Sentence, source: Source
) -> Finding:
    return Finding(promise, key, name, None, "", None, "none", verdict, reason, say(""), source)


def no_less_resistance(before: float, after: float) -> tuple[Finding, ...]:
    """A wall never loses more heat than it did: transmissions [W/K], half a percent apart.

    Nothing to say where it loses no more.
    """
    if after <= before * 1.005:
        return ()
    return (
        Finding(
            promise="warm",
            key="less_resistance_than_found",
            name="Heat through the wall, against as found",
            figure=after,
            unit="W/K",
            limit=before,
            limit_is="most",
            verdict="falls short",
            reason=say(
                "The wall would lose {share} of the heat that it loses now: what is in it works "
                "better than what would go in.",
                share=Figure(after / before, "share"),
            ),
            change=say("Leave a sound fill in place."),
            source=_LEFT,
        ),
    )
