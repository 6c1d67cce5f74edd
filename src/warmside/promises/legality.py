"""Legal: the clauses of the chosen code packs, one by one, each on every stack of the wall."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from warmside.catalog import (
    VERDICT_OF,
    Catalog,
    Clause,
    Climate,
    CodePack,
    Country,
    Facts,
    country_of,
)
from warmside.options import BuildUp
from warmside.promises.finding import Finding
from warmside.promises.never import by_person
from warmside.promises.rules import HIDDEN, Case, Judgement, facts_of, judged, worst
from warmside.survey import Hazard, House, Wall
from warmside.wording import OPEN, Sentence, joined, plain, say
from warmside.works import HOLLOW_SPACES, WEIGHT_POCKETS

_HIDDEN_WORK = (WEIGHT_POCKETS.key, HOLLOW_SPACES.key)  # what opens hollow spaces


def legal(
    packs: Sequence[CodePack],
    build_up: BuildUp,
    climate: Climate,
    *,
    catalog: Catalog | None = None,
    wall: Wall | None = None,
    house: House | None = None,
    hazards: tuple[Hazard, ...] = (),
    found: BuildUp | None = None,
) -> tuple[Finding, ...]:
    """Judge one option on one wall by every clause of the packs.

    Each clause is put to every insulated stack of the wall, and the worst is told. What is not
    given is not known: the clauses that need it ask a person.

    Parameters
    ----------
    packs : sequence of CodePack
        The code packs chosen.
    build_up : BuildUp
        The option applied to the wall.
    climate : Climate
        The place.
    catalog : Catalog, optional
        For the foam's own row.
    wall : Wall, optional
        As surveyed.
    house : House, optional
        Its year, rooms, fans and room air.
    hazards : tuple of Hazard
        All of the survey.
    found : BuildUp, optional
        The wall before any work; built up here when not given.

    Returns
    -------
    tuple of Finding
        In the order of the packs' clauses; a wall left as found is not judged.
    """
    if not build_up.option.kind.worked:
        return ()
    findings: list[Finding] = []
    stacks = tuple(facts_of(Case(build_up, climate, catalog, wall, house, hazards, found)))
    for pack in packs:
        abroad = _abroad(pack, country_of(climate))
        findings += _by_pack(pack, stacks, abroad)
    if catalog is None or house is None:
        return tuple(findings)
    return by_person(findings, hazards, catalog, house, build_up.wall)


def _abroad(pack: CodePack, country: Country | None) -> str:
    """Why this pack cannot be taken at its word here; empty where it can."""
    if country is not None and country.name == pack.country:
        return ""
    stands = (
        f"The house stands in {country.name}" if country else "No country is known for the place"
    )
    return f"{stands}; this is a code of {pack.country}."


def _by_pack(pack: CodePack, given: Sequence[tuple[str, Facts]], abroad: str) -> Iterator[Finding]:
    stacks = [(where, dict(facts)) for where, facts in given]  # its own verdicts are facts too
    for clause in pack.of_walls:
        by_stack = [(where, judged(clause, facts)) for where, facts in stacks]
        for (_, facts), (_, said) in zip(stacks, by_stack, strict=True):
            facts[f"{VERDICT_OF}{clause.number}"] = said.verdict
        where, said = _whole(by_stack)
        if abroad and said.verdict != "does not apply":
            reason = joined([abroad, said.reason])
            said = replace(said, verdict="needs a person", reason=reason)
        found = _finding(pack, clause, where if _differs(by_stack, said) else "", said)
        yield replace(found, works=_HIDDEN_WORK) if _hidden(by_stack) else found


def _whole(by_stack: Sequence[tuple[str, Judgement]]) -> tuple[str, Judgement]:
    """The worst place; hollow spaces out of the work's reach are told beside what it reaches."""
    place, found = worst(by_stack)
    reached = [one for one in by_stack if one[0] != HIDDEN]
    if place != HIDDEN or not reached:
        return place, found
    where, said = worst(reached)
    if said.verdict in (found.verdict, "does not apply"):
        return where, said
    reason = say(
        "{reached} In hollow spaces that the work does not reach it is not so: the contractor "
        "opens and looks into each, and the official decides.",
        reached=said.reason,
    )
    return "", replace(said, verdict="needs a person", reason=reason)


def _hidden(by_stack: Sequence[tuple[str, Judgement]]) -> bool:
    """Whether the clause is open in hollow spaces, which the work then opens."""
    return any(where == HIDDEN and said.verdict in OPEN for where, said in by_stack)


def _differs(by_stack: Sequence[tuple[str, Judgement]], told: Judgement) -> bool:
    """Whether it matters which stack is told."""
    if told.verdict == "does not apply":
        return False
    first = by_stack[0][1]
    others = [one for _, one in by_stack if one is not first]
    said = first.verdict, str(first.reason) if others else ""
    return any((one.verdict, str(one.reason)) != said for one in others)


def _finding(pack: CodePack, clause: Clause, where: str, said: Judgement) -> Finding:
    open_ = said.verdict in OPEN
    return Finding(
        promise="legal",
        key=f"{pack.id}:{clause.id}",
        name=f"{clause.number} {clause.title}",
        figure=said.figure,
        unit=said.unit,
        limit=said.limit,
        limit_is=said.limit_is,  # type: ignore[arg-type]  # least, most or none
        verdict=said.verdict,
        reason=say("At the {where}: {reason}", where=where, reason=said.reason)
        if where
        else said.reason,
        change=_change(clause, said) if open_ else plain(""),
        source=clause.source,
    )


def _change(clause: Clause, said: Judgement) -> Sentence:
    asked = said.verdict == "needs a person" and clause.asks
    return joined([clause.change, f"Ask {clause.asks}." if asked else ""])
