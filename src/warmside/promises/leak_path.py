"""The way of leaking air through a wall: which joint, how much the fill lets by, what it wets.

A joint's air is driven by the pressures of the house, throttled by the fill it must pass, and comes
into balance with the sheathing over some width beside the joint (`SPREAD`). The way with the best
figure of each is the likely one; without throttling, and all on a narrow strip, it is the bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from warmside.options import BuildUp
from warmside.physics.airflow import STANDARD_DENSITY, flow_coefficient
from warmside.physics.assembly import Stack
from warmside.promises.air import HouseAir
from warmside.promises.leakage import JointLeak
from warmside.promises.tightness import face_factor, joint_areas, seals_joints
from warmside.survey import Wall

Floats = NDArray[np.float64]
# [m] across which the air of a joint comes into balance with the sheathing, taken as if all of it
# passed there; the length of a bay or more, since much of it leaves by shorter ways, over and under
# the plates. The one factor that is fitted, and to one field study alone: walls of 96 houses in
# Portland, Oregon, opened empty, with cellulose and with mineral wool and found without damage
# (Tsongas 1980). All other measured walls are tests of it.
SPREAD = 3.0
STRIP = 0.4  # [m] of the bound: about a bay; own figure
# [-] between the amounts of air that are told apart. What a joint leaks is known to a third at
# best; a window moved elsewhere in the house changes it by a thousandth: hardly an hour runs anew.
LEAK_STEP = 0.01
HOLE = 0.4  # [m] of joint that a box or a short joint counts as: a bay; own figure
ELSEWHERE = frozenset({"penetration"})  # through a plate: up or down, not out to the sheathing
# Leakage of frame walls at 75 Pa [m3/(s m2)]: empty 2 to 20 L/(s m2), filled with cellulose at
# 56 kg/m3 0.2 to 1.0 (laboratory, BSI-043, second-hand); their geometric means.
EMPTY_75, DENSE_75 = 6.3e-3, 0.45e-3
DENSE = 56.0  # [kg/m3]
# What the dense fill itself lets by, behind the cracks of an empty wall, straight in the flow.
FILL_75 = 1.0 / (1.0 / DENSE_75 - 1.0 / EMPTY_75)
# Fibres let by more air the lighter they are packed. Cellulose passes about a tenth of what light
# glass batts of 12 kg/m3 pass (from memory), which is this power of the density.
FINER = 1.5
# Loose grains let by what light batts do: shavings of 100 kg/m3 pass 11 500e-12 m2, mineral wool
# of 10 kg/m3 7 500e-12 (Nevander and Elmarsson 1994, in lecture notes).
GRAINS, LIGHT = frozenset({"vermiculite-loose", "wood-shavings"}), 12.0  # [kg/m3]
# Shrunken foam leaves a way beside the studs (4 to 9 % of its width, NBS TN 1131, 1980).
SHRUNKEN = frozenset({"urea-formaldehyde-foam"})


@dataclass(frozen=True, eq=False)
class WorstJoint:
    """The joint whose air can leave most water on the cold side for its length."""

    name: str
    kind: str
    length: float  # [m]; of a box what it counts as
    coefficient: float  # [m3/(s Pa^n)] with no fill behind it
    pushed: Floats  # [Pa^n] pressure on it to that power, out of the room positive, (n_hours,)
    passed: float = 1.0  # [-] share that the fill lets by
    along_wood: bool = False  # it runs along wood, not through a bay

    @property
    def flow(self) -> Floats:
        """With no fill behind it, out of the room where positive [m3/s], (n_hours,)."""
        return self.coefficient * self.pushed

    def leak(self, *, bound: bool = False) -> Floats:
        """Air that passes a square metre of the cold face [kg/(m2 s)], (n_hours,).

        Its amount is rounded to the next of steps `LEAK_STEP` apart.
        """
        share = 1.0 / STRIP if bound else self.passed / SPREAD
        whole, step = float(np.abs(self.pushed).sum()), math.log1p(LEAK_STEP)
        amount = STANDARD_DENSITY * share / self.length * self.coefficient * whole
        if amount == 0.0:
            return np.zeros_like(self.pushed)
        # nothing but the step is left of the joint's size: what is alike is so to the last bit
        return np.asarray(self.pushed * (math.exp(round(math.log(amount) / step) * step) / whole))


def worst_joint(
    build_up: BuildUp, wall: Wall, air: HouseAir, kind: str | None = None
) -> WorstJoint | None:
    """The joint whose air can leave most water per metre in the year; None without joints.

    What its air cannot hold at the cold face decides, behind the bay or behind the wood that it
    runs along; where nothing is left, the air alone. Boxes and short joints count as `HOLE` long;
    pipes through plates lead to other floors and are left out.

    Parameters
    ----------
    build_up : BuildUp
        What the wall is then; its joints sealed where the option seals them.
    wall : Wall
        The wall as surveyed.
    air : HouseAir
        Weather, room, pressures.
    kind : str, optional
        Only joints of this kind, "box" say.
    """
    return worst_joints([build_up], wall, air, kind)[0]


def worst_joints(
    build_ups: Sequence[BuildUp], wall: Wall, air: HouseAir, kind: str | None = None
) -> list[WorstJoint | None]:
    """`worst_joint` of every build-up of one wall."""
    found = []
    for build_up in build_ups:
        leaks = [
            (leak, area)
            for leak, area in joint_areas(build_up, wall, air)
            if leak.joint.kind not in ELSEWHERE and kind in (None, leak.joint.kind)
        ]
        found.append(_worst(build_up, leaks, throttle(build_up, wall, air), air))
    return found


def _worst(
    build_up: BuildUp,
    leaks: Sequence[tuple[JointLeak, float]],
    passed: float,
    air: HouseAir,
) -> WorstJoint | None:
    worst, most = None, (-1.0, -1.0)
    beside = any(
        layer.role == "foam" or layer.material in SHRUNKEN
        for stack in _bays(build_up)
        for layer in stack.layers
    )
    drive = air.walls[build_up.wall].drive
    room = air.room.temperature, air.room.vapour_pressure
    face = {wood: face_factor(build_up, wood) for wood in (False, True)}
    for leak, area in leaks:
        length = max(leak.joint.length, HOLE)
        wood = beside or _beside_fill(leak)
        let_by = 1.0 if wood else passed
        at = drive.faces, drive.base + leak.height
        lost = drive.year.leaving(*at, face[wood], *room)
        flow = flow_coefficient(area, drive.year.exponent)
        per_metre = flow * let_by / length
        danger = lost.water * per_metre, lost.air * per_metre
        if danger > most:
            of, pushed = leak.joint, drive.year.pushed(*at)
            worst, most = WorstJoint(of.name, of.kind, length, flow, pushed, let_by, wood), danger
    return worst


def throttle(build_up: BuildUp, wall: Wall, air: HouseAir) -> float:
    """Share of a bay's leak that its fill lets by [-].

    Resistances to air in series, those of the joints and that of the fill, each by its flow
    through a square metre of wall at 75 Pa: ``1 / (1 + q_joints / q_fill)``.

    Parameters
    ----------
    build_up : BuildUp
        What the wall is then.
    wall : Wall
        As surveyed. Old fill that was found slumped, hung loose or missing in places stops nothing.
    air : HouseAir
        Leakage of the house and its walls.

    Returns
    -------
    float
        Above 0, up to 1.
    """
    fill = _fill_flow(build_up)
    if fill is None:
        return 1.0
    part, n = air.walls[wall.name], air.leakage.exponent
    area = part.sealed.best if seals_joints(build_up) else part.open.best
    joints = flow_coefficient(area, n) * 75.0**n / build_up.frame.net_area
    return float(1.0 / (1.0 + joints / fill))


def _fill_flow(build_up: BuildUp) -> float | None:
    """Air through the fill of the bays at 75 Pa [m3/(s m2)]; None where nothing stops it."""
    bays = _bays(build_up)
    if not bays:
        return None
    layers = max(bays, key=lambda stack: stack.area).layers
    fills = [one for one in layers if one.role == "fill" and one.conductivity is not None]
    if not fills or any(one.role == "gap" for one in layers if not one.vented):
        return None
    passes = build_up.old_fill is not None and not build_up.old_fill.stops_air
    if fills[0].material in SHRUNKEN or passes:
        return None
    density = LIGHT if fills[0].material in GRAINS else fills[0].density
    return FILL_75 * float((DENSE / density) ** FINER)


def _bays(build_up: BuildUp) -> list[Stack]:
    return [stack for stack in build_up.stacks if stack.kind == "bay"]


def _beside_fill(leak: JointLeak) -> bool:
    """Whether the air runs along wood from face to face, past the bays: around windows, doors."""
    return leak.joint.kind == "opening perimeter"
