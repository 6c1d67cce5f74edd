"""How thicknesses and widths are written here: to a millimetre, as they are measured."""

from __future__ import annotations


def millimetres(length: float) -> str:
    """A length [m] as text: ``millimetres(0.0508)`` is "51 mm"."""
    return f"{1e3 * length:.0f} mm"
