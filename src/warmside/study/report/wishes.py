"""What a client may ask for first, and every way to do a wall in that order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf

from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.report.offer import Choice, choice_of, side_of
from warmside.wording import WORST, Sentence, say

Rank = Callable[[OptionStudy], tuple[float, ...]]  # the least comes first


def _warmest(option: OptionStudy) -> tuple[float, ...]:
    return (-option.warm.resistance, -option.warm.coldest.surface)


def _driest(option: OptionStudy) -> tuple[float, ...]:
    """The verdict first; then the wettest wood of the hours, or the water of the months."""
    hourly = option.dry.hourly
    wet = [float(wood.mean.max()) for path in hourly.paths for wood in path.wood] if hourly else []
    worst = max(wet, default=0.0 if hourly else inf)
    return (WORST.index(option.verdict("dry")), worst, option.dry.worst.peak)


def _cheapest(option: OptionStudy) -> tuple[float, ...]:
    return (float(option.price.total) if option.price else 0.0,)


def _quietest(option: OptionStudy) -> tuple[float, ...]:
    """Rooms that are opened first, then what keeps people out, the siding, the hours of work."""
    opened = option.option.kind.opened
    hours = sum(q.amount for q in option.quantities if q.key.startswith("labour"))
    return (opened.room, option.option.foam is not None, opened.cladding, hours)


def _saves_most(option: OptionStudy) -> tuple[float, ...]:
    saved = option.worth.money if option.price else None
    return (-saved.best if saved else 0.0,)


# by what a client may ask for first; the words stand on the page
WISHES: Mapping[str, Rank] = {
    "warm": _warmest,
    "dry": _driest,
    "price": _cheapest,
    "calm": _quietest,
    "saving": _saves_most,
}


@dataclass(frozen=True)
class Way:
    """One way to do a wall; ``place`` by wish, 0 first."""

    id: str
    choice: Choice
    worked: bool
    side: Sentence  # what is opened and put back
    place: Mapping[str, int]


def ways(wall: WallStudy, study: Study) -> tuple[Way, ...]:
    """The wall as it stands and everything that can be built and priced on it.

    Parameters
    ----------
    wall : WallStudy
        Of ``study``.
    study : Study
        For the money.

    Returns
    -------
    tuple of Way
        As found first, then what is put forward, then the others. By every wish what keeps its
        promises is placed before what falls short of one.
    """
    able = [
        o
        for o in wall.options
        if o.option.kind.worked and o.build_up.can_be_built and o.price and not o.price.missing
    ]
    shown = [wall.as_found, *sorted(able, key=lambda o: o is not wall.chosen)]

    def place(rank: Rank) -> dict[str, int]:
        order = sorted(shown, key=lambda o: (not o.keeps_its_promises, rank(o)))
        return {option.option.id: number for number, option in enumerate(order)}

    places = {wish: place(rank) for wish, rank in WISHES.items()}
    return tuple(
        Way(
            id=option.option.id,
            choice=choice_of(option, wall, study),
            worked=option.option.kind.worked,
            side=side_of(option.option) if option.option.kind.worked else say(""),
            place={wish: found[option.option.id] for wish, found in places.items()},
        )
        for option in shown
    )
