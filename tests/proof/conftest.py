"""One small foamed wall, predicted once for all tests of the room."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from warmside.catalog import Catalog, load
from warmside.framing import Frame, frame_wall
from warmside.options import Option, as_built, offered
from warmside.physics.conduction import wall_field, wall_heat
from warmside.proof import Prediction, predict
from warmside.proof.prediction import conducting, resampled, usual_foam
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall


@dataclass(frozen=True)
class Case:
    """A wall, its option and its prediction."""

    house: House
    wall: Wall
    frame: Frame
    option: Option
    catalog: Catalog
    prediction: Prediction

    def surface(
        self,
        foam: dict[str, float],
        room: float,
        outside: float,
        cells: int = 150_000,
        make: float | None = None,
    ) -> np.ndarray:
        """Temperatures of the room side where bays hold ``foam`` [m], from the field itself.

        The foam conducts ``make`` of its row, or as is usual.
        """
        built = as_built(self.option, self.wall, self.frame, self.catalog, foam)
        built = conducting(built, make, "foam") if make else usual_foam(built, self.catalog)
        heat = wall_heat(wall_field(built.assembly, cells=cells, tolerance=1e-6))
        factor = resampled(heat, self.prediction.x, self.prediction.z)
        return outside + (room - outside) * factor.astype(float)


def build(wall: Wall, option: str = "cc-76") -> Case:
    catalog = load()
    house = House(name="test", climate="north-bay", year_built=1955, volume=300)
    frame = frame_wall(wall, house, catalog.lumber)
    chosen = next(o for o in offered(wall, house, catalog) if o.id == option)
    return Case(
        house, wall, frame, chosen, catalog, predict(chosen, wall, frame, catalog, pixel=0.0125)
    )


@pytest.fixture(scope="session")
def case() -> Case:
    return build(
        Wall(
            name="short side", year_built=1955, faces=0, frame="platform", length=4.2, height=2.44,
            found=AsFound(
                sheathing=(FoundLayer(material="board-sheathing"),), paper="building-paper",
                cladding=FoundLayer(material="wood-bevel-siding"),
            ),
            openings=(Opening(name="window", left=2.4, sill=0.9, width=0.8, height=1.1),),
        )
    )  # fmt: skip
