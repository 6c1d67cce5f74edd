"""Lengths as they are written on drawings."""

from __future__ import annotations

from collections.abc import Callable

from warmside.units import show

Show = Callable[[float], str]
_MEMBRANE = 0.8e-3  # [m] thinner layers have no thickness worth writing


def trade(length: float) -> str:
    """``length`` [m] in feet, inches and sixteenths: ``8' 1-1/2"``."""
    return show(length, "length", "trade")


def metric(length: float) -> str:
    """``length`` [m] in millimetres below a metre, else in metres: ``92.1 mm``."""
    return show(length, "length", "metric")


def both(thickness: float) -> str:
    """A layer's ``thickness`` [m] in inches and millimetres: ``3", 76 mm``."""
    if thickness < _MEMBRANE:
        return "membrane"
    if thickness < 0.003:
        return f"{thickness * 1000:.1f} mm"
    return f"{trade(thickness)}, {thickness * 1000:.0f} mm"
