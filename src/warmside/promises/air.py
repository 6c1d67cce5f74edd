"""The air of one house, reckoned once: its leakage, its joints, and a year of pressures."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Frame
from warmside.identity import Same
from warmside.physics import humid_air
from warmside.physics.airflow import (
    WALL_SHARE,
    Band,
    HouseLeakage,
    HousePressures,
    PowerLaw,
    Site,
    excess_humidity,
    hourly_infiltration,
    house_pressures,
    leakage_from_age,
    leakage_from_test,
    open_flue_share,
    outside_surface,
    removed_by,
    wall_band,
)
from warmside.physics.climate import HourlyClimate
from warmside.promises.leakage import JointLeak, WallLeakage, wall_leakage
from warmside.promises.room import Living, MonthlyAir, Room, living_of, room_of
from warmside.survey import House, Wall, fan_law
from warmside.wording import Figure, Sentence, say

Floats = NDArray[np.float64]
SHELTERS = ("none", "isolated", "across the street", "large lots", "side by side")
# A plan is judged in rooms of this grid, the more humid one: leakage left [-], fans [m3/s].
LEAKAGE_STEP, FAN_STEP = 0.05, 1e-3
HEIGHT_STEP = 0.25  # [m] joints are taken at the nearest such height


@dataclass(frozen=True)
class JointGain:
    """All joints of one kind: how long, how leaky, and what a metre of sealing takes away."""

    kind: str
    name: str
    length: float  # [m]
    open: float  # [m2] effective leakage area at 4 Pa
    sealed: float  # [m2]

    @property
    def per_metre(self) -> float:
        """Leakage area that a metre of sealing takes away [m2/m]."""
        return (self.open - self.sealed) / self.length


@dataclass(frozen=True, eq=False)
class Year:
    """A year of air about a house, as far as it does not hang on how leaky the house is.

    Without fans both pressures and infiltration per flow follow from the spread of the leaks.
    Years of the same weather, the very same series, about houses alike are equal, so that what is
    reckoned by them is remembered.
    """

    exponent: float  # [-] of the leakage
    weather: HourlyClimate
    temperature: float  # [degC] indoors
    site: Site

    @cached_property
    def _content(self) -> tuple[float, Same[HourlyClimate], float, Site]:
        return self.exponent, Same(self.weather), self.temperature, self.site

    def __hash__(self) -> int:
        return hash(self._content[:3])  # quick: a site has many parts

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Year) and self._content == other._content

    @property
    def pressures(self) -> HousePressures:
        """Indoor less outdoor pressure [Pa]; reckoned when first asked for."""
        return _pressures(self)

    @property
    def unit_flow(self) -> Floats:
        """Infiltration per flow at 50 Pa [-], shape (n_hours,)."""
        return _unit_flow(self)

    def pushed(self, faces: float, height: float) -> Floats:
        """Pressure on a leak to the power of its exponent [Pa^n], out of the room where positive.

        Shape (n_hours,). ``faces`` is where its wall looks [deg], ``height`` above the lowest
        floor [m].
        """
        return _pushed(self, faces, height)

    def leaving(
        self, faces: float, height: float, face: float, temperature: float, vapour: float
    ) -> Leaving:
        """What leaves by a leak whose flow is 1 m3/s at 1 Pa, over the year.

        ``face`` is the temperature of the cold face that it meets, 0 as outdoors and 1 as indoors
        [-]; room air has ``temperature`` [degC] and ``vapour`` [Pa].
        """
        return _leaving(self, faces, height, face, temperature, vapour)


@dataclass(frozen=True)
class Leaving:
    """Sums over the hours of a year, per flow coefficient."""

    air: float  # [m3/s h]
    water: float  # [kg/kg m3/s h] that it holds beyond what it can at the cold face


@lru_cache(maxsize=16)
def _one_of_its_kind(year: Year) -> Year:
    """The same object for years that are alike: what is remembered by it is found at a glance."""
    return year


def _at_50_pa(exponent: float) -> PowerLaw:
    return PowerLaw(50.0**-exponent, exponent)


@lru_cache(maxsize=16)
def _pressures(year: Year) -> HousePressures:
    return house_pressures(_at_50_pa(year.exponent), year.weather, year.temperature, year.site)


@lru_cache(maxsize=16)
def _unit_flow(year: Year) -> Floats:
    return hourly_infiltration(_at_50_pa(year.exponent), year.weather, year.temperature, year.site)


@lru_cache(maxsize=64)  # leaks at many heights of one face
def _wind(year: Year, faces: float) -> Floats:
    return year.pressures.wind_on(faces)


@lru_cache(maxsize=256)
def _pushed(year: Year, faces: float, height: float) -> Floats:
    over = year.pressures.still(height) - _wind(year, faces)
    return np.asarray(np.sign(over) * np.abs(over) ** year.exponent)


@lru_cache(maxsize=8)  # leaks at several heights behind one face
def _excess(year: Year, face: float, temperature: float, vapour: float) -> Floats:
    outdoors = year.weather.temperature
    return excess_humidity(vapour, outdoors + face * (temperature - outdoors))


@lru_cache(maxsize=16_384)  # two figures each: a house under the hand, over and over
def _leaving(
    year: Year, faces: float, height: float, face: float, temperature: float, vapour: float
) -> Leaving:
    out = np.maximum(year.pushed(faces, height), 0.0)
    held = _excess(year, face, temperature, vapour)
    return Leaving(float(out.sum()), float(out @ held))


@dataclass(frozen=True)
class WallAir:
    """One wall's joints, scaled to its share of the house, and the room air that leaves by them."""

    leakage: WallLeakage
    open: Band  # [m2] effective leakage area at 4 Pa
    sealed: Band  # [m2]
    removed: Band  # [-] of the house's leakage, by sealing this wall
    drive: WallDrive = field(repr=False)

    def within(self, reach: frozenset[str] | None) -> WallAir:
        """The same wall where only joints of the kinds in ``reach`` can be sealed; None: all."""
        return self if reach is None else _within(Same(self), reach)

    @cached_property
    def gains(self) -> tuple[JointGain, ...]:
        """Kinds of joint, the one that pays most per metre first."""
        return joint_gains([self.leakage], self.drive.scale)

    @cached_property
    def bands(self) -> Mapping[float, tuple[float, float]]:
        """Leakage areas open and sealed [m2] by height above the lowest floor [m]."""
        drive = self.drive
        return {
            drive.base + height: (opened * drive.scale, sealed * drive.scale)
            for height, (opened, sealed) in _by_height(self.leakage.leaks).items()
        }


@lru_cache(maxsize=64)  # the same for every option of a wall that reaches the same joints
def _within(wall: Same[WallAir], reach: frozenset[str]) -> WallAir:
    whole = wall.value
    every = whole.leakage.leaks
    shares = [
        _gained([leak for leak in every if leak.joint.kind in reach], bound)
        / max(_gained(every, bound), 1e-12)
        for bound in ("high", "best", "low")
    ]
    low, best, high = shares
    opened, sealed, removed = whole.open, whole.sealed, whole.removed
    leaks = tuple(
        leak if leak.joint.kind in reach else replace(leak, sealed=leak.open) for leak in every
    )
    return replace(
        whole,
        leakage=replace(whole.leakage, leaks=leaks),
        sealed=Band(
            *sorted(
                was - (was - now) * best
                for was, now in (
                    (opened.low, sealed.low),
                    (opened.best, sealed.best),
                    (opened.high, sealed.high),
                )
            )
        ),
        removed=Band(removed.low * low, removed.best * best, removed.high * high),
    )


def _gained(leaks: Sequence[JointLeak], bound: Literal["low", "best", "high"]) -> float:
    """What sealing takes away by one bound of the sealed joints [m2], as `removed_by` sums it."""
    sealed: dict[str, Callable[[Band], float]] = {
        "low": lambda band: band.low,
        "best": lambda band: band.best,
        "high": lambda band: band.high,
    }
    return sum(max(leak.open.best - sealed[bound](leak.sealed), 0.0) for leak in leaks)


@dataclass(frozen=True)
class WallDrive:
    """What drives room air out through the joints of one wall."""

    year: Year
    faces: float  # [deg]
    base: float  # [m] of the wall above the lowest floor
    scale: float  # [-] from the rows' leakage to the house's


@dataclass(frozen=True)
class HouseAir:
    """What every option of every wall shares."""

    house: House
    weather: HourlyClimate
    room: Room  # today's
    living: Living
    site: Site
    volume: float  # [m3]
    leakage: HouseLeakage
    covered: float  # [-] of the outside walls that were surveyed
    walls: Mapping[str, WallAir]
    year: Year = field(repr=False)
    fans: float  # [m3/s] exhaust that runs all the time
    scale: float  # [-] from the rows' leakage to the house's
    assumptions: tuple[str | Sentence, ...] = ()  # what was taken where the survey is silent

    @property
    def pressures(self) -> HousePressures:
        """Indoor less outdoor pressure over the year [Pa]."""
        return self.year.pressures

    @cached_property
    def gains(self) -> tuple[JointGain, ...]:
        """Kinds of joint of all walls, the best per metre first."""
        return joint_gains([wall.leakage for wall in self.walls.values()], self.scale)

    def infiltration(self, flow_50: float) -> Floats:
        """Outdoor air that enters a house with ``flow_50`` [m3/s], fans included [m3/s]."""
        return _with_fans(self.year, flow_50, self.fans)

    def monthly(self, flow_50: float, balanced: float = 0.0) -> MonthlyAir:
        """Outdoor air by month with leakage ``flow_50`` and ``balanced`` ventilation [m3/s]."""
        return _monthly(self.year, flow_50, self.fans, balanced)

    def room_with(self, removed: float, balanced: float = 0.0) -> Room:
        """The room with a share ``removed`` [-] of the leakage and ``balanced`` fans [m3/s] more.

        The same living as today. What is left of the leakage is rounded down to a twentieth and
        the fans to a litre a second, so that small changes of the plan judge no wall anew.
        """
        if removed <= 0.0 and balanced <= 0.0:
            return self.room
        left = max(math.floor((1.0 - removed) / LEAKAGE_STEP + 1e-9), 1) * LEAKAGE_STEP
        fans = math.floor(balanced / FAN_STEP + 1e-9) * FAN_STEP
        if (left, fans) not in self._rooms:  # the plans of a house make few that differ
            self._rooms[left, fans] = self.room_at(left, fans)
        return self._rooms[left, fans]

    @cached_property
    def _rooms(self) -> dict[tuple[float, float], Room]:
        """Rooms asked for before, by what is left of the leakage and the fans [m3/s]."""
        return {}

    def room_at(self, left: float, balanced: float = 0.0, release: float | None = None) -> Room:
        """The room with a share ``left`` [-] of today's leakage, nothing rounded."""
        air = self.monthly(self.leakage.flow_50.best * left, balanced)
        given = self.living.release.best if release is None else release
        return room_of(self.house, given, air, self.room.assumption)


def _with_fans(year: Year, flow_50: float, fans: float) -> Floats:
    """Outdoor air through leaks and fans that only exhaust [m3/s], shape (n_hours,)."""
    flow = year.unit_flow * flow_50
    return np.asarray(np.hypot(flow, fans) if fans else flow)


def _monthly(year: Year, flow_50: float, fans: float, balanced: float = 0.0) -> MonthlyAir:
    """Means of each month; a month that the weather lacks is taken like the coldest one."""
    weather, flow = year.weather, _with_fans(year, flow_50, fans) + balanced
    vapour = np.asarray(humid_air.vapour_pressure(weather.temperature, weather.humidity))
    month = weather.month - 1
    hours = np.bincount(month, minlength=12)
    coldest = min(
        np.flatnonzero(hours), key=lambda k: float(weather.temperature[month == k].mean())
    )

    def means(values: Floats) -> tuple[float, ...]:
        sums = np.bincount(month, weights=values, minlength=12)
        there = np.where(hours > 0, sums / np.maximum(hours, 1), sums[coldest] / hours[coldest])
        return tuple(there.tolist())

    return MonthlyAir(means(weather.temperature), means(vapour), means(flow))


def house_air(
    house: House,
    walls: Sequence[Wall],
    frames: Sequence[Frame],
    catalog: Catalog,
    weather: HourlyClimate,
    room: Room | None = None,
    joints: Sequence[WallLeakage] | None = None,
) -> HouseAir:
    """Air of a surveyed house before anything is done.

    Parameters
    ----------
    house : House
        The house as surveyed.
    walls, frames : sequence
        Its walls, and each framed, in the same order.
    catalog : Catalog
        For the leakage of joints.
    weather : HourlyClimate
        A year of weather.
    room : Room, optional
        Room air today; by the house's balance of water when not given.
    joints : sequence of WallLeakage, optional
        Those of the frames, where they are known already.

    Returns
    -------
    HouseAir
        Leakage [m3/s at 50 Pa], its spread over the joints, hourly pressures [Pa].

    Raises
    ------
    InputError
        A fan test that cannot be used, or unequal numbers of walls and frames.
    """
    if len(walls) != len(frames):
        read = f"{len(walls)} walls, {len(frames)} frames"
        raise InputError([Fault("house air", read, "one frame for each wall")])
    gross, ceiling = outside_surface(house.volume, house.storeys, house.floor_area)
    # to the millimetre, so that houses alike share a year of pressures
    height = round(min(max(house.volume / ceiling, 1.5), 40.0), 3)
    site = _site(house, height)
    leakage = _leakage(house, height)
    temperature = house.indoor_temperature if room is None else room.temperature
    year = _one_of_its_kind(Year(leakage.exponent, weather, temperature, site))
    fans = house.mechanical_ventilation or 0.0
    living, today = _lived_in(house, leakage, year, fans, room)
    covered = min(1.0, sum(frame.gross_area for frame in frames) / gross)
    joints = joints or [wall_leakage(frame, catalog) for frame in frames]
    whole = sum(one.open.best for one in joints)
    scale = leakage.area.best * WALL_SHARE[1] * covered / whole if whole else 0.0
    case = _Case(whole, leakage, covered, year, scale)
    return HouseAir(
        house=house,
        weather=weather,
        room=today,
        living=living,
        site=site,
        volume=house.volume,
        leakage=leakage,
        covered=covered,
        walls={w.name: _wall_air(w, one, case) for w, one in zip(walls, joints, strict=True)},
        year=year,
        fans=fans,
        scale=scale,
        assumptions=_assumptions(house, site, covered, leakage),
    )


def _lived_in(
    house: House, leakage: HouseLeakage, year: Year, fans: float, room: Room | None
) -> tuple[Living, Room]:
    """What the people give off, and the room that it makes today."""
    flow = leakage.flow_50
    least, best, most = (_monthly(year, q, fans) for q in (flow.low, flow.best, flow.high))
    if room is None:
        living = living_of(house, best, least, most)
        return living, room_of(house, living.release.best, best, living.basis)
    released = sorted(
        one.release(room.vapour_pressure, room.temperature) for one in (least, best, most)
    )
    return Living(Band(*released), "reading", room.assumption), room


def _site(house: House, height: float) -> Site:
    """The house as air meets it, from what the survey says of its surroundings."""
    around, top = house.around, house.around.open_flue
    return Site(
        height=height,
        storeys=house.storeys,
        shelter_class=SHELTERS.index(around.shelter) + 1,
        terrain=around.terrain,
        foundation=around.foundation,
        flue=0.0 if top is None else open_flue_share(house.storeys),
        flue_height=top or 0.0,
    )


@dataclass(frozen=True)
class _Case:
    whole: float  # [m2] open leakage area of all surveyed walls by their rows
    leakage: HouseLeakage
    covered: float
    year: Year
    scale: float  # [-] from the rows' leakage to the house's


def _assumptions(
    house: House, site: Site, covered: float, leakage: HouseLeakage
) -> tuple[str | Sentence, ...]:
    flue = say("no open flue.")
    if house.around.open_flue is not None:
        flue = say(
            "an open flue, {share} of the leakage, its top {height} above the lowest floor.",
            share=Figure(site.flue, "share"),
            height=Figure(site.flue_height, "span"),
        )
    said: list[str | Sentence] = [
        leakage.basis,
        say(
            "Terrain: {terrain}; shelter class {shelter} ({around}); on a {foundation}; {height} "
            "from the lowest floor to the highest ceiling; {flue}",
            terrain=site.terrain,
            shelter=f"{site.shelter_class}",
            around=house.around.shelter,
            foundation=site.foundation,
            height=Figure(site.height, "span"),
            flue=flue,
        ),
    ]
    if house.floor_area is None:
        storey = Figure(2.6, "span")
        said.append(say("The floor area is not given: storeys of {h} are taken.", h=storey))
    if covered < 1.0:
        text = (
            "{share} of the house's outside walls were surveyed, by its size; they are taken to "
            "hold that share of what all walls leak."
        )
        said.append(say(text, share=Figure(covered, "share")))
    return tuple(said)


def _leakage(house: House, height: float) -> HouseLeakage:
    test = house.fan_test
    if test is None:
        floor = house.floor
        return leakage_from_age(house.year_built, floor, height, house.draughts)
    return leakage_from_test(fan_law(test))


def _wall_air(wall: Wall, joints: WallLeakage, case: _Case) -> WallAir:
    opened, sealed = wall_band(joints.leaks, case.whole, case.leakage, case.covered)
    site = case.year.site
    base = max(wall.storey - 1, 0) * site.height / site.storeys
    drive = WallDrive(case.year, wall.faces, base, case.scale)
    removed = removed_by(joints.leaks, case.whole, case.covered)
    return WallAir(joints, opened, sealed, removed, drive)


def _by_height(leaks: Sequence[JointLeak]) -> dict[float, tuple[float, float]]:
    """Leakage areas open and sealed [m2] by height [m] of their joints, in bands."""
    bands: dict[float, tuple[float, float]] = {}
    for leak in leaks:
        height = round(leak.height / HEIGHT_STEP) * HEIGHT_STEP
        opened, sealed = bands.get(height, (0.0, 0.0))
        best = min(leak.sealed.best, leak.open.best)
        bands[height] = (opened + leak.open.best, sealed + best)
    return bands


def joint_gains(walls: Sequence[WallLeakage], scale: float = 1.0) -> tuple[JointGain, ...]:
    """Joints by kind, the kind that pays most per metre of sealing first.

    Parameters
    ----------
    walls : sequence of WallLeakage
        Joints of one wall or several.
    scale : float
        From the rows' leakage to the house's [-].

    Returns
    -------
    tuple of JointGain
        Lengths [m], leakage areas [m2].
    """
    kinds: dict[str, JointGain] = {}
    for leak in (leak for wall in walls for leak in wall.leaks):
        kind = leak.joint.kind
        so_far = kinds.get(kind, JointGain(kind, leak.row.name, 0.0, 0.0, 0.0))
        kinds[kind] = JointGain(
            kind,
            so_far.name,
            so_far.length + leak.joint.length,
            so_far.open + leak.open.best * scale,
            so_far.sealed + min(leak.sealed.best, leak.open.best) * scale,
        )
    gains = (gain for gain in kinds.values() if gain.length > 0.0)
    return tuple(sorted(gains, key=lambda gain: -gain.per_metre))
