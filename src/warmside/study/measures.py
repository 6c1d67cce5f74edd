"""The order of measures for the whole house: shares of heat by part, and what to do first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor

from warmside.catalog import Source
from warmside.physics.energy import AIR_HEAT
from warmside.study.house import Study
from warmside.study.plan import QuoteAdvice
from warmside.survey import PartKind
from warmside.wording import Figure, Sentence, joined, listed, say

# Share of a house's heat by era [-]: years up to, then walls, air, basement, windows, ceiling.
# Source: common practice, from memory.
ERAS: tuple[tuple[int, dict[str, float]], ...] = (
    (1920, {"walls": 0.30, "air": 0.30, "basement": 0.15, "windows": 0.15, "attic": 0.10}),
    (1945, {"walls": 0.28, "air": 0.28, "basement": 0.18, "windows": 0.15, "attic": 0.11}),
    (1960, {"walls": 0.24, "air": 0.24, "basement": 0.22, "windows": 0.18, "attic": 0.12}),
    (9999, {"walls": 0.20, "air": 0.20, "basement": 0.25, "windows": 0.22, "attic": 0.13}),
)
# Share of a house's leaks [-]: best, least, most. Source: ASHRAE Handbook Fundamentals, from
# surveys of 1982 (from memory).
LEAKS: dict[str, tuple[float, float, float]] = {
    "walls and their joints": (0.35, 0.18, 0.50),
    "ceiling": (0.18, 0.03, 0.30),
    "ducts": (0.18, 0.03, 0.28),
    "windows and doors": (0.15, 0.06, 0.22),
    "fireplace": (0.12, 0.0, 0.30),
}
SHARES = Source(
    "Shares of heat by era: common practice; of leaks: ASHRAE Handbook Fundamentals, surveys of "
    "1982",
    "from memory",
)
_NAMES: dict[str, str] = {
    "attic": "attic", "rim": "rim joist", "basement": "basement",
    "windows": "windows and doors", "walls": "outside walls", "air": "leaking air",
}  # fmt: skip
_BEFORE_WALLS: tuple[PartKind, ...] = ("attic", "rim", "basement")
_SEAL_FIRST = {
    "attic": "Seal its leaks round wires, walls, hatch and chimney first, at the chimney with "
    "metal and fire-rated sealant. Then add fill, kept clear of chimneys and hot lights. Damp air "
    "from tighter walls goes up there.",
    "rim": "Seal it with the basement's leaks: they feed the draught through the house.",
    "basement": "Dry ground and walls come first there.",
}


@dataclass(frozen=True)
class PartShare:
    """What one part of the house loses."""

    part: str
    share: float  # [-] of the house's heat
    surveyed: bool  # False: by era
    loss: float  # [W/K]


@dataclass(frozen=True)
class Measures:
    """Where the house loses its heat, and in which order to go about it."""

    shares: tuple[PartShare, ...]  # the greatest first
    steps: tuple[Sentence, ...]  # in their order


def measures(study: Study) -> Measures:
    """Shares of heat of a studied house, and the order of what is done to it.

    Parts that were not surveyed take their share of the era beside that of the surveyed walls.

    Parameters
    ----------
    study : Study
        The house studied.

    Returns
    -------
    Measures
        With what is surveyed and what is assumed kept apart.
    """
    shares = _shares(study)
    return Measures(shares, tuple(_steps(study, shares)))


def _shares(study: Study) -> tuple[PartShare, ...]:
    house, case = study.survey.house, study.heating
    era = next(shares for last, shares in ERAS if house.year_built <= last)
    lasting = float(case.differences[1].sum())
    flow = case.air.infiltration(case.air.leakage.flow_50.best)
    air = AIR_HEAT * float((case.differences[1] * flow).sum()) / lasting if lasting else 0.0
    known: dict[str, float] = {"walls": case.walls}
    if case.air.leakage.measured:
        known["air"] = air
    for part in house.parts:
        known[part.kind] = known.get(part.kind, 0.0) + part.loss
    unit = case.walls / era["walls"]
    losses = {part: share * unit for part, share in era.items()} | {"air": air} | known
    total = sum(losses.values())
    found = [
        PartShare(part, loss / total, part in known, loss)
        for part, loss in losses.items()
        if loss > 0.0
    ]
    return tuple(sorted(found, key=lambda one: -one.share))


def _steps(study: Study, shares: tuple[PartShare, ...]) -> Iterator[Sentence]:
    """Stop and mend, attic, rim and basement, walls with their ventilation, heating, windows."""
    yield _told(shares)
    stopped = [one.wall for one in study.plans.advice if one.stopped]
    if stopped:
        yield say("First: mend and dry {walls}.", walls=listed(stopped))
    lossy = {one.part for one in shares}
    for kind in _BEFORE_WALLS:
        quotes = [one for one in study.plans.quotes if one.part.kind == kind]
        if kind in lossy or quotes:
            yield _part(kind, quotes, study.prices.currency)
    done = [wall.wall.name for wall in study.worked]
    if done:
        increase = study.tight.fresh.increase
        fans = say(
            "The {flow} of fresh air that the tighter house needs is built with them, not after.",
            flow=Figure(increase, "flow"),
        )
        walls = say("Then the walls of the plan: {walls}.", walls=listed(done))
        yield joined([walls, fans if increase > 5e-4 else ""])
    else:
        yield say("The walls wait: nothing on them pays now.")
    for quote in study.plans.quotes:
        if quote.part.kind == "windows":
            yield _part("windows", [quote], study.prices.currency)
    yield say(
        "New heating is sized last, on the loss that is left. Windows come last for money; where "
        "siding comes off anyway they are done with it."
    )


def _told(shares: tuple[PartShare, ...]) -> Sentence:
    """Where the heat goes, what is surveyed and what is not kept apart."""

    hundredths = _hundredths([one.share for one in shares])

    def names(surveyed: bool) -> Sentence:
        parts = [
            say("{part} {share}", part=_NAMES[one.part], share=Figure(whole / 100.0, "share"))
            for one, whole in zip(shares, hundredths, strict=True)
            if one.surveyed == surveyed
        ]
        return joined(parts, ", ")

    surveyed, assumed = names(True), names(False)
    told = say("Where the heat goes, as surveyed: {parts}.", parts=surveyed)
    rest = say(
        "Not surveyed, as houses of these years usually are, not as this one was found: {parts}.",
        parts=assumed,
    )
    return joined([told, rest if any(not one.surveyed for one in shares) else ""])


def _hundredths(shares: Sequence[float]) -> list[int]:
    """Shares of one whole in hundredths that add up to 100: what rounding leaves goes where it is
    missed most.
    """
    parts = [floor(share * 100.0) for share in shares]
    missed = sorted(range(len(shares)), key=lambda k: parts[k] - shares[k] * 100.0)
    for k in missed[: 100 - sum(parts)]:
        parts[k] += 1
    return parts


def _part(kind: str, quotes: list[QuoteAdvice], currency: str) -> Sentence:
    """A part beside the walls: what it loses, and what the other trade's offer is worth."""
    name = _NAMES[kind]
    told = [say("Then the {part}." if kind != "attic" else "Before the walls, the {part}.",
                part=name)]  # fmt: skip
    for quote in quotes:
        cost = Figure(round(quote.part.price or 0.0, -1), "money", currency=currency)
        if quote.net is None:
            told.append(say("Its trade asks {cost}.", cost=cost))
            continue
        told.append(
            say(
                "Its trade asks {cost}: over the years the savings are worth {net} {than} that, "
                "and {verdict}.",
                cost=cost,
                net=Figure(abs(round(quote.net, -1)), "money", currency=currency),
                than="more than" if quote.net >= 0.0 else "less than",
                verdict="it belongs to this plan" if quote.taken else "this plan leaves it",
            )
        )
    depth = max((quote.part.depth for quote in quotes), default=0.0)
    if depth > 0.0:
        told.append(
            say(
                "The ground around it keeps heat in: this counts a floor {depth} below the ground.",
                depth=Figure(depth, "span"),
            )
        )
    if not quotes:
        told.append(say("It has no price here: have it priced by its trade before the walls."))
    if kind in _SEAL_FIRST and (not quotes or any(quote.taken for quote in quotes)):
        told.append(say(_SEAL_FIRST[kind]))
    return joined(told)
