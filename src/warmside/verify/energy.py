"""The season's heat, fuel, and the seat by the wall."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Fuel, Source
from warmside.physics.climate import HourlyClimate
from warmside.physics.energy import (
    Thermostat,
    degree_seconds,
    design_loss,
    fuel_amount,
    season,
    seat,
)
from warmside.verify.case import Case, Check

_GAS = Fuel(
    "gas", "natural gas", "m3", 37.93e6, 1.966, 1.9, 2.0, 2022,
    Source("SOR/2018-261 Sch. 2", "published"),
)  # fmt: skip


def weather(temperature: NDArray[np.float64]) -> HourlyClimate:
    """Hours of these temperatures [degC], no sun, a light wind."""
    n = temperature.size
    zero, calm = np.zeros(n), np.full(n, 3.0)
    return HourlyClimate(
        datetime(2021, 1, 1), temperature, np.full(n, 0.7), calm, zero, zero, zero, zero,
        np.full(n, 101325.0), temperature - 10.0, zero, 46.0, -79.0, -5.0,
    )  # fmt: skip


def _year() -> HourlyClimate:
    return weather(4.0 - 15.0 * np.cos(np.arange(8760) / 8760 * 2 * np.pi))


def _arithmetic() -> Iterator[Check]:
    day = season(weather(np.full(24, 1.0)), 100.0, 0.05)
    yield Check("a day at 20 K [J]", (100 + 1206 * 0.05) * 20 * 86400, day.heating, 0.0, 1e-12)
    yield Check("design loss at 50 K [W]", 50 * (100 + 120.6), design_loss(100.0, 0.1, 21.0, -29.0),
                0.0, 1e-12)  # fmt: skip


def _degree_days() -> Iterator[Check]:
    year = _year()
    found = season(year, 150.0, thermostat=Thermostat(heating=18.0)).heating
    yield Check("no gains", 150.0 * degree_seconds(year, 18.0), found, 0.0, 1e-12)
    gained = season(year, 200.0, gains=600.0, thermostat=Thermostat(heating=21.0)).heating
    # gains of g lower the base by g / H
    yield Check("600 W of gains", 200.0 * degree_seconds(year, 18.0), gained, 0.0, 1e-12)


def _saving() -> Iterator[Check]:
    # 100 m2 from RSI 0.71 to 2.20, gas at 0.80
    for place, days, kwh, gas, co2 in (
        ("Toronto", 3520, 8059, 956, 1880), ("Montreal", 4200, 9615, 1141, 2243),
        ("Winnipeg", 5670, 12981, 1540, 3028),
    ):  # fmt: skip
        cold = weather(np.full(2400, 18.0 - days / 100.0))
        heat = 100.0 * (1 / 0.71 - 1 / 2.20) * degree_seconds(cold, 18.0)
        burnt = fuel_amount(heat, _GAS.heat_content, 0.80)
        yield Check(f"{place}, heat [kWh]", kwh, heat / 3.6e6, 0.0, 1e-3)
        yield Check(f"{place}, gas [m³]", gas, burnt, 0.0, 1e-3)
        yield Check(f"{place}, CO₂ [kg]", co2, burnt * _GAS.co2, 0.0, 1e-3)


def _seat() -> Iterator[Check]:
    endless = seat(21.0, 11.0, 1e6, 1e6)
    yield Check("view of an endless wall [-]", 0.5, endless.share_of_view, 1e-5)
    mean = float(((294.15**4 + 284.15**4) / 2) ** 0.25 - 273.15)
    yield Check("radiant temperature before it [°C]", mean, endless.radiant_temperature, 1e-3)
    cube = seat(21.0, 10.0, 2.0, 2.0, 1.0).share_of_view
    yield Check("view of a cube's face [-]", 1 / 6, cube, 0.0, 1e-12)


CASES = (
    Case("season-arithmetic", "energy", "Constant cold is arithmetic", "by hand", "exact", "J, W",
         _arithmetic),
    Case("degree-days", "energy", "Hourly sum against the degree-day method",
         "E = H x degree-time to the balance point", "other method", "J", _degree_days),
    Case("saving-example", "energy", "A wall's saving in three cities, heat, gas and carbon",
         "design table degree-days, SOR/2018-261 gas factors; worked by hand", "exact", "mixed",
         _saving),
    Case("seat", "energy", "What a seat sees of a wall", "solid angles", "exact", "mixed", _seat),
)  # fmt: skip
