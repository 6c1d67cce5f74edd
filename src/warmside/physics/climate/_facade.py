"""What reaches a wall: sun, long-wave, wind, driven rain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from warmside.errors import Fault, InputError
from warmside.physics.climate._hourly import FloatArray, HourlyClimate
from warmside.physics.climate._sky import STEFAN_BOLTZMANN
from warmside.physics.climate._sun import sun_on_wall
from warmside.physics.humid_air import saturation_pressure

DRIVEN_RAIN = 0.2  # [s/m], Hutcheon and Handegord's handbook form R_D = 0.2 v R (published)
RADIATIVE = 4.6  # outer long-wave film at about 0 degC and emissivity 0.9 [W/(m2 K)], computed
SHELTER = 0.4  # wind at the wall over wind in the open, suburban; common practice
LEWIS = 7e-9  # vapour film over convective film [kg K/(s Pa W)], from memory


@dataclass(frozen=True)
class Facade:
    """A wall's outer face.

    Attributes
    ----------
    azimuth : float
        Where it looks, clockwise from north [deg].
    absorptance : float
        Of its colour for the sun [-].
    emissivity : float
        Long-wave [-].
    rain_exposure : float
        Share of the driven rain that reaches this wall [-]; 0 keeps it dry.
    rain_taken : float
        Share of that which stays and does not run off [-].
    shade : float
        Share of the sun kept off by neighbours and trees [-].
    """

    azimuth: float
    absorptance: float = 0.5
    emissivity: float = 0.9
    rain_exposure: float = 0.3
    rain_taken: float = 0.5
    shade: float = 0.0

    def __post_init__(self) -> None:
        faults = [
            Fault(f"facade, {name}", f"{getattr(self, name)}", "0 to 1")
            for name in ("absorptance", "emissivity", "rain_exposure", "rain_taken", "shade")
            if not 0.0 <= getattr(self, name) <= 1.0
        ]
        if not 0.0 <= self.azimuth <= 360.0:
            faults.append(Fault("facade, azimuth", f"{self.azimuth}", "0 to 360 deg"))
        if faults:
            raise InputError(faults)


@dataclass(frozen=True, eq=False)
class FacadeWeather:
    """What acts on the outer face in every hour, all of shape (n_hours,).

    Attributes
    ----------
    temperature : FloatArray
        Outdoor air [degC].
    vapour_pressure : FloatArray
        Outdoor air [Pa].
    absorbed : FloatArray
        Sun taken up less long-wave lost to a sky colder than the air [W/m2].
    film : FloatArray
        Heat film, convection and long-wave [W/(m2 K)].
    vapour_film : FloatArray
        [kg/(m2 s Pa)].
    rain : FloatArray
        Driven rain that wets the face [kg/(m2 s)].
    pressure : FloatArray
        [Pa].
    """

    temperature: FloatArray
    vapour_pressure: FloatArray
    absorbed: FloatArray
    film: FloatArray
    vapour_film: FloatArray
    rain: FloatArray
    pressure: FloatArray


def driven_rain(weather: HourlyClimate, azimuth: float) -> FloatArray:
    """Rain that the wind drives on a wall in the open, shape (n_hours,) [kg/(m2 h)].

    ``R_D = 0.2 v R cos(D)`` with D the angle between wind and the wall's outward normal.
    """
    towards = np.cos(np.radians(weather.wind_direction - azimuth))
    return np.asarray(DRIVEN_RAIN * weather.wind_speed * np.maximum(towards, 0.0) * weather.rain)


def facade_weather(weather: HourlyClimate, facade: Facade) -> FacadeWeather:
    """What ``weather`` does to ``facade``.

    Convective film ``4 + 4 v`` (ISO 6946, from memory) at the sheltered wind; half of what the
    wall sees is sky.
    """
    t = weather.temperature
    sun = sun_on_wall(weather, facade.azimuth) * (1.0 - facade.shade)
    sky = (weather.sky_temperature + 273.15) ** 4 - (t + 273.15) ** 4
    convection = 4.0 + 4.0 * SHELTER * weather.wind_speed
    wet = driven_rain(weather, facade.azimuth) * facade.rain_exposure * facade.rain_taken
    return FacadeWeather(
        temperature=t,
        vapour_pressure=weather.humidity * saturation_pressure(t),
        absorbed=facade.absorptance * sun + 0.5 * facade.emissivity * STEFAN_BOLTZMANN * sky,
        film=convection + RADIATIVE * facade.emissivity / 0.9,
        vapour_film=LEWIS * convection,
        rain=wet / 3600.0,
        pressure=weather.pressure,
    )
