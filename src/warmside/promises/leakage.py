"""Leakage joint by joint, open and sealed, by the catalog's rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from warmside.catalog import Catalog, JointRow
from warmside.framing import Frame, Joint
from warmside.physics.airflow import Band, Leak, add


@dataclass(frozen=True)
class JointLeak(Leak):
    """One joint's effective leakage area at 4 Pa [m2], open and sealed, by its row."""

    joint: Joint
    row: JointRow

    @property
    def height(self) -> float:
        """Of the joint's middle above the wall's foot [m]."""
        return (self.joint.line[1] + self.joint.line[3]) / 2.0


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
    return WallLeakage(frame.wall, tuple(_leaks(frame, catalog)))


def _leaks(frame: Frame, catalog: Catalog) -> Iterator[JointLeak]:
    holes = {hole.name: hole.rect for hole in frame.holes}
    perimeters: dict[str, float] = {}
    for joint in frame.joints:
        if joint.kind == "opening perimeter" and joint.opening:
            perimeters[joint.opening] = perimeters.get(joint.opening, 0.0) + joint.length
    for joint in frame.joints:
        row = catalog.for_kind(joint.kind)
        amount = {"m": joint.length, "each": 1.0, "m2": 0.0}[row.unit]
        if row.unit == "m2" and joint.opening:
            # the sides of an opening share its area by their length
            amount = holes[joint.opening].area * joint.length / perimeters[joint.opening]
        opened = Band(row.open_low, row.open_best, row.open_high).times(amount)
        sealed = Band(row.sealed_low, row.sealed_best, row.sealed_high).times(amount)
        yield JointLeak(opened, sealed, joint, row)
