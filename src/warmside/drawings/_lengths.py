"""Lengths as they are written on drawings."""

from __future__ import annotations

from collections.abc import Callable
from math import gcd

Show = Callable[[float], str]
INCH = 0.0254  # [m], exact


def feet_inches(length: float) -> str:
    """``length`` [m] in feet and inches to the nearest 1/8 in: ``8'-1 1/2"``."""
    eighths = round(abs(length) / INCH * 8)
    feet, rest = divmod(eighths, 96)
    sign, zero = "-" if length < 0 < eighths else "", "0 " if 0 < rest < 8 else ""
    return f"{sign}{feet}'-{zero}{_inches(rest)}\""


def inches(length: float) -> str:
    """``length`` [m] in inches to the nearest 1/8 in: ``3 5/8 in``."""
    return f"{_inches(round(length / INCH * 8))} in"


def millimetres(length: float) -> str:
    """``length`` [m] in whole millimetres: ``2464 mm``."""
    return f"{length * 1000:.0f} mm"


def _inches(eighths: int) -> str:
    whole, part = divmod(eighths, 8)
    if not part:
        return f"{whole}"
    common = gcd(part, 8)
    fraction = f"{part // common}/{8 // common}"
    return f"{whole} {fraction}" if whole else fraction
