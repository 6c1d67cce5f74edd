"""The catalog as one object; see ``load``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from warmside.catalog._rows import Climate, Foam, Fuel, JointRow, Lumber, Material


@dataclass(frozen=True)
class Catalog:
    """Everything known before a house is seen, by id."""

    materials: Mapping[str, Material]
    foams: Mapping[str, Foam]
    joints: Mapping[str, JointRow]
    fuels: Mapping[str, Fuel]
    climates: Mapping[str, Climate]
    lumber: tuple[Lumber, ...]
    own_files: tuple[str, ...] = field(default=())  # files of the user's own rows
