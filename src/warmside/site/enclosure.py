"""Air of the work area: fan, make-up air, run-on, decay, and when people may come back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.survey import House
from warmside.units import HOUR
from warmside.wording import Sentence, say

AIR_DENSITY = 1.2  # [kg/m3] at 20 degC
AIR_HEAT = 1005.0  # [J/(kg K)]
DISCHARGE = 0.61  # [-] sharp-edged opening
MOLAR_VOLUME = 24.45  # [L/mol] at 25 degC and 1 atm, as ppm limits are stated
MDI_MOLAR_MASS = 250.25  # [g/mol] C15H10N2O2


ROOM_DEPTH = 3.6  # [m] taken for a room of which nothing is known, 12 ft


@dataclass(frozen=True)
class Fan:
    """The exhaust fan of a work area."""

    flow: float  # [m3/s]
    governs: Literal["air change", "pressure"]
    make_up: float  # [m2] opening that lets outdoor air in at this flow and pressure
    heat_per_kelvin: float  # [W/K] to warm the make-up air


def opening_flow(area: float, pressure: float) -> float:
    """Air through an opening: ``Q = C_d A sqrt(2 dp / rho)`` [m3/s].

    Parameters
    ----------
    area : float
        Free area [m2].
    pressure : float
        Pressure across it [Pa].

    Notes
    -----
    Sharp-edged orifice, ``C_d`` 0.61, air of 1.2 kg/m3: 0.01 m2 at 5 Pa pass 0.0176 m3/s.
    """
    return DISCHARGE * area * math.sqrt(2 * pressure / AIR_DENSITY)


def fan(volume: float, air_changes: float, pressure: float, leakage: float = 0.0) -> Fan:
    """Size the fan for the wanted air change and the wanted negative pressure.

    ``Q = max(n V / 3600, C_d A_leak sqrt(2 dp / rho))``; what is drawn beyond the leaks comes
    through the make-up opening, ``A = (Q - Q_leak) / (C_d sqrt(2 dp / rho))``.

    Parameters
    ----------
    volume : float
        Work area [m3].
    air_changes : float
        Wanted [1/h].
    pressure : float
        Work area below what is around it [Pa].
    leakage : float
        Gaps of the enclosure that cannot be taped [m2].

    Raises
    ------
    InputError
        A value that is not positive and finite (leakage: negative).
    """
    _refuse({"volume [m3]": volume, "air changes [1/h]": air_changes, "pressure [Pa]": pressure})
    if not (math.isfinite(leakage) and 0 <= leakage <= 10):
        raise InputError([Fault("gaps [m2]", f"{leakage!r}", "0 to 10")])
    change, leaks = air_changes * volume / HOUR, opening_flow(leakage, pressure)
    flow = max(change, leaks)
    return Fan(
        flow,
        "air change" if change >= leaks else "pressure",
        max(0.0, flow - leaks) / opening_flow(1.0, pressure),
        flow * AIR_DENSITY * AIR_HEAT,
    )


def remaining(hours: float, air_changes: float, mixing: float = 1.0, other: float = 0.0) -> float:
    """Share of vapour or dust still in the air after ``hours`` of ventilation [-].

    ``C / C_0 = exp(-(n / m + k) t)``. Assumes that nothing more is given off, that incoming air
    carries none, and that the room mixes as one (``m`` = 1) or ``m`` times slower. Fresh foam goes
    on giving off vapour while it cures: this is how fast air is cleared, not a clearance.

    Parameters
    ----------
    hours : float
        Time [h].
    air_changes : float
        ``n`` [1/h].
    mixing : float
        ``m``, 1 or more [-].
    other : float
        ``k``, what settles or is filtered [1/h].
    """
    return math.exp(-(air_changes / mixing + other) * hours)


def hours_until(share: float, air_changes: float, mixing: float = 1.0, other: float = 0.0) -> float:
    """Hours of ventilation until ``share`` of what was in the air remains [h].

    The inverse of `remaining`: ``t = -ln(share) / (n / m + k)``. At 10 air changes an hour and
    perfect mixing, 99 % are gone in 0.46 h.

    Raises
    ------
    InputError
        A share not between 0 and 1, air changes that are not positive, mixing below 1.
    """
    _refuse({"air changes [1/h]": air_changes})
    if not 0 < share <= 1:
        raise InputError([Fault("share that remains [-]", f"{share!r}", "above 0 up to 1")])
    if not 1 <= mixing <= 100 or not 0 <= other <= 1000:
        read = f"{mixing!r}, {other!r}"
        raise InputError([Fault("mixing [-], other losses [1/h]", read, "1 to 100, 0 to 1000")])
    return -math.log(share) / (air_changes / mixing + other)


def parts_per_million(concentration: float) -> float:
    """MDI in air as the limits are also written: ``c V_m / M`` [ppm], ``c`` in [kg/m3]."""
    return concentration * 1e6 * MOLAR_VOLUME / MDI_MOLAR_MASS


def decay_curve(air_changes: float, mixing: float, hours: float, points: int = 49) -> tuple[
    tuple[float, float], ...
]:  # fmt: skip
    """(hours, share that remains) of the ventilation, evenly spaced: [h], [-]."""
    step = hours / (points - 1)
    return tuple((k * step, remaining(k * step, air_changes, mixing)) for k in range(points))


def work_area(frame: Frame) -> float:
    """Volume of the closed-off work area before a wall, its room taken as 3.6 m deep [m3].

    Measure the real one: the fan follows from it.
    """
    return frame.gross_area * ROOM_DEPTH


@dataclass(frozen=True)
class WorkAir:
    """What the air of one work area asks for."""

    volume: float  # [m3]
    air_changes: float  # [1/h]
    pressure: float  # [Pa]
    fan: Fan
    strong: float  # [h] full flow after the last pass
    weak: float  # [h] a tenth of it after that
    house_flow: float  # [m3/s] of the whole house until it is lived in again
    mixing: tuple[float, float]  # [-] perfect, and drawn across the whole area
    clear_99: tuple[float, float]  # [h] until 99 % are gone, by the two mixings
    warnings: tuple[str | Sentence, ...]


def work_air(
    house: House,
    volume: float,
    catalog: Catalog,
    leakage: float = 0.0,
    air_changes: float | None = None,
    pressure: float | None = None,
) -> WorkAir:
    """Fan, run-on and clearing of a work area in ``house``.

    Parameters
    ----------
    house : House
        For its volume and its heating appliance.
    volume : float
        Work area [m3].
    catalog : Catalog
        Air of the work area, and limits for flames.
    leakage : float
        Gaps of the enclosure that cannot be taped [m2].
    air_changes : float, optional
        Wanted [1/h]; the catalog's when not given.
    pressure : float, optional
        Wanted below the rest [Pa]; the catalog's when not given.
    """
    figure = catalog.site_figure
    n = figure("work-area-air").least if air_changes is None else air_changes
    dp = figure("work-area-pressure").least if pressure is None else pressure
    mixing = figure("mixing")
    both = (mixing.least, mixing.most)
    sized = fan(volume, n, dp, leakage)
    return WorkAir(
        volume,
        n,
        dp,
        sized,
        figure("run-on-strong").least,
        figure("run-on-weak").least,
        figure("house-air").least * house.volume / HOUR,
        both,
        (hours_until(0.01, n, both[0]), hours_until(0.01, n, both[1])),
        tuple(_warnings(house, dp, catalog)),
    )


def _warnings(house: House, pressure: float, catalog: Catalog) -> list[str | Sentence]:
    found: list[str | Sentence] = [
        "Seal the ducts and returns of the work area; switch their fan off."
    ]
    if house.heating.venting == "natural draft":
        row = catalog.vent(house.heating.venting)
        found.append(
            say(
                "The {appliance} draws its air from the house: it may spill from {low} to {limit} "
                "Pa on, and the fan makes {pressure} Pa. Switch it off and keep it off while the "
                "fan runs; a licensed technician tests it afterwards.",
                appliance=house.heating.appliance,
                low=f"{row.low:g}",
                limit=f"{row.limit:g}",
                pressure=f"{pressure:g}",
            )
        )
    return found


@dataclass(frozen=True)
class ReEntry:
    """When people may come back; ``at`` is None while anything is missing."""

    at: datetime | None
    decided_by: str
    missing: tuple[str, ...]
    times: tuple[tuple[str, datetime], ...]  # what each of them says


def re_entry(
    sprayed: datetime,
    listing: float | None,
    label: float | None,
    clearance: datetime | None,
) -> ReEntry:
    """The latest of what the listing, the label and the clearance reading allow.

    There is no general number of hours: each product has its own.

    Parameters
    ----------
    sprayed : datetime
        End of the last spraying.
    listing : float or None
        Time before occupancy of the product's listing [s]; None: not read.
    label : float or None
        Time on the product's label [s]; None: not read.
    clearance : datetime or None
        When a reading of the air was found below the limits; None: not taken.
    """
    times = [
        (name, sprayed + timedelta(seconds=wait))
        for name, wait in (("product listing", listing), ("label", label))
        if wait is not None
    ]
    if clearance is not None:
        times.append(("clearance reading", clearance))
    names = {name for name, _ in times}
    missing = tuple(n for n in ("product listing", "label", "clearance reading") if n not in names)
    if missing:
        return ReEntry(None, "", missing, tuple(times))
    decided, at = max(times, key=lambda one: one[1])
    return ReEntry(at, decided, (), tuple(times))


def _refuse(given: dict[str, float]) -> None:
    faults = [
        Fault(name, f"{value!r}", "a finite number above 0, 100 000 at most")
        for name, value in given.items()
        if not (math.isfinite(value) and 0 < value <= 1e5)
    ]
    if faults:
        raise InputError(faults)
