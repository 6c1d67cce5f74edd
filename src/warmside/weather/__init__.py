"""The weather of a place: one door to every open format, and a year made from normals."""

from warmside.weather.assembly import Records, Station, assemble, distance
from warmside.weather.door import cached_weather, format_of, open_weather, read_weather
from warmside.weather.formats import FORMATS, Format
from warmside.weather.formats.text import text_of
from warmside.weather.normals import made_year, normals_of, station_of, supports, usual_year
from warmside.weather.rows import climate_row
from warmside.weather.years import severe_year, whole_year

__all__ = [
    "FORMATS",
    "Format",
    "Records",
    "Station",
    "assemble",
    "cached_weather",
    "climate_row",
    "distance",
    "format_of",
    "made_year",
    "normals_of",
    "open_weather",
    "read_weather",
    "severe_year",
    "station_of",
    "supports",
    "text_of",
    "usual_year",
    "whole_year",
]
