"""How one person wants quantities written: a choice for each kind, kept with the person."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from warmside import units
from warmside.errors import Fault, InputError, UnitError

INCH, FOOT = 0.0254, 0.3048  # [m] international yard and pound agreement, 1959
BOARD_FOOT = FOOT**2 * INCH  # [m3]
_R = 1.0 / units.parse("R-1", "thermal resistance")
_PERM = 1.0 / units.parse("1 perm", "permeance")
_LEAK = 0.1  # [m2] smaller areas are gaps, written in square inches or centimetres


@dataclass(frozen=True)
class Way:
    """One way to write a kind of quantity; ``own`` matches a text already written so."""

    write: Callable[[float], str]
    own: str = ""


def _scaled(factor: float, unit: str, digits: int = 3) -> Callable[[float], str]:
    def write(value: float) -> str:
        shown = value * factor
        return f"{shown:,.0f} {unit}" if abs(shown) >= 10**digits else (
            f"{float(f'{shown:.{digits}g}'):g} {unit}"
        )  # fmt: skip

    return write


def _area(factor: float, unit: str, small: float, small_unit: str) -> Callable[[float], str]:
    large, little = _scaled(factor, unit), _scaled(small, small_unit)
    return lambda value: little(value) if 0 < abs(value) < _LEAK else large(value)


# the first way of each kind is the trade's habit; shown as the choices of the page
WAYS: Mapping[str, Mapping[str, Way]] = {
    "length": {
        "feet and inches": Way(lambda v: units.show(v, "length"), r"['\"]|ft|foot|feet|in"),
        "metric": Way(lambda v: units.show(v, "length", "metric"), r"\dm|\b[cm]?m\b"),
    },
    "area": {
        "ft²": Way(_area(1 / FOOT**2, "ft²", 1 / INCH**2, "in²"), "f"),
        "m²": Way(_area(1.0, "m²", 1e4, "cm²"), "m"),
    },
    "volume": {
        "ft³": Way(_scaled(1 / FOOT**3, "ft³", 4), "f"),
        "m³": Way(_scaled(1.0, "m³"), "m"),
    },
    "temperature": {
        "°C": Way(lambda v: f"{v:.1f} °C", "[cC]"),
        "°F": Way(lambda v: f"{v * 1.8 + 32:.0f} °F", "[fF]"),
    },
    "thermal resistance": {
        "R": Way(lambda v: f"R-{v * _R:.1f}", "R-?[0-9 ]"),
        "RSI": Way(lambda v: f"RSI {v:.2f}", "RSI"),
        "R and RSI": Way(lambda v: f"R-{v * _R:.1f} (RSI {v:.2f})", "R"),
    },
    "permeance": {
        "perm": Way(_scaled(_PERM, "perm"), "perm"),
        "ng": Way(_scaled(1e12, "ng/(s·m²·Pa)"), "ng"),
    },
    "foam": {
        "board feet": Way(_scaled(1 / BOARD_FOOT, "board feet")),
        "m³": Way(_scaled(1.0, "m³")),
    },
}
STEPS = ('1/4"', '1/2"', '1"', "5 mm", "10 mm", "50 mm")
DATES = {"as the browser asks": "", "2026-03-04": "%Y-%m-%d", "03/04/2026, month first": "%m/%d/%Y",
         "04/03/2026, day first": "%d/%m/%Y", "04.03.2026": "%d.%m.%Y"}  # fmt: skip
# dates by the language a browser asks for, the nearest name first; what is not here reads ISO 8601
_LOCALES = {"en-us": "%m/%d/%Y", "en-ca": "%Y-%m-%d", "en-gb": "%d/%m/%Y", "en-au": "%d/%m/%Y",
            "en-nz": "%d/%m/%Y",
            "fr-ca": "%Y-%m-%d", "fr": "%d/%m/%Y", "de-ch": "%d.%m.%Y", "de": "%d.%m.%Y",
            "es": "%d/%m/%Y", "it": "%d/%m/%Y", "pt": "%d/%m/%Y", "nl": "%d-%m-%Y",
            "fi": "%d.%m.%Y", "nb": "%d.%m.%Y", "da": "%d.%m.%Y", "pl": "%d.%m.%Y"}  # fmt: skip
_BY_UNIT = {"m": "length", "m2": "area", "m3": "volume", "degC": "temperature",
            "m2 K/W": "thermal resistance", "kg/(m2 s Pa)": "permeance"}  # fmt: skip
KEY = "units"  # of the person's setting


def _plainly(value: float) -> str:
    """Three digits without a power of ten, whole from a hundred on."""
    return f"{value:,.0f}" if abs(value) >= 100.0 else f"{Decimal(f'{value:.3g}'):f}"


@dataclass(frozen=True)
class Writing:
    """A person's choices; every field is a key of ``WAYS``, but for the step and the dates."""

    length: str = "feet and inches"
    area: str = "ft²"
    volume: str = "ft³"
    temperature: str = "°C"
    thermal_resistance: str = "R"
    permeance: str = "perm"
    foam: str = "board feet"
    step: str = '1/2"'  # that an arrow key moves a window by
    dates: str = "as the browser asks"

    def __call__(self, value: float | None, kind: str) -> str:
        """``value`` [SI] with its unit; "" for None."""
        return "" if value is None else self._way(kind).write(value)

    def _way(self, kind: str) -> Way:
        choice: str = getattr(self, kind.replace(" ", "_"))
        return WAYS[kind][choice]

    def run(self, length: float) -> str:
        """A length in all [m], rounded as one buys it."""
        return f"{length:.1f} m" if self.metric_lengths else f"{length / FOOT:,.0f} ft"

    def other(self, value: float, kind: str) -> str:
        """``value`` [SI] in the first of the ways that were not chosen."""
        chosen = getattr(self, kind.replace(" ", "_"))
        return next(way.write(value) for name, way in WAYS[kind].items() if name != chosen)

    def figure(self, value: float | None, unit: str) -> str:
        """A figure of a study by the unit it is kept in."""
        if value is None:
            return ""
        if unit in _BY_UNIT:
            return self(value, _BY_UNIT[unit])
        if unit == "J":
            return units.show(value, "energy")
        tidy = unit.replace("m2", "m²").replace("m3", "m³")
        return f"{_plainly(value)} {tidy}".removesuffix(" -").strip()

    def again(self, text: str, kind: str) -> str:
        """What a text of the survey comes to in this person's way; "" if it is written so."""
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
        return day.strftime(DATES[self.dates] or _pattern(languages))

    def moment(self, at: datetime, languages: str = "") -> str:
        """A moment on the computer's own clock."""
        return f"{self.date(at, languages)} {at:%H:%M}"

    def to_json(self) -> dict[str, str]:
        """What is kept."""
        return asdict(self)


def written(kept: Any) -> Writing:
    """The choices kept for a person; what is no longer offered falls back to the first way."""
    if not isinstance(kept, Mapping):
        return Writing()
    sound = {name: kept[name] for name, choices in offered().items() if kept.get(name) in choices}
    return Writing(**sound)


def chosen(typed: Mapping[str, str]) -> Writing:
    """The choices of a form; ``InputError`` for what is not offered."""
    faults = [
        Fault(name.replace("_", " "), repr(typed.get(name, ""))[:60], ", ".join(choices))
        for name, choices in offered().items()
        if typed.get(name) not in choices
    ]
    if faults:
        raise InputError(faults)
    return Writing(**{name: typed[name] for name in offered()})


def offered() -> dict[str, tuple[str, ...]]:
    """Every choice that there is, by field."""
    rest = {"step": STEPS, "dates": tuple(DATES)}
    return {
        f.name: rest.get(f.name) or tuple(WAYS[f.name.replace("_", " ")]) for f in fields(Writing)
    }


def _pattern(languages: str) -> str:
    for part in languages.lower().split(",")[:20]:
        name = part.partition(";")[0].strip()
        for tried in (name, name.partition("-")[0]):
            if tried in _LOCALES:
                return _LOCALES[tried]
        if name == "en":
            break
    return "%Y-%m-%d"
