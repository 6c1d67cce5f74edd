"""Trade units in and out; SI floats in between.

``parse`` reads what the trade writes (``8' 1-1/2"``, ``R-12``, ``60 ng``, ``3200 CFM50``) into SI,
and ``show`` writes it back. Temperatures are in degrees Celsius, azimuths in degrees clockwise from
north. A text always carries its unit, except shares and azimuths, where a bare number is usual.

The comma: between digits it is a decimal comma (``2,44 m`` is 2.44 m). Before exactly three
digits it could as well part the thousands, so ``1,200 mm`` is refused; ``0,125 in`` is not.

Everyday units are tabled here by their exact definitions; any other unit of the right dimension
is looked up in the units library, which is imported only then.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Literal, get_args

from warmside.errors import UnitError

if TYPE_CHECKING:
    import pint

__all__ = ["Quantity", "System", "allowed", "exact", "needs_unit", "parse", "show"]

Quantity = Literal[
    "length", "area", "volume", "temperature", "temperature difference", "thermal resistance",
    "conductivity", "permeance", "permeability", "pressure", "flow", "speed", "share",
    "moisture content", "moisture rate", "density", "mass", "time", "azimuth", "energy", "power",
]  # fmt: skip
System = Literal["trade", "metric"]

# Exact by definition (international yard and pound agreement, 1959; SI brochure)
INCH, FOOT, YARD, MILE = 0.0254, 0.3048, 0.9144, 1609.344  # [m]
POUND, GRAIN = 0.45359237, 64.79891e-6  # [kg]
GRAVITY = 9.80665  # [m/s2] standard
BTU = 1055.05585262  # [J] international table
KWH = 3.6e6  # [J]
BOARD_FOOT = FOOT**2 * INCH  # [m3]
POUND_FORCE = POUND * GRAVITY  # [N]
US_GALLON = 231 * INCH**3  # [m3]
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0  # [s]
# Conventional columns: mercury at 0 degC (NIST SP 811, app. B.8), water of 1000 kg/m3
INCH_MERCURY = 3386.389  # [Pa]
INCH_WATER = INCH * 1000 * GRAVITY  # [Pa]
POUND_PER_INCH2 = POUND * GRAVITY / INCH**2  # [Pa]
R_IMPERIAL = HOUR * FOOT**2 / (BTU * 1.8)  # [m2 K/W] of one h ft2 degF/Btu
# Grain per hour, square foot and inch of mercury at 0 degC: 57.2135 ng (NIST SP 811, app. B.8)
PERM = GRAIN / (HOUR * FOOT**2 * INCH_MERCURY)  # [kg/(m2 s Pa)]

_LONGEST = 64  # characters of a quantity


@dataclass(frozen=True)
class _Kind:
    """How one quantity is read and shown; ``units`` gives SI per unit by its normal form."""

    what: str
    examples: str
    si: str
    low: float
    high: float
    units: Mapping[str, float]
    trade: str
    metric: str
    digits: int = 3
    bare: float | None = None  # SI per bare number, where one may stand without a unit
    zero: Mapping[str, float] = field(default_factory=dict)  # added before scaling
    parts: tuple[float, ...] = ()  # units that combine, large to small: 8 ft 2 in


def _table(names: Mapping[float, str]) -> dict[str, float]:
    return {name: factor for factor, text in names.items() for name in text.split()}


_RATE = {  # water: 1 L taken as 1 kg
    1.0: "kg/s", 1 / HOUR: "kg/h kg/hr L/h l/h L/hr", 1e-3 / HOUR: "g/h g/hr",
    1 / DAY: "kg/day kg/d L/day L/d litre/day litres/day liter/day liters/day kgperday Lperday",
    1e-3 / DAY: "g/day g/d", POUND / DAY: "lb/day lb/d", POUND / HOUR: "lb/h lb/hr",
    US_GALLON * 125 / DAY: "pint/day pints/day pt/day",
}  # fmt: skip
_TIME = {
    1.0: "s sec secs second seconds", MINUTE: "min mins minute minutes",
    HOUR: "h hr hrs hour hours", DAY: "d day days", 7 * DAY: "week weeks",
    365.25 * DAY: "year years a",
}  # fmt: skip
_KINDS: dict[Quantity, _Kind] = {
    "length": _Kind(
        "a length", '"8 ft 1-1/2 in", "1-5/8 in" or "2.44 m"', "m", 0, 1e5,
        _table({
            1.0: "m metre metres meter meters", 1e-2: "cm", 1e-3: "mm mmoc",
            1e-6: "um micron microns", 1e3: "km",
            INCH: 'in inch inches " inoc "oc', FOOT: "ft foot feet '",
            YARD: "yd yard yards", 1e-3 * INCH: "mil mils", MILE: "mile miles",
        }),
        "ft", "m", parts=(FOOT, INCH),
    ),
    "area": _Kind(
        "an area", '"120 ft2" or "11.2 m2"', "m**2", 0, 1e9,
        _table({
            1.0: "m2 sqm", 1e-4: "cm2", 1e-6: "mm2", FOOT**2: "ft2 sqft sf squarefeet squarefoot",
            INCH**2: "in2 sqin", YARD**2: "yd2 sqyd",
        }),
        "{} ft2", "{} m2", digits=4,
    ),
    "volume": _Kind(
        "a volume", '"14000 ft3" or "400 m3"', "m**3", 0, 1e9,
        _table({
            1.0: "m3 cum", 1e-3: "L l litre litres liter liters", 1e-6: "mL ml cm3",
            FOOT**3: "ft3 cuft cf cubicfeet", YARD**3: "yd3 cuyd", INCH**3: "in3 cuin",
            FOOT**3 / 12: "bdft boardft boardfoot boardfeet bf",
            US_GALLON: "gal gallon gallons USgal USgallon USgallons",
            4.54609e-3: "impgal imperialgal impgallons imperialgallon imperialgallons",
            100 * FOOT**3: "ccf", 1000 * FOOT**3: "mcf", 128 * FOOT**3: "cord cords",
        }),
        "{} ft3", "{} m3", digits=4,
    ),
    "temperature": _Kind(
        "a temperature", '"-25 C" or "-13 F"', "", -273.15, 2000,
        _table({
            1.0: "C degC degreesC Celsius K kelvin",
            5 / 9: "F degF degreesF Fahrenheit",
        }),
        "{} °C", "{} °C",
        zero={"F": -32.0, "degF": -32.0, "degreesF": -32.0, "Fahrenheit": -32.0,
              "K": -273.15, "kelvin": -273.15},
    ),
    "temperature difference": _Kind(
        "a temperature difference", '"5 K" or "9 F"', "K", -2300, 2300,
        _table({1.0: "K C degC kelvin", 5 / 9: "F degF"}), "{} K", "{} K",
    ),
    "thermal resistance": _Kind(
        "a thermal resistance", '"R-12" or "RSI 2.11"', "m**2*K/W", 0, 1e3,
        _table({1.0: "m2K/W Km2/W RSI", R_IMPERIAL: "R hft2F/Btu ft2hF/Btu hrft2F/Btu ft2Fh/Btu"}),
        "R-{}", "RSI {}",
    ),
    "conductivity": _Kind(
        "a conductivity", '"0.024 W/(m K)" or "R-6 per inch"', "W/(m*K)", 0, 1e4,
        _table({
            1.0: "W/mK", 1e-3: "mW/mK", INCH / R_IMPERIAL: "Btuin/hft2F Btuin/hrft2F Btuin/ft2hF",
            FOOT / R_IMPERIAL: "Btu/hftF Btu/hrftF",
        }),
        "{} Btu in/(h ft2 F)", "{} W/(m K)",
    ),
    "permeance": _Kind(
        "a permeance", '"60 ng" or "1 perm"', "kg/(m**2*s*Pa)", 0, 1e-3,
        _table({
            1e-12: "ng ng/Pasm2 ng/m2sPa ng/sm2Pa ng/Pam2s", 1.0: "kg/m2sPa kg/Pasm2",
            PERM: "perm perms USperm USperms",
        }),
        "{} perm", "{} ng",
    ),
    "permeability": _Kind(
        "a permeability", '"2 ng/(Pa s m)" or "1.4 perm in"', "kg/(m*s*Pa)", 0, 1e-3,
        _table({
            1e-12: "ng/Pasm ng/msPa ng/smPa", 1.0: "kg/msPa kg/Pasm",
            PERM * INCH: "permin perminch permsin perminches",
        }),
        "{} perm in", "{} ng/(Pa s m)",
    ),
    "pressure": _Kind(
        "a pressure", '"50 Pa" or "0.2 in wc"', "Pa", -1e8, 1e8,
        _table({
            1.0: "Pa pascal pascals", 1e2: "hPa mbar", 1e3: "kPa", 1e5: "bar",
            INCH_WATER: 'inwc inwg inH2O inchwc incheswc "wc "H2O iwc', INCH_MERCURY: "inHg",
            POUND_PER_INCH2: "psi",
        }),
        "{} Pa", "{} Pa",
    ),
    "flow": _Kind(
        "an air flow", '"3200 CFM50", "80 cfm", "38 L/s" or "1500 m3/h"', "m**3/s", -1e4, 1e4,
        _table({
            1.0: "m3/s", 1e-3: "L/s l/s lps Lps L/s50 L/sat50Pa L/s@50Pa",
            1 / HOUR: "m3/h m3/hr cmh m3/h50 m3/hat50Pa m3/h@50Pa",
            FOOT**3 / MINUTE: "cfm CFM CFM50 cfm50 cfm@50Pa cfmat50Pa ft3/min",
        }),
        "{} cfm", "{} L/s", digits=4,
    ),
    "speed": _Kind(
        "a speed", '"15 km/h", "10 mph" or "4 m/s"', "m/s", -1e4, 1e4,
        _table({
            1.0: "m/s", 1e3 / HOUR: "km/h kmh kph", MILE / HOUR: "mph mi/h",
            FOOT / MINUTE: "fpm ft/min", 1852 / HOUR: "knot knots kn kt",
        }),
        "{} mph", "{} m/s",
    ),
    "share": _Kind(
        "a share", '"35 %" or "0.35"', "", 0, 1e3,
        _table({1e-2: "% percent pct %RH"}), "{} %", "{} %", bare=1.0,
    ),
    "moisture content": _Kind(
        "a moisture content", '"19 %"', "", 0, 10,
        _table({1e-2: "% percent %MC %mc", 1.0: "kg/kg"}), "{} %", "{} %",
    ),
    "moisture rate": _Kind(
        "a moisture rate", '"9 kg/day" or "9 L/day"', "kg/s", 0, 10,
        _table(_RATE), "{} kg/day", "{} kg/day",
    ),
    "density": _Kind(
        "a density", '"2 pcf" or "32 kg/m3"', "kg/m**3", 0, 1e5,
        _table({
            1.0: "kg/m3", 1e3: "g/cm3 g/cc", POUND / FOOT**3: "pcf lb/ft3 lbs/ft3 lb/cuft lbs/cuft",
        }),
        "{} pcf", "{} kg/m3",
    ),
    "mass": _Kind(
        "a mass", '"500 lb" or "227 kg"', "kg", 0, 1e9,
        _table({
            1.0: "kg", 1e-3: "g", 1e3: "t tonne tonnes", POUND: "lb lbs pound pounds",
            POUND / 16: "oz ounce ounces", GRAIN: "gr grain grains",
        }),
        "{} lb", "{} kg", digits=4, parts=(POUND, POUND / 16),
    ),
    "time": _Kind(
        "a time", '"24 h" or "1 day"', "s", 0, 1e11, _table(_TIME), "{} h", "{} h",
        digits=4, parts=(DAY, HOUR, MINUTE, 1.0),
    ),
    "azimuth": _Kind(
        "a direction", '"N", "south-west" or "225 deg"', "", 0, 360,
        _table({1.0: "deg degree degrees"}), "{} deg", "{} deg", digits=4, bare=1.0,
    ),
    "energy": _Kind(
        "an energy", '"250 kWh" or "35 MJ"', "J", -1e18, 1e18,
        _table({
            1.0: "J", 1e3: "kJ", 1e6: "MJ", 1e9: "GJ", 1e-3: "mJ", KWH: "kWh", 3.6e9: "MWh",
            BTU: "Btu BTU", 1e5 * BTU: "therm therms", 1e6 * BTU: "MMBtu MMBTU",
        }),
        "{} kWh", "{} kWh", digits=4,
    ),
    "power": _Kind(
        "a power", '"1500 W" or "60000 Btu/h"', "W", -1e15, 1e15,
        _table({
            1.0: "W", 1e3: "kW", 1e6: "MW", 1e-3: "mW", BTU / HOUR: "Btu/h Btu/hr Btuh",
        }),
        "{} Btu/h", "{} W", digits=4,
    ),
}  # fmt: skip
if set(_KINDS) != set(get_args(Quantity)):  # pragma: no cover
    raise AssertionError("every quantity needs its row")

_POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
           "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")  # fmt: skip
_NUMBER = re.compile(
    r"(?:(?P<whole>\d+)(?:\s*-\s*|\s+))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
    r"|(?P<decimal>(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][-+]?\d{1,3})?)",
    re.ASCII,
)
_INCHES = r"(?P<inches>\d+(?:[.,]\d+)?(?:(?:\s*-\s*|\s+)\d+\s*/\s*\d+)?%s)"
_FEET_FIRST = re.compile(
    r"(?P<feet>\d+)\s*(?:ft\.?|feet|foot|')\s*-?\s*" + _INCHES % r"|\d+\s*/\s*\d+",
    re.ASCII | re.IGNORECASE,
)
_TWO_NUMBERS = re.compile(r"(?P<feet>\d+)(?:\s*-\s*|\s+)" + _INCHES % "", re.ASCII)
_PART = re.compile(r"\s*([A-Za-z]+\.?|'|\")?\s*", re.ASCII)
_R_VALUE = re.compile(r"(RSI|R)\s*-?\s*(?=[\d.,])", re.ASCII | re.IGNORECASE)
_PER_INCH = re.compile(r"\s*(?:/|per)\s*in(?:ch)?\.?", re.ASCII | re.IGNORECASE)
_LOOSE = re.compile(r"[\s.·⋅*^()°_-]")
_TERM = r"\(*[A-Za-z_]+(?:\^?-?[1-4])?\)*"
_UNIT_FORMULA = re.compile(rf"{_TERM}(?:\s*[*/ ]\s*{_TERM}){{0,6}}", re.ASCII)
_PLAIN_SIGNS = str.maketrans("′’‘″“”⁄−–—‐‑×•∙", "'''\"\"\"/-----*··")


def needs_unit(quantity: Quantity) -> bool:
    """Whether a number alone says too little."""
    return _KINDS[quantity].bare is None


def allowed(quantity: Quantity, bounds: str = "") -> str:
    """What may be written for ``quantity``, as a sentence part with examples."""
    kind = _KINDS[quantity]
    unit = " with its unit" if kind.bare is None else ""
    return f"{kind.what}{unit}{bounds}, such as {kind.examples}"


def parse(value: str | float, quantity: Quantity) -> float:
    """Read a quantity in trade or metric units.

    Parameters
    ----------
    value : str or float
        Text as the trade writes it; a number is taken as SI already (azimuth [deg],
        temperature [degC]).
    quantity : Quantity
        What is being read.

    Returns
    -------
    float
        The value [SI unit of the quantity; temperature degC, azimuth deg], finite and bounded.

    Raises
    ------
    UnitError
        Saying what was read and what is allowed, with an example.
    """
    kind = _KINDS[quantity]
    if isinstance(value, str):
        text = _plain_text(value, kind)
        try:
            found = _read(text, quantity, kind)
        except _UnreadableError as error:
            raise _refusal(value, kind, str(error)) from None
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        try:
            found = float(value)
        except OverflowError:
            found = math.inf
    else:
        raise _refusal(value, kind)
    if not kind.low <= found <= kind.high:  # also refuses NaN
        raise _refusal(value, kind, f"between {_bound(kind, 0)} and {_bound(kind, 1)}")
    return found % 360.0 if quantity == "azimuth" else found


def show(
    value: float, quantity: Quantity, system: System = "trade", digits: int | None = None
) -> str:
    """Write a quantity as the trade does (feet, inches and sixteenths; R; perm), or metric.

    ``parse`` reads the text back to within its last digit: half a sixteenth of an inch or half a
    millimetre for lengths, 0.05 K for temperatures, half a thousandth of a degree for azimuths,
    ``digits`` significant digits otherwise.

    Parameters
    ----------
    value : float
        The value [SI unit of the quantity].
    quantity : Quantity
        What it is.
    system : {"trade", "metric"}
        The trade's mix (inches for framing, Celsius for weather), or metric throughout.
    digits : int, optional
        Significant digits [-]; the quantity's own habit when not given.

    Returns
    -------
    str
        The text with its unit.
    """
    kind = _KINDS[quantity]
    value = parse(value, quantity)
    if quantity == "length":
        return _feet_and_inches(value) if system == "trade" else _metres(value)
    if quantity == "azimuth":
        shown = round(value, 3) % 360.0  # a hair off a point of the compass is that point
        point, rest = divmod(shown, 22.5)
        return f"{_decimal(shown, 6)} deg" if rest else _POINTS[int(point)]
    pattern = kind.trade if system == "trade" else kind.metric
    if quantity == "temperature":
        return pattern.format(_decimal(round(value, 1), 6))
    factor = kind.units.get(_key(pattern.replace("{}", "")), 1.0)
    return pattern.format(_decimal(value / factor, digits or kind.digits))


def exact(value: float, quantity: Quantity) -> str:
    """Write a quantity so that ``parse`` gives exactly it back: trade text where that holds."""
    for system in get_args(System):
        text = show(value, quantity, system)
        if parse(text, quantity) == value:
            return text
    kind = _KINDS[quantity]
    unit = next((name for name, factor in kind.units.items() if factor == 1.0), "")
    return f"{float(value)!r} {unit}".rstrip()


def typed_length(text: str, bare: Literal["in", "ft", "mm"]) -> str:
    """A length as people type it, with its units written out; what is plain already, as it is.

    ``2ft6`` and ``2' 6`` are 2 ft 6 in; in feet and inches ``2 6`` and ``2-6`` are too, and a
    number alone is in ``bare``. In metric (``mm``) a whole number alone is in millimetres and one
    with a decimal sign in metres, as on building drawings (common practice, no source).

    Returns
    -------
    str
        Text for ``parse``, which still refuses what is no length.
    """
    try:
        plain = _plain_text(text, _KINDS["length"])
    except UnitError:
        return text
    feet = _FEET_FIRST.fullmatch(plain) or (bare != "mm" and _TWO_NUMBERS.fullmatch(plain))
    if bare == "mm" and not feet:
        number = re.fullmatch(r"\d{1,3}(?: \d{3})+|\d+([.,]\d+)?", plain, re.ASCII)
        return f"{plain.replace(' ', '')} {'m' if number[1] else 'mm'}" if number else text
    if feet:
        inches = _NUMBER.fullmatch(feet["inches"])
        small = inches is not None and _small(inches)
        return f"{feet['feet']} ft {feet['inches']} in" if small else text
    return f"{plain} {bare}" if _NUMBER.fullmatch(plain) else text


def _small(inches: re.Match[str]) -> bool:
    """Whether inches after feet are less than a foot."""
    try:
        return _value(inches) < 12
    except _UnreadableError:
        return False


class _UnreadableError(Exception):
    """Why a text cannot be read; empty when there is nothing to add."""


def _refusal(value: object, kind: _Kind, why: str = "") -> UnitError:
    read = f'"{value[:_LONGEST]}"' if isinstance(value, str) else _shown(value)
    quantity = next(name for name, row in _KINDS.items() if row is kind)
    return UnitError(read, allowed(quantity) + (f" ({why})" if why else ""))


def _shown(value: object) -> str:
    try:
        return repr(value)[:_LONGEST]
    except (ValueError, RecursionError):  # an integer of thousands of digits; nesting
        return f"something of type {type(value).__name__}"


def _bound(kind: _Kind, end: int) -> str:
    unit = next((name for name, factor in kind.units.items() if factor == 1.0), "")
    return f"{_decimal((kind.low, kind.high)[end], 6)} {unit}".strip()


def _plain_text(text: str, kind: _Kind) -> str:
    """Text in plain signs: fractions, primes, dashes and superscripts as typed on a keyboard."""
    if len(text) > _LONGEST:
        raise _refusal(text, kind, f"at most {_LONGEST} characters")
    if re.search(r"[0-9][⁰¹²³⁴-⁹₀-₉]", text):
        raise _refusal(text, kind, "a raised digit belongs to a unit, as in m²")
    text = re.sub(r"(?<=[0-9])(?=[¼-¾⅐-⅞])", " ", text)
    text = unicodedata.normalize("NFKC", text.replace("″", '"')).translate(_PLAIN_SIGNS)
    return text.replace("''", '"').strip()


def _read(text: str, quantity: Quantity, kind: _Kind) -> float:
    if quantity == "azimuth":
        point = _compass(text)
        if point is not None:
            return point
    if quantity in ("thermal resistance", "conductivity") and (r := _R_VALUE.match(text)):
        return _r_value(text, r, per_inch=quantity == "conductivity")
    sign = -1.0 if text.startswith("-") else 1.0
    body = text[1:].lstrip() if text[:1] in ("-", "+") else text
    match = _NUMBER.match(body)
    if match is None:
        raise _UnreadableError
    number, rest = sign * _value(match), body[match.end() :]
    if not rest or (quantity == "azimuth" and rest.strip() == "°"):
        if kind.bare is None:
            raise _UnreadableError("a number alone leaves the unit open")
        return number * kind.bare
    unit = _unit(rest, kind)
    if unit is not None:
        return (number + kind.zero.get(unit, 0.0)) * kind.units[unit]
    if kind.parts:
        total = _compound(body, kind)
        if total is not None:
            return sign * total
    if not kind.si:
        raise _UnreadableError
    return number * _library_factor(rest.strip(), kind.si)


def _value(match: re.Match[str]) -> float:
    """The number of a match: decimal, fraction, or whole number and fraction."""
    if decimal := match["decimal"]:
        if re.search(r"[1-9][0-9]*,[0-9]{3}(?![0-9])", decimal):
            raise _UnreadableError("a comma before three digits is unclear: write 1200 or 1.2")
        return float(decimal.replace(",", "."))
    whole, top, bottom = float(match["whole"] or 0), float(match["top"]), float(match["bottom"])
    if bottom == 0 or (match["whole"] and top >= bottom):
        raise _UnreadableError("the fraction of a mixed number lies between 0 and 1")
    return whole + top / bottom


def _compass(text: str) -> float | None:
    """Azimuth of a compass point [deg], written as letters or words."""
    letters = re.sub(r"[\s.-]|ern\b|\bfacing\b", "", text.casefold())
    for word in ("north", "south", "east", "west"):
        letters = letters.replace(word, word[0])
    points = [point.casefold() for point in _POINTS]
    return 22.5 * points.index(letters) if letters in points else None


def _r_value(text: str, prefix: re.Match[str], per_inch: bool) -> float:
    """``R-12`` and ``RSI 2.1`` [m2 K/W]; ``R-6 per inch`` as a conductivity [W/(m K)]."""
    match = _NUMBER.match(text, prefix.end())
    if match is None:
        raise _UnreadableError
    imperial = prefix[1].upper() == "R"
    number, rest = _value(match), text[match.end() :]
    if not per_inch and not rest.strip():
        return number * (R_IMPERIAL if imperial else 1.0)
    if per_inch and imperial and number > 0 and _PER_INCH.fullmatch(rest):
        return INCH / (number * R_IMPERIAL)
    raise _UnreadableError


def _key(unit: str) -> str:
    """Normal form of a unit: ``W/(m·K)`` and ``W/m K`` are both ``W/mK``."""
    return _LOOSE.sub("", unit)


def _unit(text: str, kind: _Kind) -> str | None:
    """The tabled unit meant by ``text``; capitals matter only where they part MJ from mJ."""
    key = _key(text)
    if key in kind.units:
        return key
    near = [name for name in kind.units if name.casefold() == key.casefold()]
    return near[0] if len({kind.units[name] for name in near}) == 1 else None


def _compound(text: str, kind: _Kind) -> float | None:
    """``8 ft 1-1/2 in``, ``8'-6``, ``1 day 6 h``: each part below one of the part before."""
    total, position, before, whole = 0.0, 0, math.inf, True
    while position < len(text):
        match = _NUMBER.match(text, position)
        if match is None:
            return None
        number = _value(match)
        part = _PART.match(text, match.end())
        mark = (part[1] or "") if part else ""
        size = kind.units.get(_unit(mark, kind) or "") if mark else None
        if size is None and not mark and text[:position].rstrip(" -").endswith("'"):
            size = INCH
        if size not in kind.parts or size >= before:
            return None
        if not whole or number * size >= before * (1 - 1e-12):
            raise _UnreadableError("each part smaller than one of the part before it")
        total, before, whole = total + number * size, size, number.is_integer()
        position = part.end() if part else len(text)
        position += len(re.match(r"[-,]?\s*", text[position:])[0])  # type: ignore[index]
    return total


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # half a second, so only when a unit is not tabled here

    return pint.UnitRegistry(cache_folder=None)


@lru_cache(maxsize=512)
def _library_factor(unit: str, si: str) -> float:
    """SI per ``unit``, from the units library; only plain products of named units reach it."""
    if not _UNIT_FORMULA.fullmatch(unit):
        raise _UnreadableError
    formula = re.sub(r"([A-Za-z_]+)\^?(-?[1-4])", r"\1**\2", unit)
    registry = _registry()
    import pint

    try:
        factor = registry.Quantity(1.0, registry.parse_units(formula)).to(si).magnitude
    except (pint.errors.PintError, ArithmeticError, SyntaxError, TypeError, ValueError, KeyError):
        raise _UnreadableError from None
    return float(factor)


def _decimal(value: float, digits: int) -> str:
    """``value`` to ``digits`` significant digits, without an exponent between 1e-6 and 1e15."""
    text = f"{value:.{digits}g}"
    if float(text) == 0:
        return "0"
    return format(Decimal(text), "f") if 1e-6 <= abs(value) < 1e15 else text


def _feet_and_inches(value: float) -> str:
    feet, sixteenths = divmod(round(value / INCH * 16), 12 * 16)
    inches, top = divmod(sixteenths, 16)
    parts = [str(inches)] if inches or not top else []
    if top:
        common = math.gcd(top, 16)
        parts.append(f"{top // common}/{16 // common}")
    text = "-".join(parts) + '"'
    return f"{feet}' {text}" if feet else text


def _metres(value: float) -> str:
    millimetres = round(value * 1000)
    if millimetres < 1000:
        return f"{_decimal(round(value * 1000, 1), 4)} mm"
    return f"{_decimal(millimetres / 1000, 12)} m"
