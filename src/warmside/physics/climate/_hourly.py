"""Weather hour by hour: the contract between readers, synthesis and solvers."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import datetime, timedelta
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError

FloatArray: TypeAlias = npt.NDArray[np.float64]

# What each column may hold, least and most; outside it the data are refused.
RANGES: dict[str, tuple[float, float, str]] = {
    "temperature": (-70.0, 60.0, "degC"),
    "humidity": (0.0, 1.0, "-"),
    "wind_speed": (0.0, 90.0, "m/s"),
    "wind_direction": (0.0, 360.0, "deg"),
    "ghi": (0.0, 1500.0, "W/m2"),
    "dni": (0.0, 1500.0, "W/m2"),
    "dhi": (0.0, 1500.0, "W/m2"),
    "pressure": (45_000.0, 110_000.0, "Pa"),
    "sky_temperature": (-110.0, 60.0, "degC"),
    "rain": (0.0, 400.0, "kg/(m2 h)"),
}


@dataclass(frozen=True)
class HourlyClimate:
    """Hourly weather at one place. Entry ``k`` is the hour from ``time0 + k h`` to an hour later.

    An hour is named by its end (``ends``): what a station reads at 14:00 stands for the hour from
    13:00 to 14:00. Times are local standard time without daylight saving. Solvers take each entry
    as the value at the middle of its hour and run straight lines between.

    Attributes
    ----------
    time0 : datetime
        Start of the first hour, local standard time, no zone.
    temperature : FloatArray
        Air temperature, shape (n_hours,) [degC].
    humidity : FloatArray
        Relative humidity over water, shape (n_hours,) [-].
    wind_speed : FloatArray
        Wind at 10 m in the open, shape (n_hours,) [m/s].
    wind_direction : FloatArray
        Where the wind comes from, clockwise from north, shape (n_hours,) [deg].
    ghi : FloatArray
        Sun on the horizontal, shape (n_hours,) [W/m2].
    dni : FloatArray
        Sun on a plane facing it, shape (n_hours,) [W/m2].
    dhi : FloatArray
        Diffuse sun on the horizontal, shape (n_hours,) [W/m2].
    pressure : FloatArray
        Air pressure at the station, shape (n_hours,) [Pa].
    sky_temperature : FloatArray
        Temperature of a black sky with the same long-wave, shape (n_hours,) [degC].
    rain : FloatArray
        Rain on the horizontal, shape (n_hours,) [kg/(m2 h)].
    latitude : float
        North positive [deg].
    longitude : float
        East positive [deg].
    utc_offset : float
        Local standard time minus universal time [h].
    elevation : float
        Above the sea [m].
    name : str
        The place, as its source names it.
    notes : tuple[str, ...]
        What was filled, assumed or derived, in plain sentences.

    Raises
    ------
    InputError
        A column of another length, a value that is not finite or out of its range.
    """

    time0: datetime
    temperature: FloatArray
    humidity: FloatArray
    wind_speed: FloatArray
    wind_direction: FloatArray
    ghi: FloatArray
    dni: FloatArray
    dhi: FloatArray
    pressure: FloatArray
    sky_temperature: FloatArray
    rain: FloatArray
    latitude: float
    longitude: float
    utc_offset: float
    elevation: float = 0.0
    name: str = ""
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        faults: list[Fault] = []
        hours = np.size(self.temperature)
        if hours < 1:
            faults.append(Fault("hourly weather", "no hours at all", "one hour or more"))
        for column, (least, most, unit) in RANGES.items():
            values = np.ascontiguousarray(getattr(self, column), dtype=np.float64)
            if values.shape != (hours,):
                faults.append(Fault(f"hourly {column}", f"shape {values.shape}", f"{hours} values"))
                continue
            bad = np.flatnonzero(~((values >= least) & (values <= most)))
            if bad.size:
                when = self.time0 + timedelta(hours=int(bad[0]))
                faults.append(
                    Fault(
                        f"hourly {column}, {when:%Y-%m-%d %H:%M} and {bad.size - 1} more",
                        f"{values[bad[0]]:g} {unit}",
                        f"{least:g} to {most:g} {unit}",
                    )
                )
            object.__setattr__(self, column, values)
        for name, most_abs in (("latitude", 90.0), ("longitude", 180.0), ("utc_offset", 14.0)):
            value = getattr(self, name)
            if not abs(value) <= most_abs:
                faults.append(
                    Fault(f"hourly weather, {name}", f"{value}", f"-{most_abs:g} to {most_abs:g}")
                )
        if faults:
            raise InputError(faults)

    @property
    def hours(self) -> int:
        """Number of hours [h]."""
        return self.temperature.size

    @property
    def ends(self) -> npt.NDArray[np.datetime64]:
        """End of each hour, by which it is named, local standard time, shape (n_hours,)."""
        return np.datetime64(self.time0, "h") + np.arange(1, self.hours + 1)

    @cached_property
    def month(self) -> npt.NDArray[np.int64]:
        """Month of each hour, 1 to 12, shape (n_hours,) [-]."""
        start = np.datetime64(self.time0, "h")
        months = (start + np.arange(self.hours)).astype("datetime64[M]").astype(np.int64)
        return months % 12 + 1

    def monthly_mean(self, values: FloatArray) -> FloatArray:
        """Mean of ``values`` over each calendar month present [same unit], shape (12,)."""
        month = self.month
        return np.array([values[month == m].mean() for m in range(1, 13) if (month == m).any()])

    def part(self, first: int, count: int) -> HourlyClimate:
        """The ``count`` hours from hour ``first`` on."""
        kept = {f.name: getattr(self, f.name) for f in fields(self)}
        for column in RANGES:
            kept[column] = kept[column][first : first + count]
        kept["time0"] = self.time0 + timedelta(hours=first)
        return HourlyClimate(**kept)

    def from_autumn(self, month: int = 10) -> HourlyClimate:
        """The same year from the 1st of ``month`` on: what came after it is put before it.

        Only for whole years that begin on 1 January; others are returned as they are.
        """
        begun = self.time0
        whole = (datetime(begun.year + 1, 1, 1) - datetime(begun.year, 1, 1)).days * 24
        if (begun.month, begun.day, begun.hour) != (1, 1, 0) or self.hours != whole:
            return self
        first = (datetime(begun.year, month, 1) - datetime(begun.year, 1, 1)).days * 24
        kept = {f.name: getattr(self, f.name) for f in fields(self)}
        for column in RANGES:
            kept[column] = np.roll(kept[column], -first)
        kept["time0"] = datetime(begun.year - 1, month, 1)
        return HourlyClimate(**kept)
