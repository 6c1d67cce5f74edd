"""Wall elevations, sections, temperature maps and charts, as SVG and PNG."""

from warmside.drawings._charts import Bar, Year, moisture_year, thickness_bars
from warmside.drawings._difference import MarkedBay, MarkedJoint, difference_map
from warmside.drawings._elevation import elevation
from warmside.drawings._joint_map import bay_map, joint_map
from warmside.drawings._lengths import both, metric, trade
from warmside.drawings._matrix import temperature_csv, temperature_tiff
from warmside.drawings._moisture import Course, mould_years, wood_years
from warmside.drawings._section import DesignState, section
from warmside.drawings._spreads import Range, spreads
from warmside.drawings._thermal import Place, Thermal, png, thermal_image
from warmside.drawings._thickness import Thickness, thickness_curve

__all__ = [
    "Bar",
    "Course",
    "DesignState",
    "MarkedBay",
    "MarkedJoint",
    "Place",
    "Range",
    "Thermal",
    "Thickness",
    "Year",
    "bay_map",
    "both",
    "difference_map",
    "elevation",
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
