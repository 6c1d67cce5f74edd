"""Leakage joint by joint, before and after sealing, and how it adds up to the house."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from warmside.catalog import Catalog, JointRow
from warmside.errors import Fault, InputError
from warmside.framing import Frame, Joint

# Share of a house's leakage area that lies in its walls: 18-50 %, mean 35 %.
# Source: ASHRAE Handbook Fundamentals 2021, ch. 16, after Dickerhoff 1982, Harrje & Born 1982.
WALL_SHARE = (0.18, 0.35, 0.50)
# Effective leakage area at 4 Pa per m2 of exposed surface [m2/m2]: low, best, high.
# Source: ASHRAE Handbook Fundamentals 2021, chapter 17, table 3.
SURFACE_LEAKAGE = {
    "before 1940": (5.6e-4, 10.4e-4, 15.6e-4),  # very leaky; the high end is an assumption
    "1940 to 1970": (2.8e-4, 5.6e-4, 10.4e-4),
    "after 1970": (1.4e-4, 2.8e-4, 5.6e-4),
}


@dataclass(frozen=True)
class Band:
    """A figure with what it may be at least and at most.

    Bands add end to end: joints of one house, made by one crew, err the same way.
    """

    low: float
    best: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.best <= self.high < float("inf"):
            read = f"{self.low:g}, {self.best:g}, {self.high:g}"
            raise InputError([Fault("band", read, "0 <= low <= best <= high")])

    def __add__(self, other: Band) -> Band:
        return Band(self.low + other.low, self.best + other.best, self.high + other.high)

    def times(self, factor: float) -> Band:
        """Every figure times ``factor`` [-]."""
        return Band(self.low * factor, self.best * factor, self.high * factor)


NONE = Band(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class JointLeak:
    """One joint's effective leakage area at 4 Pa [m2], open and sealed."""

    joint: Joint
    row: JointRow
    amount: float  # in the row's unit: m, each, m2 of opening
    open: Band
    sealed: Band

    @property
    def saved_per_metre(self) -> float:
        """Leakage area that a metre of sealing takes away [m2/m]."""
        return (self.open.best - self.sealed.best) / self.joint.length


@dataclass(frozen=True)
class WallLeakage:
    """All joints of one wall."""

    wall: str
    leaks: tuple[JointLeak, ...]

    @cached_property
    def open(self) -> Band:
        """Before sealing [m2]."""
        return add(leak.open for leak in self.leaks)

    @cached_property
    def sealed(self) -> Band:
        """After sealing and spraying [m2]."""
        return add(leak.sealed for leak in self.leaks)

    def by_kind(self) -> dict[str, tuple[float, Band, Band]]:
        """Length [m], open and sealed leakage [m2] of each kind of joint, worst first."""
        kinds: dict[str, tuple[float, Band, Band]] = {}
        for leak in self.leaks:
            length, open_, sealed = kinds.get(leak.joint.kind, (0.0, NONE, NONE))
            kinds[leak.joint.kind] = (
                length + leak.joint.length,
                open_ + leak.open,
                sealed + leak.sealed,
            )
        return dict(sorted(kinds.items(), key=lambda item: -item[1][1].best))


def add(bands: Iterable[Band]) -> Band:
    """Sum of bands, end to end."""
    total = NONE
    for band in bands:
        total = total + band
    return total


def wall_leakage(frame: Frame, catalog: Catalog) -> WallLeakage:
    """Leakage of every joint, opening perimeter, box and pipe of a wall.

    Parameters
    ----------
    frame : Frame
        The framed wall.
    catalog : Catalog
        For its joint rows: effective leakage areas at 4 Pa, discharge coefficient 1.

    Returns
    -------
    WallLeakage
        One entry per joint [m2].

    Raises
    ------
    UnknownRowError
        A kind of joint without a row.
    """
    holes = {hole.name: hole.rect for hole in frame.holes}
    perimeters: dict[str, float] = {}
    for joint in frame.joints:
        if joint.kind == "opening perimeter" and joint.opening:
            perimeters[joint.opening] = perimeters.get(joint.opening, 0.0) + joint.length
    leaks = []
    for joint in frame.joints:
        row = catalog.for_kind(joint.kind)
        amount = {"m": joint.length, "each": 1.0, "m2": 0.0}[row.unit]
        if row.unit == "m2" and joint.opening:
            # the sides of an opening share its area by their length
            amount = holes[joint.opening].area * joint.length / perimeters[joint.opening]
        leaks.append(
            JointLeak(
                joint,
                row,
                amount,
                Band(row.open_low, row.open_best, row.open_high).times(amount),
                Band(row.sealed_low, row.sealed_best, row.sealed_high).times(amount),
            )
        )
    return WallLeakage(frame.wall, tuple(leaks))


def calibrated(
    walls: Sequence[WallLeakage], house_area: float, share: float = WALL_SHARE[1]
) -> tuple[WallLeakage, ...]:
    """Scale the joints so that the walls hold their share of a measured leakage area.

    Sealing scales with it: a joint twice as leaky as the table's leaves twice as much behind.

    Parameters
    ----------
    walls : sequence of WallLeakage
        All outside walls of the house.
    house_area : float
        Measured effective leakage area at 4 Pa [m2].
    share : float
        Share of it in the walls [-].

    Returns
    -------
    tuple of WallLeakage
        Same joints, scaled.
    """
    total = sum(wall.open.best for wall in walls)
    if not (total > 0.0 and house_area > 0.0):
        read = f"joints {total:g} m2, house {house_area:g} m2"
        raise InputError([Fault("leakage, calibration", read, "both above zero")])
    factor = house_area * share / total
    return tuple(
        WallLeakage(
            wall.wall,
            tuple(
                JointLeak(
                    leak.joint,
                    leak.row,
                    leak.amount,
                    leak.open.times(factor),
                    leak.sealed.times(factor),
                )
                for leak in wall.leaks
            ),
        )
        for wall in walls
    )


def surface_leakage(year_built: int, exposed_surface: float) -> Band:
    """Leakage area of a house without a fan test, by age and exposed surface.

    Parameters
    ----------
    year_built : int
        Year of construction.
    exposed_surface : float
        Walls, windows and top ceiling above ground [m2].

    Returns
    -------
    Band
        Effective leakage area at 4 Pa [m2].
    """
    era = (
        "before 1940"
        if year_built < 1940
        else "1940 to 1970"
        if year_built < 1970
        else "after 1970"
    )
    return Band(*SURFACE_LEAKAGE[era]).times(exposed_surface)


def ranked(walls: Sequence[WallLeakage]) -> tuple[tuple[str, JointLeak], ...]:
    """Joints of all walls with their wall's name, the one that pays most per metre first."""
    every = [(wall.wall, leak) for wall in walls for leak in wall.leaks]
    return tuple(sorted(every, key=lambda pair: -pair[1].saved_per_metre))


def carried_water(
    flow: float, indoor_humidity_ratio: float, surface_humidity_ratio: float, density: float = 1.2
) -> float:
    """Water that leaking room air leaves on a cold face: ``g = rho Q max(w_i - w_s, 0)``.

    An upper bound: the air is taken to leave saturated at the temperature of the face, and the
    face is not warmed by it.

    Parameters
    ----------
    flow : float
        Air through the leak [m3/s].
    indoor_humidity_ratio : float
        Humidity ratio of the room air [kg/kg].
    surface_humidity_ratio : float
        Humidity ratio of saturated air at the face [kg/kg].
    density : float
        Density of the leaking air [kg/m3].

    Returns
    -------
    float
        Water left behind [kg/s].
    """
    return density * flow * max(indoor_humidity_ratio - surface_humidity_ratio, 0.0)
