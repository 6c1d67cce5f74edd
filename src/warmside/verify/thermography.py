"""What a thermal camera reads."""

from __future__ import annotations

from collections.abc import Iterator

from warmside.physics.thermography import Camera, apparent, surface_temperature
from warmside.verify.case import Case, Check

_ROWS = (  # reading, reflected, emissivity, surface
    (15.0, 20.0, 0.95, 14.73), (15.0, 20.0, 0.90, 14.43), (10.0, 20.0, 0.95, 9.44),
    (10.0, 20.0, 0.90, 8.82), (10.0, 20.0, 0.60, 2.69), (5.0, -30.0, 0.90, 8.16),
)  # fmt: skip


def _surface() -> Iterator[Check]:
    for reading, reflected, emissivity, surface in _ROWS:
        found = float(surface_temperature(reading, Camera(emissivity, reflected), 20.0))
        name = f"reads {reading:g}, reflected {reflected:g} °C, emissivity {emissivity:g}"
        yield Check(name, surface, found, 0.006)


def _apparent() -> list[Check]:
    # (0.9 x 278.15^4 + 0.1 x 294.15^4)^(1/4) = 279.87 K
    return [Check("5 °C in a room of 21 °C", 6.72, float(apparent(5.0, Camera(0.9), 21.0)), 0.01)]


CASES = (
    Case("radiometric", "thermography", "Surface temperature from what the camera reads",
         "T_obj^4 = (T_app^4 - (1 - e) T_refl^4) / e, worked by hand", "exact", "°C", _surface),
    Case("apparent", "thermography", "A cold wall in a warm room reads too warm", "by hand",
         "exact", "°C", _apparent),
)  # fmt: skip
