"""A second way from a wall to its picture, written apart from the one that proof predicts by.

Nothing of ``warmside.physics`` or of proof's own camera is used: the wall is read off its framing
alone, its materials are those of common tables with a scatter, and the field is that of vertices
(capacities and conductances gathered from the cells around each), where the prediction knows cells.
Films vary with height and from wall to wall, room air is layered, outdoors, sun and room may have
any past, and the camera has distortion by division, vignetting, slow drift and noise.

Linear in all that drives it, a wall is solved for a few units once: room air that is even, rises
evenly and is bowed over height, and steps of outdoor and room air with time.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.ndimage import gaussian_filter, map_coordinates
from scipy.sparse import csr_array, diags_array
from scipy.special import ndtri
from scipy.stats.qmc import LatinHypercube

from warmside.framing import Frame

Floats = npt.NDArray[np.float64]

# conductivity [W/(m K)], density [kg/m3], specific heat [J/(kg K)]: usual table values
GYPSUM, WOOD, FOAM, AIR = (0.16, 800, 1090), (0.12, 500, 1600), (0.024, 35, 1470), (0.0, 1.2, 1000)
# [W/(m K)] of framing lumber at 12 % moisture: Engelmann spruce, eastern white pine, balsam fir,
# white spruce; black spruce, lodgepole pine, white fir, jack pine; Douglas fir, western hemlock,
# larch, loblolly pine (Wood Handbook, Forest Products Laboratory, 2010, table 4-7; from memory)
LUMBER = (0.10, 0.10, 0.11, 0.11, 0.12, 0.12, 0.12, 0.13, 0.14, 0.14, 0.15, 0.15)
BOARDS, SIDING = (0.12, 500, 1600), (0.093, 500, 1600)
# [J/(m3 K)] least and most stored: gypsum board of 640 to 900 kg/m3, foam of 29 to 40 kg/m3 (1.8 to
# 2.5 lb/ft3), cladding of wood (ASHRAE, EN ISO 10456, data sheets; from memory)
STORED = {"gypsum": (0.70e6, 0.98e6), "foam": (0.043e6, 0.059e6), "siding": (0.47e6, 0.80e6)}
FINISH, SHEATHING, CLAD = 0.0127, 0.019, 0.013  # [m]
# unventilated air layers, heat flowing across: ISO 6946:2017, table 8
GAPS, GAP_R = (0.0, 0.005, 0.007, 0.010, 0.015, 0.025), (0.0, 0.11, 0.13, 0.15, 0.17, 0.18)
INSIDE, OUTSIDE = 1.0 / 0.13, 1.0 / 0.04  # [W/(m2 K)] ISO 6946
EVEN = 36  # walls that share the spread of walls evenly
HOURS = 72.0  # of past that a picture remembers
_SHARE = 1.0 - 0.5**0.5  # [-] of a step that each of its two stages takes


@dataclass(frozen=True, eq=False)
class Scatter:
    """What of a wall nobody knows: shares of the table values, and films over height."""

    wood: float = 1.0
    foam: float = 1.0
    gypsum: float = 1.0
    film: float = 1.0
    film_rise: float = 0.0  # [-] by which the film is better at the ceiling than at the floor
    film_ends: float = 0.0  # [-] by which it is worse in the outermost 0.15 m
    studs: tuple[float, ...] = ()  # [-] conductivity stud by stud
    boards: float = 1.0
    # [J/(m3 K)] that each stores
    wood_heat: float = WOOD[1] * WOOD[2]
    boards_heat: float = BOARDS[1] * BOARDS[2]
    gypsum_heat: float = GYPSUM[1] * GYPSUM[2]
    foam_heat: float = FOAM[1] * FOAM[2]
    siding_heat: float = SIDING[1] * SIDING[2]

    @classmethod
    def drawn(cls, n: int, rng: np.random.Generator, studs: int) -> Scatter:
        """Wall ``n`` of ordinary spread.

        Every 36 walls (n from a multiple of 36 on) are a Latin hypercube: each species three
        times, of everything else one from each 36th of its spread, all in random order (McKay,
        Beckman and Conover, Technometrics 21, 1979, from memory). What a wall's bays share is then
        no luck of the few walls drawn.
        """
        block, row = divmod(n, EVEN)
        even = LatinHypercube(7 + len(STORED), rng=np.random.default_rng([block, 3])).random(EVEN)
        species, others = even[row, :2], even[row, 2:]
        wood, boards = (LUMBER[int(share * len(LUMBER))] for share in species)
        foam, gypsum, film, rise = ndtri(others[:4]).tolist()
        heats = {
            f"{name}_heat": least + float(share) * (most - least)
            for share, (name, (least, most)) in zip(others[5:], STORED.items(), strict=True)
        }
        return cls(
            wood=wood / WOOD[0],
            foam=1.0 + 0.05 * foam,
            gypsum=1.0 + 0.08 * gypsum,
            film=1.0 + 0.07 * film,
            film_rise=0.08 * rise,
            film_ends=0.2 * float(others[4]),
            studs=tuple((1.0 + 0.04 * rng.standard_normal(studs)).tolist()),
            boards=boards / BOARDS[0],
            wood_heat=_wood_heat(wood),
            boards_heat=_wood_heat(boards),
            **heats,
        )


def _wood_heat(conductivity: float) -> float:
    """Heat [J/(m3 K)] of wood at 12 % moisture, which conducts 0.2429 G + 0.0186 by its specific
    gravity G and weighs 1120 G kg/m3 (Wood Handbook, 2010, chapter 4; from memory)."""
    return 1120.0 * (conductivity - 0.0186) / 0.2429 * WOOD[2]


@dataclass(frozen=True, eq=False)
class Rendered:
    """Room side of a wall at its vertices (nz, nx), unit by unit of what drives it."""

    x: Floats
    z: Floats
    even: Floats
    rising: Floats  # for each K/m about the middle of the height
    bowed: Floats  # for each K/m2 about it
    hours: Floats  # (n,) since a step
    outdoors: Floats  # (n, nz, nx) what a step of 1 K has done by then
    indoors: Floats
    holes: tuple[tuple[float, float, float, float], ...]


def rendered(
    frame: Frame, foam: dict[str, float], scatter: Scatter, *, depth: float, past: bool
) -> Rendered:
    """Solve a wall whose bays hold ``foam`` [m] against the sheathing."""
    grid = _Grid.of(frame, foam, scatter, depth)
    middle = grid.z.mean()
    h = grid.film(scatter)
    still = _System(grid, h, 0.0)
    shape = [np.ones_like(grid.z), grid.z - middle, (grid.z - middle) ** 2]
    fields = [still.solved(h * a[:, None] * grid.area, 0.0, None)[0] for a in shape]
    even, rising, bowed = (f[:, :, 0] for f in fields)
    hours: list[float] = [0.0]
    out, room = [np.zeros_like(even)], [np.zeros_like(even)]
    step, outside, inside = 200.0, np.zeros(grid.shape), np.zeros(grid.shape)
    while past and hours[-1] < HOURS:
        system = _System(grid, h, _SHARE * step)
        outside = system.stepped(np.zeros_like(grid.area), 1.0, outside)
        inside = system.stepped(h * grid.area, 0.0, inside)
        hours.append(hours[-1] + step / 3600.0)
        out.append(outside[:, :, 0].copy())
        room.append(inside[:, :, 0].copy())
        step = min(step * 1.25, 14400.0)
    holes = tuple((o.rect.x0, o.rect.z0, o.rect.x1, o.rect.z1) for o in frame.holes)
    return Rendered(
        grid.x, grid.z, even, rising, bowed, np.array(hours), np.array(out), np.array(room), holes
    )


@dataclass(frozen=True, eq=False)
class _Grid:
    """Vertices, and the conductivities and heat capacities of the cells between them.

    ``across`` and ``along`` (nz - 1, nx - 1, ny - 1) are conductivities through the wall and in
    its plane: a cell that foam fills in part has both in a row one way, side by side the other.
    """

    x: Floats
    z: Floats
    y: Floats
    across: Floats
    along: Floats
    capacity: Floats  # [J/(m3 K)]

    @classmethod
    def of(cls, frame: Frame, foam: dict[str, float], s: Scatter, depth: float) -> _Grid:
        rects = [(r.rect, r.kind, r.part) for r in frame.regions]
        x = _lines([v for r, _, _ in rects for v in (r.x0, r.x1)], 0.019, 0.08)
        z = _lines([v for r, _, _ in rects for v in (r.z0, r.z1)], 0.03, 0.3)
        y = np.concatenate([
            np.linspace(0.0, FINISH, 3), FINISH + np.linspace(0.0, depth, 8)[1:],
            FINISH + depth + np.array([0.5 * SHEATHING, SHEATHING, SHEATHING + CLAD]),
        ])  # fmt: skip
        xm, zm, ym = (0.5 * (v[1:] + v[:-1]) for v in (x, z, y))
        shape = (zm.size, xm.size, ym.size)
        across = np.full(shape, WOOD[0] * s.wood)
        along, capacity = across.copy(), np.full(shape, s.wood_heat)
        number = 0
        for r, kind, part in rects:
            inner = np.ix_((zm > r.z0) & (zm < r.z1), (xm > r.x0) & (xm < r.x1))
            if kind in ("bay", "pocket"):
                normal, plane, heat = _cavity(y, depth, foam.get(part, 0.0), s)
                across[inner], along[inner], capacity[inner] = normal, plane, heat
            elif kind == "stud" and s.studs:
                across[inner] *= s.studs[number % len(s.studs)]
                along[inner] *= s.studs[number % len(s.studs)]
                number += 1
        for hit, k, heat in (
            (ym < FINISH, GYPSUM[0] * s.gypsum, s.gypsum_heat),
            ((ym > FINISH + depth) & (ym < FINISH + depth + SHEATHING), BOARDS[0] * s.boards,
             s.boards_heat),
            (ym > FINISH + depth + SHEATHING, SIDING[0], s.siding_heat),
        ):  # fmt: skip
            across[:, :, hit], along[:, :, hit], capacity[:, :, hit] = k, k, heat
        return cls(x, z, y, across, along, capacity)

    @property
    def shape(self) -> tuple[int, int, int]:
        return self.z.size, self.x.size, self.y.size

    @property
    def area(self) -> Floats:
        """Of the surface that belongs to every vertex (nz, nx) [m2]."""
        return np.asarray(np.outer(_shares(self.z), _shares(self.x)))

    def film(self, s: Scatter) -> Floats:
        """Conductance of the inside film (nz, nx) [W/(m2 K)]."""
        high, long = self.z[-1], self.x[-1]
        up = 1.0 + s.film_rise * (2.0 * self.z / high - 1.0)
        near = np.exp(-np.minimum(self.z, high - self.z) / 0.15)
        side = np.exp(-np.minimum(self.x, long - self.x) / 0.15)
        return np.asarray(
            INSIDE * s.film * up[:, None] * (1.0 - s.film_ends * np.maximum(near[:, None], side))
        )


def _cavity(y: Floats, depth: float, foam: float, s: Scatter) -> tuple[Floats, Floats, Floats]:
    """Conductivities and capacity of the cells of one bay, through its depth."""
    gap = max(depth - foam, 0.0)
    air = gap / float(np.interp(gap, GAPS, GAP_R)) if gap > 1e-4 else 1.0
    share = np.clip((y[1:] - (FINISH + gap)) / np.diff(y), 0.0, 1.0)  # of every cell that is foam
    k = FOAM[0] * s.foam
    heat = share * s.foam_heat + (1.0 - share) * AIR[1] * AIR[2]
    return 1.0 / (share / k + (1.0 - share) / air), share * k + (1.0 - share) * 0.026, heat


def _lines(edges: list[float], near: float, far: float) -> Floats:
    """Vertices at every edge, close beside it and wider away from it."""
    marks = np.unique(np.round(edges, 5))
    marks = marks[np.diff(marks, prepend=-1.0) > 1e-4]
    lines = [marks[:1]]
    for a, b in pairwise(marks.tolist()):
        steps, at = [], 0.0
        while at < (b - a) / 2.0:
            steps.append(at)
            at += min(near * 1.5 ** (len(steps) - 1), far)
        half = np.array(steps) * ((b - a) / 2.0 / max(at, 1e-9))
        lines.append(np.concatenate([a + half[1:], [(a + b) / 2.0], b - half[:0:-1], [b]]))
    return np.asarray(np.concatenate(lines))


def _shares(at: Floats) -> Floats:
    d = np.diff(at)
    return np.concatenate([[d[0] / 2.0], (d[1:] + d[:-1]) / 2.0, [d[-1] / 2.0]])


def _gathered(cells: Floats, axes: tuple[int, ...]) -> Floats:
    """Sums over the cells that meet in every vertex of ``axes``."""
    for axis in axes:
        pad = [(0, 0)] * 3
        pad[axis] = (1, 1)
        wide = np.pad(cells, pad)
        n = wide.shape[axis]
        low = np.take(wide, range(n - 1), axis)
        cells = low + np.take(wide, range(1, n), axis)
    return cells


class _System:
    """``(C / dt + K) T = C / dt T_before + films``, by conjugate gradients along solved lines."""

    def __init__(self, grid: _Grid, h: Floats, step: float) -> None:
        self.grid, self.shape = grid, grid.shape
        dz, dx, dy = (np.diff(v) for v in (grid.z, grid.x, grid.y))
        volume = dz[:, None, None] * dx[None, :, None] * dy[None, None, :]
        links = [
            _gathered(k * volume / 4.0 / d**2, others)
            for k, d, others in (
                (grid.along, dz[:, None, None], (1, 2)),
                (grid.along, dx[None, :, None], (0, 2)),
                (grid.across, dy[None, None, :], (0, 1)),
            )
        ]
        self.stored = _gathered(grid.capacity * volume / 8.0, (0, 1, 2)) / step if step else None
        n = int(np.prod(self.shape))
        strides = (self.shape[1] * self.shape[2], self.shape[2], 1)
        diagonal = np.zeros(self.shape) if self.stored is None else self.stored.copy()
        diagonal[:, :, 0] += h * grid.area
        diagonal[:, :, -1] += OUTSIDE * grid.area
        offs = []
        for axis, link in enumerate(links):
            low, high = [slice(None)] * 3, [slice(None)] * 3
            low[axis], high[axis] = slice(None, -1), slice(1, None)
            whole = np.zeros(self.shape)
            whole[tuple(low)] = link
            diagonal[tuple(low)] += link
            diagonal[tuple(high)] += link
            offs.append(-whole.ravel()[: n - strides[axis]])
        both = [(offs[k], s) for k in range(3) for s in (strides[k], -strides[k])]
        values, places = zip((diagonal.ravel(), 0), *both, strict=True)
        self.matrix = csr_array(diags_array(values, offsets=places))
        band = np.zeros((2, n))
        band[1], band[0, 1:] = diagonal.ravel(), offs[2]
        self.lines = cholesky_banded(band, check_finite=False)

    def solved(self, room: Floats, outside: float, before: Floats | None) -> tuple[Floats, int]:
        """Field (nz, nx, ny) for heat ``room`` [W] at the room side and air outside [degC]."""
        right = np.zeros(self.shape)
        right[:, :, 0] += room
        right[:, :, -1] += OUTSIDE * self.grid.area * outside
        if self.stored is not None and before is not None:
            right += self.stored * before
        t = np.zeros(right.size) if before is None else before.ravel().copy()
        b = right.ravel()
        rest = b - self.matrix @ t
        p = z = cho_solve_banded((self.lines, False), rest, check_finite=False)
        rz, goal = rest @ z, 1e-5 * float(np.linalg.norm(b))
        for n in range(2000):
            if np.linalg.norm(rest) < goal:
                return t.reshape(self.shape), n
            q = self.matrix @ p
            a = rz / (p @ q)
            t += a * p
            rest -= a * q
            z = cho_solve_banded((self.lines, False), rest, check_finite=False)
            rz, old = rest @ z, rz
            p = z + rz / old * p
        raise RuntimeError("the second renderer did not converge")

    def stepped(self, room: Floats, outside: float, before: Floats) -> Floats:
        """Field a whole step later, this system being that of ``_SHARE`` of it.

        Two implicit stages, of second order and without ringing (Alexander, SIAM Journal on
        Numerical Analysis 14, 1977; from memory).
        """
        first = self.solved(room, outside, before)[0]
        rest = (1.0 - _SHARE) / _SHARE * (first - before)
        return self.solved(room, outside, before + rest)[0]


# --- what drives it


@dataclass(frozen=True, eq=False)
class Weather:
    """The past of a picture: hours before it (rising to 0), outdoor air with sun, and room air."""

    hours: Floats  # (n,) [h], the last 0
    outside: Floats  # (n,) [degC]
    sun: Floats  # (n,) [W/m2] on the wall
    room: Floats  # (n,) [degC]
    gradient: float = 0.0  # [K/m] of room air over height
    bow: float = 0.0  # [K/m2]
    taken_up: float = 0.65  # [-] of the sun by the cladding


def surface(wall: Rendered, w: Weather) -> Floats:
    """Room side (nz, nx) [degC] at the end of a past."""
    air = w.outside + w.taken_up * w.sun / OUTSIDE
    at = 0 if wall.hours.size > 1 else -1  # a wall without a past is as its last hour makes it
    steady = air[at] + (w.room[at] - air[at]) * wall.even
    for series, response in ((air, wall.outdoors), (w.room, wall.indoors)):
        for k in range(1, w.hours.size if wall.hours.size > 1 else 1):
            rise = series[k] - series[k - 1]
            if abs(rise) > 1e-9:  # a ramp between two readings
                steady = steady + rise * _mean(wall, response, -w.hours[k], -w.hours[k - 1])
    return np.asarray(steady + w.gradient * wall.rising + w.bow * wall.bowed)


def _mean(wall: Rendered, response: Floats, since: float, until: float) -> Floats:
    """Mean of a response over the hours after its step, straight between those it is solved at."""
    inner = wall.hours[(wall.hours > since) & (wall.hours < until)]
    at = np.concatenate([[since], inner, [until]])
    parts = np.diff(at) / (until - since)
    weight = np.concatenate([[0.0], parts]) + np.concatenate([parts, [0.0]])
    return np.asarray(
        sum(0.5 * g * _at(wall, response, t) for g, t in zip(weight, at, strict=True))
    )


def _at(wall: Rendered, response: Floats, since: float) -> Floats:
    k = int(np.clip(np.searchsorted(wall.hours, since), 1, wall.hours.size - 1))
    a, b = wall.hours[k - 1], wall.hours[k]
    share = min((since - a) / max(b - a, 1e-9), 1.0)
    return np.asarray(response[k - 1] + share * (response[k] - response[k - 1]))


# --- the camera


@dataclass(frozen=True, eq=False)
class Eye:
    """A camera before the wall; distortion by division, ``r_u = r_d / (1 + k r_d^2)``."""

    x: float
    z: float
    distance: float
    turned: float = 0.0  # [deg]
    raised: float = 0.0  # [deg]
    shape: tuple[int, int] = (240, 320)
    angle: float = 60.0  # [deg] across the columns
    k: float = -0.05  # [-] with r in half diagonals; below 0: barrel
    noise: float = 0.06  # [K]
    offset: float = 0.0  # [K]
    vignette: float = 0.0  # [K] at the corners
    drift: float = 0.0  # [K] standard deviation, over halves and thirds of the picture
    blur: float = 0.8  # [pixel]

    def rays(self, columns: Floats, rows: Floats) -> tuple[Floats, Floats]:
        """Places of the wall's plane that pixels look at [m]."""
        tall, wide = self.shape
        half = np.hypot(tall, wide) / 2.0
        u, v = (columns - (wide - 1) / 2.0) / half, (rows - (tall - 1) / 2.0) / half
        straight = 1.0 / (1.0 + self.k * (u**2 + v**2))
        focal = wide / 2.0 / np.tan(np.radians(self.angle) / 2.0) / half
        u, v = u * straight / focal, v * straight / focal
        a, b = np.radians(self.turned), np.radians(self.raised)
        # camera axes in (along the wall, into it, up)
        ahead = (np.sin(a) * np.cos(b), np.cos(a) * np.cos(b), -np.sin(b))
        right = (np.cos(a), -np.sin(a), 0.0)
        down = (-np.sin(a) * np.sin(b), -np.cos(a) * np.sin(b), -np.cos(b))
        d = [ahead[n] + u * right[n] + v * down[n] for n in range(3)]
        eye = (self.x - self.distance * ahead[0], -self.distance * ahead[1],
               self.z - self.distance * ahead[2])  # fmt: skip
        way = -eye[1] / d[1]
        return eye[0] + way * d[0], eye[2] + way * d[2]

    def pixel(self, x: float, z: float) -> tuple[float, float]:
        """Column and row of a place of the wall, by Newton's method on the rays."""
        at = np.array([(self.shape[1] - 1) / 2.0, (self.shape[0] - 1) / 2.0])
        for _ in range(60):
            here = np.array(self.rays(*at))
            jac = np.array([
                (np.array(self.rays(at[0] + 0.01, at[1])) - here) / 0.01,
                (np.array(self.rays(at[0], at[1] + 0.01)) - here) / 0.01,
            ]).T  # fmt: skip
            step = np.linalg.solve(jac, np.array([x, z]) - here)
            at = at + np.clip(step, -25.0, 25.0)
            if abs(step).max() < 1e-4:
                break
        return float(at[0]), float(at[1])


@dataclass(frozen=True, eq=False)
class Thing:
    """Something between camera and wall, at its own temperature: a sofa, a lamp, a radiator."""

    x0: float
    z0: float
    x1: float
    z1: float
    temperature: float
    glow: float = 0.0  # [K] by which it warms the wall around, 0.25 m far
    what: str = "furniture"


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What is not wall: floor, ceiling and side walls, and glass in the openings [degC]."""

    floor: float
    ceiling: float
    side: float
    glass: float
    things: tuple[Thing, ...] = field(default=())


def furnished(length: float, air: float, rng: np.random.Generator) -> tuple[Thing, ...]:
    """What stands before a wall of a lived-in room: a sofa, a radiator, a lamp, a picture."""
    left, lamp, hung = rng.uniform(0.1, length - 2.1), *rng.uniform(0.3, length - 0.9, 2)
    heater = float(rng.uniform(0.2, length - 1.2))
    return (
        Thing(left, -0.1, left + 1.8, 0.75, air - float(rng.uniform(0.0, 1.0))),
        Thing(heater, 0.12, heater + 1.0, 0.62, float(rng.uniform(35.0, 55.0)), 3.0, "radiator"),
        Thing(lamp, 1.3, lamp + 0.25, 1.6, float(rng.uniform(26.0, 40.0)), 1.5, "lamp"),
        Thing(hung, 1.4, hung + 0.6, 1.9, air - float(rng.uniform(1.0, 2.5)), 0.0, "other"),
    )  # fmt: skip


PALETTES = ("inferno", "viridis", "turbo", "jet", "plasma", "gray")  # Matplotlib's


def painted(seen: Floats, coldest: float, warmest: float, rng: np.random.Generator) -> bytes:
    """A JPEG as cameras write it: false colours, a scale bar, numbers and a cross over it all."""
    import io

    from matplotlib import colormaps
    from PIL import Image, ImageDraw

    colours = colormaps[str(rng.choice(PALETTES))]
    share = np.clip((seen - coldest) / (warmest - coldest), 0.0, 1.0)
    picture = (255.0 * colours(share)[..., :3]).round().astype(np.uint8)
    tall, wide = seen.shape
    bar = (255.0 * colours(np.linspace(1.0, 0.0, tall - 40))[:, None, :3]).round()
    picture[20 : tall - 20, wide - 16 : wide - 4] = bar.astype(np.uint8)
    image = Image.fromarray(picture)
    pen = ImageDraw.Draw(image)
    for row, number in ((6, warmest), (tall - 16, coldest)):
        pen.text((wide - 30, row), f"{number:.1f}", fill="white", stroke_width=1, stroke_fill=0)
    for a, b in (((-8, 0), (8, 0)), ((0, -8), (0, 8))):
        pen.line([(wide // 2 + a[0], tall // 2 + a[1]), (wide // 2 + b[0], tall // 2 + b[1])],
                 fill="white")  # fmt: skip
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=int(rng.integers(85, 97)))
    return buffer.getvalue()


def taken(
    wall: Rendered, skin: Floats, eye: Eye, around: Surroundings, rng: np.random.Generator
) -> Floats:
    """Apparent temperatures (rows, columns) [degC] at emissivity 1, of paint of 0.88 to 0.92."""
    tall, wide = eye.shape
    finer = 3
    r, c = (np.arange(n * finer) / finer - (finer - 1) / (2.0 * finer) for n in (tall, wide))
    columns, rows = np.meshgrid(c, r)
    x, z = eye.rays(columns, rows)
    i = np.interp(x, wall.x, np.arange(wall.x.size))
    k = np.interp(z, wall.z, np.arange(wall.z.size))
    seen = map_coordinates(skin, [k, i], order=1, mode="nearest")
    for thing in around.things:
        away = np.hypot(
            np.maximum(np.maximum(thing.x0 - x, x - thing.x1), 0.0),
            np.maximum(np.maximum(thing.z0 - z, z - thing.z1), 0.0),
        )
        seen = seen + thing.glow * np.exp(-((away / 0.12) ** 2))
    for x0, z0, x1, z1 in wall.holes:
        seen = np.where((x > x0) & (x < x1) & (z > z0) & (z < z1), around.glass, seen)
    seen = np.where((x < 0) | (x > wall.x[-1]), around.side, seen)
    seen = np.where(z > wall.z[-1], around.ceiling, np.where(z < 0, around.floor, seen))
    for thing in around.things:
        inside = (x > thing.x0) & (x < thing.x1) & (z > thing.z0) & (z < thing.z1)
        seen = np.where(inside, thing.temperature, seen)
    emissivity, mirrored = float(rng.uniform(0.88, 0.92)), around.side
    power = emissivity * (seen + 273.15) ** 4 + (1.0 - emissivity) * (mirrored + 273.15) ** 4
    read = (power**0.25 - 273.15).reshape(tall, finer, wide, finer).mean(axis=(1, 3))
    read = gaussian_filter(read, eye.blur)
    u, v = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, tall))
    read = read + eye.offset + eye.vignette * (u**2 + v**2) / 2.0
    if eye.drift:
        slow = sum(
            rng.standard_normal() / (1 + a + b)
            * np.cos(np.pi * a * (u + 1) / 2 + rng.uniform(0, 6))
            * np.cos(np.pi * b * (v + 1) / 2 + rng.uniform(0, 6))
            for a in range(4) for b in range(3) if a + b
        )  # fmt: skip
        read = read + eye.drift * slow / slow.std()
    return np.asarray(read + eye.noise * rng.standard_normal(read.shape))
