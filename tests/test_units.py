"""Trade units: what the trade writes is read right, and what is written is read back."""

from __future__ import annotations

import math
import subprocess
import sys
from fractions import Fraction
from math import isfinite
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from warmside import units
from warmside.errors import UnitError
from warmside.units import Quantity, exact, parse, show

# Exact definitions stated on their own: 1 in = 25.4 mm and 1 lb = 0.45359237 kg (international
# yard and pound agreement, 1959); Btu (international table) = 1055.05585262 J; the rest of each
# expected number is arithmetic on them, except where a source is named.
CASES: list[tuple[str, Quantity, float]] = [
    ("8' 1-1/2\"", "length", float(Fraction("97.5") * Fraction("0.0254"))),
    ("8' 1 1/2\"", "length", 2.4765),
    ("8'-1 1/2\"", "length", 2.4765),
    ("8 ft 1 1/2 in", "length", 2.4765),
    ("8 ft. 1-1/2 in.", "length", 2.4765),
    ("8′ 1½″", "length", 2.4765),
    ("8’ 1½”", "length", 2.4765),
    ("8' 1-1/2''", "length", 2.4765),
    ("8'6", "length", 2.5908),
    ("8' 0\"", "length", 2.4384),
    ("1-5/8 in", "length", 0.041275),
    ('1 5/8"', "length", 0.041275),
    ("1⅝ in", "length", 0.041275),
    ("5/8 in", "length", 0.015875),
    ("⅝ inch", "length", 0.015875),
    ("25/32 in", "length", 0.01984375),
    ("16 in o.c.", "length", 0.4064),
    ("24 Feet", "length", 7.3152),
    ("2.44 m", "length", 2.44),
    ("2,44 m", "length", 2.44),
    ("0,125 in", "length", 0.003175),
    ("89 mm", "length", 0.089),
    ("89MM", "length", 0.089),
    ("6 mil", "length", 0.0001524),
    ("-25 C", "temperature", -25.0),
    ("−25 °C", "temperature", -25.0),
    ("-13 F", "temperature", -25.0),
    ("-40 °F", "temperature", -40.0),
    ("300 K", "temperature", 26.85),
    ("18 F", "temperature difference", 10.0),
    ("5 K", "temperature difference", 5.0),
    # 1 RSI = 5.678 R: 5.678263337 = 1.8 Btu 1055.05585262 J / (3600 s x 0.09290304 m2)
    ("R-12", "thermal resistance", 12 / 5.678263337),
    ("R12", "thermal resistance", 12 / 5.678263337),
    ("r 12", "thermal resistance", 12 / 5.678263337),
    ("12 h·ft²·°F/Btu", "thermal resistance", 12 / 5.678263337),
    ("RSI 2.11", "thermal resistance", 2.11),
    ("RSI-2.11", "thermal resistance", 2.11),
    ("2.11 m²·K/W", "thermal resistance", 2.11),
    ("0.024 W/(m·K)", "conductivity", 0.024),
    ("0.024 W/mK", "conductivity", 0.024),
    # 1 Btu in/(h ft2 F) = 0.1442279 W/(m K), NIST SP 811 app. B.8 (from memory)
    ("1 Btu in/(h ft2 F)", "conductivity", 0.14422789),
    ("R-6 per inch", "conductivity", 0.14422789 / 6),
    ("R-6/in", "conductivity", 0.14422789 / 6),
    ("60 ng", "permeance", 60e-12),
    ("60 ng/(Pa·s·m²)", "permeance", 60e-12),
    # perm (0 degC) = 5.72135e-11 kg/(Pa s m2), NIST SP 811 app. B.8 (from memory)
    ("1 perm", "permeance", 5.72135e-11),
    ("1 perm in", "permeability", 5.72135e-11 * 0.0254),
    ("2 ng/(Pa s m)", "permeability", 2e-12),
    ("50 Pa", "pressure", 50.0),
    ("-50 Pa", "pressure", -50.0),
    # conventional inch of water = 249.0889 Pa, NIST SP 811 app. B.8 (from memory)
    ("1 in wc", "pressure", 249.08891),
    ("1 in. w.c.", "pressure", 249.08891),
    ("1 psi", "pressure", 6894.757293),
    ("3200 CFM50", "flow", 3200 * 0.3048**3 / 60),
    ("3200 cfm", "flow", 3200 * 0.3048**3 / 60),
    ("38 L/s", "flow", 0.038),
    ("1500 m³/h", "flow", 1500 / 3600),
    ("10 mph", "speed", 4.4704),
    ("36 km/h", "speed", 10.0),
    ("35 %", "share", 0.35),
    ("35%", "share", 0.35),
    ("0.35", "share", 0.35),
    ("19 %", "moisture content", 0.19),
    ("9 kg/day", "moisture rate", 9 / 86400),
    ("9 L/day", "moisture rate", 9 / 86400),
    ("2 pcf", "density", 2 * 0.45359237 / 0.3048**3),
    ("32 kg/m3", "density", 32.0),
    ("500 lb", "mass", 226.796185),
    ("1 lb 8 oz", "mass", 1.5 * 0.45359237),
    ("24 h", "time", 86400.0),
    ("1 day", "time", 86400.0),
    ("1 day 6 h", "time", 108000.0),
    ("1 h 30 min", "time", 5400.0),
    ("N", "azimuth", 0.0),
    ("north-west", "azimuth", 315.0),
    ("North East", "azimuth", 45.0),
    ("SSW", "azimuth", 202.5),
    ("225 deg", "azimuth", 225.0),
    ("225°", "azimuth", 225.0),
    ("360", "azimuth", 0.0),
    ("120 sq ft", "area", 120 * 0.09290304),
    ("120 ft²", "area", 120 * 0.09290304),
    ("14000 ft3", "volume", 14000 * 0.028316846592),
    ("12 board feet", "volume", 0.028316846592),
    ("1 kWh", "energy", 3.6e6),
    ("1 MJ", "energy", 1e6),
    ("1 Btu", "energy", 1055.05585262),
    ("60000 Btu/h", "power", 60000 * 1055.05585262 / 3600),
    ("1500 W", "power", 1500.0),
]


@pytest.mark.parametrize(("text", "quantity", "si"), CASES)
def test_reads_what_the_trade_writes(text, quantity, si):
    assert parse(text, quantity) == pytest.approx(si, rel=2e-6, abs=1e-15)


def test_tabled_units_agree_with_the_units_library():
    """Reference library: pint's own definitions, by units named as it names them."""
    names: list[tuple[Quantity, str, str]] = [
        ("length", "ft", "foot"), ("area", "ft2", "foot**2"), ("volume", "gal", "gallon"),
        ("flow", "cfm", "foot**3 / minute"), ("pressure", "psi", "psi"),
        ("pressure", "inHg", "inHg"), ("energy", "Btu", "Btu_it"), ("mass", "oz", "ounce"),
        ("density", "pcf", "pound / foot**3"), ("speed", "mph", "mph"), ("speed", "knot", "knot"),
        ("power", "Btu/h", "Btu_it / hour"), ("mass", "gr", "grain"),
        ("thermal resistance", "R", "hour * foot**2 * delta_degF / Btu_it"),
        ("conductivity", "Btuin/hft2F", "Btu_it * inch / hour / foot**2 / delta_degF"),
        ("permeance", "perm", "grain / hour / foot**2 / inHg"),
    ]  # fmt: skip
    for quantity, ours, theirs in names:
        kind = units._KINDS[quantity]
        expected = units._registry().Quantity(1.0, theirs).to(kind.si).magnitude
        assert kind.units[ours] == pytest.approx(expected, rel=2e-6), (quantity, ours)


def test_other_units_come_from_the_units_library():
    # 1 rod = 16.5 ft; 1 kcal/h = 4184 J / 3600 s; 1 mmHg = 133.322 Pa (NIST SP 811, from memory)
    assert parse("2 rods", "length") == pytest.approx(2 * 16.5 * 0.3048, rel=1e-5)
    assert parse("100 kcal/h", "power") == pytest.approx(116.2222, rel=1e-5)
    assert parse("3 mmHg", "pressure") == pytest.approx(399.966, rel=1e-5)


def test_import_and_everyday_texts_leave_the_units_library_alone():
    code = (
        "import sys; from warmside.units import parse, show;"
        "parse('8 ft 1-1/2 in', 'length'); parse('R-12', 'thermal resistance');"
        "parse('60 ng', 'permeance'); show(0.3, 'flow'); print('pint' in sys.modules)"
    )
    source = str(Path(units.__file__).parents[1])
    out = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, check=True, env={"PYTHONPATH": source},
    )  # fmt: skip
    assert out.stdout.strip() == "False"


REFUSED: list[tuple[object, Quantity, str]] = [
    ("24", "length", "unit"),
    ("", "length", "8 ft"),
    ("eight feet", "length", "8 ft"),
    ("1,200 mm", "length", "1200 or 1.2"),
    ("12,345,678 mm", "length", "1200 or 1.2"),
    ("3,200 CFM50", "flow", "1200 or 1.2"),
    ("8 ft 14 in", "length", "smaller than one"),
    ("8.5 ft 3 in", "length", "smaller than one"),
    ("8 in 3 ft", "length", "8 ft"),
    ("8 ft 8 ft", "length", "8 ft"),
    ("1 9/8 in", "length", "between 0 and 1"),
    ("1/0 in", "length", "between 0 and 1"),
    ("-3 ft", "length", "between"),
    ("3 kg", "length", "8 ft"),
    ("10² mm", "length", "raised"),
    ("nan m", "length", "8 ft"),
    ("inf m", "length", "8 ft"),
    ("1e999 m", "length", "between"),
    ("9" * 50 + " m", "length", "between"),
    ("9" * 500 + " m", "length", "64 characters"),
    ("3 m**9**9**9**9", "length", "8 ft"),
    ("3 __import__('os')", "length", "8 ft"),
    ("12", "moisture content", "unit"),
    ("-300 C", "temperature", "between"),
    ("20", "temperature", "unit"),
    ("5 mj", "energy", "250 kWh"),
    ("R-12", "length", "8 ft"),
    ("R-0 per inch", "conductivity", "per inch"),
    ("RSI --2", "thermal resistance", "RSI 2.11"),
    ("361", "azimuth", "between"),
    ("upwards", "azimuth", "south-west"),
    (math.nan, "length", "between"),
    (math.inf, "temperature", "between"),
    (10**400, "length", "between"),
    (True, "length", "8 ft"),
    (None, "length", "8 ft"),
    ([1], "length", "8 ft"),
]


def test_refuses_an_integer_too_long_to_print():
    with pytest.raises(UnitError, match="between"):
        parse(1 << 20_000, "length")


@pytest.mark.parametrize(("value", "quantity", "says"), REFUSED)
def test_refuses_with_what_was_read_and_an_example(value, quantity, says):
    with pytest.raises(UnitError) as caught:
        parse(value, quantity)
    assert says in caught.value.allowed
    assert caught.value.read
    assert len(str(caught.value)) < 400


def _answer(text, quantity):
    """The value read, or the error; anything else escapes."""
    try:
        return parse(text, quantity)
    except UnitError as error:
        return error


@given(st.text(max_size=80), st.sampled_from(get_args(Quantity)))
def test_any_text_is_a_number_or_a_unit_error(text, quantity):
    answer = _answer(text, quantity)
    assert (answer.read and answer.allowed) if isinstance(answer, UnitError) else isfinite(answer)


TRADE_WORDS = st.lists(
    st.sampled_from([
        "8", "1/2", "1-5/8", "2,44", "0.5", "1e9", "½", "R-", "RSI", "-", " ", "'", '"', "ft", "in",
        "mm", "C", "F", "%", "ng", "perm", "CFM50", "kg", "/day", "Pa", "m", "^", "**", "(", ")",
        "per", "north", "h", "2", "³", "W/(m K)", "Btu", "degF", "delta_degC", "count", "radian",
    ]),
    max_size=7,
).map("".join)  # fmt: skip


@given(TRADE_WORDS, st.sampled_from(get_args(Quantity)))
def test_any_mix_of_trade_words_is_a_number_or_a_unit_error(text, quantity):
    answer = _answer(text, quantity)
    assert (answer.read and answer.allowed) if isinstance(answer, UnitError) else isfinite(answer)


def _values(quantity):
    kind = units._KINDS[quantity]
    low, high = max(kind.low, -1e6), min(kind.high, 1e6)
    if quantity == "azimuth":
        return st.floats(0, 360, exclude_max=True, allow_subnormal=False)
    tiny = {"permeance": 1e-12, "permeability": 1e-13, "conductivity": 1e-3}.get(quantity)
    if tiny:
        return st.floats(tiny, tiny * 1e4)
    return st.floats(low * 0.99, high * 0.99, allow_subnormal=False)


SAMPLES = st.sampled_from(get_args(Quantity)).flatmap(
    lambda quantity: st.tuples(st.just(quantity), _values(quantity))
)


@given(SAMPLES, st.sampled_from(["trade", "metric"]))
@example(("azimuth", 359.9999999999999), "trade")
@example(("azimuth", 45.00000000000001), "trade")
@example(("azimuth", 1.457367941129437e-44), "trade")
def test_what_is_shown_is_read_back(sample, system):
    quantity, value = sample
    text = show(value, quantity, system)
    back = parse(text, quantity)
    if quantity == "length":
        slack = 0.0254 / 32 if system == "trade" else 0.0005
    elif quantity == "temperature":
        slack = 0.05
    else:
        slack = abs(value) * 0.5 * 10 ** (1 - units._KINDS[quantity].digits)
    if quantity == "azimuth":  # north is both 0 and 360
        slack = 0.0005
        back = value + (back - value + 180.0) % 360.0 - 180.0
    assert back == pytest.approx(value, rel=1e-9, abs=slack * (1 + 1e-9) + 1e-15)
    assert show(back % 360.0 if quantity == "azimuth" else back, quantity, system) == text


@given(SAMPLES)
def test_exact_text_gives_the_value_back(sample):
    quantity, value = sample
    assert parse(exact(value, quantity), quantity) == value


@pytest.mark.parametrize(
    ("value", "quantity", "trade", "metric"),
    [  # arithmetic on the exact definitions above
        (2.4769, "length", "8' 1-1/2\"", "2.477 m"),
        (2.4384, "length", "8' 0\"", "2.438 m"),
        (0.0889, "length", '3-1/2"', "88.9 mm"),
        (0.015875, "length", '5/8"', "15.9 mm"),
        (12 / 5.678263337, "thermal resistance", "R-12", "RSI 2.11"),
        (60e-12, "permeance", "1.05 perm", "60 ng"),
        (-25.0, "temperature", "-25 °C", "-25 °C"),
        (225.0, "azimuth", "SW", "SW"),
        (230.0, "azimuth", "230 deg", "230 deg"),
        (0.19, "moisture content", "19 %", "19 %"),
        (0.5, "flow", "1059 cfm", "500 L/s"),
        (0.0, "length", '0"', "0 mm"),
    ],
)
def test_shows_as_the_trade_writes(value, quantity, trade, metric):
    assert show(value, quantity) == trade
    assert show(value, quantity, "metric") == metric


# exact: 1 ft = 12 in, 1 in = 25.4 mm; how a length is typed is common practice, no source
@pytest.mark.parametrize(
    ("typed", "bare", "inches"),
    [
        ("2 6", "in", 30), ("2-6", "in", 30), ("2ft6", "in", 30), ("2 ft 6", "in", 30),
        ("2' 6\"", "in", 30), ("2'6", "in", 30), ("2' 6-1/2", "in", 30.5), ("2′ 6″", "in", 30),
        ("30", "in", 30), ("30.5", "in", 30.5), ("30,5", "in", 30.5), ("62 1/2", "in", 62.5),
        ("5 2 1/2", "in", 62.5), ("5 2½", "in", 62.5), ("5' 1/2", "in", 60.5), ("2 6", "ft", 30),
        ("24", "ft", 288), ("8 1-1/2", "ft", 97.5), ("7.5", "ft", 90), ("900 mm", "in", 900 / 25.4),
        ("2900", "mm", 2900 / 25.4), ("2 900", "mm", 2900 / 25.4), ("2.9", "mm", 2900 / 25.4),
        ("2,9", "mm", 2900 / 25.4), ("2ft6", "mm", 30), ("8 ft", "mm", 96),
    ],
)  # fmt: skip
def test_a_length_is_read_as_people_type_it(typed, bare, inches):
    found = units.parse(units.typed_length(typed, bare), "length")
    assert found == pytest.approx(inches * 0.0254, rel=1e-12, abs=0)


@pytest.mark.parametrize("bare", ["in", "ft", "mm"])
@pytest.mark.parametrize(
    "typed",
    ["", "5 13", "2 6 7", "nan", "1e400", "-3", "x" * 5000, "1/0", "3 1/0", "2 ft 6 7", "two"],
)
def test_what_is_no_length_is_still_refused(typed, bare):
    with pytest.raises(UnitError):
        units.parse(units.typed_length(typed, bare), "length")
    if bare == "mm":
        for half in ("2 6", "2-6", "62 1/2"):  # feet and inches, or a thousand parted: unclear
            with pytest.raises(UnitError):
                units.parse(units.typed_length(half, bare), "length")
