"""What a thermal picture proves, on pictures of another renderer, class by class of disturbance.

``renderer.py`` knows nothing of the prediction. Every wall has two empty and two half-filled bays;
the rest is sound within 3 mm. What nobody knows of a wall is drawn evenly over every 36 of them, so
run whole blocks. Bays of one wall share its wood, films and camera, so intervals are Wilson's at
95 % for as many independent bays as the scatter between walls leaves (design effect), as wide as
were the walls drawn one by one.
Refused are pictures that cannot be used, and those that by their own doubts would miss more than
one half-filled bay in twenty: they prove nothing and need a person. In the others such bays count
as untold, and neither as found nor as missed. ``--first`` moves the seeds: those below 9000 are for
tuning.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

import proof_algebra as algebra
import renderer as second
from record import record
from warmside.errors import InputError
from warmside.physics.thermography import Camera
from warmside.proof import (
    ENOUGH,
    Conditions,
    Mark,
    Picture,
    Prediction,
    Reading,
    Region,
    ThermalProof,
    checked,
    compare,
    look,
    read_toned,
    rules,
    weak,
)

PLANNED = 0.0762
SHARES = {"missing": 0.0, "half": 0.5}
SPAN = {
    "plain": {},
    "layers 0.25 K/m": {"gradient": 0.25}, "layers 0.5 K/m": {"gradient": 0.5},
    "layers 1 K/m": {"gradient": 1.0},
    "drift": {"vignette": 0.5, "drift": 0.1},
    "10 K": {"difference": 10.0}, "30 K": {"difference": 30.0},
    "sun gone 1 h": {"sun": 1.0}, "sun gone 3 h": {"sun": 3.0}, "sun gone 6 h": {"sun": 6.0},
    "warm-up": {"warmed": 5.0},
    "palette": {}, "furniture": {},
}  # fmt: skip
COLOURS = 0.3, 0.9  # [-] of the sun taken up by light and by dark faces (EN ISO 52016-1)
TARGETS = {"missing": ">= 99", "half": ">= 95", "sound": "<= 1", "covered": "85 to 95"}


@dataclass(frozen=True)
class Counts:
    """Of one picture: bays found and looked at by kind, band right, refused, seconds of work."""

    kind: str
    wall: int
    found: dict[str, tuple[int, int]]
    refused: bool
    met: bool  # the published conditions
    seconds: float


@cache
def case() -> Prediction:
    """A wall of 2x4 studs with a window, 3 in. of closed-cell foam planned."""
    return algebra.case("long")[1]


def truth(p: Prediction, n: int, past: bool) -> tuple[second.Rendered, dict[str, str], dict]:
    """Wall ``n`` as it really is: solved, faults by bay, foam by bay [m]."""
    rng = np.random.default_rng([n, 1])
    tall = [b.name for b in p.frame.bays if b.kind == "stud bay" and b.rect.width > 0.2]
    faulty = dict(zip(rng.permutation(tall), ("missing", "half") * 2, strict=False))
    foam = {
        b.name: float(np.clip(
            SHARES.get(faulty.get(b.name, ""), 1.0) * PLANNED
            + (0.0 if faulty.get(b.name) == "missing" else 0.003 * rng.standard_normal()),
            0.0, b.depth,
        ))
        for b in p.frame.bays
    }  # fmt: skip
    scatter = second.Scatter.drawn(n, rng, 12)
    depth = p.frame.bays[0].depth
    return second.rendered(p.frame, foam, scatter, depth=depth, past=past), faulty, foam


def weather(rng: np.random.Generator, difference: float, sun: float, warmed: float,
            gradient: float) -> second.Weather:  # fmt: skip
    """Three days that end with the picture."""
    hours = np.arange(-72.0, 0.01, 0.5)
    room, phase = 21.0, rng.uniform(0, 24)
    steady = not (sun or warmed)
    swing = (1.0 if steady else 3.0) * np.sin(2 * np.pi * (hours - phase) / 24)
    outside = room - difference + swing - swing[-1]
    shines = np.zeros_like(hours)
    if sun:
        for day in (0, 24, 48):
            ended = -sun - day
            up = (hours > ended - 6.0) & (hours < ended)
            shines += np.where(up, 450.0 * np.sin(np.pi * (hours - ended + 6.0) / 6.0), 0.0)
    took = float(rng.uniform(1.0, 3.0))
    eased = float(rng.uniform(1.0, 3.0))  # a thermostat lets go as it comes near
    inside = room - warmed * np.clip(-hours / took, 0.0, 1.0) ** eased
    bow = 0.1 * gradient * rng.standard_normal()
    return second.Weather(
        hours, outside, np.maximum(shines, 0.0), inside, gradient, bow, float(rng.uniform(*COLOURS))
    )


def pictures(asked: tuple[int, int, tuple[str, ...]]) -> list[Counts]:
    """All classes of one wall."""
    n, each, names = asked
    p = case()
    wall, faulty, foam = truth(p, n, any(k.startswith(("sun", "warm")) for k in names))
    return [one(p, wall, faulty, foam, kind, [n, k]) for kind in names for k in range(each)]


def one(p: Prediction, wall: second.Rendered, faulty: dict[str, str], foam: dict[str, float],
        kind: str, seed: list[int]) -> Counts:  # fmt: skip
    """Take one picture, look at it, count."""
    rng = np.random.default_rng([*seed, list(SPAN).index(kind)])
    s = {"difference": 20.0, "gradient": float(rng.uniform(0, 0.15)), "sun": 0.0, "warmed": 0.0,
         "vignette": 0.15, "drift": 0.04, **SPAN[kind]}  # fmt: skip
    w = weather(rng, s["difference"], s["sun"], s["warmed"], s["gradient"])
    eye = second.Eye(
        x=3.2 + 0.2 * rng.standard_normal(), z=1.22, distance=5.7 + rng.random(),
        turned=float(rng.uniform(-25, 25)), raised=float(rng.uniform(-4, 6)),
        k=float(rng.uniform(-0.08, 0.02)), noise=float(rng.uniform(0.04, 0.09)),
        offset=float(rng.standard_normal()), vignette=s["vignette"] * rng.standard_normal(),
        drift=s["drift"],
    )  # fmt: skip
    air = float(w.room[-1])
    things = second.furnished(p.frame.length, air, rng) if kind == "furniture" else ()
    around = second.Surroundings(
        air - 2.0 - s["gradient"], air + s["gradient"], air - 0.5, 12.0, things
    )
    seen = second.taken(wall, second.surface(wall, w), eye, around, rng)
    told = Conditions(air, w.outside[-1])
    told = replace(
        told,
        room=air + told.room_doubt * rng.standard_normal(),
        outside=w.outside[-1] + told.outside_doubt * rng.standard_normal(),
        **noted(w, s, rng),
    )
    size = p.frame.length, p.frame.height
    marks = [
        Mark(*(np.array(eye.pixel(x, z)) + rng.standard_normal(2)).tolist(), x, z)
        for x, z in ((0.0, 0.0), (size[0], 0.0), size, (0.0, size[1]))
    ]
    regions = [painted(thing, eye, rng) for thing in things]
    begun = time.process_time()
    try:
        shot = false_colour(seen, rng) if kind == "palette" else checked(seen)
        camera = Camera(contrast=max(0.1, shot.quantum))
        proof = compare(look(shot, marks, p, told, regions=regions), p, told, camera)
    except InputError:
        met = not weak(rules(told))
        return Counts(kind, seed[0], {}, True, met, time.process_time() - begun)
    spent = time.process_time() - begun
    return counted(proof, faulty, foam, Counts(kind, seed[0], {}, False, False, spent))


def counted(
    proof: ThermalProof, faulty: dict[str, str], foam: dict[str, float], of: Counts
) -> Counts:
    """What a proof found of what there was."""
    *conditions, power = proof.rules
    of = replace(of, met=not weak(tuple(conditions)), refused=not power.met)
    if of.refused:
        return of
    found: dict[str, tuple[int, int]] = defaultdict(lambda: (0, 0))
    for bay in proof.bays:
        if bay.chance is None:
            continue
        name, untold = faulty.get(bay.bay, "sound"), bay.chance < ENOUGH
        hits = {"untold": untold} if name != "missing" else {}
        if name == "missing" or (name == "half" and not untold):
            hits[name] = bay.seen == "colder"
        if bay.thickness is not None and bay.low is not None and bay.high is not None:
            hits["covered"] = bay.low - 1e-4 <= foam[bay.bay] <= bay.high + 1e-4
            if name == "sound":
                hits[name] = bay.seen != "as predicted"
        for key, hit in hits.items():
            found[key] = found[key][0] + hit, found[key][1] + 1
    return replace(of, found=dict(found))


def false_colour(seen: np.ndarray, rng: np.random.Generator) -> Picture:
    """The picture as a camera's JPEG, taken in as such: its palette inverted by the bar in it."""
    coldest, warmest = (round(float(v), 1) for v in (seen.min() - 0.1, seen.max() + 0.1))
    return read_toned(second.painted(seen, coldest, warmest, rng), coldest, warmest)


def painted(thing: second.Thing, eye: second.Eye, rng: np.random.Generator) -> Region:
    """What a person paints out: the thing with what it warms, each side off by some pixels."""
    away = 0.03 + (0.25 if thing.glow else 0.0)
    corners = np.array([
        eye.pixel(x, z) for x in (thing.x0 - away, thing.x1 + away)
        for z in (thing.z0 - away, thing.z1 + away)
    ])  # fmt: skip
    low, high = corners.min(axis=0), corners.max(axis=0)
    low, high = low + rng.uniform(-3, 1, 2), high + rng.uniform(-1, 3, 2)
    return Region(*low.tolist(), *high.tolist(), thing.what)


def noted(w: second.Weather, s: dict, rng: np.random.Generator) -> dict[str, object]:
    """What was written down on site of the hours before: a few readings, each off by its own."""
    hours = [1.0, 3.0, 6.0, 12.0, 24.0, 48.0] if s["warmed"] or s["sun"] else [6.0, 12.0, 24.0]

    def at(series: np.ndarray, ago: float) -> float:
        return float(np.interp(-ago, w.hours, series))

    off = 0.7 * rng.standard_normal(len(hours)), 0.3 * rng.standard_normal(len(hours))
    share = max(1.0 + 0.2 * rng.standard_normal(), 0.0)  # of the sun: colour, haze, shade
    past = tuple(
        Reading(h, at(w.outside, h) + a, at(w.room, h) + b, None if s["sun"] else 0.0)
        for h, a, b in zip(hours, *off, strict=True)
    )  # fmt: skip
    if s["sun"]:  # hour by hour from a station, at half hours where readings stand
        past += tuple(
            Reading(float(h) + 0.25, sun=share * at(w.sun, float(h) + 0.25)) for h in range(48)
        )
    return {
        "wind": 2.0, "hours_without_sun": s["sun"] or 24.0, "hours_dry": 48.0,
        "hours_steady": 24.0, "hours_room_held": 0.0 if s["warmed"] else 72.0,
        "outside_swing": float(np.ptp(w.outside[-49:])), "camera_on": 20.0, "past": past,
        "outside_colour": ("light", "middling", "dark")[int(np.digitize(w.taken_up, (0.45, 0.75)))],
    }  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--walls", type=int, default=second.EVEN)
    parser.add_argument("--pictures", type=int, default=2)
    parser.add_argument("--first", type=int, default=28 * second.EVEN)
    parser.add_argument("--only", nargs="*", default=list(SPAN))
    parser.add_argument("--cores", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="file of counts: a run cut short goes on")
    asked = parser.parse_args()
    counts = _kept(asked.keep)
    done = {c.wall for c in counts}
    jobs = [(n, asked.pictures, tuple(asked.only))
            for n in range(asked.first, asked.first + asked.walls) if n not in done]  # fmt: skip
    with ProcessPoolExecutor(asked.cores) as pool:
        for some in pool.map(pictures, jobs):
            counts += some
            if asked.keep:
                with asked.keep.open("a", encoding="utf-8") as lines:
                    lines.write(json.dumps([asdict(c) for c in some]) + "\n")
    walls = len({c.wall for c in counts})
    print(f"{walls} walls from {asked.first} on, {asked.pictures} pictures a class each; "
          "share in % with its 95 % interval")  # fmt: skip
    heads = (f"{k} ({t})" for k, t in TARGETS.items())
    print(f"{'':18}" + "".join(f"{h:>28}" for h in heads) + f"{'untold':>8}{'refused':>20}{'s':>7}")
    for kind in asked.only:
        mine = [c for c in counts if c.kind == kind]
        cells = []
        for key, target in TARGETS.items():
            share = Share.of(mine, key)
            cells.append(str(share))
            if share.bays:
                record(f"{key}, {kind}", 100.0 * share.hits / share.bays, "%", target=target)
        untold, refused = Share.of(mine, "untold").hits, sum(c.refused for c in mine)
        most = 10 if np.mean([c.met for c in mine]) > 0.5 else 30
        spent = np.median([c.seconds for c in mine])
        print(
            f"{kind:18}"
            + "".join(f"{c:>28}" for c in cells)
            + f"{untold:8}{f'{refused} of {len(mine)}, <= {most} %':>20}{spent:7.1f}"
        )
        record(f"refused, {kind}", 100.0 * refused / len(mine), "%", target=f"<= {most}")
        record(f"work for one picture, {kind}", float(spent), "s", target="<= 2")


def _kept(file: Path | None) -> list[Counts]:
    """Counts of walls that an earlier run of the same question was done with."""
    if file is None or not file.exists():
        return []
    rows = [one for line in file.read_text("utf-8").splitlines() for one in json.loads(line)]
    return [Counts(**row) for row in rows]


@dataclass(frozen=True)
class Share:
    """``hits`` of ``bays``; ``design`` is the variance of that share over what it would be were
    every bay drawn by itself (ratio estimate over walls; Cochran, Sampling Techniques, 1977, from
    memory), never below 1.
    """

    hits: int
    bays: int
    design: float

    @classmethod
    def of(cls, counts: list[Counts], key: str) -> Share:
        walls: dict[int, np.ndarray] = defaultdict(lambda: np.zeros(2))
        for c in counts:
            walls[c.wall] += c.found.get(key, (0, 0))
        each = np.array(list(walls.values())).reshape(-1, 2)
        hits, bays = (int(v) for v in each.sum(axis=0))
        p = hits / max(bays, 1)
        if len(each) < 2 or not 0 < hits < bays:
            return cls(hits, bays, 1.0)
        rest = each[:, 0] - p * each[:, 1]
        between = len(each) / (len(each) - 1) * float(rest @ rest) / bays**2
        return cls(hits, bays, max(1.0, between / (p * (1.0 - p) / bays)))

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's, 95 %, for ``bays / design`` independent bays."""
        n, p, z = self.bays / self.design, self.hits / self.bays, 1.959964
        middle = (p + z * z / (2 * n)) / (1 + z * z / n)
        half = z / (1 + z * z / n) * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
        return float(max(middle - half, 0.0)), float(min(middle + half, 1.0))

    def __str__(self) -> str:
        if not self.bays:
            return "none"
        low, high = self.interval
        share = 100 * self.hits / self.bays
        return f"{share:.1f} ({100 * low:.1f}-{100 * high:.1f}) of {self.bays}"


if __name__ == "__main__":
    main()
