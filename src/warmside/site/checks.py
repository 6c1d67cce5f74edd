"""Gates from readings: may foam be sprayed now, is the wood dry enough to be covered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

from warmside.catalog import Catalog, SiteFigure, Source
from warmside.physics.humid_air import dew_point

# what each field of a reading is held against when foam is sprayed
READ_AGAINST = {
    "substrate_c": "substrate-temperature", "wood_moisture": "wood-moisture",
    "humidity": "air-humidity", "drum_a_c": "drum-temperature", "drum_b_c": "drum-temperature",
    "conditioned_h": "drum-conditioning", "hose_c": "hose-temperature",
    "pressure_a_pa": "spray-pressure", "pressure_b_pa": "spray-pressure", "wind_m_s": "wind",
}  # fmt: skip
_NAMES = {
    "drum_a_c": "Drum A, in its core", "drum_b_c": "Drum B, in its core",
    "pressure_a_pa": "Pressure, side A", "pressure_b_pa": "Pressure, side B",
}  # fmt: skip
State = Literal["passed", "failed", "not read"]
ROUNDING = 1e-9


class Conditions(Protocol):
    """What was read at one moment; None where it was not. A ``Reading`` of the day record is one.

    Temperatures [degC], shares [-], wind [m/s], conditioning [h], pressures [Pa].
    """

    @property
    def air_c(self) -> float | None:
        """Air of the work area."""
        ...

    @property
    def humidity(self) -> float | None:
        """Relative humidity of that air."""
        ...

    @property
    def substrate_c(self) -> float | None:
        """Face to be sprayed."""
        ...

    @property
    def wood_moisture(self) -> float | None:
        """Wood below the foam, by mass."""
        ...

    @property
    def wind_m_s(self) -> float | None:
        """Wind at the wall."""
        ...

    @property
    def drum_a_c(self) -> float | None:
        """Core of drum A."""
        ...

    @property
    def drum_b_c(self) -> float | None:
        """Core of drum B."""
        ...

    @property
    def conditioned_h(self) -> float | None:
        """How long the drums were kept warm."""
        ...

    @property
    def hose_c(self) -> float | None:
        """Hose heat."""
        ...

    @property
    def pressure_a_pa(self) -> float | None:
        """Pump pressure, side A."""
        ...

    @property
    def pressure_b_pa(self) -> float | None:
        """Pump pressure, side B."""
        ...


@dataclass(frozen=True)
class Check:
    """One reading held against what is allowed, both in ``unit``.

    ``state`` is "not read" where the figure is missing: that does not pass a gate either.
    """

    key: str
    name: str
    figure: float | None
    low: float | None
    high: float | None
    unit: str
    state: State
    source: Source


def held_against(key: str, name: str, figure: float | None, limit: SiteFigure) -> Check:
    """``figure`` against ``limit``, both ends allowed themselves."""
    state: State = "not read"
    if figure is not None:
        low = limit.low is None or figure >= limit.low - ROUNDING
        high = limit.high is None or figure <= limit.high + ROUNDING
        state = "passed" if low and high else "failed"
    return Check(key, name, figure, limit.low, limit.high, limit.unit, state, limit.source)


def passes_all(checks: tuple[Check, ...]) -> bool:
    """Whether every check passed; one that was not read does not, and none at all does not."""
    return bool(checks) and all(check.state == "passed" for check in checks)


def dew_point_spread(air: float, humidity: float, substrate: float) -> float:
    """How far the surface is above the dew point of the air [K].

    ``t_s - t_dew(t_a, phi)``, the dew point by the saturation curve of ISO 13788.

    Parameters
    ----------
    air, substrate : float
        Temperatures of the air and of the surface [degC].
    humidity : float
        Relative humidity of the air, above 0 [-].
    """
    return substrate - dew_point(air, max(humidity, 0.01))


def spray_checks(
    read: Conditions, family: str, catalog: Catalog, outside: bool = False
) -> tuple[Check, ...]:
    """What must hold before foam of a family is sprayed.

    Parameters
    ----------
    read : Conditions
        Read at the place where spraying begins.
    family : str
        "closed-cell" or "open-cell".
    catalog : Catalog
        Limits of the working day.
    outside : bool
        Work outside: the wind counts too.

    Returns
    -------
    tuple of Check
        Surface, wood, dew point, humidity, drums, hose, pressure. The data sheet of the foam on
        the truck goes before every one of them.
    """
    spread = None
    if read.air_c is not None and read.humidity is not None and read.substrate_c is not None:
        spread = dew_point_spread(read.air_c, read.humidity, read.substrate_c)
    fields = [name for name in READ_AGAINST if outside or name != "wind_m_s"]
    limits = {name: catalog.site_figure(READ_AGAINST[name], family) for name in fields}
    found = [_check(name, getattr(read, name), limits[name]) for name in fields]
    least = catalog.site_figure("dew-point-spread", family)
    found.insert(2, _check("dew_point_spread_k", spread, least))
    return tuple(found)


def dry_checks(read: Conditions, catalog: Catalog) -> tuple[Check, ...]:
    """What must hold before wood is sealed or covered: its moisture."""
    return (_check("wood_moisture", read.wood_moisture, catalog.site_figure("wood-moisture")),)


def _check(key: str, figure: float | None, limit: SiteFigure) -> Check:
    return held_against(key, _NAMES.get(key, limit.name), figure, limit)


def least_surface(air: float, humidity: float, family: str, catalog: Catalog) -> float:
    """Coldest surface that may be sprayed in this air [degC].

    The larger of the foam's own least and the dew point with its spread; for a table that hangs in
    the truck.

    Parameters
    ----------
    air : float
        Air temperature [degC].
    humidity : float
        Relative humidity [-].
    family : str
        "closed-cell" or "open-cell".
    catalog : Catalog
        Limits of the working day.
    """
    least = catalog.site_figure("substrate-temperature", family).least
    spread = catalog.site_figure("dew-point-spread").least
    return max(least, dew_point(air, max(humidity, 0.01)) + spread)
