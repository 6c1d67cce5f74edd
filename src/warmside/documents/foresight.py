"""What pictures and probes of a house will be able to show, said before anybody takes them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from warmside.catalog import Catalog
from warmside.proof import Conditions, Power, curve, power, usual, wide_enough
from warmside.proof.foam import Rule
from warmside.site import WallPlan, probes_needed
from warmside.survey import Survey
from warmside.wording import Style, counted

USUAL = usual(20.0, 0.0)


def powers_of(
    survey: Survey,
    plans: Iterable[WallPlan],
    catalog: Catalog,
    air: Conditions = USUAL,
    contrast: float = 0.1,
) -> dict[str, Power]:
    """What a picture of every foamed wall will show, by the wall's name.

    Parameters
    ----------
    survey, plans, catalog
        The house, and how its walls are done.
    air : Conditions
        That are planned.
    contrast : float
        Of the camera [K].
    """
    walls = {wall.name: wall for wall in survey.walls}
    foamed = [plan for plan in plans if plan.foam and plan.wall in walls]
    return {
        plan.wall: power(plan.option, walls[plan.wall], plan.frame, catalog, air, contrast=contrast)
        for plan in foamed
        if any(wide_enough(bay) for bay in plan.frame.bays)
    }


def foreseen(
    survey: Survey,
    plans: tuple[WallPlan, ...],
    catalog: Catalog,
    air: Conditions,
    contrast: float,
    rule: Rule,
) -> Iterator[str]:
    """The same as lines of text, with the operating curve of every wall's probes."""
    style, powers = Style(), powers_of(survey, plans, catalog, air, contrast)
    foamed = [plan for plan in plans if plan.foam]
    if not foamed:
        yield "No wall is to be foamed: pictures and probes have nothing to prove."
    for plan in foamed:
        yield plan.wall
        if plan.wall in powers:
            yield f"  A picture of it {style.sentence(powers[plan.wall].sentence)}"
        else:
            yield "  No bay is wide enough for a picture."
        count = probes_needed(plan.sprayed_area, catalog)
        yield f"  {counted(count, 'probe')}, verdicts in 100 such walls:"
        for one in curve(count, rule):
            short = f"{style(one.short, 'length')} thinner than sold" if one.short else "as sold"
            yield (
                f"    {short}: holds {one.holds * 100:.0f}, falls short "
                f"{one.falls_short * 100:.0f}, needs a person {one.needs_person * 100:.0f}"
            )
