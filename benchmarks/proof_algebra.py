"""How well faults of a foamed wall are found in thermal pictures whose truth is known.

Thin, missing and leaky bays are put into the field itself, with wood, film and workmanship off as
they are in life; a camera with noise, drift, offset, blur, tilt and lens takes pictures of the
room side, and the program looks at them without knowing. They come from the solver that predicts,
so this tests the algebra alone; ``./bench proof`` judges. ``./bench proof_algebra`` prints figures.
``--fields N`` and ``--pictures N`` set how many walls and pictures each, ``--first N`` with which
wall to begin, ``--wall`` which wall it is; ``--difference K`` sets the temperature difference,
``--camera K`` the camera, ``--lens unknown`` leaves its lens to be found.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from record import record
from warmside.catalog import load
from warmside.framing import frame_wall
from warmside.geometry import Rect
from warmside.options import BuildUp, aligned, as_built, offered
from warmside.physics.conduction import ISO_FILMS, wall_field, wall_heat, warm
from warmside.physics.thermography import Camera
from warmside.proof import (
    Conditions,
    Faults,
    Lens,
    Look,
    Prediction,
    Stand,
    ThermalProof,
    compare,
    corners_seen,
    look,
    pictured,
    predict,
)
from warmside.proof.prediction import conducting, resampled, usual_foam
from warmside.survey import AsFound, FoundLayer, House, Wall

CELLS = 1_500_000  # a stud against a bay is then right to 0.0005 K, 0.1 mm of foam
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


WALLS = {
    "long": {
        "length": 6.4, "height": 2.44,
        "openings": [{"name": "window", "left": 2.6, "sill": 0.9, "width": 1.0, "height": 1.2}],
    },
    "wide": {  # studs 0.61 m apart, a door and a small window
        "length": 5.5, "height": 2.6, "spacing": 0.61,
        "openings": [
            {"name": "door", "kind": "door", "left": 3.9, "sill": 0.0, "width": 0.9, "height": 2.0},
            {"name": "window", "left": 1.5, "sill": 1.2, "width": 0.7, "height": 0.8},
        ],
    },
}  # fmt: skip


def case(name: str) -> tuple[Wall, Prediction]:
    """A wall of 2x4 studs, 3 in. of closed-cell foam planned."""
    catalog = load()
    house = House(name="bench", climate="north-bay", year_built=1931, volume=300)
    wall = Wall.model_validate(
        {
            "name": name, "year_built": 1955, "faces": 0, "frame": "platform",
            "found": AsFound(
                sheathing=(FoundLayer(material="board-sheathing"),), paper="building-paper",
                cladding=FoundLayer(material="wood-bevel-siding"),
            ),
            **WALLS[name],
        }
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
    catalog = load()
    built = usual_foam(as_built(p.option, wall, frame, catalog, thickness), catalog)
    built = conducting(built, 1.0 + 0.1 * off[0], "wood")
    for name, kind in leaks.items():
        r = next(b.rect for b in frame.bays if b.name == name)
        built = leaky(built, Rect(r.x0, r.z0, r.x1, r.z0 + STRIP), LEAKS[kind])
    films = replace(ISO_FILMS, inside=ISO_FILMS.inside * (1.0 + 0.1 * off[1]))
    heat = wall_heat(wall_field(built.assembly, films=films, cells=CELLS, tolerance=1e-6))
    return Truth(thickness, severity, leaks, resampled(heat, p.x, p.z).astype(float))


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


@dataclass
class Seen:
    """What was found in the pictures of two walls whose common faults are of opposite sign."""

    found: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    errors: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))  # [m]
    covered: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    off_joints: list[bool] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    misplaced: list[float] = field(default_factory=list)  # [m] root mean square of a picture
    told: list[float] = field(default_factory=list)  # [m] that it said of itself
    slanting: list[float] = field(default_factory=list)  # [m] of those 25 degrees off and more
    refused: int = 0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--fields", type=int, default=24)
    parser.add_argument("--pictures", type=int, default=4)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--wall", choices=WALLS, default="long")
    parser.add_argument("--lens", choices=("known", "unknown"), default="known")
    parser.add_argument("--difference", type=float, default=20.0)
    parser.add_argument("--camera", type=float, default=0.1)
    asked = parser.parse_args()
    warm()
    begun = time.process_time()
    wall, p = case(asked.wall)
    print(f"{p.frame.length:g} m wall, {len(p.frame.bays)} bays, {PLANNED * 1e3:.0f} mm planned; "
          f"prediction {time.process_time() - begun:.1f} s of work")  # fmt: skip
    pairs: dict[int, Seen] = defaultdict(Seen)
    for n in range(asked.first, asked.first + asked.fields):
        real = truth(wall, p, n)
        for k in range(asked.pictures):
            one_picture(p, real, n, k, asked, pairs[n // 2])
    show(list(pairs.values()), asked)


class NothingError(Exception):
    """No such bay in the walls that were drawn."""


Measure = Callable[[list[Seen]], float]


def interval(pairs: list[Seen], measure: Measure) -> tuple[float, float]:
    """Nine in ten values of a measure, were other pairs of walls drawn (bootstrap by pairs).

    Bays of a picture share its offset, and pictures of a wall its wood: they are drawn together.
    """
    rng = np.random.default_rng(0)
    drawn = rng.integers(len(pairs), size=(500, len(pairs)))
    values = [measure([pairs[k] for k in one]) for one in drawn]
    return float(np.nanquantile(values, 0.05)), float(np.nanquantile(values, 0.95))


def pooled(pairs: list[Seen], what: str, names: Iterable[str]) -> np.ndarray:
    """One list of all pairs' bays of those kinds."""
    values = [v for one in pairs for name in names for v in getattr(one, what)[name]]
    if not values:
        raise NothingError
    return np.array(values, float)


def share(what: str, *names: str) -> Measure:
    return lambda pairs: 100.0 * float(np.mean(pooled(pairs, what, names)))


def middle(*names: str) -> Measure:
    """Median error [mm]: the measure of bias.

    Errors are symmetric in temperature. Thickness is a monotone function of it, which keeps the
    median where it is, cut off at the bay's depth or not; a mean it would shift both ways.
    """
    return lambda pairs: 1e3 * float(np.median(pooled(pairs, "errors", names)))


def mean(*names: str) -> Measure:
    return lambda pairs: 1e3 * float(np.mean(pooled(pairs, "errors", names)))


def listed(what: str, quantile: float = 0.5) -> Measure:
    def measure(pairs: list[Seen]) -> float:
        values = [v for one in pairs for v in getattr(one, what)]
        return 1e3 * float(np.quantile(values, quantile)) if values else float("nan")

    return measure


FOAM = (*SEVERITIES, "sound")
# what is measured, its unit, and what is to be reached
FIGURES: tuple[tuple[str, str, Measure, str], ...] = (
    ("missing bay found", "%", share("found", "missing"), ">= 99"),
    ("bay at a quarter found", "%", share("found", "a quarter"), ""),
    ("bay at half found", "%", share("found", "half"), ">= 90"),
    ("bay at three quarters found", "%", share("found", "three quarters"), ""),
    ("strong leak found", "%", share("found", "leak, strong"), ""),
    ("weak leak found", "%", share("found", "leak, weak"), ""),
    ("false alarms, sound bays", "%", share("found", "sound"), "<= 1"),
    ("false alarms, joints", "%", lambda pairs: 100.0 * float(
        np.mean([v for one in pairs for v in one.off_joints])), ""),
    *((f"thickness error, {name}", "mm", middle(name), "") for name in FOAM),
    ("thickness error, all", "mm", middle(*FOAM), "0 within"),
    *((f"its mean, {name}", "mm", mean(name), "") for name in FOAM),
    ("its mean, all", "mm", mean(*FOAM), ""),
    *((f"90 % band covers, {name}", "%", share("covered", name), "") for name in FOAM),
    ("90 % band covers, all", "%", share("covered", *FOAM), "85 to 95"),
    ("off the wall", "mm", listed("misplaced"), "<= 5"),
    ("off the wall, nine in ten", "mm", listed("misplaced", 0.9), ""),
    ("off the wall, 25 to 30 degrees", "mm", listed("slanting"), "<= 5"),
    ("off the wall, as told", "mm", listed("told"), ""),
    ("work for one picture", "ms", listed("seconds"), ""),
)  # fmt: skip


def show(pairs: list[Seen], asked: argparse.Namespace) -> None:
    """Every figure beside its interval and what is to be reached."""
    pictures = sum(len(one.seconds) for one in pairs)
    print(f"{asked.difference:g} K difference, {asked.camera:g} K camera, lens {asked.lens}, "
          f"{pictures} pictures of {asked.fields} walls from {asked.first} on, "
          f"{sum(one.refused for one in pairs)} refused; foam of leaking bays is not judged\n"
          f"{'':34}{'measured':>10}{'nine in ten':>26}   to reach")  # fmt: skip
    for name, unit, measure, target in FIGURES:
        try:
            value, (low, high) = measure(pairs), interval(pairs, measure)
        except NothingError:
            print(f"{name:34}{'none':>10}")
            continue
        print(f"{name:34}{value:10.1f}{f'{low:.1f} to {high:.1f} {unit}':>26}   {target}")
        record(f"{name}, {asked.wall} wall", value, unit, target=target)


def one_picture(
    p: Prediction, real: Truth, n: int, k: int, asked: argparse.Namespace, seen: Seen
) -> None:
    """Take one picture of a wall, look at it, and note what was found."""
    seed = 1000 * n + k
    rng = np.random.default_rng(seed)
    air = (-1.0) ** n * np.random.default_rng([n // 2, k]).standard_normal(2)
    outside = ROOM - asked.difference
    long, high = p.frame.length, p.frame.height
    stand = Stand(
        x=long / 2.0 + 0.1 * rng.standard_normal(), z=high / 2.0,
        distance=0.875 * long + rng.random(), turned=float(rng.uniform(-30, 30)),
        raised=float(rng.uniform(-5, 8)), lens=Lens(float(rng.uniform(-0.12, 0.05))),
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
        found = look(picture, marks, p, told, lens=stand.lens if asked.lens == "known" else None)
    except ValueError:
        seen.refused += 1
        return
    proof = compare(found, p, told, Camera(contrast=asked.camera))
    seen.seconds.append(time.process_time() - begun)
    note_place(found, stand, p, seen)
    note_bays(proof, real, seen)
    note_joints(proof, real, p, seen)


def note_place(found: Look, stand: Stand, p: Prediction, seen: Seen) -> None:
    across, up = p.frame.length - 0.1, p.frame.height - 0.1
    grid = np.meshgrid(np.linspace(0.1, across, 9), np.linspace(0.1, up, 5))
    x, z = (g.ravel() for g in grid)
    off = found.view.places(stand.view.pixels(x, z)) - np.stack([x, z], axis=-1)
    seen.misplaced.append(float(np.sqrt((off**2).sum(axis=1).mean())))
    seen.told.append(found.misplaced)
    if abs(stand.turned) >= 25.0:
        seen.slanting.append(seen.misplaced[-1])


def note_bays(proof: ThermalProof, real: Truth, seen: Seen) -> None:
    """Foam of every bay that does not leak."""
    for bay in proof.bays:
        if bay.thickness is None or bay.low is None or bay.high is None or bay.bay in real.leaks:
            continue
        name = real.severity.get(bay.bay, "sound")
        alarm = bay.seen != "as predicted" if name == "sound" else bay.seen == "colder"
        seen.found[name].append(alarm)
        t = real.thickness[bay.bay]
        seen.errors[name].append(bay.thickness - t)
        seen.covered[name].append(bay.low <= t <= bay.high)


def note_joints(proof: ThermalProof, real: Truth, p: Prediction, seen: Seen) -> None:
    """Leaks, found along a joint or by their bay, and joints that are wrongly called cold."""
    rects = {b.name: b.rect for b in p.frame.bays}
    cold = [j.at for j in proof.joints if j.seen == "colder" and j.at]
    for name, kind in real.leaks.items():
        r = rects[name]
        hit = any(r.x0 - 0.1 <= x <= r.x1 + 0.1 and z < r.z0 + 0.15 for x, z in cold)
        seen.found[kind].append(hit or proof.bay(name).seen == "colder")
    for j in proof.joints:
        if j.seen == "not seen" or j.kind == "plate to floor":
            continue
        beside = j.at is not None and j.at[1] < 0.2 and any(
            rects[name].x0 - 0.15 <= j.at[0] <= rects[name].x1 + 0.15 for name in real.leaks
        )  # fmt: skip
        seen.off_joints.append(j.seen == "colder" and not beside)


if __name__ == "__main__":
    main()
