"""A place of one's own from one official download."""

from __future__ import annotations

from warmside.weather.assembly import Station
from warmside.weather.door import read_weather
from warmside.weather.formats.text import Source, text_of
from warmside.weather.normals_file import is_normals, read_normals
from warmside.weather.rows import climate_row, figures_of
from warmside.weather.years import whole_year


def row_of_file(source: Source, near: Station | None, name: str, region: str, origin: str) -> str:
    """A ``[[climates]]`` table of a file: a year of hours in an open format, or monthly normals.

    Parameters
    ----------
    source : str, bytes or file
        The download.
    near : Station, optional
        The house, for its zone where the file names none.
    name, region, origin : str
        As `climate_row`.

    Raises
    ------
    InputError
        Neither of the two, or every fault in it; no name, region or origin.
    """
    text = text_of(source)
    if is_normals(text):
        found = read_normals(text, near)
    else:
        found = figures_of(whole_year(read_weather(text, near)))
    return climate_row(found, name, region, origin)
