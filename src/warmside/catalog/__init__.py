"""What is known: materials, foams, joints, fuels, climates, each row with its source.

The figures stand in ``data/``, one file per class, with the unit in each column's name. A
material gives either conductivity or the resistance of its thickness, and either permeability or
the permeance of its thickness, as its source prints it.

A tag belongs to the figures that decide results (conductivity, permeability, leakage, heat
content, temperatures) and is that of the weakest of them; where a density, specific heat or
emissivity beside them is from memory, the source says so.
"""

from warmside.catalog._catalog import Catalog
from warmside.catalog._codes import Clause, CodePack, chosen_packs, code_packs, read_code_pack
from warmside.catalog._load import load
from warmside.catalog._moisture_rows import MoistureRow, moisture_rows
from warmside.catalog._own_rows import with_foam_waste
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
from warmside.catalog._sources import SourceLine, sources

__all__ = [
    "Catalog",
    "Clause",
    "Climate",
    "CodePack",
    "Foam",
    "Fuel",
    "JointRow",
    "Lumber",
    "Material",
    "MoistureRow",
    "Source",
    "SourceLine",
    "Tag",
    "chosen_packs",
    "code_packs",
    "load",
    "moisture_rows",
    "read_code_pack",
    "sources",
    "with_foam_waste",
]
