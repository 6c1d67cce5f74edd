"""Braces let into the outer face of the studs, and what they leave of the bays behind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from warmside.framing._parts import Joint, Member, Region, Section
from warmside.framing._pieces import Shell
from warmside.geometry import Rect
from warmside.survey import Brace

STRIP = 0.05  # [m] widest strip that the parallelogram of a brace is stepped into
FINE = 1e-9  # [m] what rounding may leave between two equal edges
STEEPEST = math.radians(75)  # a let-in brace runs at 45 to 60 degrees (common practice)


@dataclass(frozen=True)
class Band:
    """The parallelogram of a brace in elevation, with upright ends [m]."""

    x0: float
    z0: float
    x1: float
    z1: float
    rise: float  # height of the band, measured upright

    @property
    def slope(self) -> float:
        """Rise per run [-]."""
        return (self.z1 - self.z0) / (self.x1 - self.x0)

    def middle(self, x: float) -> float:
        """Height of the centre line at ``x`` [m]."""
        return self.z0 + self.slope * (x - self.x0)


def band_of(brace: Brace, strip: float) -> Band:
    """The band of a brace whose board is ``strip`` wide [m]."""
    ends = sorted([(brace.from_x, brace.from_z), (brace.to_x, brace.to_z)])
    (x0, z0), (x1, z1) = ends
    return Band(x0, z0, x1, z1, strip * math.hypot(x1 - x0, z1 - z0) / (x1 - x0))


def bands(shell: Shell) -> list[Band]:
    """Every let-in brace of the wall."""
    return [band_of(brace, shell.sizes.strip) for brace in shell.wall.braces]


def mean_clipped(band: Band, offset: float, low: float, high: float, xa: float, xb: float) -> float:
    """Mean over ``xa``-``xb`` of the line ``offset`` above the band's middle, held in low-high [m].

    Exact: the line is cut where it meets the limits, and each part is a trapezium.
    """
    cuts = {xa, xb}
    if band.slope:
        for limit in (low, high):
            x = band.x0 + (limit - offset - band.z0) / band.slope
            if xa < x < xb:
                cuts.add(x)
    xs = sorted(cuts)
    held = [min(max(band.middle(x) + offset, low), high) for x in xs]
    area = sum(
        (b - a) * (u + v) / 2 for a, b, u, v in zip(xs, xs[1:], held, held[1:], strict=False)
    )
    return _snapped(area / (xb - xa), low, high)


def let_in(regions: Sequence[Region], band: Band, board: float) -> list[Region]:
    """The regions with the brace taken out of the outer side of every space that it crosses.

    Each strip is a rectangle of the very area of the parallelogram there, at its mean height.
    """
    out: list[Region] = []
    for region in regions:
        out += _strips(region, band, board) if _crosses(region, band) else [region]
    return out


def _crosses(region: Region, band: Band) -> bool:
    last = region.sections[-1]
    r = region.rect
    return last.what == "space" and r.x0 < band.x1 - FINE and r.x1 > band.x0 + FINE


def _snapped(value: float, low: float, high: float) -> float:
    """``value``, or the limit that it means."""
    return low if value < low + FINE else high if value > high - FINE else value


def _strips(region: Region, band: Band, board: float) -> list[Region]:
    r = region.rect
    xa, xb = _snapped(band.x0, r.x0, r.x1), _snapped(band.x1, r.x0, r.x1)
    count = max(1, math.ceil((xb - xa - FINE) / STRIP))
    marks = [xa + (xb - xa) * k / count for k in range(count)] + [xb]
    cuts = [
        (a, b, *(mean_clipped(band, s * band.rise / 2, r.z0, r.z1, a, b) for s in (-1, 1)))
        for a, b in pairwise(marks)
    ]
    if all(low == high for _, _, low, high in cuts):
        return [region]
    pieces = [Rect(r.x0, r.z0, xa, r.z1), Rect(xb, r.z0, r.x1, r.z1)]
    braced = []
    for a, b, low, high in cuts:
        if low == high:
            low = high = r.z0
        braced.append(Rect(a, low, b, high))
        pieces += [Rect(a, r.z0, b, low), Rect(a, high, b, r.z1)]
    left = [replace(region, rect=p) for p in pieces if p.width > 0 and p.height > 0]
    kind = "brace" if region.kind == "bay" else region.kind
    sections = _shallower(region.sections, board)
    made = [replace(region, kind=kind, rect=p, sections=sections) for p in braced if p.height > 0]
    return left + made


def _shallower(sections: tuple[Section, ...], board: float) -> tuple[Section, ...]:
    last = sections[-1]
    face = last.y1 - board
    wood = Section(max(face, last.y0), last.y1, "wood")
    if face <= last.y0:
        return (*sections[:-1], wood)
    return (*sections[:-1], replace(last, y1=face), wood)


def brace_members(shell: Shell) -> list[Member]:
    """The braces as members: bounding rectangle, centre line, depth."""
    members = []
    for number, band in enumerate(bands(shell), start=1):
        half = band.rise / 2
        low, high = min(band.z0, band.z1) - half, max(band.z0, band.z1) + half
        rect = Rect(band.x0, max(low, 0.0), band.x1, min(high, shell.height))
        line = (band.x0, band.z0, band.x1, band.z1)
        y0 = shell.depth - shell.sizes.board
        members.append(Member(f"brace {number}", "brace", rect, y0, shell.depth, line))
    return members


def brace_joints(shell: Shell, uprights: Sequence[Member]) -> list[Joint]:
    """The notch of every upright that a brace crosses: the cut on both of its sides [m]."""
    joints = []
    for number, band in enumerate(bands(shell), start=1):
        for stud in uprights:
            x0, x1 = max(stud.rect.x0, band.x0), min(stud.rect.x1, band.x1)
            z = band.middle((x0 + x1) / 2)
            if x1 - x0 <= 0 or not stud.rect.z0 < z < stud.rect.z1:
                continue
            line = (x0, band.middle(x0), x1, band.middle(x1))
            between = (f"brace {number}", stud.name)
            joints.append(Joint("", "brace notch", line, 2 * band.rise, between))
    return joints
