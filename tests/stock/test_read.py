"""Results read: what comes first, how sure it is, papers and command."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from scipy.stats import binom

from stock.small import TEXT, archetypes, houses
from warmside.cli import main
from warmside.demo import stock_table, write_stock
from warmside.documents import Wish, stock_paper, stock_view
from warmside.errors import InputError
from warmside.stock import (
    Checked,
    Settings,
    Stock,
    checked,
    doubts,
    effects,
    kinds,
    open_table,
    plan,
    ranking,
    read_archetypes,
    read_stock,
    read_surveys,
    run,
    to_survey,
    totals,
)


@pytest.fixture(scope="module")
def stock(tmp_path_factory: pytest.TempPathFactory) -> Stock:
    folder = tmp_path_factory.mktemp("read")
    run(houses(8), archetypes(), folder, Settings(draws=6, sample=0.4, seed=3))
    return read_stock(folder)


def test_the_fields_say_their_part(stock: Stock):
    """Exact: the full study's figures where there are, else the archetype's factor."""
    for row in stock.frame.iter_rows(named=True):
        drawn = sum(row["money_draws"]) / 6
        if row["why_close"]:
            assert row["rsi"] == row["close_rsi_m2k_w"]
            assert row["saving"] == pytest.approx(drawn + row["close_money"] - row["money"])
        else:
            assert row["rsi"] == pytest.approx(row["rsi_m2k_w"] * row["rsi_factor"])
            more = row["money"] * (row["heat_factor"] - 1.0)
            assert row["saving"] == pytest.approx(drawn + more)


def test_the_limits_of_what_is_missed_are_exact():
    """Reference library: at either limit the tail of the binomial distribution holds 2.5 %."""
    import polars as pl

    def of(n: int, missed: int) -> Checked:
        frame = pl.DataFrame({
            "why_close": ["sample"] * n, "missed": [True] * missed + [False] * (n - missed),
            "good": [True] * n, "heat_j": [1.0] * n, "heat_factor": [1.0] * n,
            "close_heat_j": [1.0] * n,
        })  # fmt: skip
        return checked(Stock(Path(), {}, frame, frame))

    found = of(40, 3)
    assert (found.sample, found.missed, found.heat_error) == (40, 3, 0.0)
    assert binom.sf(2, 40, found.least) == pytest.approx(0.025)
    assert binom.cdf(3, 40, found.most) == pytest.approx(0.025)
    none = of(40, 0)
    assert none.least == 0.0
    assert binom.cdf(0, 40, none.most) == pytest.approx(0.025)
    assert "3 failed after all" in found.sentence


def test_the_ranking_is_by_value_for_money(stock: Stock):
    for goal in ("saving", "carbon", "risk"):
        rows = ranking(stock, goal)
        by_money = [getattr(r, goal).value / r.cost.value for r in rows]
        assert by_money == sorted(by_money, reverse=True)
        assert len({r.id for r in rows}) == len(rows)


def test_the_programme_takes_only_what_keeps_its_promises(stock: Stock):
    found = plan(stock, Wish(budget=9000.0, years=2).limits, "carbon")
    good = {(r["id"], r["option"]) for r in stock.frame.iter_rows(named=True) if r["good"]}
    assert found.places
    assert {(p.offer.house, p.offer.option) for p in found.places} <= good
    assert all(year.cost <= 9000.0 for year in found.years)
    done = totals(stock, found.places)
    assert done["carbon"] == pytest.approx(sum(p.offer.value for p in found.places))


def test_kinds_doubts_and_visits_fit_the_stock(stock: Stock):
    [kind] = kinds(stock)
    assert (kind.archetype, kind.houses) == ("shed", 8)
    assert kind.resistance.low <= kind.resistance.value <= kind.resistance.high
    assert {d.unknown for d in doubts(stock)} == {"fan test", "room humidity", "fill"}
    assert effects(stock).height == 0  # too few houses of the kind
    worths = [s.worth.value for s in to_survey(stock)]
    assert worths == sorted(worths, reverse=True)


def test_the_paper_says_what_was_found(stock: Stock):
    view = stock_view(stock, Wish(budget=9000.0), date(2026, 11, 25))
    pdf = stock_paper(view)
    assert pdf == stock_paper(view)
    assert pdf.startswith(b"%PDF")
    assert view.prices_invented
    said = " ".join(map(str, (*view.headline, *view.checks, *view.assumptions)))
    assert re.search(r"8 houses were judged with 6 draws", said)
    assert "confidence" in said or "No option was drawn" in said
    assert all(picture.alt for picture in view.charts)


def test_total_effects_are_kept_for_an_archetype_of_many_houses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    from warmside.stock import effect_sizes, runs

    monkeypatch.setitem(runs._FEW, "effects", 1)
    monkeypatch.setattr(effect_sizes, "SAMPLES", 8)
    run(houses(1), archetypes(), tmp_path, Settings(draws=1, sample=0.0, near_water=0.0))
    found = effects(read_stock(tmp_path))
    assert set(found["unknown"]) == {"fan test", "room humidity", "fill"}
    humid = found.filter(found["unknown"] == "room humidity")["total"].item()
    assert humid == pytest.approx(0.0, abs=0.02)  # humidity has no say in heat
    assert found["total"].max() > 0.3


def test_a_folder_of_surveys_is_a_stock_too(tmp_path: Path):
    text = TEXT[: TEXT.index("[[unknown]]")] + TEXT[TEXT.index("[[wall]]") :]
    (tmp_path / "good.toml").write_text(text)
    (tmp_path / "bad.toml").write_text(text.replace('"400 ft2"', '"large"'))
    rows, kinds_ = read_surveys(tmp_path)
    found = run(rows, kinds_, tmp_path / "out", Settings(sample=0.0, near_water=0.0))
    assert (found.houses, found.refused) == (1, 1)
    assert "bad: house, floor_area" in str(found.faults[0])
    assert read_stock(tmp_path / "out").frame["draws"].unique().to_list() == [1]


def test_nothing_finished_nothing_read(tmp_path: Path):
    with pytest.raises(InputError, match="no finished run"):
        read_stock(tmp_path)


def test_the_demonstration_stock_is_readable_and_the_same_every_time(tmp_path: Path):
    table = write_stock(tmp_path, 40)
    kinds_ = read_archetypes(tmp_path / "archetypes")
    opened = open_table(table, kinds_)
    rows = list(opened)
    assert not opened.faults
    assert len(rows) == 40
    assert not [row for row in rows if isinstance(row, InputError)]
    assert stock_table(40) == stock_table(40)
    assert "invented" in stock_table(1)


def test_the_command_runs_and_reports(tmp_path: Path):
    runner = CliRunner()
    (tmp_path / "archetypes").mkdir()
    (tmp_path / "archetypes" / "shed.toml").write_text(TEXT)
    (tmp_path / "t.csv").write_text("id,archetype,colour\nA,shed,x\nA,shed,x\nB,hut,x\n")
    out = str(tmp_path / "out")
    args = ["stock", "run", str(tmp_path / "t.csv"), "--out", out, "--draws", "2", "--sample", "0"]
    found = runner.invoke(main, [*args, "--workers", "1"])
    assert found.exit_code == 0, found.output
    assert "1 houses judged, 1 of them now" in found.output
    assert "2 rows could not be used" in found.output
    assert "the column is left out" in found.output
    told = runner.invoke(main, ["stock", "report", out, "--years", "2", "--budget", "5000"])
    assert told.exit_code == 0, told.output
    assert (tmp_path / "out" / "stock.pdf").exists()
    wrong = runner.invoke(main, ["stock", "report", str(tmp_path)])
    assert wrong.exit_code == 1
    assert "no finished run" in wrong.output
