"""What is reported of the plans: in which order the house is mended, what each plan costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from warmside.study.parts import OptionStudy, Study
from warmside.study.plan import Plan
from warmside.study.report.parts import Statement
from warmside.wording import Figure, counted, say


@dataclass(frozen=True)
class PlanReport:
    """One plan's row; figures of the whole house."""

    id: str
    name: str
    recommended: bool
    done: str  # walls worked on
    left: str  # walls left
    total: Figure
    saving: Figure | None  # a year
    payback: Figure | None
    worth: Figure | None  # net present value
    air_change: Figure  # at 50 Pa
    coldest: Figure


def plan_reports(study: Study) -> tuple[PlanReport, ...]:
    """The plans beside each other, each with its figures."""
    return tuple(_row(plan, study) for plan in study.plans.plans)


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
        done=_names(worked),
        left=_names(left),
        total=Figure(float(whole.price.total), "money", currency=currency),
        saving=Figure(money.best, "money", currency=currency, low=money.low, high=money.high)
        if money and worked
        else None,
        payback=Figure(payback[1], "years") if payback and payback[1] is not None else None,
        worth=None if plan.net is None else _tens(plan.net, currency),
        air_change=Figure(tight.best, "air change", low=tight.low, high=tight.high),
        coldest=Figure(plan.coldest, "temperature"),
    )


def _works(option: OptionStudy) -> bool:
    return option.option.kind.worked


def _names(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"


def _tens(value: float, currency: str) -> Figure:
    return Figure(round(value, -1), "money", currency=currency)


def plan_statements(study: Study) -> Iterator[Statement]:
    """The order of the work: stop and mend first, then what is done, then what is left and why."""
    plans, currency = study.plans, study.prices.currency
    best = plans.best
    stopped = [one for one in plans.advice if one.stopped]
    for one in stopped:
        yield Statement(say("First, {wall}: {reason}", wall=one.wall, reason=one.reason))
    if not study.follows_plan:
        yield Statement(say("What is put forward was chosen by other weights than worth alone."))
        return
    names = {w.wall.name: w for w in study.walls}
    done = [one for one in plans.advice if names[one.wall].chosen.option.kind.worked]
    if done and best.net is not None:
        yield Statement(
            say(
                "The plan that we recommend works on {walls}. Its savings are worth {worth} "
                "{than} what it costs.",
                walls=counted(len(done), "wall"),
                worth=_tens(abs(best.net), currency),
                than="more than" if best.net >= 0.0 else "less than",
            )
        )
    elif not done:
        yield Statement(say("No work on the walls is recommended now: none of it would pay."))
    for one in done:
        yield Statement(say("{wall}: {reason}", wall=_capital(one.wall), reason=one.reason))
    for one in plans.advice:
        if one not in done and not one.stopped:
            yield Statement(say("{wall}: {reason}", wall=_capital(one.wall), reason=one.reason))
    if plans.shared is not None and abs(plans.shared) >= 5.0:
        yield Statement(
            say(
                "The walls' own figures add up to {difference} {than} the house's: some charges "
                "are paid once, and a tighter house needs fresh air.",
                difference=_tens(abs(plans.shared), currency),
                than="less than" if plans.shared > 0.0 else "more than",
            )
        )
    yield Statement(
        say("Attic, rim joist, basement and heating were not surveyed as parts to improve. Sealing "
            "and filling an attic is often the cheaper first step: have it priced beside this.")
    )  # fmt: skip


def _capital(name: str) -> str:
    return name[0].upper() + name[1:]
