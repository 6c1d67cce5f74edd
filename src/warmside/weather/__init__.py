"""The weather of a place: one door to every open format, and a year made from normals."""

from warmside.weather.assembly import SUN_GUESSED, Records, Station, assemble, distance
from warmside.weather.door import cached_weather, format_of, open_weather, read_weather
from warmside.weather.formats import FORMATS, Format
from warmside.weather.formats.text import text_of
from warmside.weather.normals import (
    coldest_month,
    made_year,
    normals_of,
    station_of,
    supports,
    usual_year,
)
from warmside.weather.normals_file import is_normals, read_normals
from warmside.weather.place_file import row_of_file
from warmside.weather.rows import Figures, climate_row, figures_of
from warmside.weather.years import severe_year, warmer_year, whole_year

__all__ = [
    "FORMATS",
    "SUN_GUESSED",
    "Figures",
    "Format",
    "Records",
    "Station",
    "assemble",
    "cached_weather",
    "climate_row",
    "coldest_month",
    "distance",
    "figures_of",
    "format_of",
    "is_normals",
    "made_year",
    "normals_of",
    "open_weather",
    "read_normals",
    "read_weather",
    "row_of_file",
    "severe_year",
    "station_of",
    "supports",
    "text_of",
    "usual_year",
    "warmer_year",
    "whole_year",
]
