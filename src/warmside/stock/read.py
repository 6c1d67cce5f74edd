"""What a run found, read for people: how the stock stands, what comes first, how sure it is."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError
from warmside.options import LEAVE
from warmside.stock import schema
from warmside.stock.indices import LEAST, worth_of_knowing
from warmside.stock.programmes import Limits, Offer, Programme, programme
from warmside.wording import Figure, Kind

if TYPE_CHECKING:
    import polars as pl

Goal = Literal["saving", "carbon", "risk"]
GOALS: Mapping[Goal, tuple[str, str]] = {
    "saving": ("money", "money saved a year"),
    "carbon": ("carbon_kg", "kg of carbon dioxide saved a year"),
    "risk": ("risk_avoided", "houses freed of cold or wet walls, expected"),
}
_CONFIDENCE = 0.95
_TOP = 20  # houses to survey next


@dataclass(frozen=True)
class Checked:
    """How the screening stood up to the full study on a random sample."""

    sample: int  # options that it had passed well clear of every limit, drawn at random
    missed: int  # of those, failures that only the full study saw
    least: float  # [-] share missed, 95 % confident
    most: float
    near: int  # options looked at closely because they lay near a limit
    near_failed: int
    heat_error: float | None  # [-] root mean square over mean of the heat that the full study saves

    @property
    def sentence(self) -> str:
        """What the sample says, in words."""
        if not self.sample:
            return (
                "No option was drawn for the sample: how often the screening misses is not known."
            )
        return (
            f"Of {self.sample} options that the screening passed, drawn at random and studied in "
            f"full, {self.missed} failed after all: with 95 % confidence it misses "
            f"{_percent(self.least)} to {_percent(self.most)} of what it passes."
        )


def _percent(share: float) -> str:
    """No finer than a sample tells: whole from a tenth on."""
    return f"{share * 100:.{0 if share >= 0.1 or not share else 1}f} %"


@dataclass(frozen=True)
class KindRow:
    """One archetype as it stands, over its houses and draws; bands are 5 and 95 of 100 of these.

    Money here and below is in the currency of the stock, which whoever shows it names once.
    """

    archetype: str
    houses: int
    area: Figure  # of walls
    resistance: Figure  # as found
    risk: Figure  # share of houses and draws with a wall too cold or too wet
    saving: Figure  # a year, of the option that saves most among those that keep promises
    option: str  # which one that usually is


@dataclass(frozen=True)
class Ranked:
    """One house with the option that brings most of what is wanted for the money."""

    id: str
    archetype: str
    offer: str  # id of the option
    option: str  # its name
    cost: Figure
    saving: Figure  # a year, mean of the draws, between 5 and 95 of 100 of them
    carbon: Figure  # [kg] a year
    risk: Figure  # taken away, a share of the draws
    year: int = 0  # of a programme; 0: of none


@dataclass(frozen=True)
class Doubt:
    """One unknown of an archetype: what it is worth to measure it before choosing."""

    archetype: str
    unknown: str
    houses: int  # in which it is not known
    share: Figure | None  # of the spread of what is saved that hangs on it
    worth: Figure | str  # a house, over the years, on average; or why it is not known


@dataclass(frozen=True)
class ToSurvey:
    """A house that is worth a visit before anything is decided."""

    id: str
    archetype: str
    worth: Figure  # over the years, of knowing the house before choosing
    why: str


@dataclass(frozen=True)
class Stock:
    """Results of a run, with the factors of the fields put in.

    ``frame`` holds one row for each option of each house; what the solved fields add to the
    screening comes from the full study where there is one, else from the archetype.
    """

    folder: Path
    made: dict[str, Any]
    frame: pl.DataFrame
    drawn: pl.DataFrame

    @property
    def currency(self) -> str:
        """Of every amount."""
        return str(self.made["currency"])


def read_stock(folder: Path) -> Stock:
    """Read the folder of a run.

    Raises
    ------
    InputError
        No finished run lies there, or one of another format.
    """
    import polars as pl

    try:
        made = json.loads((folder / "run.json").read_text("utf-8"))
        rows = pl.read_parquet(folder / "stock.parquet")
        drawn = pl.read_parquet(folder / "drawn.parquet")
    except (OSError, ValueError, pl.exceptions.PolarsError):
        told = Fault(str(folder), "no finished run", "a folder that warmside stock run has filled")
        raise InputError([told]) from None
    if made.get("format") != 1:
        raise InputError([Fault(str(folder), f"format {made.get('format')}", "format 1")])
    return Stock(folder, made, _calibrated(rows, folder, made), drawn)


def _calibrated(rows: pl.DataFrame, folder: Path, made: dict[str, Any]) -> pl.DataFrame:
    """Rows with what the fields say: the full study's figures, or the archetype's factors."""
    import polars as pl

    keys = [kind["factors"] for kind in made["archetypes"].values()]
    files = [path for key in keys if (path := folder / "factors" / f"{key}.parquet").exists()]
    names = ("archetype", "option", "rsi_factor", "heat_factor")
    if files:
        rows = rows.join(pl.read_parquet(files, glob=False).select(names), on=names[:2], how="left")
    else:
        rows = rows.with_columns(rsi_factor=pl.lit(None, pl.Float64),
                                 heat_factor=pl.lit(None, pl.Float64))  # fmt: skip
    shift = {name: _shift(name) for name in ("money", "carbon_kg")}
    return rows.with_columns(
        rsi=pl.coalesce("close_rsi_m2k_w", pl.col("rsi_m2k_w") * pl.col("rsi_factor"),
                        "rsi_m2k_w"),
        shift=shift["money"],
        saving=pl.col("money_draws").list.mean() + shift["money"],
        saving_low=_quantile("money_draws", 0.05) + shift["money"],
        saving_high=_quantile("money_draws", 0.95) + shift["money"],
        carbon=pl.col("carbon_draws").list.mean() + shift["carbon_kg"],
        good=pl.col("keeps") & (pl.col("option") != LEAVE.id)
        & ~pl.any_horizontal(pl.col("close_warm", "close_dry").fill_null("") == "falls short"),
    )  # fmt: skip


def _shift(name: str) -> Any:
    """What the fields add to every draw: of the house itself where known, else its archetype's.

    A sum, not a factor: where little is saved a factor of the likeliest house says nothing of the
    draws.
    """
    import polars as pl

    likeliest = pl.col(name).fill_null(0.0)
    of_archetype = likeliest * (pl.col("heat_factor").fill_null(1.0) - 1.0)
    return pl.coalesce(pl.col(f"close_{name}") - likeliest, of_archetype)


def _quantile(column: str, share: float) -> Any:
    import polars as pl

    return pl.col(column).list.eval(pl.element().quantile(share, "linear")).list.first()


def checked(stock: Stock) -> Checked:
    """What the random sample says of the screening.

    The share missed between its Clopper-Pearson limits at 95 %: exact for any size of sample.
    """
    from scipy.stats import beta

    close = stock.frame.filter(stock.frame["why_close"] != "")
    sample = close.filter(close["why_close"] == "sample")
    near = close.filter(close["why_close"] == "near")
    n, missed = sample.height, int(sample["missed"].sum() or 0)
    tail = (1.0 - _CONFIDENCE) / 2.0
    least = float(beta.ppf(tail, missed, n - missed + 1)) if missed else 0.0
    most = float(beta.ppf(1.0 - tail, missed + 1, n - missed)) if missed < n else 1.0
    return Checked(
        sample=n,
        missed=missed,
        least=least,
        most=most,
        near=near.height,
        near_failed=int((~near["good"]).sum() or 0),
        heat_error=_heat_error(sample),
    )


def _heat_error(sample: pl.DataFrame) -> float | None:
    """How far the screening, with the archetype's factor, is off the full study's mean [-]."""
    import polars as pl

    screened = pl.col("heat_j") * pl.col("heat_factor").fill_null(1.0)
    off = (screened - pl.col("close_heat_j")).pow(2).mean().sqrt() / pl.col("close_heat_j").mean()
    found = sample.select(off).item()
    return None if found is None else float(found)


def kinds(stock: Stock) -> tuple[KindRow, ...]:
    """Every archetype, as it stands and what its best options save."""
    import polars as pl

    rows = []
    for (name,), frame in stock.frame.group_by("archetype", maintain_order=True):
        found = frame.filter(pl.col("option") == LEAVE.id)
        best = frame.filter(pl.col("good")).sort("saving", descending=True).unique(
            "key", keep="first", maintain_order=True
        )  # fmt: skip
        usual = best["name"].value_counts(sort=True)["name"].to_list()
        rows.append(
            KindRow(
                archetype=str(name),
                houses=found.height,
                area=Figure(float(found["area_m2"].sum()), "area"),
                resistance=_banded(found["rsi"], "resistance"),
                risk=Figure(float(found["risk"].mean() or 0.0), "share"),  # type: ignore[arg-type]
                saving=_banded(best["saving"], "money"),
                option=str(usual[0]) if usual else "none keeps its promises",
            )
        )
    return tuple(rows)


def _banded(values: pl.Series, kind: Kind) -> Figure:
    if not len(values):
        return Figure(0.0, kind, low=0.0, high=0.0)
    low, middle, high = map(float, np.percentile(values.to_numpy(), (5.0, 50.0, 95.0)))
    return Figure(middle, kind, low=low, high=high)


def ranking(stock: Stock, goal: Goal = "saving", every: bool = False) -> tuple[Ranked, ...]:
    """Houses by what they bring for the money, each with the option that brings most for it.

    ``every``: all options that keep their promises, not the first of each house alone.
    """
    import polars as pl

    value = _value(goal)
    rows = (
        stock.frame.filter(pl.col("good") & (pl.col("cost") > 0.0))
        .with_columns(per_money=value / pl.col("cost"))
        .sort(["per_money", "id", "option"], descending=[True, False, False])
    )
    if not every:
        rows = rows.filter(value > 0.0).unique("key", keep="first", maintain_order=True)
    return tuple(
        Ranked(
            id=row["id"],
            archetype=row["archetype"],
            offer=row["option"],
            option=row["name"],
            cost=Figure(row["cost"], "money"),
            saving=Figure(row["saving"], "money", low=row["saving_low"], high=row["saving_high"]),
            carbon=Figure(row["carbon"], "count"),
            risk=Figure(row["risk_avoided"], "share"),
        )
        for row in rows.iter_rows(named=True)
    )


def _value(goal: Goal) -> Any:
    import polars as pl

    return pl.col({"saving": "saving", "carbon": "carbon", "risk": "risk_avoided"}[goal])


def plan(stock: Stock, limits: Limits, goal: Goal = "saving", seconds: float = 30.0) -> Programme:
    """The programme that brings most of what is wanted within money and crews; see ``programme``.

    Only options that keep every promise are taken, none that the full study saw fail.
    """
    import polars as pl

    if goal not in GOALS:
        raise InputError([Fault("goal", repr(goal)[:40], ", ".join(GOALS))])
    rows = stock.frame.filter(pl.col("good")).with_columns(value=_value(goal))
    offers = [
        Offer(row["id"], row["option"], row["cost"], row["hours"], row["value"])
        for row in rows.select("id", "option", "cost", "hours", "value").iter_rows(named=True)
    ]
    return programme(offers, limits, seconds)


def doubts(stock: Stock) -> tuple[Doubt, ...]:
    """Unknowns by what it is worth to measure them before choosing, the first most.

    By the draws of all houses of an archetype together, each option's worth over the years by the
    square metre of wall; as if one option were chosen for the archetype.
    """
    import polars as pl

    shares = {
        (row["archetype"], row["unknown"]): Figure(min(row["total"], 1.0), "share")
        for row in effects(stock).iter_rows(named=True)
    }
    found = []
    for name, kind in stock.made["archetypes"].items():
        frame = stock.frame.filter(pl.col("archetype") == name)
        names: Mapping[str, str] = kind["unknowns"]
        values = _worths(frame)
        area = dict(frame.select("key", "area_m2").unique("key").iter_rows())
        for field, unknown in names.items():
            drawn = stock.drawn.filter(
                (pl.col("unknown") == field) & pl.col("key").is_in(list(values))
            )
            keys = [key for key in drawn["key"] if values[key].size]
            if not keys:
                continue
            at = dict(drawn.select("key", "values").iter_rows())
            u = np.concatenate([np.asarray(at[key]) for key in keys])
            v = np.concatenate([values[key] / area[key] for key in keys])
            mean = sum(area[key] for key in keys) / len(keys)
            worth = worth_of_knowing(u, v) * mean if len(u) >= LEAST else None
            told = "too few draws" if worth is None else Figure(worth, "money")
            doubt = Doubt(name, unknown, len(keys), shares.get((name, unknown)), told)
            found.append((worth or 0.0, doubt))
    return tuple(doubt for _, doubt in sorted(found, key=lambda pair: -pair[0]))


def effects(stock: Stock) -> pl.DataFrame:
    """Total effects of the unknowns on the saving, archetype by archetype, the largest first."""
    import polars as pl

    keys = [kind["factors"] for kind in stock.made["archetypes"].values()]
    files = [f for key in keys if (f := stock.folder / "effects" / f"{key}.parquet").exists()]
    if not files:
        return pl.DataFrame(schema=schema.effects())
    found = pl.read_parquet(files, glob=False)
    return found.sort(["archetype", "total"], descending=[False, True])


def _worths(frame: pl.DataFrame) -> dict[str, NDArray[np.float64]]:
    """By house: worth today of every option in every draw less its cost, (draws, options).

    Only options that keep their promises in all houses of the frame, so that columns agree; the
    first is to leave the house as it is.
    """
    import polars as pl

    by_option = frame.group_by("option").agg(pl.col("good").all())
    options = sorted(by_option.filter(pl.col("good"))["option"])
    worths: dict[str, NDArray[np.float64]] = {}
    for (key,), rows in frame.group_by("key", maintain_order=True):
        by_id = {row["option"]: row for row in rows.iter_rows(named=True)}
        if any(option not in by_id for option in options) or not options:
            continue
        columns = [_worth(by_id[option]) for option in options]
        worths[str(key)] = np.column_stack([np.zeros(len(columns[0])), *columns])
    return worths


def _worth(row: Mapping[str, Any]) -> NDArray[np.float64]:
    """Savings over the years as worth today, less the cost, in every draw [currency]."""
    money = np.asarray(row["money_draws"], dtype=np.float64) + row["shift"]
    likeliest = row["money"] or 0.0
    years = (
        (row["present_value"] + row["cost"]) / likeliest
        if row["present_value"] is not None and likeliest > 0.0
        else 0.0
    )
    return np.asarray(money * years - np.asarray(row["cost_draws"]))


def to_survey(stock: Stock, most: int = _TOP) -> tuple[ToSurvey, ...]:
    """Houses that are worth a visit: where knowing the house would change what is done.

    ``E[max_o v_o] - max_o E[v_o]`` over the draws of the house, v the worth over the years less
    the cost, nothing done among the options: an upper bound of what a survey is worth.
    """
    import polars as pl

    found = []
    for (name,), frame in stock.frame.group_by("archetype", maintain_order=True):
        near = {
            row["key"]
            for row in frame.filter(pl.col("near") & pl.col("keeps")).iter_rows(named=True)
        }
        ids = dict(frame.select("key", "id").iter_rows())
        for key, values in _worths(frame).items():
            worth = float(values.max(axis=1).mean() - values.mean(axis=0).max())
            if worth <= 0.0 and key not in near:
                continue
            why = _why(values, key in near)
            found.append(ToSurvey(ids[key], str(name), Figure(worth, "money"), why))
    found.sort(key=lambda one: (-one.worth.value, one.id))
    return tuple(found[:most])


def _why(values: NDArray[np.float64], near: bool) -> str:
    best = values.argmax(axis=1)
    changes = len(set(best.tolist()))
    nothing = ", doing nothing one of them" if np.any(best == 0) else ""
    said = [f"{changes} choices are best in some draw{nothing}"] if changes > 1 else []
    if near:
        said.append("an option lies near a limit")
    return "; ".join(said) or "its saving is spread widely"


def totals(stock: Stock, places: Sequence[Any]) -> dict[str, float]:
    """What the houses of a programme come to together: money, carbon, risk, each a year."""
    import polars as pl

    wanted = pl.DataFrame(
        {"id": [p.offer.house for p in places], "option": [p.offer.option for p in places]},
        schema={"id": pl.String, "option": pl.String},
    )
    rows = stock.frame.join(wanted, on=["id", "option"], how="inner")
    return {name: float(rows[name].sum() or 0.0) for name in ("saving", "carbon", "risk_avoided")}
