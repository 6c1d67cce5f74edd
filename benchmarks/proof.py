"""How well faults of a foamed wall are found in thermal pictures whose truth is known.

Thin, missing and leaky bays are put into the field itself, with wood, film and workmanship off as
they are in life; a camera with noise, drift, offset, blur, tilt and lens takes pictures of the
room side, and the program looks at them without knowing. ``./bench proof`` prints what it found.
``--fields N`` and ``--pictures N`` set how many walls and pictures each; ``--difference K`` the
temperature difference, ``--camera K`` the camera.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict
from dataclasses import dataclass, replace

import numpy as np

from warmside.catalog import load
from warmside.framing import Rect, frame_wall
from warmside.options import BuildUp, Stack, aligned, as_built, offered
from warmside.physics.conduction import ISO_FILMS, wall_field, wall_heat, warm
from warmside.physics.thermography import Camera
from warmside.proof import (
    Conditions,
    Faults,
    Lens,
    Prediction,
    Stand,
    compare,
    corners_seen,
    look,
    pictured,
    predict,
)
from warmside.proof._prediction import resampled
from warmside.survey import AsFound, FoundLayer, House, Opening, Wall

CELLS = 250_000
SEVERITIES = {"missing": 0.0, "a quarter": 0.25, "half": 0.5, "three quarters": 0.75}
LEAKS = {"leak, strong": 1.0, "leak, weak": 0.25}  # [W/(m K)] of the strip that air runs through
STRIP = 0.012  # [m]
ROOM, PLANNED = 21.0, 0.0762


@dataclass(frozen=True)
class Truth:
    """A wall as it really is: foam by bay, leaks, and the factor of its room side."""

    thickness: dict[str, float]
    severity: dict[str, str]
    leaks: dict[str, str]
    factor: np.ndarray


def case() -> tuple[Wall, Prediction]:
    """A 6.4 m wall with a window, 2x4 studs, 3 in. of closed-cell foam planned."""
    catalog = load()
    house = House(name="bench", climate="north-bay", year_built=1931, volume=300)
    wall = Wall(
        name="long side", year_built=1955, faces=0, frame="platform", length=6.4, height=2.44,
        found=AsFound(
            sheathing=(FoundLayer(material="board-sheathing"),), paper="building-paper",
            cladding=FoundLayer(material="wood-bevel-siding"),
        ),
        openings=(Opening(name="window", left=2.6, sill=0.9, width=1.0, height=1.2),),
    )  # fmt: skip
    frame = frame_wall(wall, house, catalog.lumber)
    option = next(o for o in offered(wall, house, catalog) if o.id == "cc-76")
    return wall, predict(option, wall, frame, catalog)


def truth(wall: Wall, p: Prediction, n: int) -> Truth:
    """A wall with one fault of every severity, two leaks, and the rest sound.

    What is off for the whole wall is drawn in pairs of opposite sign, so that few walls suffice.
    """
    rng, sign = np.random.default_rng(n), (-1.0) ** n
    off = sign * np.random.default_rng(10_000 + n // 2).standard_normal(2)
    frame = p.frame
    tall = [b for b in frame.bays if b.kind == "stud bay" and b.rect.width > 0.2]
    faulty = list(rng.permutation([b.name for b in tall]))
    severity = dict(zip(faulty, SEVERITIES, strict=False))
    leaks = dict(zip(faulty[len(SEVERITIES) :], LEAKS, strict=False))
    thickness = {}
    for bay in frame.bays:
        share = SEVERITIES.get(severity.get(bay.name, ""), 1.0)
        work = 0.003 * rng.standard_normal() if share else 0.0
        thickness[bay.name] = float(np.clip(share * PLANNED + work, 0.0, bay.depth))
    built = as_built(p.option, wall, frame, load(), thickness)
    times = 1.0 + 0.1 * off[0]
    built = replace(built, stacks=tuple(with_wood(s, times) for s in built.stacks))
    for name, kind in leaks.items():
        r = next(b.rect for b in frame.bays if b.name == name)
        built = leaky(built, Rect(r.x0, r.z0, r.x1, r.z0 + STRIP), LEAKS[kind])
    films = replace(ISO_FILMS, inside=ISO_FILMS.inside * (1.0 + 0.1 * off[1]))
    heat = wall_heat(wall_field(built, films=films, cells=CELLS, tolerance=1e-6))
    return Truth(thickness, severity, leaks, resampled(heat, p.x, p.z).astype(float))


def with_wood(stack: Stack, times: float) -> Stack:
    layers = tuple(
        replace(y, conductivity=y.conductivity * times)
        if y.role == "wood" and y.conductivity
        else y
        for y in stack.layers
    )
    return replace(stack, layers=layers)


def leaky(build_up: BuildUp, strip: Rect, conductivity: float) -> BuildUp:
    """The bay's foot, where air passes between foam and plate: it conducts as moving air does."""
    stacks = []
    for stack in build_up.stacks:
        hit = [r for r in stack.rects if r.x0 <= strip.x0 < r.x1 and r.z0 <= strip.z0 < r.z1]
        if not hit:
            stacks.append(stack)
            continue
        r = hit[0]
        rest = (*(o for o in stack.rects if o is not r), Rect(r.x0, strip.z1, r.x1, r.z1))
        stacks.append(replace(stack, rects=rest, area=sum(o.area for o in rest)))
        layers = tuple(
            replace(y, conductivity=conductivity) if y.role in ("foam", "gap") else y
            for y in stack.layers
        )
        stacks.append(replace(stack, rects=(strip,), area=strip.area, layers=layers))
    return replace(build_up, stacks=aligned(stacks))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fields", type=int, default=25)
    parser.add_argument("--pictures", type=int, default=4)
    parser.add_argument("--difference", type=float, default=20.0)
    parser.add_argument("--camera", type=float, default=0.1)
    asked = parser.parse_args()
    warm()
    begun = time.process_time()
    wall, p = case()
    print(f"{p.frame.length:g} m wall, {len(p.frame.bays)} bays, {PLANNED * 1e3:.0f} mm planned; "
          f"prediction {time.process_time() - begun:.1f} s of work")  # fmt: skip
    tally = Tally()
    for n in range(asked.fields):
        real = truth(wall, p, n)
        for k in range(asked.pictures):
            one_picture(p, real, n, k, asked, tally)
    tally.show(asked)


class Tally:
    """What was found of what there was."""

    def __init__(self) -> None:
        self.found: dict[str, list[bool]] = defaultdict(list)
        self.errors: dict[str, list[float]] = defaultdict(list)
        self.covered: dict[str, list[bool]] = defaultdict(list)
        self.false_joints: list[bool] = []
        self.seconds: list[float] = []
        self.misplaced: list[float] = []
        self.refused = 0

    def show(self, asked: argparse.Namespace) -> None:
        print(f"{asked.difference:g} K difference, {asked.camera:g} K camera, "
              f"{len(self.seconds)} pictures, {self.refused} refused; "
              f"{np.median(self.seconds):.2f} s of work a picture")  # fmt: skip
        print(f"off the wall after rectifying, root mean square: median "
              f"{np.median(self.misplaced) * 1e3:.1f} mm, nine in ten below "
              f"{np.quantile(self.misplaced, 0.9) * 1e3:.1f} mm")  # fmt: skip
        print(f"{'bays':16}{'number':>8}{'found':>10}{'median error':>15}{'mean error':>13}"
              f"{'90 % band covers':>19}")  # fmt: skip
        for name in (*SEVERITIES, *LEAKS, "sound"):
            found = self.found[name]
            told = f"{sum(found) / len(found):10.1%}"
            line = f"{name:16}{len(found):8d}{told}"
            if self.errors[name]:
                errors = np.array(self.errors[name]) * 1e3
                line += f"{np.median(errors):12.1f} mm{errors.mean():10.1f} mm"
                line += f"{np.mean(self.covered[name]):19.1%}"
            print(line + ("   (false alarms)" if name == "sound" else ""))
        errors = np.array([e for v in self.errors.values() for e in v]) * 1e3
        covered = np.mean([c for v in self.covered.values() for c in v])
        print(f"{'all bays':16}{errors.size:8d}{'':10}{np.median(errors):12.1f} mm"
              f"{errors.mean():10.1f} mm{covered:19.1%}")  # fmt: skip
        print(f"false alarms along joints: {np.mean(self.false_joints):.2%} of "
              f"{len(self.false_joints)}")  # fmt: skip


def one_picture(
    p: Prediction, real: Truth, n: int, k: int, asked: argparse.Namespace, tally: Tally
) -> None:
    seed = 1000 * n + k
    rng = np.random.default_rng(seed)
    air = (-1.0) ** n * np.random.default_rng([n // 2, k]).standard_normal(2)
    outside = ROOM - asked.difference
    stand = Stand(
        x=3.2 + 0.1 * rng.standard_normal(), z=1.22, distance=5.6 + rng.random(),
        turned=float(rng.uniform(-30, 30)), raised=float(rng.uniform(-5, 8)),
        lens=Lens(float(rng.uniform(-0.12, 0.05))),
    )  # fmt: skip
    faults = Faults(asked.camera, asked.camera, float(rng.standard_normal()), 0.7)
    picture = pictured(
        outside + asked.difference * real.factor, p, stand, room=ROOM, faults=faults,
        around=ROOM - 1.0, seed=seed,
    )  # fmt: skip
    told = Conditions(ROOM + 0.5 * float(air[0]), outside + float(air[1]))
    marks = corners_seen(stand, p, error=1.0, seed=seed)
    begun = time.process_time()
    try:
        seen = look(picture, marks, p, told, lens=stand.lens)
    except ValueError:
        tally.refused += 1
        return
    proof = compare(seen, p, told, Camera(contrast=asked.camera))
    tally.seconds.append(time.process_time() - begun)
    x, z = (g.ravel() for g in np.meshgrid(np.linspace(0.1, 6.3, 9), np.linspace(0.1, 2.3, 5)))
    off = seen.view.places(stand.view.pixels(x, z)) - np.stack([x, z], axis=-1)
    tally.misplaced.append(float(np.sqrt((off**2).sum(axis=1).mean())))
    leaking = {b.rect.x0: (b.rect.x0, b.rect.x1) for b in p.frame.bays if b.name in real.leaks}
    for bay in proof.bays:
        if bay.thickness is None or bay.low is None or bay.high is None:
            continue
        name = real.severity.get(bay.bay, "sound")
        if bay.bay not in real.leaks:
            tally.found[name].append(bay.seen != "as predicted" if name == "sound"
                                     else bay.seen == "colder")  # fmt: skip
        t = real.thickness[bay.bay]
        tally.errors[name].append(bay.thickness - t)
        tally.covered[name].append(bay.low - 5e-4 <= t <= bay.high + 5e-4)
    cold = [j for j in proof.joints if j.seen == "colder" and j.at]
    for name, kind in real.leaks.items():
        r = next(b.rect for b in p.frame.bays if b.name == name)
        hit = any(r.x0 - 0.1 <= j.at[0] <= r.x1 + 0.1 and j.at[1] < r.z0 + 0.15
                  for j in cold if j.at)  # fmt: skip
        bay = proof.bay(name)
        tally.found[kind].append(hit or bay.seen == "colder")
    for j in proof.joints:
        if j.seen == "not seen":
            continue
        low = j.at is not None and j.at[1] < 0.2
        near = j.at is not None and any(
            a - 0.15 <= j.at[0] <= b + 0.15 for a, b in leaking.values()
        )
        if j.kind != "plate to floor":
            tally.false_joints.append(j.seen == "colder" and not (low and near))


if __name__ == "__main__":
    main()
