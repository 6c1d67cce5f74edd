"""The weather outside and the air inside."""

from warmside.physics.climate._assemble import Station, assemble
from warmside.physics.climate._facade import Facade, FacadeWeather, driven_rain, facade_weather
from warmside.physics.climate._hourly import HourlyClimate
from warmside.physics.climate._indoor import (
    IndoorAir,
    indoor_balance,
    indoor_class,
    indoor_en15026,
    indoor_fixed,
    indoor_measured,
)
from warmside.physics.climate._sky import clear_sky_emissivity, sky_temperature_from_cloud
from warmside.physics.climate._sun import sun_on_wall
from warmside.physics.climate._synthesis import (
    Normals,
    cold_year,
    daily_shape,
    normals_of,
    synthesise,
)
from warmside.physics.climate.formats import (
    read_columns,
    read_eccc,
    read_isd_lite,
    read_nsrdb,
    read_pvgis,
    read_tmy3,
    read_wy3,
)

__all__ = [
    "Facade",
    "FacadeWeather",
    "HourlyClimate",
    "IndoorAir",
    "Normals",
    "Station",
    "assemble",
    "clear_sky_emissivity",
    "cold_year",
    "daily_shape",
    "driven_rain",
    "facade_weather",
    "indoor_balance",
    "indoor_class",
    "indoor_en15026",
    "indoor_fixed",
    "indoor_measured",
    "normals_of",
    "read_columns",
    "read_eccc",
    "read_isd_lite",
    "read_nsrdb",
    "read_pvgis",
    "read_tmy3",
    "read_wy3",
    "sky_temperature_from_cloud",
    "sun_on_wall",
    "synthesise",
]
