"""Evidence of the choices: what a price buys, where a further half inch and where sealing pays."""

from __future__ import annotations

from warmside import drawings, units
from warmside.catalog import Climate, Source
from warmside.documents.annex_data import (
    Chances,
    HalfInch,
)
from warmside.documents.picture import Picture
from warmside.documents.readers import heat_of, resistance_of
from warmside.drawings import PlanPoint, Thickness
from warmside.promises import banded
from warmside.study import (
    Spread,
    Study,
    ThicknessCurve,
    ThicknessStep,
    WallSpread,
    WallStudy,
    thickness_curve,
)
from warmside.study.plan import AIMS
from warmside.study.report import Statement
from warmside.wording import Figure, plain

WIDTH = 640.0  # of a drawing [user units]
_WORTH = Source(
    "Worth today of what a further half inch saves, by the wall's own field where it was solved",
    "computed",
)
_SEAT = Source("A seat 1 m from the middle of the wall on the design night", "computed")
LEAKS = Source("Leakage of the joints counted on the walls, fitted to the fan test", "computed")
_DRAWS = Source("A Latin hypercube over the spreads named below the table", "computed")


def price_and_saving(study: Study) -> Picture:
    """Price against saving of the best plans, cheap to dear."""
    plans = study.plans
    unit, joules = heat_of(study.outside.climate)
    # with what other trades ask in the plan
    names = {round(p.whole.worth.cost or 0.0, 2): p.name for p in plans.plans if p.id in AIMS}
    return Picture.of(
        drawings.frontier(
            [PlanPoint(p.cost, p.heat / joules, names.get(p.cost, "")) for p in plans.frontier],
            currency=study.prices.currency,
            width=WIDTH,
            unit=unit,
        )
    )


def half_inch(study: Study) -> HalfInch | None:
    """The thickness chart of the largest wall, and every wall in a row; None without two steps.

    Only thicknesses that the study holds are shown: nothing is solved for a paper.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    found = [(w, thickness_curve(study, w.wall.name, studied_only=True)) for w in study.walls]
    curves = [(wall, c) for wall, c in found if sum(not step.refused for step in c.steps) > 1]
    if not curves:
        return None
    wall, curve = max(curves, key=lambda pair: pair[0].frame.net_area)
    return HalfInch(
        wall=wall.wall.name,
        chart=Picture.of(thickness_chart(curve, study.outside.climate)),
        note=Statement(curve.sentence, (_WORTH,)),
        years=curve.years,
        rows=tuple(_row(w, c) for w, c in curves),
        seat=(_SEAT,),
    )


def thickness_chart(
    curve: ThicknessCurve, climate: Climate, width: float = WIDTH, sentence: str = ""
) -> str:
    """What each step that can be built gives, as SVG, with a sentence below."""
    shown = [step for step in curve.steps if not step.refused]
    return drawings.thickness_curve(
        [_thickness(step) for step in shown],
        best=shown.index(curve.best) if curve.best in shown and _pays(curve.best) else None,
        currency=curve.currency,
        sentence=sentence,
        title=f"What each further step gives, {curve.wall}",
        width=width,
        unit=resistance_of(climate),
    )


def _pays(step: ThicknessStep | None) -> bool:
    """Whether foam of that depth brings more than it costs, or nobody knows."""
    net = None if step is None else step.worth.net_present_value
    return net is None or net[1] >= 0.0


def _thickness(step: ThicknessStep) -> Thickness:
    """A step of foam by its depth, one beyond the bays by what it adds."""
    deep = step.added if step.beyond else step.foam
    note = "trim" if step.trimming else f"{step.passes} passes" if step.passes > 1 else ""
    return Thickness(
        label=f"{units.show(deep, 'length')}|{deep * 1e3:.0f} mm",
        resistance=step.resistance,
        cost=step.further_cost,
        worth=step.further_value,
        group=step.beyond,
        note=note,
    )


def _row(wall: WallStudy, curve: ThicknessCurve) -> tuple[str | Figure, ...]:
    """Where foam pays best, what going on brings, and the seat before what is put forward."""
    best, after = curve.best, None
    if best is not None and best in curve.steps:
        rest = curve.steps[curve.steps.index(best) + 1 :]
        after = next((s for s in rest if not s.beyond and s.pays is not None), None)
    seat = wall.chosen.comfort
    return (
        wall.wall.name,
        _depth(best),
        _depth(after),
        Figure(after.further_resistance, "resistance") if after else "–",
        Figure(after.further_cost, "money") if after and after.further_cost is not None else "–",
        banded(after.further_value, "money") if after and after.further_value else "–",
        Figure(seat.before.radiant_temperature, "temperature"),
        Figure(seat.after.radiant_temperature, "temperature"),
    )


def _depth(step: ThicknessStep | None) -> str:
    return units.show(step.foam, "length") if step else "–"


def sealing(study: Study) -> tuple[tuple[str, ...], ...]:
    """Kinds of joint of the whole house, the one that closes most per metre first.

    Parameters
    ----------
    study : Study
        The house studied.
    """
    return tuple(
        (
            gain.name,
            f"{gain.length / 0.3048:,.0f} ft ({gain.length:,.1f} m)",
            f"{gain.open * 1e4:,.1f}",
            f"{gain.sealed * 1e4:,.1f}",
            f"{gain.per_metre * 1e4:.2f}",
        )
        for gain in study.air.gains
    )


def how_sure(spread: Spread) -> Chances:
    """In how many draws each promise holds on each wall.

    Parameters
    ----------
    spread : Spread
        From ``warmside.study.spread``.
    """
    heads = [(c.promise, c.what) for wall in spread.walls for c in wall.chances]
    heads = list(dict.fromkeys(heads))
    rows = []
    for wall in spread.walls:
        holds = {(c.promise, c.what): str(c.holds) for c in wall.chances}
        rows.append((wall.wall, *(holds.get(head, "–") for head in heads)))
    return Chances(
        draws=spread.draws,
        heads=tuple(f"{promise}: {what}" for promise, what in heads),
        rows=tuple(rows),
        assumptions=tuple(
            Statement(plain(text), (_DRAWS,))
            for text in (*spread.assumptions, *filter(None, map(_most_by, spread.walls)))
        ),
    )


def _most_by(wall: WallSpread) -> str:
    """By which inputs the promises of a wall go most; empty where by none."""
    told = [f"{c.what}: {' and '.join(c.most_by)}" for c in wall.chances if c.most_by]
    return f"{wall.wall}, decided most by: {'; '.join(told)}." if told else ""
