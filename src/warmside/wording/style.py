"""How one reader wants quantities written: the only place that chooses units and rounds."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Literal, Protocol

from warmside import units
from warmside.errors import UnitError
from warmside.units import (
    BOARD_FOOT,
    BTU,
    DAY,
    FOOT,
    HOUR,
    INCH,
    KWH,
    MILE,
    MINUTE,
    POUND,
    POUND_FORCE,
    R_IMPERIAL,
    US_GALLON,
)
from warmside.wording.figure import Figure, figure_by_unit
from warmside.wording.languages import noun, translated

Language = Literal["en", "fr", "es"]
Country = Literal["CA", "US", ""]
_OUNCE = POUND / 16  # [kg]
_LEAK = 0.1  # [m2] smaller areas are gaps, written in square inches or centimetres


@dataclass(frozen=True)
class Way:
    """One way to write a quantity: ``pattern`` with the number in it, ``si`` SI units to one.

    ``places`` decimals; None: three digits, whole from a thousand on. ``whole`` leaves ``.0`` out.
    ``own`` matches a text already written so. ``text`` writes it all by itself, ``small`` what is
    below a tenth of a square metre.
    """

    pattern: str = "{}"
    si: float = 1.0
    zero: float = 0.0  # of the scale [SI]
    places: int | None = None
    whole: bool = False
    own: str = ""
    text: Callable[[float], str] | None = None
    small: Way | None = None

    def write(self, value: float, low: float | None = None, high: float | None = None) -> str:
        """``value`` [SI] with its unit, and its band where there is one."""
        if self.text is not None:
            return self.text(value)
        if self.small is not None and 0 < abs(value) < _LEAK:
            return self.small.write(value, low, high)
        step = self._step(low, high)
        best = self.pattern.replace("{}", self._number(value, step))
        if low is None or high is None:
            return best
        return f"{best} ({self._number(low, step)} to {self._number(high, step)})"

    def _step(self, low: float | None, high: float | None) -> float:
        """No figure is finer than a tenth of its band: the step that it is rounded to."""
        if low is None or high is None:
            return 0.0
        tenth = (high - low) / self.si / 10.0
        return float(10.0 ** math.floor(math.log10(tenth))) if 1e-12 < tenth < math.inf else 0.0

    def _number(self, value: float, step: float) -> str:
        if not math.isfinite(value):
            return "never" if value > 0 else "none"
        shown = (value - self.zero) / self.si
        places = self.places
        if step:
            shown = round(shown / step) * step
            finest = max(0, -round(math.log10(step)))
            places = finest if places is None else min(places, finest)
        if places is None:
            if abs(shown) >= 1000.0:
                return f"{shown:,.0f}"
            text = f"{Decimal(f'{shown:.3g}'):f}"
        else:
            text = f"{shown:,.{places}f}"
            if self.whole and places:
                text = text.removesuffix("." + "0" * places)
        return text.removeprefix("-") if float(text.replace(",", "")) == 0 else text


def feet(value: float) -> str:
    """A length [m] in feet and inches: sixteenths where it was read so, else the nearest eighth.

    What is no whole sixteenth was given in millimetres or taken by rule, and is known no finer.
    """
    read, eighth = value / (INCH / 16), round(value / (INCH / 8)) * INCH / 8
    return units.show(value if abs(read - round(read)) < 0.01 or not eighth else eighth, "length")


def _both(value: float) -> str:
    return f"{feet(value)} ({value * 1e3:.0f} mm)"


def _metric(value: float) -> str:
    return units.show(value, "length", "metric")


# the first way of each kind is the trade's habit; shown as the choices of the page
WAYS: Mapping[str, Mapping[str, Way]] = {
    "length": {
        "feet and inches": Way(text=feet, own=r"['\"]|ft|foot|feet|in"),
        "metric": Way(text=_metric, own=r"\dm|\b[cm]?m\b"),
    },
    "area": {
        "ft²": Way("{} ft²", FOOT**2, own="f", small=Way("{} in²", INCH**2)),
        "m²": Way("{} m²", own="m", small=Way("{} cm²", 1e-4)),
    },
    "volume": {
        "ft³": Way("{} ft³", FOOT**3, own="f"),
        "m³": Way("{} m³", own="m"),
    },
    "temperature": {
        "°C": Way("{} °C", places=1, whole=True, own="[cC]"),
        "°F": Way("{} °F", 1 / 1.8, -32 / 1.8, places=0, own="[fF]"),
    },
    "thermal resistance": {
        "R": Way("R-{}", R_IMPERIAL, places=1, own="R-?[0-9 ]"),
        "RSI": Way("RSI {}", places=2, own="RSI"),
        "R and RSI": Way(
            text=lambda v: f"R-{v / R_IMPERIAL:.1f} (RSI {v:.2f})", own="R"
        ),
    },
    "permeance": {
        "perm": Way("{} perm", units.PERM, own="perm"),
        "ng": Way("{} ng/(s·m²·Pa)", 1e-12, own="ng"),
    },
    "foam": {
        "board feet": Way("{} board feet", BOARD_FOOT),
        "m³": Way("{} m³"),
    },
}  # fmt: skip
# what papers alone write: both systems where the trade mixes them
_PAPER: Mapping[str, Way] = {
    "length": Way(text=_both),
    "area": Way("{} m²", places=1),
    "temperature": Way("{} °C", places=1, whole=True),
    "permeance": Way("{} ng/(Pa s m²)", 1e-12, places=0),
    "foam": Way("{} board ft", BOARD_FOOT, places=0),
}
# what a client reads: no finer than it is known, by the degree of the country
_R = Way("R-{}", R_IMPERIAL, places=0)
_CLIENT: Mapping[str, Mapping[str, Way]] = {
    "thermal resistance": {"°C": _R, "°F": _R},
    "area": dict.fromkeys(("°C", "°F"), Way("{} ft²", FOOT**2, places=0)),
    "temperature": {
        "°C": Way("{} °C", places=0), "°F": Way("{} °F", 1 / 1.8, -32 / 1.8, places=0),
    },
}  # fmt: skip
# the other kinds: metric, and what readers of feet read
_OTHERS: Mapping[str, tuple[Way, Way]] = {
    "span": (Way("{} m", places=1, whole=True), Way("{} ft", FOOT, places=0)),
    "size": (Way(text=_metric), Way(text=feet)),
    "hole": (Way("{} cm²", 1e-4, places=0), Way("{} in²", INCH**2, places=0)),
    "hole per metre": (
        Way("{} cm²/m", 1e-4, places=2), Way("{} in²/ft", INCH**2 / FOOT, places=3),
    ),
    "flow": (Way("{} L/s", 1e-3, places=0), Way("{} cfm", FOOT**3 / MINUTE, places=0)),
    "wind": (Way("{} m/s", places=1), Way("{} mph", MILE / HOUR, places=0)),
    "liquid": (Way("{} L", 1e-3), Way("{} gal", US_GALLON)),
    "pump pressure": (
        Way("{} MPa", 1e6, places=1), Way("{} psi", units.POUND_PER_INCH2, places=0),
    ),
    "bead": (Way("{} mm", 1e-3, places=0), Way(text=feet)),
    "speed": (Way("{} m/s", places=2), Way("{} ft/min", FOOT / MINUTE, places=0)),
    "water": (Way("{} g/m²", 1e-3, places=0), Way("{} oz/ft²", _OUNCE / FOOT**2, places=2)),
    "mass": (Way("{} kg"), Way("{} lb", POUND)),
    "density": (Way("{} kg/m³", places=0), Way("{} lb/ft³", POUND / FOOT**3, places=1)),
    "conductivity": (Way("{} W/(m·K)", places=3), Way("{} Btu·in/(h·ft²·°F)",
                                                       INCH / R_IMPERIAL, places=2)),
    "force": (Way("{} lb", POUND_FORCE, places=0),) * 2,
    "power": (Way("{} W", places=0), Way("{} Btu/h", BTU / HOUR, places=0)),
}  # fmt: skip
# one way for every reader
_ONE: Mapping[str, Way] = {
    "share": Way("{} %", 1e-2, places=0),
    "factor": Way("{}", places=2),
    "index": Way("{}", places=1),
    "air change": Way("{}", places=1),
    "pressure": Way("{} Pa", places=1),
    "concentration": Way("{} mg/m³", 1e-6),
    "heat": Way("{} kWh", KWH, places=0),
    "hours": Way("{} h", places=0),
    "labour": Way("{} h", places=1),
    "days": Way("{} days", places=0),
    "years": Way("{} years", places=0),
    "count": Way("{}", places=0),
    "price": Way("{}", places=2),
}
# units that things are sold by: as what, and SI of one
_SOLD = {
    "m": ("span", 1.0),
    "m2": ("area", 1.0),
    "m3": ("volume", 1.0),
    "kg": ("mass", 1.0),
    "L": ("liquid", 1e-3),
    "board ft": ("foam", BOARD_FOOT),
}
_SAME = {"resistance": "thermal resistance"}  # kinds of a figure under the name of their choice
_DEGREE_DAYS = {"°C": Way("{}", places=0), "°F": Way("{}", 1 / 1.8, places=0)}
_KELVIN, _FAHRENHEIT = Way("{} K", places=1, whole=True), Way("{} °F", 1 / 1.8, places=0)
_TENTHS = Way("{} °F", 1 / 1.8, places=1)  # of differences below a kelvin, which are not none
STEPS = ('1/4"', '1/2"', '1"', "5 mm", "10 mm", "50 mm")
DATES = {"as the browser asks": "", "2026-03-04": "%Y-%m-%d", "03/04/2026, month first": "%m/%d/%Y",
         "04/03/2026, day first": "%d/%m/%Y", "04.03.2026": "%d.%m.%Y"}  # fmt: skip
# dates by the language a browser asks for, the nearest name first; what is not here reads ISO 8601
_LOCALES = {"en-us": "%m/%d/%Y", "en-ca": "%Y-%m-%d", "en-gb": "%d/%m/%Y", "en-au": "%d/%m/%Y",
            "en-nz": "%d/%m/%Y",
            "fr-ca": "%Y-%m-%d", "fr": "%d/%m/%Y", "de-ch": "%d.%m.%Y", "de": "%d.%m.%Y",
            "es": "%d/%m/%Y", "it": "%d/%m/%Y", "pt": "%d/%m/%Y", "nl": "%d-%m-%Y",
            "fi": "%d.%m.%Y", "nb": "%d.%m.%Y", "da": "%d.%m.%Y", "pl": "%d.%m.%Y"}  # fmt: skip


class Told(Protocol):
    """What is told in words, by a reader's own style: a sentence."""

    def written(self, style: Style) -> str:
        """Its text."""


@dataclass(frozen=True)
class Style:
    """A reader's choices; the first seven are keys of ``WAYS``.

    ``paper`` writes both systems where the trade mixes them; ``for_all`` always writes both, for a
    sheet that goes from hand to hand.
    """

    length: str = "feet and inches"
    area: str = "ft²"
    volume: str = "ft³"
    temperature: str = "°C"
    thermal_resistance: str = "R"
    permeance: str = "perm"
    foam: str = "board feet"
    step: str = '1/2"'  # that an arrow key moves a window by
    dates: str = "as the browser asks"
    language: Language = "en"
    paper: bool = False
    for_all: bool = False
    country: Country = ""  # whose money and dates a client reads; "": money by its code
    fine: bool = False  # as computed, for an official: not as coarse as a client reads

    @classmethod
    def of_client(cls, country: Country, language: Language = "en") -> Style:
        """As a client of that country reads: the trade's feet and R, °F in the United States."""
        degrees = "°F" if country == "US" else "°C"
        return cls(temperature=degrees, language=language, country=country)

    @classmethod
    def of_paper(cls, country: Country) -> Style:
        """As builders of that country read: both systems in Canada, feet and °F in the States."""
        return cls(temperature="°F") if country == "US" else PAPER

    @property
    def for_officials(self) -> Style:
        """The same reader where limits are held against figures: both systems, a digit more."""
        tight = "ng" if self.country == "CA" else self.permeance
        return replace(self, fine=True, thermal_resistance="R and RSI", permeance=tight)

    @property
    def locale(self) -> str:
        """Name of the language and country in CLDR; of the language alone where it has no both."""
        from babel.localedata import exists

        both = f"{self.language}_{self.country}"
        return both if self.country and exists(both) else self.language

    def __call__(self, value: float | None, kind: str) -> str:
        """``value`` [SI] with its unit; "" for None."""
        if value is None:
            return ""
        return self.beside(*(style._way(kind).write(value) for style in self.each_system))

    def figure(self, figure: Figure) -> str:
        """A figure with its unit, and its band where it has one."""
        text = self.beside(*(style._written(figure) for style in self.each_system))
        if self.country and figure.kind in ("money", "cents"):
            return text  # written by its locale
        return _LOCAL[self.language](text)

    @property
    def each_system(self) -> tuple[Style, ...]:
        """Itself, or for a sheet for all the trade's units and then metric; of heat °C and °F."""
        if not self.for_all:
            return (self,)
        trade, metric = _FOR_ALL
        return (replace(trade, language=self.language), replace(metric, language=self.language))

    @staticmethod
    def beside(first: str, *other: str) -> str:
        """A text, and behind it in brackets what the other system makes of it."""
        return f"{first} ({other[0]})" if other and other[0] != first else first

    def sentence(self, sentence: Told | str) -> str:
        """A sentence in the reader's language, its figures filled in."""
        if isinstance(sentence, str):
            return translated(sentence, self.language)
        return sentence.written(self)

    def part(self, part: Told | Figure | str) -> str:
        """A part of a sentence: a name, a figure, or a sentence within it."""
        return self.figure(part) if isinstance(part, Figure) else self.sentence(part)

    def steps(self, kind: str) -> dict[str, Any]:
        """How a script writes a quantity as this reader has it: what of a ``Way`` is a number."""
        way = self._way(kind)
        return {"pattern": way.pattern, "si": way.si, "zero": way.zero, "places": way.places}

    def _way(self, kind: str) -> Way:
        kind = _SAME.get(kind, kind)
        if self.country and kind in _CLIENT and not self.fine:
            return _CLIENT[kind][self.temperature]
        if kind in WAYS:
            if self.paper and kind in _PAPER:
                return _PAPER[kind]
            return WAYS[kind][getattr(self, kind.replace(" ", "_"))]
        if kind == "degree days":
            return _DEGREE_DAYS[self.temperature]
        if kind == "difference":
            return _KELVIN if self.temperature == "°C" else _FAHRENHEIT
        if kind in _OTHERS:
            by_area = kind in ("hole", "hole per metre", "water")
            metric = self.area == "m²" if by_area else self.metric_lengths
            both = self.paper and kind != "size"  # papers give sizes as the trade does
            return _OTHERS[kind][0 if metric or both else 1]
        return _ONE[kind]

    def _written(self, figure: Figure) -> str:
        value, low, high = figure.value, figure.low, figure.high
        match figure.kind:
            case "money":
                return self._money(value, low, high, figure.currency)
            case "cents":
                return self.cents(Decimal(repr(value)), figure.currency)
            case "time":
                return _time(value, self.language)
            case "difference" if self.temperature == "°F" and 0.0 < abs(value) < 1.0:
                return _TENTHS.write(value, low, high)
            case "years" | "days" if math.isfinite(value) and low is None:
                return self._counted(round(value), figure.kind[:-1])
            case "count" if figure.noun:
                return self._counted(round(value), figure.noun)
            case "number" if figure.unit in _SOLD:
                kind, si = _SOLD[figure.unit]
                band = (None if end is None else end * si for end in (low, high))
                return self._way(kind).write(value * si, *band)
            case "number":
                unit = figure.unit.replace("m2", "m²").replace("m3", "m³")
                return Way(f"{{}} {unit}".rstrip()).write(value, low, high)
        way = self._way(figure.kind)
        if figure.kind == "air change" and figure.unit:  # it stands in a column
            way = replace(way, pattern=f"{{}} {translated(figure.unit, self.language)}")
        if figure.to is not None:
            return f"{way.write(value).partition(' ')[0]} to {way.write(figure.to)}"
        if self.country and not self.fine and low is not None and high is not None:
            # a client is not told a band that its own rounding hides
            best = way.write(value)
            if way.write(low) == best == way.write(high):
                return best
        return way.write(value, low, high)

    def _counted(self, count: int, one: str) -> str:
        return f"{count:,} {noun(count, one, self.language)}"

    def _money(self, value: float, low: float | None, high: float | None, currency: str) -> str:
        """Money to 10, a band to two figures."""
        if not self.country:
            return _money(value, low, high, currency)
        best = self._coins(tens(value), currency)
        if low is None or high is None:
            return best
        ends = (self._coins(two_figures(end), currency) for end in (low, high))
        return f"{best} ({translated(' to ', self.language).join(ends)})"

    def _coins(self, value: float, currency: str) -> str:
        from babel.numbers import format_currency

        text = str(format_currency(value, currency, locale=self.locale))
        return re.sub(r"[.,]0+(?=\D*$)", "", text)

    def cents(self, amount: Decimal, currency: str) -> str:
        """A sum to the cent, as contracts and invoices have it."""
        if not self.country:
            return f"{currency} {amount:,.2f}".strip()
        from babel.numbers import format_currency

        return str(format_currency(amount, currency, locale=self.locale))

    def by_unit(self, value: float | None, unit: str) -> str:
        """A figure kept with the text of its unit; "" for None."""
        return "" if value is None else self.figure(figure_by_unit(value, unit))

    def each(self, price: str, unit: str) -> str:
        """A price of the list by the unit that this reader reads: ``0.74 / ft²``."""
        kind, si = _SOLD.get(unit, ("", 1.0))
        way = self._way(kind) if kind else Way(f"{{}} {unit}")
        factor = way.si / si
        if math.isclose(factor, 1.0):
            return f"{price} / {way.pattern.removeprefix('{} ')}"
        worth = float(price.replace(",", "")) * factor
        return f"{Way(places=2 if worth >= 1.0 else None).write(worth)} / {way.pattern[3:]}"

    def run(self, length: float) -> str:
        """A length in all [m], rounded as one buys it."""
        return self._way("span").write(length)

    def other(self, value: float, kind: str) -> str:
        """``value`` [SI] in the first of the ways that were not chosen."""
        kind = _SAME.get(kind, kind)
        chosen = getattr(self, kind.replace(" ", "_"))
        return next(way.write(value) for name, way in WAYS[kind].items() if name != chosen)

    def again(self, text: str, kind: str) -> str:
        """What a text of the survey comes to in this reader's way; "" if it is written so."""
        if re.search(self._way(kind).own, text):
            return ""
        try:
            return self(units.parse(text, kind), kind)  # type: ignore[arg-type]
        except UnitError:
            return ""

    @property
    def metric_lengths(self) -> bool:
        """Whether lengths are in metres and millimetres."""
        return self.length == "metric"

    @property
    def step_length(self) -> float:
        """What one press of an arrow key moves [m]."""
        return units.parse(self.step, "length")

    def date(self, day: date, languages: str = "") -> str:
        """A day as this person, or the browser's ``Accept-Language``, reads it."""
        if self.country:
            from babel.dates import format_date

            return str(format_date(day, "long", locale=self.locale))
        return day.strftime(DATES[self.dates] or _pattern(languages))

    def moment(self, at: datetime, languages: str = "") -> str:
        """A moment on the computer's own clock."""
        return f"{self.date(at, languages)} {at:%H:%M}"

    def to_json(self) -> dict[str, Any]:
        """What is kept."""
        return asdict(self)


_FOR_ALL = (Style(), Style("metric", "m²", "m³", "°F", "RSI", "ng", "m³"))
SHEET = Style(for_all=True)
PAPER = Style(thermal_resistance="R and RSI", area="m²", volume="m³", permeance="ng", paper=True)


def _money(value: float, low: float | None, high: float | None, currency: str) -> str:
    """Money to 10, sums that are surely smaller to 1; the sign stands before the currency."""
    places = -1 if max(abs(value), abs(low or 0.0), abs(high or 0.0)) >= 100.0 else 0

    def number(value: float) -> str:
        rounded = round(value, places)
        return f"{'-' if rounded < 0.0 else ''}{abs(rounded):,.0f}"

    text = number(value)
    sign, text = ("-", text[1:]) if text.startswith("-") else ("", text)
    text = f"{sign}{currency} {text}" if currency else f"{sign}{text}"
    if low is None or high is None or number(low) == number(high):
        return text
    return f"{text} ({number(low)} to {number(high)})"


def beside_english(part: Told | Figure | str, style: Style) -> str:
    """A text of safety as its reader reads it, with the English where that is another language."""
    told = style.part(part)
    if style.language == "en" or not told:
        return told
    english = replace(style, language="en").part(part)
    return told if told == english else f"{told} [EN: {english}]"


def tens(value: float) -> float:
    """Money as it is known: to 10."""
    return float(round(value, -1))


def two_figures(value: float) -> float:
    """The end of a band of money, no finer than two figures and never finer than 10."""
    if abs(value) < 100.0:
        return float(round(value, -1))
    return round(value, 1 - math.floor(math.log10(abs(value))))


def _time(value: float, language: Language) -> str:
    if value >= DAY:
        day = "jour" if language == "fr" else "day"
        return f"{value / DAY:g} {day}{'' if value == DAY else 's'}"
    return f"{value / HOUR:g} h" if value >= HOUR else f"{value / MINUTE:g} min"


# units of the trade by the names that Quebec's trade gives them
_FRENCH_UNITS = (("ft²", "pi²"), ("ft³", "pi³"), (" ft", " pi"), (" board feet", " pmp"),
                 (" in²", " po²"))  # fmt: skip


def _french(text: str) -> str:
    """Comma for the decimal sign, narrow space between thousands, the trade's units by name."""
    text = re.sub(r"(?<=\d),(?=\d{3})", "\u202f", text)
    text = re.sub(r"(?<=\d)\.(?=\d)", ",", text).replace(" to ", " à ")
    for english, french in _FRENCH_UNITS:
        text = text.replace(english, french)
    return text


_LOCAL: Mapping[str, Callable[[str], str]] = {
    "en": str, "fr": _french, "es": lambda text: text.replace(" to ", " a "),
}  # fmt: skip


def _pattern(languages: str) -> str:
    for part in languages.lower().split(",")[:20]:
        name = part.partition(";")[0].strip()
        for tried in (name, name.partition("-")[0]):
            if tried in _LOCALES:
                return _LOCALES[tried]
        if name == "en":
            break
    return "%Y-%m-%d"


_RAISED = {"2": "²", "3": "³"}


def raised(text: str) -> str:
    """``m2`` as ``m²``, and ``3 x 4`` as ``3 × 4``; ``2x4`` stays as the trade writes it."""
    text = re.sub(r"(?<![A-Za-z])(m|cm|mm|ft)([23])(?![\w.])", lambda m: m[1] + _RAISED[m[2]], text)
    return re.sub(r"(?<=\S) x (?=\d)", " × ", text)
