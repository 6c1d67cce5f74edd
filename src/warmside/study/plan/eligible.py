"""Which options of a wall a plan may hold, and what each is to the plan."""

from __future__ import annotations

from collections.abc import Iterable
from math import floor

from warmside.promises import Finding
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.plan.table import Move

_WARMER = 1.05  # [-] of R as found that an option must reach to count as comfort
_SAME = 1e-6
# [-] in winter: drier air than that is no advice; common practice, no source
LEAST_HUMIDITY = 0.25


def shortfalls(option: OptionStudy, found: OptionStudy) -> tuple[Finding, ...]:
    """What keeps an option out of every plan: it falls short, and is not merely as it was.

    A wall whose bays stay closed may keep what it fell short of before, if that becomes no worse.
    """
    before = {f.key: f for f in found.findings if f.verdict == "falls short"}
    closed = not option.option.kind.opened.bays

    def as_it_was(finding: Finding) -> bool:
        same = before.get(finding.key)
        return (
            closed
            and same is not None
            and finding not in option.standing
            and (_no_worse(finding, same))
        )

    return tuple(
        f
        for f in option.findings
        if f.verdict == "falls short" and f.promise != "worth it" and not as_it_was(f)
    )


def _no_worse(now: Finding, before: Finding) -> bool:
    if now.figure is None or before.figure is None:
        return True
    more = now.figure - before.figure
    return more >= -_SAME if now.limit_is == "least" else more <= _SAME


def is_stopped(wall: WallStudy) -> bool:
    """Whether water was found in the wall: it is mended and dried before anything is priced."""
    return stops(wall.as_found.standing)


def stops(standing: Iterable[Finding]) -> bool:
    """Whether what stands against a wall as found keeps it from being priced."""
    return any(finding.verdict == "falls short" for finding in standing)


def must_change(wall: WallStudy) -> Finding | None:
    """Why a dry wall cannot be left as it is: a surface that is below its limit today."""
    return next((f for f in wall.as_found.warm.findings if f.verdict == "falls short"), None)


def humidity_held(option: OptionStudy) -> float:
    """Most humidity in winter at which its surfaces hold, in whole hundredths [-]."""
    return floor(option.warm.humidity_held(option.room) * 100.0) / 100.0


def drier_air(wall: WallStudy) -> float | None:
    """Humidity in winter at which a wall that must change would hold as it is [-].

    None where it holds today, or where no air that people live in would do.
    """
    most = humidity_held(wall.as_found)
    return most if must_change(wall) is not None and most >= LEAST_HUMIDITY else None


def is_priced(option: OptionStudy) -> bool:
    """Whether it can be built, and nothing of its price is missing."""
    priced = option.price is not None and not option.price.missing
    return option.build_up.can_be_built and (priced or not option.option.kind.worked)


def takes_part(option: OptionStudy, wall: WallStudy) -> bool:
    """Whether a plan may hold the option: it can be built, is priced whole, and keeps its promises.

    What needs a person keeps nothing out: the plan lists it. A missing price does: what has none
    cannot be ranked, and is never taken for cheap.
    """
    kind = option.option.kind
    if not is_priced(option):
        return False
    if is_stopped(wall):
        return kind.mends
    return not kind.mends and not shortfalls(option, wall.as_found)


def move_of(option: OptionStudy) -> Move:
    """An option as the plan counts it."""
    return Move(
        wall=option.build_up.wall,
        option=option.option.id,
        cost=float(option.price.total) if option.price else 0.0,
        heat=option.change.before - option.change.after,
        air=option.change.removed.best,
        worked=option.option.kind.worked,
    )


def moves_of(wall: WallStudy) -> list[Move]:
    """What a plan may choose from on one wall; never nothing."""
    fit = [option for option in wall.options if takes_part(option, wall)]
    found = wall.as_found
    changed = [o for o in fit if o.option.kind.worked]
    if not is_stopped(wall) and (must_change(wall) or wall.wall.comfort):
        warmer = [o for o in changed if o.warm.resistance > found.warm.resistance * _WARMER]
        if must_change(wall):
            warmer = [o for o in changed if not any(
                f.verdict == "falls short" for f in o.warm.findings)]  # fmt: skip
        fit = warmer or fit
    return [move_of(option) for option in fit or [found]]
