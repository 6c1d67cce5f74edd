"""What each further half inch of foam gives.

Problem: foam costs about the same for every half inch, while each adds less: studs go on conducting
beside it, and heat falls as 1 / R. On a wall of the demonstration house, where does a further half
inch stop paying?

Source: sums of the steps (exact); worth today of one a year at 3 % over 25 years, 17.413 (NIST
Handbook 135, from memory), and of one that rises by 2 % at 4 % over 30 years, as a geometric series
(exact). Prices are the invented ones that come with the program.
"""

from __future__ import annotations

from pathlib import Path

from _compared import Compared, compared, show

from warmside.demo import survey_text
from warmside.drawings import Thickness
from warmside.drawings import thickness_curve as chart
from warmside.promises import present_value_factor
from warmside.study import ThicknessCurve, study, thickness_curve
from warmside.survey import Survey, read

WALL = "east side"
SUM = "what the steps add, summed [exact]"
TABLE = "NIST Handbook 135, 17.413 [from memory]"
SERIES = "sum of (1.02 / 1.04)^t over 30 years [exact]"


def curve() -> ThicknessCurve:
    """The wall studied alone, by the simple methods."""
    survey = read(survey_text())
    walls = tuple(wall for wall in survey.walls if wall.name == WALL)
    alone = Survey(house=survey.house, walls=walls)
    return thickness_curve(study(alone, fields=False, years=0), WALL)


def picture(found: ThicknessCurve) -> str:
    """The curve as SVG, steps within the bays."""
    inside = [step for step in found.steps if not step.beyond]
    points = [
        Thickness(f"{step.foam * 1000:.0f} mm", step.resistance, step.further_cost,
                  step.further_value)
        for step in inside
    ]  # fmt: skip
    best = inside.index(found.best) if found.best in inside else None
    return chart(points, best=best, currency=found.currency, sentence=str(found.sentence))


def main(folder: Path | None = None) -> list[Compared]:
    """Compare the whole with the sum of its steps."""
    found = curve()
    inside = [step for step in found.steps if not step.beyond]
    if folder:
        (folder / "half_inches.svg").write_text(picture(found), encoding="utf-8")
    last = inside[-1]
    cost = sum(step.further_cost or 0.0 for step in inside)
    heat = sum(step.further_heat for step in inside)
    factor = sum((1.02 / 1.04) ** year for year in range(1, 31))
    return [
        compared("cost of all steps", cost, last.cost or 0.0, 0.01, SUM),
        compared("heat saved by all steps, J", heat, last.worth.heat.best, 1e-6 * heat, SUM),
        compared("worth of 1 a year, 3 %", present_value_factor(0.03, 25), 17.413, 5e-4, TABLE),
        compared("worth of 1 rising, 4 %", present_value_factor(0.04, 30, 0.02), factor, 1e-9,
                 SERIES),
    ]  # fmt: skip


if __name__ == "__main__":
    show(main)
