"""Every figure and picture of these documents, computed when they are built.

A figure is named either by a function of this module or by a dotted path into the program with a
format after it: ``promises.warmth.MOULD_HUMIDITY as .0%``.
"""

from __future__ import annotations

import importlib
from functools import cache
from typing import Any

from warmside import drawings
from warmside.drawings import DesignState, Place, Thermal
from warmside.study import Study, WallStudy, study, thickness_curve
from warmside.survey import read, template
from warmside.verify import cases


def figure(name: str) -> str:
    """A figure as text."""
    if name in globals() and not name.startswith("_"):
        return str(globals()[name]())
    place, _, written = name.partition(" as ")
    return format(_value(place.strip()), written.strip()).replace("%", " %")


def picture(name: str) -> str | bytes:
    """A drawing: SVG as text, PNG as bytes."""
    drawn: str | bytes = globals()[name]()
    return drawn


def _value(place: str) -> Any:
    """What stands at a dotted path below ``warmside``, an element of it, or a multiple of it."""
    where, _, factor = (part.strip() for part in place.partition("*"))
    where, _, key = where.rstrip("]").partition("[")
    parts = where.split(".")
    for cut in range(len(parts), 0, -1):
        try:
            value: Any = importlib.import_module(".".join(("warmside", *parts[:cut])))
        except ModuleNotFoundError:
            continue
        for part in parts[cut:]:
            value = getattr(value, part)
        break
    else:
        raise KeyError(f"no figure named {place!r}")
    if key:
        value = value[int(key) if key.lstrip("-").isdigit() else key]
    return value * float(factor) if factor else value


# ------------------------------------------------------------------ the first house


@cache
def _first() -> Study:
    """The house of the template, studied as ``warmside study`` does it."""
    return study(read(template()))


def _wall() -> WallStudy:
    return _first().walls[0]


def house_name() -> str:
    """Name of the template's house."""
    return _first().survey.house.name


def wall_name() -> str:
    """Name of its first wall."""
    return _wall().wall.name


def chosen_name() -> str:
    """What is put forward for that wall."""
    return _wall().chosen.option.name


def rsi_before() -> str:
    """Resistance of the wall as found."""
    return f"{_wall().as_found.warm.resistance:.2f}"


def rsi_after() -> str:
    """Resistance of the wall with what is put forward."""
    return f"{_wall().chosen.warm.resistance:.2f}"


def r_after() -> str:
    """The same in the trade's unit."""
    return f"R-{_wall().chosen.warm.resistance * 5.678263:.1f}"


def options_count() -> int:
    """How many options the second wall was judged with."""
    return len(_first().walls[1].options)


def findings_count() -> int:
    """How many findings all walls and options have together."""
    return sum(len(o.findings) for wall in _first().walls for o in wall.options)


def leakage_share() -> str:
    """Air change at 50 Pa before and after all chosen work."""
    tight = _first().tight
    before, after = tight.air_change_before.best, tight.air_change_after.best
    return f"{before:.1f} to {after:.1f}"


def saving() -> str:
    """What all chosen work saves in a year, with its band."""
    money, terms = _first().worth.money, _first().heating.terms
    if money is None or terms is None:
        return "an amount that needs a price"
    return f"{money.best:,.0f} {terms.currency} (between {money.low:,.0f} and {money.high:,.0f})"


def first_finding() -> str:
    """One finding as every paper tells it."""
    found = _wall().chosen.findings[0]
    return f"{found.name}: {found.reason} Verdict: {found.verdict}."


def worst_joint() -> str:
    """The kind of joint that pays most per metre of sealing."""
    best = _first().air.gains[0]
    return f"{best.name}, {best.per_metre * 1e4:.1f} cm²/m"


def best_thickness() -> str:
    """The sentence of the thickness curve."""
    return thickness_curve(_first(), wall_name(), studied_only=True).sentence


# ------------------------------------------------------------------ the register of checks


@cache
def _saturation() -> dict[int, float]:
    """By temperature [°C]: share by which the saturation pressure is above the reference's."""
    case = next(case for case in cases() if case.id == "saturation-library")
    return {int(c.name.split()[0]): c.difference / c.expected for c in case.compute()}


def saturation_spread() -> str:
    """The largest difference either way from -20 to 40 °C."""
    return f"{max(abs(share) for t, share in _saturation().items() if t >= -20):.2%}".replace(
        "%", " %"
    )


def saturation_at_30_below() -> str:
    """How much too low it is at -30 °C."""
    return f"{-_saturation()[-30]:.1%}".replace("%", " %")


# ------------------------------------------------------------------ its pictures


def elevation() -> str:
    """The first wall, framed, with what is put forward."""
    wall = _wall()
    return drawings.elevation(wall.frame, wall.wall, wall.chosen.build_up, width=720)


def section() -> str:
    """A cut through it, with temperatures on the design night."""
    whole, chosen = _first(), _wall().chosen
    room = whole.room
    return drawings.section(
        chosen.build_up,
        DesignState(room.temperature, whole.outside.design, room.dew_point),
        chosen.warm.profile_of("bay"),
        chosen.warm.profile_of("stud", "double stud"),
    )


def image() -> bytes:
    """What a thermal camera will show of it after the work, as PNG."""
    whole, wall = _first(), _wall()
    heat = wall.chosen.warm.field
    assert heat is not None  # noqa: S101 - fields were asked for
    room, night = whole.room.temperature, whole.outside.design
    thermal = Thermal(heat.x, heat.z, heat.temperature(room, night), heat.seen)
    bay = next(b.rect for b in wall.frame.bays if b.kind == "stud bay" and b.rect.x0 > 0.5)
    svg = drawings.thermal_image(
        thermal, wall.frame, [Place("bay", (bay.x0 + bay.x1) / 2, bay.z0 + 0.5)],
        title=f"{wall_name()}: to expect after the work",
        conditions=f"Room {room:.0f} °C, outside {night:.0f} °C, steady", width=640,
    )  # fmt: skip
    return drawings.png(svg, 1.5)


def year() -> str:
    """Moisture of its wood hour by hour through the year."""
    hourly = _wall().chosen.dry.hourly
    assert hourly is not None  # noqa: S101 - a year was asked for
    courses = [drawings.Course(wood.name, wood.mean.tolist()) for wood in hourly.paths[0].wood]
    return drawings.wood_years(courses, first_month=hourly.first_month, width=720)
