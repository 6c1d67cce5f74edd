"""Everything measured after the work, as plain data that a study can take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from warmside.framing import Frame
from warmside.proof.comparison import ThermalProof
from warmside.proof.fan_pictures import FanPicture
from warmside.proof.fan_tests import FanChange
from warmside.proof.foam import DensityProof, ThicknessProof
from warmside.proof.looks import BayLook, JointLook
from warmside.proof.meter import TrueReading

How = Literal["probed", "seen by the camera", "mean of the probes", "as planned"]


@dataclass(frozen=True)
class BayFoam:
    """The foam of one bay, and how it is known."""

    bay: str
    thickness: float  # [m]
    planned: float  # [m]
    how: How

    @property
    def short(self) -> float:
        """Foam that is missing [m]; 0 where none is."""
        return max(self.planned - self.thickness, 0.0)


@dataclass(frozen=True)
class LostPicture:
    """A picture that tells nothing, and why; the others of its wall count without it."""

    file: str
    why: str


@dataclass(frozen=True)
class MeasuredWall:
    """What was measured of one wall, and the foam that follows from it, bay by bay."""

    wall: str
    option: str  # id of the option that was built
    bays: tuple[BayFoam, ...]
    pictures: tuple[ThermalProof, ...] = ()
    fan_pictures: tuple[FanPicture, ...] = ()
    thickness: ThicknessProof | None = None
    moisture: tuple[TrueReading, ...] = ()
    lost: tuple[LostPicture, ...] = ()

    @property
    def foam(self) -> dict[str, float]:
        """Thickness by bay [m] where it is not as planned."""
        return {b.bay: b.thickness for b in self.bays if b.how != "as planned"}

    @property
    def leaks(self) -> tuple[JointLook, ...]:
        """Joints that were seen colder, each once, the coldest first."""
        found: dict[str, JointLook] = {}
        seen = [p.joints for p in self.fan_pictures] + [p.joints for p in self.pictures]
        for joint in (j for joints in seen for j in joints):
            if joint.seen == "colder":
                found.setdefault(joint.joint, joint)
        return tuple(sorted(found.values(), key=lambda j: j.streak or 0.0))

    @property
    def wrong(self) -> tuple[BayLook, ...]:
        """Bays that a picture shows colder or warmer than predicted."""
        return tuple(
            bay for p in self.pictures for bay in p.bays if bay.seen in ("colder", "warmer")
        )


@dataclass(frozen=True)
class Measured:
    """What was measured of a house after the work.

    ``humidity`` [-] is that of the room in winter, None where it was not read. ``synthetic`` marks
    data that nobody measured: those of the demonstration.
    """

    walls: tuple[MeasuredWall, ...] = ()
    fan: FanChange | None = None
    humidity: float | None = None
    density: DensityProof | None = None
    closed: date | None = None  # day on which the walls were closed
    synthetic: bool = False
    notes: tuple[str, ...] = field(default=())

    def wall(self, name: str) -> MeasuredWall | None:
        """What was measured of a wall, or None."""
        return next((wall for wall in self.walls if wall.wall == name), None)


def bay_foam(
    frame: Frame,
    planned: float,
    probed: Mapping[str, float],
    pictures: Sequence[ThermalProof] = (),
    least_probes: int = 3,
) -> tuple[BayFoam, ...]:
    """The foam of every bay, from the best that is known of it.

    A bay that was probed holds what the probe said. One that a picture shows off holds what the
    picture says, but never more than the probes say on the mean, nor than was sold: warmth tells
    of hot pipes and warm air as well as of foam. Every other bay holds what the probes say on the
    mean, where there are enough of them, and what was planned where not: a picture that agrees
    with the plan is no better than the plan.

    Parameters
    ----------
    frame : Frame
        The wall's framing.
    planned : float
        Foam sold [m].
    probed : mapping
        Mean of the probes by bay [m].
    pictures : sequence of ThermalProof
        Of that wall; those taken in weak conditions count too, and say so.
    least_probes : int
        From which their mean stands for bays that were not probed.
    """
    off = {
        look.bay: look.thickness
        for picture in pictures
        for look in picture.bays
        if look.seen in ("colder", "warmer") and look.part is None and look.thickness is not None
    }
    mean = sum(probed.values()) / len(probed) if len(probed) >= least_probes else None
    found = []
    for bay in frame.bays:
        plan = min(planned, bay.depth)
        if bay.name in probed:
            found.append(BayFoam(bay.name, probed[bay.name], plan, "probed"))
        elif bay.name in off:
            most = plan if mean is None else min(plan, mean)
            thick = min(off[bay.name], most)
            found.append(BayFoam(bay.name, thick, plan, "seen by the camera"))
        elif mean is not None:
            thick = min(mean, bay.depth)
            found.append(BayFoam(bay.name, thick, plan, "mean of the probes"))
        else:
            found.append(BayFoam(bay.name, plan, plan, "as planned"))
    return tuple(found)
