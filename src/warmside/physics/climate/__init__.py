"""The weather outside and the air inside, as arrays: sun, walls, sky, a year from normals."""

from warmside.physics.climate._facade import Facade, FacadeWeather, driven_rain, facade_weather
from warmside.physics.climate._hourly import RANGES, FloatArray, HourlyClimate
from warmside.physics.climate._indoor import (
    COOLED_FROM,
    COOLED_HUMIDITY,
    COOLED_TO,
    IndoorAir,
    cooled_rooms,
    indoor_balance,
    indoor_by_month,
    indoor_class,
    indoor_en15026,
    indoor_fixed,
    indoor_measured,
    shut_share,
)
from warmside.physics.climate._sky import (
    clear_sky_emissivity,
    sky_temperature_from_cloud,
    sky_temperature_from_longwave,
)
from warmside.physics.climate._sun import (
    cloud_from_clearness,
    split_sun,
    sun_from_range,
    sun_on_wall,
)
from warmside.physics.climate._synthesis import Normals, cold_year, daily_shape, synthesise

__all__ = [
    "COOLED_FROM",
    "COOLED_HUMIDITY",
    "COOLED_TO",
    "RANGES",
    "Facade",
    "FacadeWeather",
    "FloatArray",
    "HourlyClimate",
    "IndoorAir",
    "Normals",
    "clear_sky_emissivity",
    "cloud_from_clearness",
    "cold_year",
    "cooled_rooms",
    "daily_shape",
    "driven_rain",
    "facade_weather",
    "indoor_balance",
    "indoor_by_month",
    "indoor_class",
    "indoor_en15026",
    "indoor_fixed",
    "indoor_measured",
    "shut_share",
    "sky_temperature_from_cloud",
    "sky_temperature_from_longwave",
    "split_sun",
    "sun_from_range",
    "sun_on_wall",
    "synthesise",
]
