"""Wall elevations, sections, temperature maps and charts, as SVG and PNG."""

from warmside.drawings.charts import Bar, Year, moisture_year, thickness_bars
from warmside.drawings.difference import MarkedBay, MarkedJoint, difference_map
from warmside.drawings.elevations import PHONE, elevation
from warmside.drawings.frontier import PlanPoint, frontier
from warmside.drawings.heat_picture import heat_picture
from warmside.drawings.joint_maps import bay_map, joint_map
from warmside.drawings.lengths import both, metric, trade
from warmside.drawings.matrix import temperature_csv, temperature_tiff
from warmside.drawings.moisture import Course, mould_years, wood_years
from warmside.drawings.sections import DesignState, section
from warmside.drawings.spread_bars import Range, spreads
from warmside.drawings.thermal import Place, Thermal, png, thermal_image
from warmside.drawings.thickness import Resistance, Thickness, thickness_curve

__all__ = [
    "PHONE",
    "Bar",
    "Course",
    "DesignState",
    "MarkedBay",
    "MarkedJoint",
    "Place",
    "PlanPoint",
    "Range",
    "Resistance",
    "Thermal",
    "Thickness",
    "Year",
    "bay_map",
    "both",
    "difference_map",
    "elevation",
    "frontier",
    "heat_picture",
    "joint_map",
    "metric",
    "moisture_year",
    "mould_years",
    "png",
    "section",
    "spreads",
    "temperature_csv",
    "temperature_tiff",
    "thermal_image",
    "thickness_bars",
    "thickness_curve",
    "trade",
    "wood_years",
]
