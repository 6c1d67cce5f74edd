"""What the field is made of: boxes of matter, and boxes of air with a film on what they touch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from warmside.errors import Fault, InputError

AXES = ("x", "y", "z")
CONDUCTIVITY = (1e-4, 500.0)  # [W/(m K)] evacuated insulation to copper and silver
NOTHING = -1  # no body and no air: the faces towards it are adiabatic
_NEAR = 1e-7  # [m] lines closer than this are one line
_FAR = 1e4  # [m]


@dataclass(frozen=True)
class Body:
    """A box of one material [m].

    ``conductivity`` [W/(m K)] is one value, or three along x, y and z. A closed air gap is a body
    with an equivalent conductivity across it and another along it.
    """

    x0: float
    x1: float
    y0: float
    y1: float
    z0: float
    z1: float
    conductivity: float | tuple[float, float, float]
    label: str = ""


@dataclass(frozen=True)
class Space:
    """A box of air [m] that belongs to an environment, such as "room" or "outside".

    Every body face inside or beside it exchanges heat with the environment through ``film``
    [m2 K/W]: one surface resistance, or three for faces normal to x, y and z; 0 fixes the surface
    temperature. Bodies displace air, a later space displaces an earlier one, and faces that touch
    neither body nor space are adiabatic. Where a space runs past the bodies does not matter.
    """

    x0: float
    x1: float
    y0: float
    y1: float
    z0: float
    z1: float
    environment: str
    film: float | tuple[float, float, float]


@dataclass(frozen=True)
class Blocks:
    """Bodies and spaces painted on the grid of all their faces, with one idle block all around.

    ``lines`` are the faces along x, y, z [m] without the idle ring; ``what`` has two blocks more
    than intervals along each axis and holds the number of a body, ``NOTHING``, or
    ``NOTHING - 1 - s`` for space ``s``.
    """

    lines: tuple[npt.NDArray[np.float64], ...]
    what: npt.NDArray[np.int32]
    bodies: tuple[Body, ...]
    spaces: tuple[Space, ...]

    @property
    def environments(self) -> tuple[str, ...]:
        """Names, in the order in which they first appear."""
        return tuple(dict.fromkeys(space.environment for space in self.spaces))

    @cached_property
    def half_resistivity(self) -> npt.NDArray[np.float64]:
        """1 / (2 lambda) [m K/W] of every body along x, y, z, (bodies, 3)."""
        return 0.5 / np.array([triple(body.conductivity) for body in self.bodies])


def triple(value: float | tuple[float, float, float]) -> tuple[float, float, float]:
    """Give the value along x, y and z."""
    return value if isinstance(value, tuple) else (value, value, value)


def paint(
    bodies: Sequence[Body],
    spaces: Sequence[Space],
    lines: tuple[Sequence[float], Sequence[float], Sequence[float]] = ((), (), ()),
) -> Blocks:
    """Check bodies and spaces and lay them on the grid of their faces.

    Parameters
    ----------
    bodies, spaces : sequence
        See `Body` and `Space`.
    lines : three sequences of float
        Further grid lines along x, y, z [m], where values are wanted.

    Raises
    ------
    InputError
        With every fault found: sizes, conductivities, films, overlaps, parts that no
        environment reaches, fewer than two environments.
    """
    faults = (
        [] if _all_sound(bodies) else [f for n, b in enumerate(bodies) for f in _body_faults(n, b)]
    )
    faults += [f for n, space in enumerate(spaces) for f in _space_faults(n, space)]
    if not bodies:
        faults.append(Fault("field", "no body", "one body or more"))
    if len({space.environment for space in spaces}) < 2:
        names = sorted({space.environment for space in spaces})
        faults.append(Fault("field", f"environments {names}", "two environments or more"))
    if faults:
        raise InputError(faults)
    ends = np.array([_ends(body) for body in bodies], np.float64)  # (n, axis, low or high)
    faces = _faces(ends, spaces, lines)
    what = np.full([face.size + 1 for face in faces], NOTHING, dtype=np.int32)
    for n, space in enumerate(spaces):
        what[_window(space, faces, ring=True)] = NOTHING - 1 - n
    faults += _lay(bodies, ends, faces, what)
    blocks = Blocks(faces, what, tuple(bodies), tuple(spaces))
    faults += _unreached(blocks)
    if faults:
        raise InputError(faults)
    return blocks


def _lay(
    bodies: Sequence[Body],
    ends: npt.NDArray[np.float64],
    faces: tuple[npt.NDArray[np.float64], ...],
    what: npt.NDArray[np.int32],
) -> list[Fault]:
    """Paint the bodies in turn; faults where one lies over another of another conductivity."""
    windows = np.stack(
        [np.searchsorted(face, ends[:, axis] - _NEAR) + 1 for axis, face in enumerate(faces)], 1
    )
    before = what.copy()
    for n, ((i0, i1), (j0, j1), (k0, k1)) in enumerate(windows.tolist()):
        what[i0:i1, j0:j1, k0:k1] = n
    blocks = int(np.prod(windows[..., 1] - windows[..., 0], axis=1).sum())
    if blocks == np.count_nonzero(what >= 0):
        return []  # as many as the bodies fill one by one: none lies over another
    return _overlaps(bodies, windows, before)


def _overlaps(
    bodies: Sequence[Body], windows: npt.NDArray[np.int64], what: npt.NDArray[np.int32]
) -> list[Fault]:
    """Faults of bodies that lie over earlier ones; paints ``what``."""
    faults = []
    for n, (body, window) in enumerate(zip(bodies, windows, strict=True)):
        at = tuple(slice(low, high) for low, high in window)
        under = what[at]
        faults += [
            Fault(
                _name("body", n, body.label),
                f"overlap with {_name('body', int(m), bodies[m].label)} of another conductivity",
                "bodies that touch; an overlap only of one and the same material",
            )
            for m in np.unique(under[under >= 0])
            if triple(bodies[m].conductivity) != triple(body.conductivity)
        ]
        what[at] = n
    return faults


def _all_sound(bodies: Sequence[Body]) -> bool:
    """Whether plain numbers in range are all there is, told in one look at all bodies."""
    plain = all(
        type(v) is float for b in bodies for v in (b.x0, b.x1, b.y0, b.y1, b.z0, b.z1)
    ) and all(type(v) is float for b in bodies for v in triple(b.conductivity))
    if not plain or not bodies:
        return False
    ends = np.array([_ends(body) for body in bodies])
    values = np.array([triple(body.conductivity) for body in bodies])
    low, high = CONDUCTIVITY
    return bool(
        (np.abs(ends) <= _FAR).all()
        and (ends[..., 1] - ends[..., 0] > _NEAR).all()
        and ((values >= low) & (values <= high)).all()
    )


def _name(kind: str, n: int, label: str) -> str:
    return f"{kind} {n + 1} '{label}'" if label else f"{kind} {n + 1}"


def _ends(box: Body | Space) -> tuple[tuple[float, float], ...]:
    return ((box.x0, box.x1), (box.y0, box.y1), (box.z0, box.z1))


def _is_number(value: object) -> bool:
    return (
        isinstance(value, (int, float, np.floating, np.integer))
        and not isinstance(value, bool)
        and math.isfinite(value)
    )


def _box_faults(name: str, box: Body | Space) -> list[Fault]:
    faults = []
    for axis, (low, high) in zip(AXES, _ends(box), strict=True):
        if not all(_is_number(v) and abs(v) <= _FAR for v in (low, high)):
            faults.append(Fault(f"{name}, {axis}", f"{low} to {high}", "lengths within 10 km"))
        elif high - low <= _NEAR:
            allowed = "an upper end above the lower end"
            faults.append(Fault(f"{name}, {axis}", f"{low} to {high} m", allowed))
    return faults


def _body_faults(n: int, body: Body) -> list[Fault]:
    name = _name("body", n, body.label)
    low, high = CONDUCTIVITY
    values = triple(body.conductivity)
    if len(values) == 3 and all(_is_number(v) and low <= v <= high for v in values):
        return _box_faults(name, body)
    allowed = f"{low:g} to {high:g} W/(m K), one value or three"
    return [*_box_faults(name, body), Fault(f"{name}, conductivity", f"{values}", allowed)]


def _space_faults(n: int, space: Space) -> list[Fault]:
    name = _name("space", n, space.environment)
    values = triple(space.film)
    if len(values) == 3 and all(_is_number(v) and 0.0 <= v <= 100.0 for v in values):
        return _box_faults(name, space)
    allowed = "0 to 100 m2 K/W, one value or three"
    return [*_box_faults(name, space), Fault(f"{name}, film", f"{values}", allowed)]


def _faces(
    ends: npt.NDArray[np.float64],
    spaces: Sequence[Space],
    lines: tuple[Sequence[float], ...],
) -> tuple[npt.NDArray[np.float64], ...]:
    """Sorted coordinates of all faces within the bodies' bounding box, per axis."""
    faces = []
    for axis in range(3):
        own = np.unique(ends[:, axis])
        more = [end for space in spaces for end in _ends(space)[axis]]
        more += [float(v) for v in lines[axis]]
        inside = np.unique([*own, *(v for v in more if own[0] < v < own[-1])])
        keep = np.concatenate(([True], np.diff(inside) > _NEAR))
        faces.append(inside[keep])
    return tuple(faces)


def _window(
    box: Body | Space, faces: tuple[npt.NDArray[np.float64], ...], *, ring: bool
) -> tuple[slice, ...]:
    """Blocks that ``box`` fills; with ``ring``, the idle ones outside the bodies too."""
    window = []
    for (low, high), face in zip(_ends(box), faces, strict=True):
        first = int(np.searchsorted(face, low - _NEAR)) + 1
        stop = int(np.searchsorted(face, high - _NEAR)) + 1
        if ring and low < face[0] - _NEAR:
            first = 0
        if ring and high < face[0] - _NEAR:
            stop = 0
        window.append(slice(first, stop))
    return tuple(window)


def _unreached(blocks: Blocks) -> list[Fault]:
    """Faults for bodies that no environment touches, directly or through other bodies."""
    from scipy import ndimage

    parts, count = ndimage.label(blocks.what >= 0)
    reached = np.zeros(count + 1, dtype=bool)
    for axis in range(3):
        part, what = (np.moveaxis(a, axis, 0) for a in (parts, blocks.what))
        reached[part[:-1][what[1:] < NOTHING]] = True
        reached[part[1:][what[:-1] < NOTHING]] = True
    alone = np.unique(blocks.what[(parts > 0) & ~reached[parts]])
    return [
        Fault(
            _name("body", int(n), blocks.bodies[n].label),
            "no environment touches it or what it is joined to",
            "bodies joined to a surface with an environment",
        )
        for n in alone
    ]
