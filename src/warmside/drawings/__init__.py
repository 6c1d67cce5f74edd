"""Wall elevations, sections, temperature maps and charts, as SVG and PNG."""

from warmside.drawings._charts import Bar, Year, moisture_year, thickness_bars
from warmside.drawings._elevation import elevation
from warmside.drawings._lengths import feet_inches, inches, millimetres
from warmside.drawings._section import Climate, Profile, section

__all__ = [
    "Bar",
    "Climate",
    "Profile",
    "Year",
    "elevation",
    "feet_inches",
    "inches",
    "millimetres",
    "moisture_year",
    "section",
    "thickness_bars",
]
