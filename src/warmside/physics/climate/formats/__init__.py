"""Readers of open hourly formats. Each takes text or bytes and gives back the hours."""

from warmside.physics.climate.formats._columns import read_columns
from warmside.physics.climate.formats._eccc import read_eccc
from warmside.physics.climate.formats._isd_lite import read_isd_lite
from warmside.physics.climate.formats._nsrdb import read_nsrdb
from warmside.physics.climate.formats._pvgis import read_pvgis
from warmside.physics.climate.formats._tmy3 import read_tmy3
from warmside.physics.climate.formats._wy3 import read_wy3

__all__ = [
    "read_columns",
    "read_eccc",
    "read_isd_lite",
    "read_nsrdb",
    "read_pvgis",
    "read_tmy3",
    "read_wy3",
]
