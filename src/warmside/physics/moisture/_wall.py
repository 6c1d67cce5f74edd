"""A wall's path through the years: series at its interfaces and what they mean."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError
from warmside.physics.assembly import Layer, Stack
from warmside.physics.climate import (
    Facade,
    FacadeWeather,
    HourlyClimate,
    IndoorAir,
    facade_weather,
)
from warmside.physics.moisture._judged import (
    WOOD_ROLES,
    JudgedInterface,
    WoodLayer,
    interface_of,
    looked_at,
    verdict,
    wood_of,
)
from warmside.physics.moisture._layered import layer_index, moisture_of, slabs_of
from warmside.physics.moisture._mesh import Mesh, Slab, mesh
from warmside.physics.moisture._potential import FloatArray, humidity_of_u
from warmside.physics.moisture._repeat import simulate_years
from warmside.physics.moisture._simulation import (
    Balance,
    Forcing,
    Settings,
    contents,
)
from warmside.physics.moisture._wood import humidity_of_wood

PathName = Literal["mid-bay", "stud", "worst joint", "worst joint, bound", "rain leak"]
YEARS_MOST = 30
CAVITY_FILM = 1.0 / 0.13  # behind a vented cladding, as indoors; ISO 6946, from memory [W/(m2 K)]
CAVITY_VAPOUR = 2.5e-8  # [kg/(m2 s Pa)]
BEHIND_CAVITY = "behind a vented cladding: outdoor air, no rain, three tenths of the sun"
CAVITY_SUN = 0.3  # share of the absorbed sun that reaches behind a vented cladding; own figure [-]


@dataclass(frozen=True)
class WetStart:
    """Wood found wet: ``moisture`` [kg/kg] in the layers of ``roles``; the rest as usual."""

    moisture: float
    roles: tuple[str, ...] = ("sheathing",)


@dataclass(frozen=True, eq=False)
class WallYears:
    """What ``wall_years`` found.

    Attributes
    ----------
    path : str
        Which path through the wall.
    hours : int
        Of the run [h].
    interfaces : tuple[JudgedInterface, ...]
        Room side first.
    wood : tuple[WoodLayer, ...]
        Room side first.
    water : FloatArray
        Water gained per month, shape (n_months, 5): through the room face, the outer face, by the
        leak, by cavity air, as rain [kg/m2].
    by_air : float
        Water left by leaking air, counted over months of gain [kg/m2].
    by_diffusion : float
        Water that entered through the room face, counted over months of gain [kg/m2].
    balance : Balance
        Of the run.
    holds : bool
        Whether nothing below was exceeded.
    reason : str
        The worst thing found, where and in which month.
    notes : tuple[str, ...]
        What was assumed.
    vented : bool
        Whether a vented cladding keeps rain off.
    computed : int
        Years that were computed; those after repeat the last of them.
    """

    path: str
    hours: int
    interfaces: tuple[JudgedInterface, ...]
    wood: tuple[WoodLayer, ...]
    water: FloatArray
    by_air: float
    by_diffusion: float
    balance: Balance
    holds: bool
    reason: str
    notes: tuple[str, ...] = field(default=())
    vented: bool = False
    computed: int = 1

    @property
    def judged(self) -> tuple[JudgedInterface, ...]:
        """Interfaces that the verdict looks at: an unvented cladding gets rain on purpose."""
        return looked_at(self.interfaces, self.vented)

    @property
    def air_share(self) -> float:
        """Share of the water from the room that came with leaking air [-]."""
        total = self.by_air + self.by_diffusion
        return self.by_air / total if total > 0.0 else 0.0


def wall_years(
    stack: Stack,
    weather: HourlyClimate,
    indoor: IndoorAir,
    facade: Facade | FacadeWeather,
    *,
    path: PathName = "mid-bay",
    years: int = 1,
    leak: FloatArray | float = 0.0,
    start_humidity: float = 0.7,
    wet: WetStart | None = None,
    rain_past: float = 0.0,
    cells: int = 80,
    settings: Settings = Settings(),  # noqa: B008 - frozen
) -> WallYears:
    """Run a path through a wall for some years and judge it.

    Parameters
    ----------
    stack : Stack
        Layers, room side first.
    weather : HourlyClimate
        A year, repeated for ``years``; start it in autumn for a wall closed in before winter.
    indoor : IndoorAir
        Room air of the same hours.
    facade : Facade or FacadeWeather
        The outer face, or what this weather does to it, where many paths share that.
    path : PathName
        For the record.
    years : int
        1 to 30 [-].
    leak : FloatArray or float
        Air that leaks past the cold face of the cavity, out of the room where positive, per hour
        of the year [kg/(m2 s)].
    start_humidity : float
        Humidity in every layer at the start [-]; where water was found in a layer, that of its
        ``found_water``.
    wet : WetStart or None
        Layers that start wet.
    rain_past : float
        Share of the rain that wets the cladding which gets past it, 0 to 1 [-]. The path then ends
        at the face that this rain reaches, with the cladding as a film before it.
    cells : int
        About how many [-].
    settings : Settings
        Tolerances of the solver.

    Raises
    ------
    InputError
        Years, series or start out of range; a layer without moisture properties.
    SolverError
        No convergence, or an open balance.
    """
    if not 1 <= years <= YEARS_MOST:
        raise InputError([Fault("years", f"{years}", f"1 to {YEARS_MOST}")])
    if not 0.0 <= rain_past <= 1.0:
        raise InputError([Fault("rain past the cladding", f"{rain_past}", "0 to 1")])
    pairs, before = slabs_of(stack), _NO_CLADDING
    if rain_past > 0.0:
        pairs, before = _behind(pairs)
    layers = [layer for _, layer in pairs]
    grid = mesh(tuple(slab for slab, _ in pairs), cells)
    vented = any(layer.vented for layer in stack.layers)
    forcing = _forcing(weather, indoor, facade, leak, vented=vented)
    if rain_past > 0.0:
        forcing = _past_cladding(forcing, facade, weather, rain_past, before)
    watch = _watched(grid, layers)
    run, course = simulate_years(
        grid, forcing, weather.hours, years,
        temperature=_start_temperature(grid, indoor, weather),
        humidity=_start_humidity(grid, layers, start_humidity, wet),
        watch=watch, leak_cell=int(grid.cells(layer_index(layers))[0]), settings=settings,
    )  # fmt: skip
    months = np.tile(weather.month, years)
    interfaces = tuple(interface_of(run, layers, k, course) for k in range(len(layers) - 1))
    wood = tuple(
        wood_of(run, layer, k, course, months)
        for k, layer in enumerate(layers)
        if layer.role in WOOD_ROLES and moisture_of(layer).timber != "none"
    )
    crossed = course.told(run.crossed[:, :5])
    water = _monthly(crossed, months)
    holds, reason = verdict(interfaces, wood, months, vented=vented)
    gained, left = (float(np.maximum(water[:, k], 0.0).sum()) for k in (0, 2))
    return WallYears(
        path, months.size, interfaces, wood, water, left, gained, run.balance, holds, reason,
        (BEHIND_CAVITY,) if vented else (), vented, course.computed,
    )  # fmt: skip


def _forcing(
    weather: HourlyClimate,
    indoor: IndoorAir,
    facade: Facade | FacadeWeather,
    leak: FloatArray | float,
    *,
    vented: bool,
) -> Forcing:
    face = facade_weather(weather, facade) if isinstance(facade, Facade) else facade
    hours = weather.hours
    if indoor.temperature.shape != (hours,):
        raise InputError([Fault("indoor air", f"{indoor.temperature.size} hours", f"{hours}")])
    leaking = np.broadcast_to(np.asarray(leak, dtype=np.float64), (hours,))

    def series(values: FloatArray) -> FloatArray:
        return np.append(values, values[0])  # the year after begins like this one

    sun = face.absorbed
    if vented:
        sun = CAVITY_SUN * np.maximum(sun, 0.0)
    return Forcing(
        room_temperature=series(indoor.temperature),
        room_vapour=series(indoor.vapour_pressure),
        out_temperature=series(face.temperature),
        out_vapour=series(face.vapour_pressure),
        out_film=CAVITY_FILM if vented else series(face.film),
        out_transfer=CAVITY_VAPOUR if vented else series(face.vapour_film),
        absorbed=series(sun),
        rain=0.0 if vented else series(face.rain),
        leak=series(leaking),
        pressure=series(face.pressure),
    )


Pairs = tuple[tuple[Slab, Layer], ...]
_NO_CLADDING = (0.0, 0.0)


def _behind(pairs: Pairs) -> tuple[Pairs, tuple[float, float]]:
    """Slabs behind an unvented cladding; its resistance to heat [m2 K/W] and vapour [m2 s Pa/kg].

    Slices before a vented space have no cladding among them already.
    """
    if len(pairs) < 2 or pairs[-1][1].role != "cladding":
        return pairs, _NO_CLADDING
    slab, layer = pairs[-1]
    conductivity = slab.material.conductivity
    return pairs[:-1], (layer.thickness / conductivity, layer.thickness / layer.permeability_wet)


def _past_cladding(
    forcing: Forcing,
    facade: Facade | FacadeWeather,
    weather: HourlyClimate,
    share: float,
    before: tuple[float, float],
) -> Forcing:
    """Drivers of the face behind the cladding: films in series with it, and the rain past it.

    ``h' = 1 / (1/h + R)``, ``b' = 1 / (1/b + Z)``; the sun raises the air by as much as before.
    """
    face = facade_weather(weather, facade) if isinstance(facade, Facade) else facade
    film, transfer = np.asarray(forcing.out_film), np.asarray(forcing.out_transfer)
    behind = 1.0 / (1.0 / film + before[0])
    return replace(
        forcing,
        out_film=behind,
        out_transfer=1.0 / (1.0 / transfer + before[1]),
        absorbed=np.asarray(forcing.absorbed) * behind / film,
        rain=share * np.append(face.rain, face.rain[0]),
    )


def _watched(grid: Mesh, layers: list[Layer]) -> npt.NDArray[np.int64]:
    """Cells beside every interface, and all cells of wood layers."""
    cells: set[int] = set()
    for k, layer in enumerate(layers):
        own = grid.cells(k)
        cells |= {int(own[0]), int(own[-1])}
        if layer.role in WOOD_ROLES:
            cells |= {int(c) for c in own}
    return np.array(sorted(cells), dtype=np.int64)


def _start_temperature(grid: Mesh, indoor: IndoorAir, weather: HourlyClimate) -> FloatArray:
    """A straight line from the room's to the outdoor temperature of the first day."""
    room, out = float(indoor.temperature[:24].mean()), float(weather.temperature[:24].mean())
    return np.asarray(room + (out - room) * grid.centre / grid.width.sum())


def _start_humidity(
    grid: Mesh, layers: list[Layer], usual: float, wet: WetStart | None
) -> FloatArray:
    humidity = np.full(grid.width.size, usual)
    if wet is not None and not 0.02 <= wet.moisture <= 1.0:
        raise InputError([Fault("wet start, moisture", f"{wet.moisture}", "0.02 to 1.0 kg/kg")])
    for k, layer in enumerate(layers):
        material = grid.slabs[k].material
        if wet is not None and layer.role in wet.roles:
            held = wet.moisture * material.density
        elif layer.found_water is not None:
            held = layer.found_water.content
        else:
            continue
        u = np.linspace(0.01, 13.9, 4000)
        found = float(np.interp(held, contents(material.curves, u), u))
        wetter = min(float(humidity_of_u(found, 10.0)), 0.9999)
        humidity[grid.cells(k)] = max(wetter, usual) if layer.found_water else wetter
    return humidity


def _monthly(crossed: FloatArray, months: npt.NDArray[np.int64]) -> FloatArray:
    """Sums over each run of one month, shape (n_months, columns)."""
    starts = np.concatenate([[0], np.flatnonzero(np.diff(months)) + 1])
    return np.add.reduceat(crossed, starts, axis=0)


def meter_start(moisture: float, temperature: float = 15.0) -> float:
    """Humidity [-] in wood that a meter shows at ``moisture`` [kg/kg]; at most 0.97.

    ``temperature`` [degC] of the wood when it was read; see `humidity_of_wood`.
    """
    return humidity_of_wood(moisture, temperature)
