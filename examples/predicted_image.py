"""What a thermal camera will show of a foamed wall.

Problem: the field of a framed wall with 3 in. of foam is solved; its room side on a night of -20 °C
is drawn as a camera will show it. Far from wood the surface must be where the straight path puts
it; and a camera reads a cold surface in a warm room too warm, by the radiometric equation.

Source: temperature factor 1 - Rsi / R of the middle of a bay (exact far from wood); surface behind
a reading, T^4 = (T_app^4 - (1 - e) T_refl^4) / e, worked by hand (exact).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from _compared import Compared, compared, show
from _wall import foamed, largest_bay

from warmside.catalog import load
from warmside.drawings import Place, Thermal, png, thermal_image
from warmside.physics.conduction import ISO_FILMS, profile, wall_field, wall_heat
from warmside.physics.thermography import Camera, surface_temperature

ROOM, NIGHT = 21.0, -20.0  # [degC]
STRAIGHT, RADIATION = "1 - Rsi / R of the straight path [exact]", "radiometric equation [exact]"


def main(folder: Path | None = None) -> list[Compared]:
    """Predict the image, and read two surfaces off a camera."""
    built = foamed(3, load())
    frame = built.frame
    heat = wall_heat(wall_field(built.assembly, cells=60_000))
    thermal = Thermal(heat.x, heat.z, heat.temperature(ROOM, NIGHT), heat.seen)
    bay = next(b.rect for b in frame.bays if b.kind == "stud bay" and b.rect.x0 > 0.5)
    middle = Place("middle of a bay", (bay.x0 + bay.x1) / 2, (bay.z0 + bay.z1) / 2)
    surface = profile(largest_bay(built), ROOM, NIGHT, ISO_FILMS).surface
    if folder:
        stud = Place("stud", bay.x1 + frame.stud_width / 2, middle.z - 0.4)
        svg = thermal_image(
            thermal, frame, [middle, stud], title="To expect after the work",
            conditions=f"Room {ROOM:.0f} °C, outside {NIGHT:.0f} °C, steady",
        )  # fmt: skip
        (folder / "predicted_image.png").write_bytes(png(svg, 1.6))
    camera = Camera(emissivity=0.9, reflected=20.0)
    read = np.array([15.0, 10.0])
    seen = surface_temperature(read, camera, ROOM)
    by_hand = (((read + 273.15) ** 4 - 0.1 * 293.15**4) / 0.9) ** 0.25 - 273.15
    return [
        compared("middle of a bay, °C", thermal.at(middle.x, middle.z), surface, 0.2, STRAIGHT),
        *(
            compared(f"surface read as {r:.0f} °C", float(s), float(h), 1e-6, RADIATION)
            for r, s, h in zip(read, seen, by_hand, strict=True)
        ),
    ]


if __name__ == "__main__":
    show(main)
