"""What somebody measured, beside what the program computes for it: the worst deviation first.

Nothing here is fitted and nothing is left out because it disagrees. A figure beyond the
measurement's own uncertainty says why, as far as that is known; one that comes inside later must
lose its reason.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from math import exp
from typing import Literal

from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.physics.airflow import leakage_by_age, leakage_from_age, removed_by
from warmside.physics.climate import HourlyClimate, synthesise
from warmside.physics.conduction import (
    Body,
    Films,
    Space,
    air_layer_resistance,
    parallel_path,
    profile,
    resistances,
    solve_field,
)
from warmside.physics.energy import Thermostat, heat_over, heated_difference
from warmside.promises import wall_leakage
from warmside.promises.realised import REALISED
from warmside.survey import House
from warmside.verify import measured_walls as walls
from warmside.verify.case import Tag
from warmside.verify.conduction import framed
from warmside.weather import normals_of
from warmside.wording import counted

R = 0.1761102  # [m2 K/W] of one h ft2 F/Btu
NONE = Films(0.0, 0.0, "none")


@dataclass(frozen=True)
class Measurement:
    """One figure that was measured, and how it is computed here.

    ``least`` and ``most`` are its ends: the same for a single figure, None where it has none
    ("below 12 %"). ``uncertainty`` is relative [-] and stands with who states it; None where nobody
    does. ``why`` is what is known of a deviation beyond it. ``case`` is the id of the case that
    holds the same figure to a bound, so that nobody counts it twice.
    """

    id: str
    subject: str
    what: str
    source: str
    tag: Tag
    unit: str
    least: float | None
    most: float | None
    uncertainty: float | None
    stated: str
    compute: Callable[[], float]
    why: str = ""
    case: str = ""


@dataclass(frozen=True)
class Deviation:
    """A measurement with the figure that was computed for it."""

    of: Measurement
    computed: float

    @property
    def share(self) -> float:
        """Computed over the nearer end of what was measured, less one [-]; 0 between its ends."""
        low, high = self.of.least, self.of.most
        if low is not None and self.computed < low:
            return self.computed / low - 1.0
        if high is not None and self.computed > high:
            return self.computed / high - 1.0
        return 0.0

    @property
    def verdict(self) -> Literal["within", "beyond", "not stated"]:
        """Inside the stated uncertainty, beyond it, or of a source that states none."""
        single = self.of.least == self.of.most
        if single and self.of.uncertainty is None:
            return "not stated"
        return "within" if abs(self.share) <= (self.of.uncertainty or 0.0) else "beyond"

    @property
    def measured(self) -> str:
        """The measured figure, its ends, or its one end."""
        low, high = self.of.least, self.of.most
        if low is None or high is None:
            return f"below {high:.3g}" if low is None else f"above {low:.3g}"
        return f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"


def measured() -> tuple[Deviation, ...]:
    """Every measurement computed, the worst deviation first."""
    found = (Deviation(one, float(one.compute())) for one in MEASUREMENTS)
    return tuple(sorted(found, key=lambda one: -abs(one.share)))


def in_words(found: Sequence[Deviation]) -> str:
    """What came out, in a sentence."""
    number = Counter(one.verdict for one in found)
    return (
        f"{counted(len(found), 'measured figure')}: {number['within']} computed within their "
        f"stated uncertainty, {number['beyond']} beyond it, {number['not stated']} of sources "
        f"that state none; the worst is {found[0].share:+.0%} ({found[0].of.what})."
    )


# --- hot boxes -------------------------------------------------------------------------------

_GYPSUM, _PLYWOOD, _STUD = 0.0127 / 0.16, 0.0127 / 0.115, 0.12  # [m2 K/W] twice, [W/(m K)]


def _two_dimensions(batt: float, depth: float, share: float) -> float:
    """Surface to surface [h ft2 F/Btu], half a stud and half a bay, by the field."""
    half, d = 0.019, depth
    width = half / share
    bodies = [
        Body(0, width, -0.0127, 0, 0, 0.1, 0.16, "gypsum"),
        Body(0, half, 0, d, 0, 0.1, _STUD, "stud"),
        Body(half, width, 0, d, 0, 0.1, d / batt, "batt"),
        Body(0, width, d, d + 0.0127, 0, 0.1, 0.115, "plywood"),
    ]
    spaces = [
        Space(0, width, -9.0, -0.0127, 0, 0.1, "room", 0.0),
        Space(0, width, d + 0.0127, 9.0, 0, 0.1, "outside", 0.0),
    ]
    field = solve_field(bodies, spaces, cells=20_000)
    flow = field.flows({"room": 1.0, "outside": 0.0})["room"]
    return width * 0.1 / abs(flow) / R


def _parallel(batt: float, depth: float, share: float) -> float:
    wall = framed(share, depth / _STUD, batt, before=[_GYPSUM], after=[_PLYWOOD])
    return parallel_path(wall, NONE) / R


def _gaps() -> float:
    """Two gaps of 25 mm, top and bottom of bays 2.33 m high, 24 in. studs, R-19 in 140 mm."""
    whole = _parallel(3.17, 0.140, 0.0625)
    gap = _parallel(air_layer_resistance(0.140), 0.140, 0.0625)
    share = 0.050 / 2.33
    return 1.0 / ((1.0 - share) / whole + share / gap) / whole


def _old_bay() -> float:
    """Lath and plaster, empty bay, boards, paper, lapped siding: air to air [Btu/(h ft2 F)]."""
    return R / (0.12 + sum(resistances(walls.old_bay())) + 0.03)


# --- a camera's wall, sorption pins ----------------------------------------------------------


def _camera_factor() -> float:
    """Gypsum, batts, boards, brick: temperature factor of the room surface, ISO films."""
    found = profile(walls.brick_bay(), 14.8, -15.0, Films(0.13, 0.04, "ISO 6946"))
    return (found.temperatures[0] + 15.0) / 29.8


def _camera_surface() -> float:
    return -15.0 + _camera_factor() * 29.8


def _pins(fill: str, thickness: float, humidity: float) -> Callable[[], float]:
    return lambda: walls.pins(fill, thickness, humidity)[0]


# --- air leakage -----------------------------------------------------------------------------


def _normalised(year: int, area: float, end: str = "best") -> float:
    band = leakage_by_age(year, area, 2.5)
    return float(getattr(band, end)) / area * 1000.0


def _slope(early: int, late: int) -> Callable[[], float]:
    return lambda: _normalised(early, 150.0) / _normalised(late, 150.0)


def _two_family() -> float:
    """Air changes an hour at 50 Pa of 792 m3 on three floors, built about 1925."""
    house = leakage_from_age(1925, 792.0 / 2.6, 7.8)
    return house.air_change_50(792.0).best


def _all_walls() -> float:
    """Share of a house's leakage that sealing the joints of all its walls removes."""
    catalog = load()
    wall = walls.wall(None, ())
    house = House(name="h", climate="ottawa", year_built=1925, volume=300.0)
    found = wall_leakage(frame_wall(wall, house, catalog.lumber), catalog)
    return removed_by(found.leaks, found.open.best).best


# --- savings ---------------------------------------------------------------------------------


@cache
def _columbus() -> HourlyClimate:
    return synthesise(normals_of(load().climate("columbus, OH")))


def _ohio() -> float:
    """Gas that filling 103 m2 of old wall saves [100 ft3 a year], U 1.33 to 0.47, furnace 0.78."""
    hours = heated_difference(_columbus(), Thermostat(heating=20.0), 17.0)
    heat = heat_over(hours, 103.0 * (1.33 - 0.47))
    return heat * REALISED[1] / 0.78 / (1.026e3 * 1055.06 * 100.0)


# --- the register ----------------------------------------------------------------------------

_BOX = "about 5 % (National Bureau of Standards RP291, 1931)"
_PINS = "two points of moisture, what pins are good for; common practice"
_ORNL = "Christian and Kosny, Home Energy 1999, table 1 (Oak Ridge hot boxes)"
_UENO = "Ueno, Building America BA-1501, 2015 (its data note)"
_CHAN = "Chan, Joh and Sherman, Energy and Buildings 2013 (134,000 houses; abstract)"
_FITTED = (
    "batts are computed as if they fitted: what rounded edges and gaps cost is not known of a wall "
    "before it is opened"
)
_LOW = (
    "peaks behind thick permeable fill come out low; to be looked at: the pins' place, sorption "
    "above 97 %, how open vinyl siding is, air moving in the fill"
)


def _single(value: float) -> tuple[float, float]:
    return value, value


def _entries() -> Iterator[Measurement]:
    yield Measurement(
        "hot-box-r13", "hot box", "2x4 wall, R-13 batts, 25 % framing, surface to surface",
        "Oak Ridge National Laboratory, hot-box database, tests of 2006 (layers inferred)",
        "published", "h ft² °F/Btu", *_single(9.65), 0.05, _BOX,
        lambda: _two_dimensions(2.29, 0.0889, 0.25),
    )  # fmt: skip
    yield Measurement(
        "hot-box-r11", "hot box", "2x4 wall at 16 in, R-11 batts, surface to surface",
        f"{_ORNL}; layers inferred", "published", "h ft² °F/Btu", *_single(10.5), 0.05, _BOX,
        lambda: _two_dimensions(1.94, 0.0889, 0.09375),
    )  # fmt: skip
    yield Measurement(
        "hot-box-r11-whole", "hot box", "2x4 wall, R-11 batts, whole (computed with 23 %)",
        _ORNL, "published", "h ft² °F/Btu", *_single(9.7), 0.05, _BOX,
        lambda: _parallel(1.94, 0.0889, 0.23),
    )  # fmt: skip
    yield Measurement(
        "batts-gaps", "hot box", "2x6 batts with shoulders and 1 in gaps, over perfect ones",
        _ORNL, "published", "-", *_single(0.909), 0.05, _BOX, _gaps,
    )  # fmt: skip
    for id, what, ratio in (
        ("shoulders", "rounded shoulders", 0.955), ("typical", "typical workmanship", 0.916),
        ("worst", "the worst workmanship", 0.857),
    ):  # fmt: skip
        yield Measurement(
            f"batts-{id}", "hot box", f"2x6 batts with {what}, over perfect ones", _ORNL,
            "published", "-", *_single(ratio), 0.05, _BOX, lambda: 1.0,
            "" if ratio > 1 / 1.05 else _FITTED,
        )  # fmt: skip
    yield Measurement(
        "old-bay", "hot box", "empty bay behind lath and plaster, boards, lapped siding",
        "ASHVE Guide of the 1930s after Rowley and Algren, University of Minnesota", "from memory",
        "Btu/(h ft² °F)", *_single(0.25), 0.05, _BOX, _old_bay,
    )  # fmt: skip
    yield Measurement(
        "air-space", "hot box", "plane air space of 3.5 in, 50 °F, 10 °F across",
        "ASHRAE Fundamentals table (measured: HHFA research paper 32, 1954)", "from memory",
        "h ft² °F/Btu", *_single(1.01), 0.05, _BOX,
        lambda: air_layer_resistance(0.0889, mean_temperature=10.0) / R,
    )  # fmt: skip
    yield Measurement(
        "camera-surface", "infrared", "room surface of a brick wall at -15 °C, room 14.8 °C",
        "an owner's readings with an infrared thermometer, New Brunswick", "published", "°C",
        *_single(13.3), None, "not stated", _camera_surface,
        "no uncertainty is stated; such thermometers are good for about 1 K",
    )  # fmt: skip
    yield Measurement(
        "camera-factor", "infrared", "temperature factor of that brick wall's room surface",
        "an owner's readings with an infrared thermometer, New Brunswick", "published", "-",
        *_single(0.9497), None, "not stated", _camera_factor,
        "no uncertainty is stated; such thermometers are good for about 1 K",
    )  # fmt: skip
    yield from _moisture()
    yield from _air()
    yield from _savings()


def _moisture() -> Iterator[Measurement]:
    for fill, depth, humidity, least, most, why in (
        ("open-cell", 0.305, 0.30, None, 0.20, ""),
        ("open-cell", 0.140, 0.30, None, 0.20, ""),
        ("open-cell", 0.305, 0.45, 0.18, 0.25, ""),
        ("open-cell", 0.140, 0.45, 0.18, 0.25, ""),
        ("cellulose-dense", 0.305, 0.30, 0.20, None, _LOW),
        ("cellulose-dense", 0.305, 0.45, 0.30, None, _LOW),
    ):  # fmt: skip
        yield Measurement(
            f"pins-{fill}-{depth * 1000:.0f}-{humidity * 100:.0f}", "winter moisture",
            f"strand board behind {depth * 1000:.0f} mm of {fill}, {humidity * 100:.0f} % in the "
            "room",
            _UENO, "published", "kg/kg", least, most, 0.10, _PINS, _pins(fill, depth, humidity),
            why, "walls-three-winters" if fill == "open-cell" else "",
        )  # fmt: skip
    yield Measurement(
        "framing-outlet", "winter moisture", "framing of a panel with one outlet, all winter",
        "Sherwood, FPL 433, 1983", "published", "kg/kg", None, 0.12, 0.10, _PINS,
        walls.framing_most, case="walls-outlet",
    )  # fmt: skip


def _air() -> Iterator[Measurement]:
    mixed = (
        "the stock holds the leakier houses of low-income programmes; the regression that is used "
        "is that of all others"
    )
    for id, what, value, end in (
        ("median", "median", 0.67, "best"), ("5", "5 in 100 below", 0.22, "low"),
        ("95", "95 in 100 below", 1.95, "high"),
    ):  # fmt: skip
        yield Measurement(
            f"leakage-{id}", "air leakage", f"normalised leakage of the US stock, {what} (1975, "
            "150 m²)", _CHAN, "published", "-", *_single(value), None, "not stated",
            lambda end=end: _normalised(1975, 150.0, end), mixed,  # type: ignore[misc]
        )  # fmt: skip
    yield Measurement(
        "leakage-slope-us", "air leakage", "leakage of a house of 1925 over one of 1985",
        "abstract of the regression over 70,000 US tests: 1 % a year", "published", "-",
        *_single(exp(0.6)), None, "not stated", _slope(1925, 1985),
        "the coefficient that is used, 1.07 % a year, is from memory; the abstract rounds it",
    )  # fmt: skip
    yield Measurement(
        "leakage-slope-canada", "air leakage", "leakage of a house of 1960 over one of 2018",
        "Ismaiel and Chen (226,000 Canadian dwellings): 40 % less", "published", "-",
        *_single(1.0 / 0.6), None, "not stated", _slope(1960, 2018),
        "another country, and a figure of one digit",
    )  # fmt: skip
    yield Measurement(
        "sealing", "air leakage", "share of the leakage removed (computed: all walls sealed)",
        "Chan and others, 23,000 paired tests: medians by group", "published", "-", 0.20, 0.35,
        None, "its range", _all_walls,
    )  # fmt: skip
    yield Measurement(
        "two-family-1920s", "air leakage", "two-family house of the 1920s, air changes at 50 Pa",
        "Massachusetts super-insulation project", "published", "1/h", *_single(15.6), 0.595,
        "one house: nine in ten lie within a factor of 2.5 of the regression (from memory)",
        _two_family,
    )  # fmt: skip
    yield Measurement(
        "wall-empty", "air leakage", "empty frame wall at 75 Pa (12 air changes at 50 Pa)",
        "BSI-043, laboratory, as quoted", "second-hand", "L/(s m²)", 2.0, 20.0, None, "its range",
        walls.empty_wall,
    )  # fmt: skip
    for empty in (2.0, 6.3, 20.0):
        yield Measurement(
            f"wall-filled-{empty:g}", "air leakage",
            f"frame wall dense-packed at 75 Pa, {empty:g} when empty",
            "BSI-043, laboratory, as quoted",
            "second-hand", "L/(s m²)", 0.2, 1.0, None, "its range",
            lambda empty=empty: walls.filled_wall(empty),  # type: ignore[misc]
            case="walls-throttled",
        )  # fmt: skip


def _savings() -> Iterator[Measurement]:
    yield Measurement(
        "realised-michigan", "savings", "share of the predicted saving that came, randomised trial",
        "Fowlie, Greenstone and Wolfram, QJE 2018 (authors' summary)", "published", "-",
        *_single(0.39), None, "not stated", lambda: REALISED[1],
        "the middle of several programmes is used; its low end, 0.40, is this trial's",
    )  # fmt: skip
    yield Measurement(
        "realised-britain", "savings", "share of the official claim that came, a package of works",
        "DECC NEED, installations of 2010, as reported", "second-hand", "-", *_single(0.5), None,
        "not stated", lambda: REALISED[1], "another country, and a figure of one digit",
    )  # fmt: skip
    yield Measurement(
        "ohio-walls", "savings", "gas saved in a year by filling walls (103 m² assumed)",
        "Ohio evaluation, Home Energy 1999, table 2", "published", "100 ft³", *_single(180.0), None,
        "not stated", _ohio, "the area of the walls is assumed: 90 to 120 m² gives as much again",
    )  # fmt: skip


MEASUREMENTS = tuple(_entries())
