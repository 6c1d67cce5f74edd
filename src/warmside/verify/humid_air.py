"""Humid air."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module

import numpy as np

from warmside.physics import humid_air
from warmside.verify.case import Case, Check, table

_NOTES = 'B. Marteinsson, lecture notes "Husagerd", University of Iceland, table 3.6'


def _saturation() -> list[Check]:
    printed = {20: 2335, 15: 1703, 10: 1228, 5: 872, 0: 611, -5: 402, -10: 260, -15: 166, -20: 104}
    found = humid_air.saturation_pressure(np.array(list(printed), dtype=float))
    # printed to 1 Pa: at -20 degC the last digit alone is 1 %
    return table([f"{t} °C" for t in printed], printed.values(), found, 0.8, 5e-3)


def _content() -> list[Check]:
    printed = {20: 17.29, 10: 9.40, 0: 4.84, -10: 2.14, -20: 0.88}
    t = np.array(list(printed), dtype=float)
    held = humid_air.vapour_concentration(t, humid_air.saturation_pressure(t)) * 1e3
    return table([f"{x} °C" for x in printed], printed.values(), held, 5e-3, 5e-3)


def _saturation_by_library() -> Iterator[Check]:
    library = import_module("psychrolib")
    library.SetUnitSystem(library.SI)
    for t in range(-30, 41, 5):
        # the ISO 13788 form itself is 1 % off at -30 degC: the wider band is the form's, not ours
        allowed = 1.1e-2 if t < -20 else 5.1e-3
        expected = float(library.GetSatVapPres(float(t)))
        found = float(humid_air.saturation_pressure(float(t)))
        yield Check(f"{t} °C", expected, found, 0.0, allowed)


def _dew_point_by_library() -> Iterator[Check]:
    library = import_module("psychrolib")
    library.SetUnitSystem(library.SI)
    for t in (-5.0, 5.0, 21.0, 35.0):
        for h in (0.2, 0.5, 0.9):
            expected = float(library.GetTDewPointFromRelHum(t, h))
            yield Check(f"{t:g} °C, {h:.0%}", expected, float(humid_air.dew_point(t, h)), 0.06)


def _dew_point_of_real_air() -> Iterator[Check]:
    library = import_module("CoolProp.HumidAirProp")
    for t in (-5.0, 5.0, 21.0, 35.0):
        for h in (0.2, 0.5, 0.9):
            state = ("T", t + 273.15, "R", h, "P", 101_325.0)
            expected = float(library.HAPropsSI("D", *state)) - 273.15
            yield Check(f"{t:g} °C, {h:.0%}", expected, float(humid_air.dew_point(t, h)), 0.06)


def _kelvin() -> list[Check]:
    # by hand: 1e8 / (1000 x 461.5 x 293.15) = 0.739161; exp(-0.739161) = 0.477514
    return [Check("100 MPa, 20 °C", 0.477514, float(humid_air.pore_humidity(1e8, 20.0)), 0.0, 1e-5)]


CASES = (
    Case("saturation-pressure", "humid air", "Saturation pressure over water and ice", _NOTES,
         "published", "Pa", _saturation),
    Case("vapour-content", "humid air", "Vapour held at saturation", _NOTES, "published", "g/m³",
         _content),
    Case("saturation-library", "humid air", "Saturation pressure, -30 to 40 °C",
         "psychrolib (Hyland and Wexler, as in ASHRAE Fundamentals)", "reference library", "Pa",
         _saturation_by_library, ("psychrolib",)),
    Case("dew-point-library", "humid air", "Dew point of room air", "psychrolib",
         "reference library", "°C", _dew_point_by_library, ("psychrolib",)),
    Case("dew-point-real-air", "humid air", "Dew point of air as a real gas", "CoolProp",
         "reference library", "°C", _dew_point_of_real_air, ("CoolProp",)),
    Case("kelvin", "humid air", "Kelvin's equation: humidity over a pore's suction", "by hand",
         "exact", "-", _kelvin),
)  # fmt: skip
