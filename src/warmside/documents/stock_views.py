"""A stock run as a provider reads it: rows and sentences for the paper and the pages alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from warmside import drawings
from warmside.documents.picture import Picture
from warmside.documents.typesetting import PaperView
from warmside.stock import (
    GOALS,
    Doubt,
    Goal,
    KindRow,
    Limits,
    Programme,
    Ranked,
    Stock,
    ToSurvey,
    YearPlan,
    checked,
    doubts,
    kinds,
    plan,
    ranking,
    to_survey,
    totals,
)
from warmside.units import R_IMPERIAL
from warmside.wording import Figure, Kind, Sentence, Style, counted, say

Row = dict[str, Figure]
Said = str | Sentence
MOST_RANKED, MOST_SURVEYS = 25, 20
_CHART = 340.0  # [user units]
_NOTICED = 0.05  # [houses] fewer are told as none
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
METRIC = Style("metric", "m²", "m³", thermal_resistance="RSI")  # of the paper: no figure in two
# as what the worth of a year is written
_BRINGS: Mapping[Goal, Kind] = {"saving": "money", "carbon": "count", "risk": "index"}


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
    """Everything that the provider's paper and the pages show."""

    goal: str
    headline: tuple[Sentence, ...]
    kinds: tuple[KindRow, ...]
    charts: tuple[Picture, ...]
    trade_charts: tuple[Picture, ...]  # the same for readers of R
    years: tuple[Row, ...]  # by the names of columns
    shadow: Said
    places: tuple[Ranked, ...]
    ranked: tuple[Ranked, ...]
    doubts: tuple[Doubt, ...]
    surveys: tuple[ToSurvey, ...]
    checks: tuple[Said, ...]
    assumptions: tuple[str, ...]
    currency: str


def stock_view(stock: Stock, wish: Wish, today: date, seconds: float = 30.0) -> StockView:
    """What a stock run comes to.

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
    programme, rows = plan(stock, wish.limits, wish.goal, seconds), kinds(stock)
    offered = {(r.id, r.offer): r for r in ranking(stock, every=True)}
    return StockView(
        house=f"{stock.made['houses']} houses",
        date=today,
        prepared_by="Warmside",
        goal=GOALS[wish.goal][1],
        headline=tuple(_headline(stock, rows, programme, wish)),
        kinds=rows,
        charts=_charts(rows, stock.currency, METRIC),
        trade_charts=_charts(rows, stock.currency, Style()),
        years=tuple(_year(y, wish.goal) for y in programme.years),
        shadow=_shadow(programme, wish, stock.currency),
        places=tuple(
            replace(offered[p.offer.house, p.offer.option], year=p.year) for p in programme.places
        ),
        ranked=ranking(stock, wish.goal)[:MOST_RANKED],
        doubts=doubts(stock),
        surveys=to_survey(stock, MOST_SURVEYS),
        checks=tuple(_checks(stock)),
        assumptions=_ASSUMPTIONS + (_INVENTED if stock.made["invented"] else ()),
        currency=stock.currency,
        prices_invented=bool(stock.made["invented"]),
    )


def _headline(
    stock: Stock, rows: Sequence[KindRow], programme: Programme, wish: Wish
) -> Iterator[Sentence]:
    houses, done = stock.made["houses"], totals(stock, programme.places)
    risk = sum(row.risk.value * row.houses for row in rows) / max(houses, 1)

    def money(amount: float) -> Figure:
        return Figure(amount, "money", currency=stock.currency)

    yield say(
        "{houses} were judged with {draws} of what is not known of each; {risk} of houses and "
        "draws have a wall that is too cold or too wet as it stands.",
        houses=Figure(houses, "count", noun="house"),
        draws=Figure(stock.made["settings"]["draws"], "count", noun="draw"),
        risk=Figure(risk, "share"),
    )
    if programme.places:
        yield say(
            "With {budget} and {crew} crew hours a year, {houses} done in {years} for {cost}. "
            "Together they then save {saving} and {carbon} t of carbon dioxide a year.",
            budget=money(wish.budget),
            crew=Figure(wish.crew, "count"),
            houses=counted(len(programme.places), "house is", "houses are"),
            years=Figure(wish.years, "years"),
            cost=money(sum(year.cost for year in programme.years)),
            saving=money(done["saving"]),
            carbon=Figure(done["carbon"] / 1000.0, "index"),
        )
        if done["risk_avoided"] >= _NOTICED:
            yield say(
                "{risk} fewer houses can then be expected to have a wall that is too cold or too "
                "wet.",
                risk=Figure(done["risk_avoided"], "index"),
            )
    else:
        yield say("No house can be done with this money and these crews in any year.")
    if refused := stock.made["refused"]:
        row = Figure(refused, "count", noun="row")
        yield say("{row} of the table could not be used; what is wrong is listed apart.", row=row)


def _charts(rows: Sequence[KindRow], currency: str, style: Style) -> tuple[Picture, ...]:
    drawn = []
    metric = style.thermal_resistance == "RSI"
    for name, unit, si, title, warm in (
        ("resistance", "m² K/W" if metric else "h ft² °F/Btu", 1.0 if metric else R_IMPERIAL,
         "Walls as found: R of the framed wall", False),
        ("saving", f"{currency} a year", 1.0, "What a house can save", True),
    ):  # fmt: skip
        found = [(row.archetype, getattr(row, name)) for row in rows]
        ranges = [
            drawings.Range(
                kind, (f.low or 0.0) / si, f.value / si, (f.high or 0.0) / si,
                style.figure(replace(f, low=None)),
            )
            for kind, f in found
            if (f.low or 0.0) >= 0.0
        ]  # fmt: skip
        drawn.append(drawings.spreads(ranges, unit=unit, title=title, width=_CHART, warm=warm))
    return tuple(map(Picture.of, drawn))


def _year(year: YearPlan, goal: Goal) -> Row:
    return {
        "year": Figure(year.year, "count"),
        "houses": Figure(year.houses, "count"),
        "cost": Figure(year.cost, "money"),
        "crew": Figure(year.crew, "count"),
        "brings": Figure(year.value, _BRINGS[goal]),
        "shadow": Figure(year.shadow * 1000.0, "number"),
    }


def _shadow(programme: Programme, wish: Wish, currency: str) -> Said:
    if not programme.places:
        return ""
    further = Figure(programme.years[0].crew_shadow, "number")
    return say(
        "No programme can be {better}. The last column is what a further {money} in that year "
        "would bring ({goal}). What is done a year later counts {discount} less. {crew} {left} "
        "not reached.",
        better=say("more than {gap} better", gap=Figure(100.0 * programme.gap, "number", unit="%"))
        if programme.gap >= 1e-3
        else "better",
        money=Figure(1000.0, "money", currency=currency),
        goal=GOALS[wish.goal][1],
        discount=Figure(wish.discount, "share"),
        crew=say("A further crew hour would bring {further}.", further=further)
        if further.value > 0.0
        else "More crew hours would bring nothing further.",
        left=counted(programme.left, "house is", "houses are"),
    )


def _checks(stock: Stock) -> Iterator[Said]:
    check, settings = checked(stock), stock.made["settings"]
    yield check.sentence
    if check.near:
        yield say(
            "{near} lay near a limit and were studied in full; {failed} of them failed and are not "
            "put forward.",
            near=Figure(check.near, "count", noun="option"),
            failed=Figure(check.near_failed, "count"),
        )
    if check.heat_error is not None:
        yield say(
            "On the sample, the heat that the screening says is saved is usually within {off} of "
            "the full study.",
            off=Figure(check.heat_error, "share"),
        )
    yield say(
        "Near a limit: a temperature factor within {factor}, a surface within {surface} of the dew "
        "point, water within {water} of its limit. Sample: {sample} of houses, seed {seed}.",
        factor=Figure(settings["near_factor"], "factor"),
        surface=Figure(settings["near_surface"], "difference"),
        water=Figure(settings["near_water"], "share"),
        sample=Figure(settings["sample"], "share"),
        seed=f"{settings['seed']}",
    )
