"""Legal: the clauses of the chosen code packs, one by one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from warmside.catalog import Climate
from warmside.catalog._codes import Clause, CodePack
from warmside.options import BuildUp
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import code_resistance, resistances
from warmside.promises.finding import Finding, Verdict

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
    reason: str
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
    if build_up.option.kind == "leave":
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
        change=judged.change,
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
        reason = f"RSI {rsi:.2f} of the whole wall reaches the {limit:.2f} asked of new work."
        return _Judged(rsi, "m2 K/W", "holds", reason, "")
    reason = (
        f"RSI {rsi:.2f} of the whole wall is below the {limit:.2f} asked of new work; "
        "whether that applies to this old wall is the official's decision."
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
            None, "kg/(m2 s Pa)", "needs a person", "No layer to judge.", case.clause.asks
        )
    figure = _permeance(tightest)
    ng, most = figure * 1e12, limit * 1e12
    if figure <= limit:
        reason = f"{tightest.name} passes {ng:.0f} ng/(Pa s m2); at most {most:.0f} is allowed."
        return _Judged(figure, "kg/(m2 s Pa)", "holds", reason, "")
    reason = f"The tightest warm-side layer, {tightest.name}, passes {ng:.0f} ng/(Pa s m2); "
    change = "A thicker foam, a vapour-retarder paint of the class asked for, or a membrane."
    return _Judged(
        figure, "kg/(m2 s Pa)", "falls short", reason + f"at most {most:.0f} is allowed.", change
    )


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
        reason = "No layer of this wall is tight to both air and vapour."
        return _Judged(None, "-", "holds", reason, "")
    outer = max(tight)
    inside, outside = sum(values[:outer]) + 0.12, sum(values[outer:]) + 0.03
    ratio = outside / inside
    name = stack.layers[outer].name
    holds = limit is None or ratio >= limit or outer == 0
    reason = (
        f"{name}: the resistance outside its room face is {ratio:.2f} of that inside; "
        f"at least {limit or 0:.2f} is asked."
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
        return _Judged(None, "m2 K/W", "holds", "No foam; the clause does not apply.", "")
    rsi = sum(value for _, value in foams)
    tight = min(_permeance(layer) for layer, _ in foams) <= (case.clause.most_permeance or 1.0)
    enough = limit is None or rsi >= limit
    if tight and enough:
        reason = f"The foam has RSI {rsi:.2f} (at least {limit or 0:.2f}) and is tight enough."
        return _Judged(rsi, "m2 K/W", "holds", reason, "")
    lack = "is too open to vapour" if not tight else f"has RSI {rsi:.2f} of the {limit:.2f} asked"
    reason = f"The foam {lack}, so a painted finish alone is not enough on the warm side."
    return _Judged(rsi, "m2 K/W", "falls short", reason, "Thicker closed-cell foam, or a retarder.")


def _air_barrier(case: _Case) -> _Judged:
    sealed = case.build_up.option.seal_joints
    foam = case.build_up.option.foam is not None
    if foam and sealed:
        reason = "The foam stops air over the bays and the joints between wood are sealed."
        return _Judged(None, "", "holds", reason, "")
    reason = (
        "The bays are tight but the joints between wood are not sealed."
        if foam
        else "Nothing in this option is an air barrier by itself."
    )
    return _Judged(None, "", "falls short", reason, "Add the joint-sealing package.")


def _foam_covered(case: _Case) -> _Judged:
    if case.build_up.option.foam is None:
        return _Judged(None, "", "holds", "No foam; the clause does not apply.", "")
    finishes = [layer for s in case.build_up.stacks for layer in s.layers if layer.role == "finish"]
    if finishes:
        thickness = max(f.thickness for f in finishes) * 1000
        reason = f"{finishes[0].name} ({thickness:.1f} mm) covers the foam."
        return _Judged(None, "", "holds", reason, "")
    return _Judged(None, "", "falls short", "Nothing covers the foam.", "12.7 mm gypsum board.")


def _cavity_filled(case: _Case) -> _Judged:
    gaps = [layer for layer in _bay(case.build_up).layers if layer.role == "gap"]
    if not gaps:
        return _Judged(None, "", "holds", "The depth of the bay is filled.", "")
    gap = sum(layer.thickness for layer in gaps) * 1000
    reason = f"{gap:.0f} mm of the bay stay empty; read literally the cavity is not filled."
    return _Judged(None, "", "needs a person", reason, f"Ask {case.clause.asks or 'the official'}.")


def _person(case: _Case) -> _Judged:
    return _Judged(
        None, "", "needs a person", case.clause.paraphrase, f"Ask for {case.clause.asks}."
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
