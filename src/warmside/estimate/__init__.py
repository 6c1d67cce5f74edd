"""What it takes: the takeoff from the real bays, and its price."""

from warmside.estimate.arithmetic import (
    bead_area,
    bead_metres_per_cartridge,
    board_feet,
    joint_depth,
    theoretical_yield,
)
from warmside.estimate.energy import energy_terms, sold_as
from warmside.estimate.foam import Fill, foam_fills
from warmside.estimate.parts import ROUGH_WOOD, EnergyRow, Price, PriceLine, PriceList, PriceRow
from warmside.estimate.passes import CREW, CrewTime, Depth, PassPlan, idle_wait, pass_plan
from warmside.estimate.price_file import (
    default_prices,
    default_text,
    read_prices,
    write_default,
)
from warmside.estimate.price_table import (
    COLUMNS,
    from_csv,
    from_xlsx,
    price_text,
    table_of,
    text_of,
    to_csv,
    to_xlsx,
)
from warmside.estimate.pricing import coin, combine, cost_of_more, fixed_price, price
from warmside.estimate.quantities import combine_takeoffs, takeoff
from warmside.estimate.sealant import CARTRIDGE, Bead, beads
from warmside.estimate.terms import Contractor, Stage, Terms, parts_of

__all__ = [
    "CARTRIDGE",
    "COLUMNS",
    "CREW",
    "ROUGH_WOOD",
    "Bead",
    "Contractor",
    "CrewTime",
    "Depth",
    "EnergyRow",
    "Fill",
    "PassPlan",
    "Price",
    "PriceLine",
    "PriceList",
    "PriceRow",
    "Stage",
    "Terms",
    "bead_area",
    "bead_metres_per_cartridge",
    "beads",
    "board_feet",
    "coin",
    "combine",
    "combine_takeoffs",
    "cost_of_more",
    "default_prices",
    "default_text",
    "energy_terms",
    "fixed_price",
    "foam_fills",
    "from_csv",
    "from_xlsx",
    "idle_wait",
    "joint_depth",
    "parts_of",
    "pass_plan",
    "price",
    "price_text",
    "read_prices",
    "sold_as",
    "table_of",
    "takeoff",
    "text_of",
    "theoretical_yield",
    "to_csv",
    "to_xlsx",
    "write_default",
]
