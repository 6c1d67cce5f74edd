"""A stock run as a provider reads it: plain texts for the paper and the pages alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from warmside import drawings
from warmside.documents.picture import Picture
from warmside.documents.typesetting import PaperView
from warmside.stock import (
    GOALS,
    Checked,
    Goal,
    KindRow,
    Limits,
    Programme,
    Ranked,
    Stock,
    YearPlan,
    checked,
    doubts,
    effects,
    kinds,
    plan,
    ranking,
    to_survey,
    totals,
)
from warmside.wording import counted

Row = dict[str, str]
MOST_PLACES, MOST_RANKED, MOST_SURVEYS = 80, 25, 20
_CHART = 340.0  # [user units]
_ASSUMPTIONS = (
    "A house whose floor area is known is its archetype, grown or shrunk in plan by the root "
    "of the areas; heights, lumber and spacing stay.",
    "Screening: heat by the simple methods times a factor from the archetype's solved fields, "
    "water month by month, leakage by the joints and the fan test; the full study solves the "
    "field and runs the year hour by hour.",
    "Bands are 5 and 95 of 100 draws of what is not known; a known figure is taken as exact.",
    "What a visit is worth is an upper bound: the house would be known in full.",
    "Before any house is opened a person surveys it; local codes and the official decide.",
)
_INVENTED = ("The prices are invented: no amount here is an offer.",)


@dataclass(frozen=True)
class Wish:
    """What the provider wants most, and what there is each year."""

    goal: Goal = "saving"
    years: int = 5
    budget: float = 250_000.0  # [currency] a year
    crew: float = 3000.0  # [h] a year, of all crews together
    discount: float = 0.03  # [-] a year: what is done later is worth less

    @property
    def limits(self) -> Limits:
        """The same money and crews in every year."""
        return Limits((self.budget,) * self.years, (self.crew,) * self.years, self.discount)


@dataclass(frozen=True)
class StockView(PaperView):
    """Everything that the provider's paper and the pages show; rows by the names of columns."""

    goal: str
    headline: tuple[str, ...]
    kinds: tuple[Row, ...]
    charts: tuple[Picture, ...]
    years: tuple[Row, ...]
    shadow: str
    places: tuple[Row, ...]
    places_left: int  # in the programme, not printed
    ranked: tuple[Row, ...]
    doubts: tuple[Row, ...]
    surveys: tuple[Row, ...]
    checks: tuple[str, ...]
    assumptions: tuple[str, ...]
    currency: str


def stock_view(stock: Stock, wish: Wish, today: date, seconds: float = 30.0) -> StockView:
    """Texts of a stock run.

    Parameters
    ----------
    stock : Stock
        From ``read_stock``.
    wish : Wish
        Goal, money and crews.
    today : date
        Date of the paper.
    seconds : float
        Most time for the programme [s].
    """
    programme = plan(stock, wish.limits, wish.goal, seconds)
    rows, check, currency = kinds(stock), checked(stock), stock.currency
    by_house = {(r.id, r.option): r for r in ranking(stock, every=True)}
    places = [
        {"year": f"{p.year}"} | _place(by_house[p.offer.house, p.offer.option])
        for p in programme.places
    ]
    return StockView(
        house=f"{stock.made['houses']} houses",
        date=today,
        prepared_by="Warmside",
        goal=GOALS[wish.goal][1],
        headline=tuple(_headline(stock, rows, programme, wish)),
        kinds=tuple(_kind(row) for row in rows),
        charts=_charts(rows, currency),
        years=tuple(_year(y, wish) for y in programme.years),
        shadow=_shadow(programme, wish, currency),
        places=tuple(places[:MOST_PLACES]),
        places_left=max(len(places) - MOST_PLACES, 0),
        ranked=tuple(map(_place, ranking(stock, wish.goal)[:MOST_RANKED])),
        doubts=tuple(_doubts(stock)),
        surveys=tuple(
            {"id": s.id, "archetype": s.archetype, "worth": f"{s.worth:,.0f}", "why": s.why}
            for s in to_survey(stock, MOST_SURVEYS)
        ),
        checks=tuple(_checks(check, stock)),
        assumptions=_ASSUMPTIONS + (_INVENTED if stock.made["invented"] else ()),
        currency=currency,
        prices_invented=bool(stock.made["invented"]),
    )


def _headline(
    stock: Stock, rows: Sequence[KindRow], programme: Programme, wish: Wish
) -> Iterator[str]:
    houses, currency = stock.made["houses"], stock.currency
    risk = sum(row.risk * row.houses for row in rows) / max(houses, 1)
    done = totals(stock, programme.places)
    money = sum(year.cost for year in programme.years)
    yield (
        f"{houses} houses were judged with {stock.made['settings']['draws']} draws of what is not "
        f"known of each; {risk:.0%} of houses and draws have a wall that is too cold or too wet "
        "as it stands."
    )
    if programme.places:
        yield (
            f"With {currency} {wish.budget:,.0f} and {wish.crew:,.0f} crew hours a year, "
            f"{counted(len(programme.places), 'house is', 'houses are')} done in "
            f"{counted(wish.years, 'year')} for {currency} "
            f"{money:,.0f}. Together they then save {currency} {done['saving']:,.0f} and "
            f"{done['carbon'] / 1000.0:,.1f} t of carbon dioxide a year; "
            f"{done['risk_avoided']:.1f} houses fewer have a wall too cold or too wet, expected."
        )
    else:
        yield "No house can be done with this money and these crews in any year."
    if stock.made["refused"]:
        yield (
            f"{stock.made['refused']} rows of the table could not be used; they are listed apart."
        )


def _kind(row: KindRow) -> Row:
    low, middle, high = row.saving
    return {
        "archetype": row.archetype,
        "houses": f"{row.houses}",
        "area": f"{row.area:,.0f} m²",
        "resistance": f"{row.resistance[0]:.2f} to {row.resistance[2]:.2f}",
        "risk": f"{row.risk:.0%}",
        "saving": f"{middle:,.0f} ({low:,.0f} to {high:,.0f})",
        "option": row.option,
    }


def _charts(rows: Sequence[KindRow], currency: str) -> tuple[Picture, ...]:
    as_found = [drawings.Range(r.archetype, *r.resistance, f"{r.resistance[1]:.2f}") for r in rows]
    saved = [drawings.Range(r.archetype, *r.saving, f"{r.saving[1]:,.0f}") for r in rows
             if r.saving[0] >= 0.0]  # fmt: skip
    drawn = (
        drawings.spreads(as_found, unit="m² K/W", title="Walls as found: R of the framed wall",
                         width=_CHART, warm=False),
        drawings.spreads(saved, unit=f"{currency} a year", title="What a house can save",
                         width=_CHART),
    )  # fmt: skip
    return tuple(map(Picture.of, drawn))


def _year(year: YearPlan, wish: Wish) -> Row:
    return {
        "year": f"{year.year}",
        "houses": f"{year.houses}",
        "cost": f"{year.cost:,.0f}",
        "crew": f"{year.crew:,.0f}",
        "brings": f"{year.value:,.{int(wish.goal == 'risk')}f}",
        "shadow": f"{year.shadow * 1000.0:,.3g}",
    }


def _shadow(programme: Programme, wish: Wish, currency: str) -> str:
    if not programme.places:
        return ""
    first = programme.years[0]
    proof = (
        "No programme can be better"
        if programme.gap < 1e-3
        else f"No programme can be more than {programme.gap:.1%} better"
    )
    crew = (
        "Crews do not bind."
        if first.crew_shadow <= 0.0
        else f"A further crew hour would bring {first.crew_shadow:.3g}."
    )
    return (
        f"{proof}. The last column is the shadow price of money: what a further {currency} 1,000 "
        f"in that year would bring ({GOALS[wish.goal][1]}), by the dual values of the linear "
        f"relaxation. What is done a year later counts {wish.discount:.0%} less. {crew} "
        f"{programme.left} houses are not reached."
    )


def _place(r: Ranked) -> Row:
    low, high = r.saving_band
    return {
        "id": r.id,
        "archetype": r.archetype,
        "option": r.name,
        "cost": f"{r.cost:,.0f}",
        "saving": f"{r.saving:,.0f} ({low:,.0f} to {high:,.0f})",
        "carbon": f"{r.carbon:,.0f}",
        "risk": f"{r.risk_avoided:.0%}",
    }


def _doubts(stock: Stock) -> Iterator[Row]:
    """What is not known, and the share of the saving's spread that hangs on it."""
    shares = {
        (row["archetype"], row["unknown"]): row["total"]
        for row in effects(stock).iter_rows(named=True)
    }
    for one in doubts(stock):
        share = shares.get((one.archetype, one.unknown))
        yield {
            "archetype": one.archetype,
            "unknown": one.unknown,
            "houses": f"{one.houses}",
            "share": "–" if share is None else f"{min(share, 1.0):.0%}",
            "worth": "too few draws" if one.worth is None else f"{one.worth:,.0f}",
        }


def _checks(check: Checked, stock: Stock) -> Iterator[str]:
    yield check.sentence
    if check.near:
        yield (
            f"{check.near} options lay near a limit and were studied in full; {check.near_failed} "
            "of them failed and are not put forward."
        )
    if check.heat_error is not None:
        yield (
            "On the sample, heat saved by the screening with its archetype's factor is "
            f"{check.heat_error:.0%} off the full study (root mean square over the mean)."
        )
    settings = stock.made["settings"]
    yield (
        f"Near a limit: a temperature factor within {settings['near_factor']:g}, a surface within "
        f"{settings['near_surface']:g} K of the dew point, water within "
        f"{settings['near_water']:.0%} of its limit. Sample: {settings['sample']:.0%} of houses, "
        f"seed {settings['seed']}."
    )
