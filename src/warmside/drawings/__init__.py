"""Wall elevations, sections, temperature maps and charts, as SVG and PNG."""

from warmside.drawings._charts import Bar, Year, moisture_year, thickness_bars
from warmside.drawings._elevation import elevation
from warmside.drawings._lengths import both, metric, trade
from warmside.drawings._section import DesignState, section

__all__ = [
    "Bar",
    "DesignState",
    "Year",
    "both",
    "elevation",
    "metric",
    "moisture_year",
    "section",
    "thickness_bars",
    "trade",
]
