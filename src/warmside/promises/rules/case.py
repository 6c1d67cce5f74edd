"""What is judged: one option on one wall of one house."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Catalog, Climate
from warmside.options import BuildUp
from warmside.survey import Hazard, House, Wall


@dataclass(frozen=True)
class Case:
    """One option on one wall of one house; what is None is not known.

    ``found`` is the wall before any work, where it was built up already.
    """

    build_up: BuildUp
    climate: Climate
    catalog: Catalog | None = None
    wall: Wall | None = None
    house: House | None = None
    hazards: tuple[Hazard, ...] = ()
    found: BuildUp | None = None
