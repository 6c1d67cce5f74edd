"""What is reported of the plans: what is stopped, done and left, and what each plan costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from warmside.promises import BILLS, WET_HAZARDS, banded, bill_sentence
from warmside.study.house import Study
from warmside.study.measures import SHARES, measures
from warmside.study.parts import OptionStudy, WallStudy
from warmside.study.plan import Plan
from warmside.study.report.parts import Statement
from warmside.wording import PAPER, Figure, Sentence, capital, counted, joined, listed, plain, say


@dataclass(frozen=True)
class PlanReport:
    """One plan's row; figures of the whole house."""

    id: str
    name: str
    recommended: bool
    done: Sentence  # walls worked on
    left: Sentence  # walls left
    total: Figure
    saving: Figure | None  # a year
    payback: Figure | None
    worth: Figure | None  # net present value
    air_change: Figure  # at 50 Pa
    coldest: Figure


def plan_reports(study: Study) -> tuple[PlanReport, ...]:
    """The plans beside each other, each with its figures: the advice, and what differs from it."""
    rows = [_row(plan, study) for plan in study.plans.plans]
    ours = [(row.done, row.total) for row in rows if row.recommended]
    return tuple(r for r in rows if r.recommended or (r.done, r.total) not in ours)


def _row(plan: Plan, study: Study) -> PlanReport:
    currency, whole = study.prices.currency, plan.whole
    money, payback = whole.worth.money, whole.worth.payback
    worked = [w.wall.name for w in study.walls if _works(w.option(plan.options[w.wall.name]))]
    left = [w.wall.name for w in study.walls if w.wall.name not in worked]
    tight = whole.tight.air_change_after
    return PlanReport(
        id=plan.id,
        name=plan.name,
        recommended=plan.id == study.plans.recommended,
        done=_names(worked, [part.kind for part in plan.quotes]),
        left=_names(left),
        total=Figure(whole.worth.cost or 0.0, "money", currency=currency),
        saving=banded(money, "money", currency) if money and (worked or plan.quotes) else None,
        payback=Figure(payback[1], "years") if payback and payback[1] is not None else None,
        worth=plan.net.figure(currency) if plan.net else None,
        air_change=banded(tight, "air change"),
        coldest=Figure(plan.coldest, "temperature"),
    )


def _works(option: OptionStudy) -> bool:
    return option.option.kind.worked


def _with_others(plan: Plan) -> str:
    """Parts that other trades better within the plan."""
    parts = [f"the {part.kind}" for part in plan.quotes]
    return f", and on {listed(parts)} at another trade's price" if parts else ""


def _names(names: Sequence[str], others: Sequence[str] = ()) -> Sentence:
    """Walls, and parts that another trade betters."""
    parts = [plain(name) for name in names]
    parts += [say("{part} (another trade)", part=plain(kind)) for kind in others]
    between = "; " if any("," in name for name in names) else ", "
    return joined(parts, between) if parts else say("nothing")


def _tens(value: float, currency: str) -> Figure:
    return Figure(round(value, -1), "money", currency=currency)


def plan_statements(study: Study) -> Iterator[Statement]:
    """What is stopped and who clears it, what is done and what that is worth, what is left."""
    plans, currency = study.plans, study.prices.currency
    for wall in study.walls:
        if plans.advice_for(wall.wall.name).stopped:
            yield Statement(_stopped(wall, study))
    if not study.follows_plan:
        yield Statement(
            say(
                "What is put forward was chosen by hand or by other weights than worth: it is not "
                "the plan that we recommend."
            )
        )
        return
    done = [w for w in study.walls if _works(w.chosen)]
    left = [
        w.wall.name
        for w in study.walls
        if w not in done and not plans.advice_for(w.wall.name).stopped
    ]
    carried = list(_carried(done, study))
    if not done:
        yield Statement(
            say(
                "No work on the walls is recommended now: none of it would pay{others}.",
                others=_with_others(plans.best).replace(", and on", "; do"),
            )
        )
    elif plans.best.net is not None:
        yield from (Statement(one) for one in carried)
        yield Statement(
            say(
                "We recommend work on {walls}: {names}{others}. Over {years} the savings are worth "
                "{worth}.",
                others=_with_others(plans.best),
                walls=counted(len(done), "wall"),
                names=listed([w.wall.name for w in done]),
                years=Figure(float(study.heating.terms.years), "years")
                if study.heating.terms
                else "its years",
                worth=plans.best.net.beside("the work costs", currency),
            )
        )
    if left:
        yield Statement(
            say(
                "{names} {stay}: nothing that can be done there is worth its price.",
                names=capital(listed(left)),
                stay="stays as it is" if len(left) == 1 else "stay as they are",
            )
        )


def _stopped(wall: WallStudy, study: Study) -> Sentence:
    """What was found wet in a wall, and who clears it; nothing is priced before."""
    clear = []
    found = [
        f"wood read {PAPER(finding.figure, 'share')}"
        for finding in wall.as_found.standing
        if finding.verdict == "falls short" and finding.figure is not None
    ]
    if wall.wall.found.wet_fill:
        found.append(f"{wall.wall.found.fill_state} fill")
    for hazard in study.survey.hazards:
        if hazard.wall == wall.wall.name and hazard.kind in WET_HAZARDS and hazard.open:
            found.append(hazard.kind)
            clear.append(study.catalog.hazard(hazard.kind).clears)
    return say(
        "Mend {wall} first ({found}): cleared by {who}; no price before.",
        wall=wall.wall.name,
        found=listed(found),
        who=", and ".join(dict.fromkeys(clear))
        or "the trade that mends the water, with a new reading of dry wood",
    )


def _carried(done: Sequence[WallStudy], study: Study) -> Iterator[Sentence]:
    """Walls that do not pay by themselves, each with what carries it."""
    for wall in done:
        advice = study.plans.advice_for(wall.wall.name)
        if advice.net is not None and advice.net.best < 0.0:
            yield say("{wall}: {reason}", wall=capital(advice.wall), reason=advice.reason)


def reasons(study: Study) -> Iterator[Statement]:
    """The advice wall by wall, and what the house's figure differs by from theirs."""
    plans = study.plans
    for one in plans.advice:
        yield Statement(say("{wall}: {reason}", wall=capital(one.wall), reason=one.reason))
    yield from _sums(study)


def order(study: Study) -> Iterator[Statement]:
    """Where the whole house loses its heat, what is done first, and what the bills say."""
    steps = measures(study).steps
    yield Statement(steps[0], (SHARES,))
    yield from (Statement(one) for one in steps[1:])
    billed = study.heating.billed
    if billed is not None:
        yield Statement(bill_sentence(billed, study.heating.calibrated), (BILLS,))


def _sums(study: Study) -> Iterator[Statement]:
    """Why the house's figure is not the sum of its walls'."""
    plans, currency = study.plans, study.prices.currency
    if plans.best.net is None or plans.once is None or plans.shared is None:
        return
    quoted = sum(one.net for one in plans.quotes if one.taken and one.net is not None)
    nets = sum(one.net.best for one in plans.advice if one.net is not None) + quoted
    once, more = (round(value, -1) for value in (plans.once, plans.shared))
    # what is printed adds up: the last part takes what rounding leaves
    gap = round(nets, -1) - round(plans.best.net.best, -1)
    once, more = (once, once - gap) if more else (gap, 0.0)
    parts = []
    if once > 0.0:
        parts.append(say("{once} is charged once for the house", once=_tens(once, currency)))
    if more:
        parts.append(
            say(
                "what is done together is worth {shared} {than} than each beside the others",
                shared=_tens(abs(more), currency),
                than="more" if more > 0.0 else "less",
            )
        )
    if parts:
        text = (
            "The walls' own figures and the other trades' add up to {nets}, the house's to "
            "{house}: {parts}."
            if quoted
            else "The walls' own figures add up to {nets}, the house's to {house}: {parts}."
        )
        yield Statement(
            say(
                text,
                nets=_tens(nets, currency),
                house=_tens(plans.best.net.best, currency),
                parts=joined(parts, ", and "),
            )
        )
