"""A standard thermal bridge: a roof edge of concrete, wood and insulation on an aluminium tray.

Problem: the second calculation case of ISO 10211. Aluminium 1.5 mm thin conducts 8000 times better
than the insulation around it, so that a careless grid fails. Temperatures at nine points must agree
within 0.1 K and the heat flow within 0.1 W/m.

Source: ISO 10211:2017 annex C, case 2 (second-hand: a general finite-element library's test data).
"""

from __future__ import annotations

from pathlib import Path

from _compared import Compared, compared, show

from warmside.physics.conduction import Body, Space, solve_field

SOURCE = "ISO 10211:2017 annex C, case 2 [second-hand]"
AIR = {"outside": 0.0, "inside": 20.0}  # [degC]
FAR, MM = 9.0, 1e-3
POINTS = {  # x, z [mm], temperature [degC]
    "A": (0, 47.5, 7.1), "B": (500, 47.5, 0.8), "C": (0, 41.5, 7.9), "D": (15, 41.5, 6.3),
    "E": (500, 41.5, 0.8), "F": (0, 36.5, 16.4), "G": (15, 36.5, 16.3), "H": (0, 0, 16.8),
    "I": (500, 0, 18.3),
}  # fmt: skip
BOXES = [  # x0, x1, z0, z1 [mm], conductivity [W/(m K)]
    (0, 500, 41.5, 47.5, 1.15), (0, 15, 36.5, 41.5, 0.12), (15, 500, 36.5, 41.5, 0.029),
    (15, 500, 1.5, 36.5, 0.029), (1.5, 15, 1.5, 35, 0.029), (0, 500, 0, 1.5, 230.0),
    (0, 1.5, 1.5, 36.5, 230.0), (1.5, 15, 35, 36.5, 230.0),
]  # fmt: skip


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Solve the section, one metre long, and read it at the nine points."""
    bodies = [
        Body(x0 * MM, x1 * MM, 0, 1, z0 * MM, z1 * MM, conductivity)
        for x0, x1, z0, z1, conductivity in BOXES
    ]
    spaces = [
        Space(0, FAR, 0, 1, 47.5 * MM, FAR, "outside", 0.06),
        Space(0, FAR, 0, 1, -FAR, 0, "inside", 0.11),
    ]
    field = solve_field(bodies, spaces, cells=20_000)
    points = [
        compared(
            f"point {name}, °C", field.temperature_at(x * MM, 0.5, z * MM, AIR), told, 0.1, SOURCE
        )
        for name, (x, z, told) in POINTS.items()
    ]
    flow = field.flows(AIR)["inside"]
    return [*points, compared("heat flow, W/m", flow, 9.5, 0.1, SOURCE)]


if __name__ == "__main__":
    show(main)
