"""The price file: what it holds, and how its faults are told."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.errors import InputError
from warmside.estimate import (
    PriceList,
    default_prices,
    default_text,
    read_prices,
    sold_as,
    write_default,
)

SMALL = """
title = "Ours"
currency = "CAD"
mark_up = 0.2

[[tax]]
name = "GST"
rate = 0.05

[material]
foam_closed_cell = { price = 1.35, unit = "board ft" }

[rate]
spray_closed_cell = { hours = 0.008, unit = "h/board ft" }
"""


def test_a_small_file_is_read_as_written() -> None:
    prices = read_prices(SMALL)
    assert prices.currency == "CAD"
    assert not prices.invented
    assert prices.mark_up == Decimal("0.2")
    assert prices.taxes == (("GST", Decimal("0.05")),)
    row = prices.row("foam_closed_cell:some-foam")
    assert row is not None
    assert row.price == Decimal("1.35")
    rate = prices.rate("spray_closed_cell")
    assert rate is not None
    assert rate.price == Decimal("0.008")


def test_the_default_says_that_it_is_invented(tmp_path: Path) -> None:
    prices = default_prices()
    assert prices.invented
    assert "Invented" in prices.title
    assert "INVENTED" in default_text()
    copy = write_default(tmp_path / "prices.toml")
    assert read_prices(copy) == prices
    with pytest.raises(InputError, match="exists"):
        write_default(copy)
    with pytest.raises(InputError, match="can be written"):
        write_default(tmp_path / "no such folder" / "prices.toml")


def test_an_item_goes_before_its_group() -> None:
    text = SMALL.replace(
        "[material]", '[material]\n"foam_closed_cell:x" = { price = 2, unit = "board ft" }'
    )
    prices = read_prices(text)
    own, other = prices.row("foam_closed_cell:x"), prices.row("foam_closed_cell:y")
    assert own is not None
    assert other is not None
    assert (own.price, other.price) == (Decimal(2), Decimal("1.35"))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("price = 1.35", "price = -1", r"line 11: material.foam_closed_cell, price: read -1"),
        ("price = 1.35", "price = nan", r"foam_closed_cell, price: read 'NaN'"),
        ("price = 1.35", "price = inf", r"read 'Infinity'"),
        ("price = 1.35", "price = 1e400", r"read '1E\+400'"),
        ("price = 1.35", "price = true", r"read True"),
        ("price = 1.35", 'price = "1,35"', r"read '1,35'; allowed: an amount of money"),
        ("price = 1.35, ", "", r"price: read nothing"),
        ("price = 1.35", "prise = 1.35", r"unknown key 'prise'.*nearest: price"),
        ('unit = "board ft"', 'unit = "m2"', r'unit: read \'m2\'; allowed: "board ft"'),
        (', unit = "board ft"', "", r"unit: read nothing"),
        ("foam_closed_cell =", "foam_closed_sell =", r"nearest: foam_closed_cell"),
        ("foam_closed_cell =", '"box_gasket:x" =', r"unknown row 'box_gasket:x'"),
        ("spray_closed_cell =", "spray =", r"rate.spray: read unknown row"),
        ("hours = 0.008", "hours = -0.1", r"rate.spray_closed_cell, hours: read '-0.1'"),
        ('currency = "CAD"', 'currency = "dollars"', r"line 3: currency: read 'dollars'"),
        ('currency = "CAD"', "", r"currency: read nothing"),
        ("mark_up = 0.2", "mark_up = -0.2", r"line 4: mark_up"),
        ("mark_up = 0.2", "", r"mark_up: read nothing"),
        ("mark_up = 0.2", "mark_up = 0.2\nmargins = 3", r"unknown key 'margins'.*nearest: margin"),
        ("mark_up = 0.2", "mark_up = 0.2\nmargin = 0.2", r"read mark_up and margin"),
        ("mark_up = 0.2", "margin = 1", r"margin: read 1; allowed: a share of the price"),
        ("rate = 0.05", 'rate = 0.05\nplace = "MB"', r"place: read nothing; allowed: one.*MB"),
        ("[material]", '[travel]\nunit = "league"\n[material]', r"travel, unit: read 'league'"),
        ("[material]", "[travel]\ndistance = nan\n[material]", r"travel, distance: read 'NaN'"),
        (
            "[material]",
            '[subcontract]\ntrades = ["wizard"]\nmark_up = 0.1\n[material]',
            r"subcontract, trades",
        ),
        ('unit = "board ft" }', 'unit = "board ft", trade = "wizard" }', r"trade: read 'wizard'"),
        ("mark_up = 0.2", "mark_up = 0.2\ndiscount = 1", r"discount: read 1"),
        ("rate = 0.05", "rate = 5", r"tax 1, rate: read 5; allowed: a share from 0 to 1"),
        ('title = "Ours"', "title = 3", r"title: read 3"),
        ('title = "Ours"', 'title = "Ours"\ninvented = "no"', r"invented: read 'no'"),
        ("[material]", "[material", r"line \d+: price file: "),
        ("[rate]", "[rates]", r"nearest: rate"),
        (
            "[material]",
            "[fixed]\n'Bad Name' = {price=1, unit='house'}\n[material]",
            "small letters",
        ),
    ],
)
def test_faults_name_the_row(old: str, new: str, message: str) -> None:
    assert old in SMALL
    with pytest.raises(InputError, match=message):
        read_prices(SMALL.replace(old, new))


def test_every_fault_is_told_at_once() -> None:
    text = SMALL.replace("1.35", "-1").replace("0.2", "nan").replace("board ft", "bf")
    with pytest.raises(InputError) as caught:
        read_prices(text)
    assert len(caught.value.faults) == 4  # margin, price, unit, and the unit of hours


@pytest.mark.parametrize(
    "text", ["", "tax = 3", "material = 3", "[[material]]", "x = " + "[" * 9999]
)
def test_hostile_texts(text: str) -> None:
    with pytest.raises(InputError):
        read_prices(text)


def test_a_flood_of_faults_ends(tmp_path: Path) -> None:
    flood = "".join(f"key{number} = {number}\n" for number in range(15_000))
    with pytest.raises(InputError) as caught:
        read_prices(flood)
    assert len(caught.value.faults) == 50
    big = tmp_path / "big.toml"
    big.write_text(flood * 2, encoding="utf-8")
    with pytest.raises(InputError, match="250000 bytes"):
        read_prices(big)


def test_control_characters_do_not_reach_the_screen() -> None:
    text = SMALL.replace('"GST"', '"\\u001b[31mGST"') + '\n"a\\u001bb" = { hours = 1 }\n'
    with pytest.raises(InputError) as caught:
        read_prices(text)
    assert len(caught.value.faults) == 2
    assert "\x1b" not in str(caught.value)


def test_no_minus_before_a_zero() -> None:
    row = read_prices(SMALL.replace("1.35", "-0.0")).row("foam_closed_cell")
    assert row is not None
    assert str(row.price) == "0.0"


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="can be read"):
        read_prices(tmp_path / "none.toml")
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'title = "caf\xe9"')
    with pytest.raises(InputError, match="UTF-8"):
        read_prices(latin)
    marked = tmp_path / "marked.toml"
    marked.write_bytes(b"\xef\xbb\xbf" + SMALL.encode())  # as some editors save
    assert read_prices(marked).title == "Ours"


_LINES = st.lists(
    st.one_of(
        st.sampled_from(SMALL.splitlines()),
        st.sampled_from(
            ["tax = []", "[fixed]", "[labour.x]", "a.b.c = 1", "labour = { unit = 1 }"]
        ),
        st.text(max_size=30),
    ),
    max_size=20,
)


@given(_LINES)
def test_any_text_gives_prices_or_faults(lines: list[str]) -> None:
    found: PriceList | InputError
    try:
        found = read_prices("\n".join(lines))
    except InputError as fault:
        found = fault
    if isinstance(found, InputError):
        assert found.faults
        assert str(found)
    else:
        assert found.currency == "CAD"  # the only one that the lines offer


ENERGY = (
    SMALL
    + """
[energy]
natural-gas = { price = 0.60, unit = "m3", rise = 0.02 }

[saving]
discount_rate = 0.04
years = 25
"""
)


def test_energy_rows_are_read_as_written() -> None:
    prices = read_prices(ENERGY)
    row = prices.energy_row("natural-gas")
    assert row is not None
    assert (row.price, row.unit, row.rise) == (Decimal("0.60"), "m3", Decimal("0.02"))
    assert (prices.discount, prices.years) == (Decimal("0.04"), 25)
    assert prices.energy_row("peat") is None
    assert read_prices(SMALL).discount is None


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('unit = "m3"', 'unit = "m3 "', "energy.natural-gas, unit: read 'm3 '"),
        ("price = 0.60", "price = -1", "energy.natural-gas, price"),
        ("rise = 0.02", "rise = 2", "energy.natural-gas, rise"),
        ("rise = 0.02", "growth = 2", "unknown key 'growth'"),
        ("discount_rate = 0.04", "discount_rate = nan", "saving, discount_rate"),
        ("years = 25", "years = 0", "saving, years: read 0"),
        ("years = 25", "years = 25.5", "saving, years"),
        ("[saving]", "[savings]", "unknown key 'savings'"),
        ('{ price = 0.60, unit = "m3", rise = 0.02 }', "0.60", "energy.natural-gas"),
    ],
)  # fmt: skip
def test_energy_faults_are_told(old: str, new: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        read_prices(ENERGY.replace(old, new))
    assert message in str(caught.value)


@pytest.mark.parametrize(
    ("fuel", "unit", "amount"),
    [
        # exact: 1e5 international Btu of 1055.05585262 J over 37.93 MJ/m3
        ("natural-gas", "therm", 105.505585262 / 37.93),
        # exact: a hundred cubic feet of 0.028316846592 m3
        ("natural-gas", "ccf", 2.8316846592),
        # published: 40 CFR 98 table C-1, 0.138 MMBtu per gallon of no. 2 oil; the row is rounded
        ("heating-oil-us", "MMBtu", 3.785411784 / 0.138),
        # exact: the gallon of 231 cubic inches
        ("propane-us", "gal", 3.785411784),
        ("electricity-on", "kWh", 1.0),
    ],
)
def test_fuel_is_sold_by_the_units_of_the_trade(fuel: str, unit: str, amount: float) -> None:
    assert sold_as(load().fuels[fuel], unit) == pytest.approx(amount, rel=1e-3)


@pytest.mark.parametrize("unit", ["cord", "L of oil", "gallon", "", "nan"])
def test_a_unit_that_does_not_fit_the_fuel_leaves_it_unpriced(unit: str) -> None:
    assert sold_as(load().fuels["electricity-on"], unit) is None


def test_every_fuel_of_the_catalog_has_an_invented_price() -> None:
    prices = default_prices()
    for fuel in load().fuels.values():
        row = prices.energy_row(fuel.id)
        assert row is not None, fuel.id
        # fuels of the United States by what their bills count (common practice, no source)
        sold = {"m3": "therm", "L": "gal"} if fuel.id.endswith("-us") else {}
        assert row.unit == sold.get(fuel.unit, fuel.unit)
        assert sold_as(fuel, row.unit) is not None


@pytest.mark.parametrize(
    ("currency", "region", "names"),
    [
        # who charges what (common practice, no source): the rates are the file's own
        ("CAD", "ON", ["HST"]),
        ("CAD", "MB", ["GST", "PST"]),
        ("CAD", "QC", ["GST", "QST"]),
        ("CAD", "YT", ["GST"]),
        ("CAD", "", ["HST"]),
        ("USD", "MN", ["Sales tax"]),
        ("USD", "ON", ["Sales tax"]),
    ],
)
def test_only_the_taxes_of_the_place_are_charged(currency, region, names):
    assert [name for name, _ in default_prices(currency, region).taxes] == names
