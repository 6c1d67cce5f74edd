"""Moisture readings made true for the wood and its temperature, against the drying foretold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from warmside.catalog import Source
from warmside.errors import Fault, InputError
from warmside.promises import Verdict
from warmside.wood import DRY_WOOD

Floats = npt.NDArray[np.float64]

_METER = Source(
    "Pfaff and Garrahan 1986: temperature and species correction of resistance meters read on the "
    "Douglas-fir scale at 20 C",
    "from memory",
)
# Slope a and intercept b [%] of the species correction (M = (R' - b) / a): from memory
SPECIES: dict[str, tuple[float, float]] = {
    "douglas fir": (1.0, 0.0),
    "spruce": (0.820, 0.378),
    "white pine": (0.821, 0.556),
}
DOUBT = 0.02  # [-] of a corrected reading; 0.03 for wood that is not listed: own figures
DOUBT_UNLISTED = 0.03
_RANGE = (0.06, 0.40)  # [-] beyond which resistance tells little


@dataclass(frozen=True)
class MeterReading:
    """A reading as the meter showed it."""

    where: str
    moisture: float  # [-] kg/kg, as shown
    day: date
    wood: str = "spruce"
    temperature: float | None = None  # [degC] of the wood
    wall: str = ""
    x: float | None = None  # [m]
    z: float | None = None  # [m]
    corrected_by_meter: bool = False


@dataclass(frozen=True)
class TrueReading:
    """A reading corrected, and what was foretold for its day; None where nothing was."""

    reading: MeterReading
    moisture: float  # [-]
    doubt: float  # [-] standard uncertainty
    foretold: float | None
    verdict: Verdict
    why: str
    source: Source = _METER


def corrected(moisture: float, temperature: float | None, wood: str) -> float:
    """Moisture content behind a reading of a resistance meter [-].

    ``R' = (R + 0.567 - 0.0260 T + 0.000051 T^2) / (0.881 * 1.0056^T)``, ``M = (R' - b) / a``, R and
    M in percent, T in degrees Celsius (Pfaff and Garrahan 1986; from memory). Valid from -20 to
    60 degC and 6 to 28 %. At 20 degC, R = 15 and Douglas fir: 15.3 %.

    Parameters
    ----------
    moisture : float
        As shown [-].
    temperature : float, optional
        Of the wood [degC]; 20 when not known.
    wood : str
        Any text that names a listed species; another wood keeps the meter's own scale.
    """
    if not 0.0 < moisture < 2.0:
        raise InputError([Fault("moisture reading", f"{moisture:g}", "above 0, up to 2 kg/kg")])
    t = 20.0 if temperature is None else temperature
    if not -30.0 <= t <= 70.0:
        raise InputError([Fault("wood temperature", f"{t:g} C", "-30 to 70 C")])
    at_20 = (100.0 * moisture + 0.567 - 0.0260 * t + 0.000051 * t**2) / (0.881 * 1.0056**t)
    a, b = species_of(wood) or (1.0, 0.0)
    return float((at_20 - b) / a / 100.0)


def species_of(wood: str) -> tuple[float, float] | None:
    """Correction of the listed species that ``wood`` names, or None."""
    text = wood.lower().replace("-", " ")
    return next((row for name, row in SPECIES.items() if name in text), None)


def against_drying(
    readings: Sequence[MeterReading],
    closed: date,
    days: Floats | None = None,
    foretold: Floats | None = None,
    dry: float = DRY_WOOD,
) -> tuple[TrueReading, ...]:
    """Corrected readings, each against what was foretold for its day.

    Parameters
    ----------
    readings : sequence of MeterReading
        Of one wall, in any order.
    closed : date
        When the wall was closed: day 0 of what was foretold.
    days, foretold : ndarray, optional
        Days since then (n,), and the wood's moisture foretold (n,) [-].
    dry : float
        Moisture below which wood is dry enough [-].

    Returns
    -------
    tuple of TrueReading
        Holds where it is dry alone; wet wood that dries as foretold is read again by a person.
    """
    found = []
    for reading in sorted(readings, key=lambda r: (r.day, r.where)):
        wet = (
            reading.moisture
            if reading.corrected_by_meter
            else corrected(reading.moisture, reading.temperature, reading.wood)
        )
        listed = species_of(reading.wood) is not None or reading.corrected_by_meter
        doubt = DOUBT if listed else DOUBT_UNLISTED
        after = (reading.day - closed).days
        told = None
        if days is not None and foretold is not None and days[0] <= after <= days[-1]:
            told = float(np.interp(after, days, foretold))
        found.append(TrueReading(reading, wet, doubt, told, *_judged(wet, doubt, told, dry)))
    return tuple(found)


def _judged(wet: float, doubt: float, told: float | None, dry: float) -> tuple[Verdict, str]:
    text = f"{wet:.0%} (within {doubt * 1.645:.0%})"
    if told is not None:
        text += f", {told:.0%} foretold"
    if not _RANGE[0] <= wet <= _RANGE[1]:
        return "needs a person", f"{text}: beyond what a resistance meter tells well."
    if wet <= dry:
        return "holds", f"{text}: dry enough."
    if told is not None and wet <= told + 1.645 * doubt:
        # no forecast ticks wet wood: a reading that is dry does
        return "needs a person", f"{text}: drying as foretold, not yet dry; read it again."
    if told is None and wet <= dry + 1.645 * doubt:
        return "needs a person", f"{text}: read it again in a month."
    return "falls short", f"{text}: wetter than it should be; look for the water."
