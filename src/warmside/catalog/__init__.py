"""What is known: materials, foams, joints, fuels, climates, each row with its source."""

from warmside.catalog._catalog import Catalog
from warmside.catalog._rows import (
    Climate,
    Foam,
    Fuel,
    JointRow,
    Lumber,
    Material,
    Source,
    Tag,
)

__all__ = [
    "Catalog",
    "Climate",
    "Foam",
    "Fuel",
    "JointRow",
    "Lumber",
    "Material",
    "Source",
    "Tag",
]
