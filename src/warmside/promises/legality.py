"""Legal: the clauses of the chosen code packs, one by one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from warmside.catalog import Clause, Climate, CodePack
from warmside.options import BuildUp
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import code_resistance, resistances
from warmside.promises.finding import Finding
from warmside.wording import Figure, Sentence, Verdict, plain, say

TIGHT = 60e-12  # [kg/(m2 s Pa)] below it a layer counts as tight to vapour (NBC 9.25.5.1)
_TIGHT_ROLES = ("foam", "vapour control", "board")  # what can be tight to air and vapour at once


@dataclass(frozen=True)
class _Case:
    """One clause put to one build-up, with its threshold at the place."""

    build_up: BuildUp
    clause: Clause
    limit: float | None


@dataclass(frozen=True)
class _Judged:
    figure: float | None
    unit: str
    verdict: Verdict
    reason: Sentence
    change: str


def legal(packs: Sequence[CodePack], build_up: BuildUp, climate: Climate) -> tuple[Finding, ...]:
    """Judge one option on one wall by every clause of the packs.

    A value for new work that an altered old wall does not reach is no fault of the wall: it is
    shown, and a person is asked what applies.

    Parameters
    ----------
    packs : sequence of CodePack
        The code packs chosen.
    build_up : BuildUp
        The option applied to the wall.
    climate : Climate
        For its degree-days.

    Returns
    -------
    tuple of Finding
        In the order of the packs' clauses.
    """
    if not build_up.option.kind.worked:
        return ()
    findings: list[Finding] = []
    for pack in packs:
        for clause in pack.clauses:
            limit = clause.value_at(climate.degree_days)
            if clause.from_degree_days > climate.degree_days or (clause.bands and limit is None):
                continue
            judged = _RULES[clause.rule](_Case(build_up, clause, limit))
            finding = _finding(pack, clause, limit, judged)
            again = sum(f.key.startswith(finding.key) for f in findings)
            # one clause may have two tables: keys stay apart
            findings.append(
                replace(finding, key=f"{finding.key}:{again + 1}") if again else finding
            )
    return tuple(findings)


def _finding(pack: CodePack, clause: Clause, limit: float | None, judged: _Judged) -> Finding:
    least = clause.rule in ("wall_rsi_least", "outboard_ratio_least", "foam_rsi_least")
    return Finding(
        promise="legal",
        key=f"{pack.id}:{clause.number}:{clause.rule}",
        name=f"{clause.number} {clause.title}",
        figure=judged.figure,
        unit=judged.unit,
        limit=limit,
        limit_is="none" if limit is None else ("least" if least else "most"),
        verdict=judged.verdict,
        reason=judged.reason,
        change=plain(judged.change),
        source=clause.source,
    )


def _bay(build_up: BuildUp) -> Stack:
    """The bay stack that covers most of the wall, its layers as built."""
    bays = [s for s in build_up.stacks if s.kind == "bay"] or list(build_up.stacks)
    largest = max(bays, key=lambda stack: stack.area)
    return replace(largest, layers=largest.sheets)


def _permeance(layer: Layer) -> float:
    return layer.permeability_dry / layer.thickness


def _wall_rsi(case: _Case) -> _Judged:
    limit = case.limit
    rsi = code_resistance(case.build_up.stacks)
    if limit is not None and rsi >= limit:
        reason = say(
            "{rsi} of the whole wall reaches the {limit} asked of new work.",
            rsi=Figure(rsi, "resistance"),
            limit=Figure(limit, "resistance"),
        )
        return _Judged(rsi, "m2 K/W", "holds", reason, "")
    reason = say(
        "{rsi} of the whole wall is below the {limit} asked of new work; whether that applies to "
        "this old wall is the official's decision.",
        rsi=Figure(rsi, "resistance"),
        limit=Figure(limit or 0.0, "resistance"),
    )
    change = "Thicker foam, furring or an outside board; or the alteration rule of the province."
    return _Judged(rsi, "m2 K/W", "needs a person", reason, change)


def _vapour(case: _Case) -> _Judged:
    """The tightest layer on the warm side: room side of the middle of the resistance."""
    limit = case.limit
    stack = _bay(case.build_up)
    values = resistances(stack)
    half, so_far, tightest = sum(values) / 2.0, 0.0, None
    for layer, value in zip(stack.layers, values, strict=True):
        # a foam layer counts as a whole: it is vapour control and insulation at once
        if so_far < half and (tightest is None or _permeance(layer) < _permeance(tightest)):
            tightest = layer
        so_far += value
    if tightest is None or limit is None:
        return _Judged(
            None, "kg/(m2 s Pa)", "needs a person", say("No layer to judge."), case.clause.asks
        )
    figure = _permeance(tightest)
    holds = figure <= limit
    reason = say(
        "{layer} passes {permeance}; at most {most} is allowed."
        if holds
        else "The tightest warm-side layer, {layer}, passes {permeance}; at most {most} is "
        "allowed.",
        layer=tightest.name,
        permeance=Figure(figure, "permeance"),
        most=Figure(limit, "permeance"),
    )
    change = "A thicker foam, a vapour-retarder paint of the class asked for, or a membrane."
    if holds:
        return _Judged(figure, "kg/(m2 s Pa)", "holds", reason, "")
    return _Judged(figure, "kg/(m2 s Pa)", "falls short", reason, change)


def _outboard(case: _Case) -> _Judged:
    """Resistance outside against inside the room face of the outermost tight layer."""
    limit = case.limit
    stack = _bay(case.build_up)
    values = resistances(stack)
    tight = [
        k
        for k, layer in enumerate(stack.layers)
        if layer.role in _TIGHT_ROLES and _permeance(layer) < TIGHT
    ]
    if not tight:
        reason = say("No layer of this wall is tight to both air and vapour.")
        return _Judged(None, "-", "holds", reason, "")
    outer = max(tight)
    inside, outside = sum(values[:outer]) + 0.12, sum(values[outer:]) + 0.03
    ratio = outside / inside
    name = stack.layers[outer].name
    holds = limit is None or ratio >= limit or outer == 0
    reason = say(
        "{layer}: the resistance outside its room face is {ratio} of that inside; at least {least} "
        "is asked.",
        layer=name,
        ratio=Figure(ratio, "factor"),
        least=Figure(limit or 0.0, "factor"),
    )
    change = "" if holds else "More resistance outside it, less inside it, or a vented air space."
    return _Judged(ratio, "-", "holds" if holds else "falls short", reason, change)


def _foam_rsi(case: _Case) -> _Judged:
    limit = case.limit
    stack = _bay(case.build_up)
    foams = [
        (layer, value)
        for layer, value in zip(stack.layers, resistances(stack), strict=True)
        if layer.role == "foam"
    ]
    if not foams:
        return _Judged(None, "m2 K/W", "holds", say("No foam; the clause does not apply."), "")
    rsi = sum(value for _, value in foams)
    tight = min(_permeance(layer) for layer, _ in foams) <= (case.clause.most_permeance or 1.0)
    enough = limit is None or rsi >= limit
    has, asked = Figure(rsi, "resistance"), Figure(limit or 0.0, "resistance")
    if tight and enough:
        reason = say(
            "The foam has {rsi} (at least {least}) and is tight enough.", rsi=has, least=asked
        )
        return _Judged(rsi, "m2 K/W", "holds", reason, "")
    short = "so a painted finish alone is not enough on the warm side."
    reason = (
        say("The foam has {rsi} of the {least} asked, {short}", rsi=has, least=asked, short=short)
        if tight
        else say("The foam is too open to vapour, {short}", short=short)
    )
    return _Judged(rsi, "m2 K/W", "falls short", reason, "Thicker closed-cell foam, or a retarder.")


def _air_barrier(case: _Case) -> _Judged:
    sealed = case.build_up.option.seal_joints
    foam = case.build_up.option.foam is not None
    if foam and sealed:
        reason = say("The foam stops air over the bays and the joints between wood are sealed.")
        return _Judged(None, "", "holds", reason, "")
    reason = say(
        "The bays are tight but the joints between wood are not sealed."
        if foam
        else "Nothing in this option is an air barrier by itself."
    )
    return _Judged(None, "", "falls short", reason, "Add the joint-sealing package.")


def _foam_covered(case: _Case) -> _Judged:
    if case.build_up.option.foam is None:
        return _Judged(None, "", "holds", say("No foam; the clause does not apply."), "")
    finishes = [layer for s in case.build_up.stacks for layer in s.layers if layer.role == "finish"]
    if finishes:
        reason = say(
            "{finish}, {thickness}, covers the foam.",
            finish=finishes[0].name,
            thickness=Figure(max(f.thickness for f in finishes), "length"),
        )
        return _Judged(None, "", "holds", reason, "")
    return _Judged(
        None, "", "falls short", say("Nothing covers the foam."), "Half-inch gypsum board."
    )


def _cavity_filled(case: _Case) -> _Judged:
    gaps = [layer for layer in _bay(case.build_up).layers if layer.role == "gap"]
    if not gaps:
        return _Judged(None, "", "holds", say("The depth of the bay is filled."), "")
    reason = say(
        "{gap} of the bay stay empty; read literally the cavity is not filled.",
        gap=Figure(sum(layer.thickness for layer in gaps), "length"),
    )
    return _Judged(None, "", "needs a person", reason, f"Ask {case.clause.asks or 'the official'}.")


def _person(case: _Case) -> _Judged:
    return _Judged(
        None, "", "needs a person", plain(case.clause.paraphrase), f"Ask for {case.clause.asks}."
    )


_RULES: dict[str, Callable[[_Case], _Judged]] = {
    "wall_rsi_least": _wall_rsi,
    "vapour_permeance_most": _vapour,
    "outboard_ratio_least": _outboard,
    "foam_rsi_least": _foam_rsi,
    "air_barrier": _air_barrier,
    "foam_covered": _foam_covered,
    "cavity_filled": _cavity_filled,
    "person": _person,
}
