"""The rows that the catalog holds: SI values, each row with where its figures come from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from warmside.physics.assembly import MouldClass, Timber
from warmside.wording import Source as Source
from warmside.wording import Tag as Tag

Curve = Literal["wood", "points"]
# where a matter is for a person only now and then
Only = Literal[
    "spill-prone appliances", "above its limit", "above the climate's safe share"
]  # fmt: skip

HUMIDITIES = (0.50, 0.80, 0.93, 0.97)


@dataclass(frozen=True)
class MoistureRow:
    """How one material holds and draws water; ``material`` is the id of a material or foam.

    ``curve`` "wood" takes the equilibrium of wood at each humidity; "points" gives the water
    [kg/kg dry] at ``HUMIDITIES``. ``assumed`` says so where the row is another material's.
    """

    material: str
    curve: Curve
    points: tuple[float, ...]
    free: float  # [kg/kg dry] held in contact with liquid water
    absorption: float  # [kg/(m2 s^0.5)] uptake coefficient; 0 where nothing draws
    conductivity_per_water: float  # [W m2/(K kg)] rise of conductivity per kg/m3 of water
    mould_class: MouldClass
    source_sorption: Source
    source_liquid: Source
    timber: Timber = "none"  # solid wood, board made of wood, or neither
    note: str = ""
    assumed: str = ""


@dataclass(frozen=True)
class Material:
    """A building material or membrane.

    Membranes and lapped claddings are rows with a nominal ``thickness``; their conductivity and
    permeability are equivalents for that thickness. ``conductivity`` is None for an air layer,
    whose resistance depends on its thickness. ``moisture`` is None where nobody gave a row: such
    a material can be reckoned by the month, not hour by hour.
    """

    id: str
    name: str
    group: Literal[
        "wood", "board", "insulation", "membrane", "masonry", "finish", "cladding", "air", "paint"
    ]
    thickness: float | None  # [m] usual thickness
    conductivity: float | None  # [W/(m K)]
    density: float  # [kg/m3]
    specific_heat: float  # [J/(kg K)]
    permeability_dry: float  # [kg/(m s Pa)], dry cup (about 25 % RH)
    permeability_wet: float  # [kg/(m s Pa)], wet cup (about 75 % RH)
    emissivity: float  # [-], long-wave, of its faces
    source_heat: Source
    source_vapour: Source
    note: str = ""
    like: str = ""  # id of the row whose moisture it takes, where it has none of its own
    moisture: MoistureRow | None = None


# [-] "2 in" is 50 mm in a listing that counts an inch as 25 mm, though it measures 50.8
NOMINAL = 25.4 / 25.0


@dataclass(frozen=True)
class Foam:
    """A sprayed foam. Conductivity and permeability depend on the thickness installed.

    ``conductivity_by_thickness`` and ``permeability_by_thickness`` are rows of
    (thickness [m], value), interpolated between and held beyond the ends.
    """

    id: str
    name: str
    family: Literal["closed-cell", "open-cell"]
    density: float  # [kg/m3] core
    in_place_density: float  # [kg/m3] with skins, for yield
    specific_heat: float  # [J/(kg K)]
    conductivity_by_thickness: tuple[tuple[float, float], ...]  # (m, W/(m K)), aged
    permeability_by_thickness: tuple[tuple[float, float], ...]  # (m, kg/(m s Pa))
    air_barrier_from: float  # [m] thickness from which it stops air
    pass_max: float  # [m] thickest single pass
    total_max: float  # [m] thickest by listing; site listing governs
    wait_between_passes: float  # [s]
    occupancy_wait: float | None  # [s] from the product's listing; None = read the listing
    set_mass: float  # [kg] one A drum + one B drum
    waste_open_bays: float  # [-]
    waste_small_bays: float  # [-]
    emissivity: float  # [-]
    source_heat: Source
    source_vapour: Source
    source_use: Source
    note: str = ""
    like: str = ""
    moisture: MoistureRow | None = None
    # (up to this thickness [m], passes): the listing's own rows, which go before ``pass_max``
    listed_passes: tuple[tuple[float, int], ...] = ()

    def passes(self, thickness: float) -> int:
        """Passes that ``thickness`` [m] is sprayed in [-].

        The first row of the listing that reaches it, else ``ceil(t / pass_max)``; a thickness named
        in inches counts as the listing's round millimetres (`NOMINAL`).

        Raises
        ------
        ValueError
            A thickness that is negative or not finite.
        """
        if not 0 <= thickness < 1e3:
            raise ValueError(f"thickness {thickness!r} m, allowed 0 to 1000")
        for up_to, count in self.listed_passes:
            if thickness <= up_to * NOMINAL + 1e-9:
                return count
        return max(1, math.ceil(thickness / (self.pass_max * NOMINAL) - 1e-6))

    def conductivity(self, thickness: float) -> float:
        """Aged design conductivity [W/(m K)] at ``thickness`` [m]."""
        return _between(self.conductivity_by_thickness, thickness)

    def permeability(self, thickness: float) -> float:
        """Vapour permeability [kg/(m s Pa)] at ``thickness`` [m]."""
        return _between(self.permeability_by_thickness, thickness)


def _between(table: tuple[tuple[float, float], ...], x: float) -> float:
    if x <= table[0][0]:
        return table[0][1]
    for (x0, y0), (x1, y1) in pairwise(table):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return table[-1][1]


@dataclass(frozen=True)
class JointRow:
    """Leakage of one kind of joint or hole, before and after sealing.

    Leakage areas are effective areas at 4 Pa with a discharge coefficient of 1,
    [m2] per ``unit`` of joint: metre, each, or m2 of opening. ``kinds`` are the kinds of joint
    of the framing that the row serves.
    """

    id: str
    name: str
    unit: Literal["m", "each", "m2"]
    open_best: float
    open_low: float
    open_high: float
    sealed_best: float
    sealed_low: float
    sealed_high: float
    bead: float  # [m] usual bead width
    source: Source
    note: str = ""
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fuel:
    """A fuel: heat content (higher heating value) and carbon dioxide, by its usual unit."""

    id: str
    name: str
    unit: str  # "m3", "L", "kWh"
    heat_content: float  # [J] per unit
    co2: float  # [kg] per unit
    co2_low: float  # [kg] per unit
    co2_high: float  # [kg] per unit
    year: int
    source: Source
    note: str = ""


@dataclass(frozen=True)
class Climate:
    """Monthly normals of a station, January first; temperatures in degrees Celsius.

    Relative humidity is over liquid water at all temperatures, as stations report it.
    """

    id: str
    name: str
    region: str
    latitude: float  # [deg]
    longitude: float  # [deg]
    elevation: float  # [m]
    mean: tuple[float, ...]  # (12,) [degC]
    daily_max: tuple[float, ...]  # (12,) [degC]
    daily_min: tuple[float, ...]  # (12,) [degC]
    humidity: tuple[float, ...]  # (12,) [-] monthly mean relative humidity
    design: float  # [degC] January 2.5 % design temperature
    design_1: float  # [degC] January 1 %
    degree_days: float  # [K d] below 18 degC
    source: Source
    source_humidity: Source
    source_design: Source
    note: str = ""
    country: str = ""  # "US", "CA"; empty where the row does not say
    zone: str = ""  # climate zone of the US energy code, with its letter where known
    utc_offset: float | None = None  # [h] local standard time less universal time
    wind: tuple[float, ...] | None = None  # (12,) [m/s] mean speed
    rain: tuple[float, ...] | None = None  # (12,) [mm] a month, liquid
    sun: tuple[float, ...] | None = None  # (12,) [kWh/m2] a day on the horizontal
    rose: tuple[tuple[float, ...], ...] | None = None  # (12, 16) [-] share of wind from N, NNE ...
    driven_rain: tuple[float, ...] | None = None  # (8,) [mm] a year on walls that face N, NE ...
    typical_rain: float | None = None  # [mm] a year in the hourly year of the station
    hours: str = ""  # name of the hourly year that comes with the program
    jurisdiction: str = ""  # whose code and taxes apply, where it is not the station's region
    sources: tuple[tuple[str, Source], ...] = ()  # of wind, rain and sun
    said: tuple[str, ...] = ()  # what was borrowed, derived or is missing, in plain sentences


@dataclass(frozen=True)
class Lumber:
    """Actual size of a nominal stud in the years ``first``-``last``."""

    nominal: str
    first: int
    last: int
    width: float  # [m]
    depth: float  # [m]
    source: Source
    note: str = ""
