"""What is known, in one object, each row with its source.

Materials with their moisture, foams, joints, hazards, limits of the site, air, fuels, climates,
lumber, code packs. A function that needs any of it takes the ``Catalog``; ``load`` is called once,
at the top.

The figures stand in ``data/``, one file per class, with the unit in each column's name. A
material gives either conductivity or the resistance of its thickness, and either permeability or
the permeance of its thickness, as its source prints it.

A tag belongs to the figures that decide results (conductivity, permeability, leakage, heat
content, temperatures) and is that of the weakest of them; where a density, specific heat or
emissivity beside them is from memory, the source says so.
"""

from warmside.catalog._air import AirFigure, VentingRow
from warmside.catalog._bills import billed_amount
from warmside.catalog._catalog import Catalog
from warmside.catalog._codes import Check, Clause, CodePack, Fact, Facts, WorkedCase
from warmside.catalog._countries import (
    COUNTRIES,
    Country,
    country_of,
    currency_of,
    electricity_of,
    region_of,
)
from warmside.catalog._facts import FACTS, VERDICT_OF, FactKind
from warmside.catalog._fills import FillState
from warmside.catalog._hazards import HazardRow, NeverAlone, Presumption
from warmside.catalog._load import chosen_packs, load, load_text, read_code_pack
from warmside.catalog._own_rows import with_foam_waste
from warmside.catalog._places import Place, climate_of, completed, places
from warmside.catalog._rows import (
    HUMIDITIES,
    NOMINAL,
    Climate,
    Foam,
    Fuel,
    JointRow,
    Lumber,
    Material,
    MoistureRow,
    Source,
    Tag,
)
from warmside.catalog._site import Reminder, Sign, SiteFigure
from warmside.catalog._sources import SourceLine, sources
from warmside.catalog._usual import Usual
from warmside.catalog._words import TradeWord

__all__ = [
    "COUNTRIES",
    "FACTS",
    "HUMIDITIES",
    "NOMINAL",
    "VERDICT_OF",
    "AirFigure",
    "Catalog",
    "Check",
    "Clause",
    "Climate",
    "CodePack",
    "Country",
    "Fact",
    "FactKind",
    "Facts",
    "FillState",
    "Foam",
    "Fuel",
    "HazardRow",
    "JointRow",
    "Lumber",
    "Material",
    "MoistureRow",
    "NeverAlone",
    "Place",
    "Presumption",
    "Reminder",
    "Sign",
    "SiteFigure",
    "Source",
    "SourceLine",
    "Tag",
    "TradeWord",
    "Usual",
    "VentingRow",
    "WorkedCase",
    "billed_amount",
    "chosen_packs",
    "climate_of",
    "completed",
    "country_of",
    "currency_of",
    "electricity_of",
    "load",
    "load_text",
    "places",
    "read_code_pack",
    "region_of",
    "sources",
    "with_foam_waste",
]
