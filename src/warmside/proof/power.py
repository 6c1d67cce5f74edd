"""What a thermal picture will be able to show, told before anybody takes it.

The doubts are those of the estimate that will judge it (`at_once`), for the wall's own bays and
studs, the air that is planned and the hours before; what the faults do to the surface is read off
strips of the wall, from the middle of a stud to the middle of a bay.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.framing import Bay, Frame
from warmside.options import Option, aligned, apply, as_built
from warmside.physics.assembly import Stack
from warmside.physics.conduction import Response, strip_response
from warmside.proof.at_once import FOAM, PATCH, Patches, foreseen
from warmside.proof.comparison import SURE, SURE_OF_WALL, WORKMANSHIP, chance
from warmside.proof.conditions import Conditions
from warmside.proof.estimate import EMISSIVITY_DOUBT
from warmside.proof.past import Late, Strip, past_of
from warmside.proof.prediction import MARGIN, NARROW, REFERENCE, strip_of, usual_foam
from warmside.survey import Hazard, Wall
from warmside.wording import Figure, Sentence, joined, say

Floats = npt.NDArray[np.float64]

GAP = 0.012  # [m] between foam and stud
SHARES = {"missing": 0.0, "half": 0.5, "three quarters": 0.75}  # [-] of the foam planned
OFTEN = 0.9  # [-] of pictures in which a wall thin everywhere alike counts as found
_STEP = 0.005  # [m]
_THIN = np.linspace(0.0, 1.0, 41)  # [-] of the foam, missing everywhere alike, that are tried


def usual(room: float, outside: float) -> Conditions:
    """Air that is planned [degC], its conditions met: the room held for a day, no sun on the wall
    for half a day, a steady night."""
    return Conditions(
        room, outside, hours_room_held=24.0, hours_without_sun=12.0, outside_swing=3.0
    )


@dataclass(frozen=True)
class Chance:
    """How often one fault is found: ``cold`` [K] is what it does to the surface of a bay's middle,
    ``needed`` [K] from where it is called a fault."""

    fault: str
    found: float  # [-] of pictures
    cold: float  # [K]
    needed: float  # [K]


@dataclass(frozen=True)
class Power:
    """What one picture of a whole wall can show.

    ``thin`` [m] is the foam missing everywhere alike that is found nine times in ten, None where
    not even its whole would be.
    """

    wall: str
    difference: float  # [K]
    planned: float  # [m]
    chances: tuple[Chance, ...]
    thin: float | None

    def of(self, fault: str) -> Chance:
        """The chance of one fault by its name."""
        return next(one for one in self.chances if one.fault == fault)

    @property
    def rows(self) -> tuple[tuple[Sentence, Sentence], ...]:
        """Every fault by its name, and how often it is found, in words."""
        told = [(_named(c.fault), _often(c.found)) for c in self.chances]
        if self.thin is None:
            alike = say("not found, however thin: probes tell it")
        else:
            alike = say(
                "found from {thin} less than the {planned} sold; probes tell less",
                thin=Figure(self.thin, "length"), planned=Figure(self.planned, "length"),
            )  # fmt: skip
        return (*told, (say("foam thin everywhere alike"), alike))

    @property
    def sentence(self) -> Sentence:
        """The same in one sentence."""
        listed = (say("{fault} {found}", fault=fault, found=found) for fault, found in self.rows)
        return say(
            "at {difference} between room and outside: {faults}.",
            difference=Figure(abs(self.difference), "difference"), faults=joined(listed, "; "),
        )  # fmt: skip


def _named(fault: str) -> Sentence:
    if fault == "gap":
        return say("gap of {wide} along a stud", wide=Figure(GAP, "length"))
    names = {"missing": "empty bay", "half": "half-filled bay"}
    return say(names.get(fault, "bay filled to three quarters"))


def _often(chance: float) -> Sentence:
    times = 5 * round(20.0 * chance)
    if times >= 100:
        return say("found practically always")
    if times <= 0:
        return say("practically never found")
    return say("found about {times} times in 100", times=f"{times}")


def power(
    option: Option,
    wall: Wall,
    frame: Frame,
    catalog: Catalog,
    conditions: Conditions,
    *,
    contrast: float = 0.1,
    hazards: Iterable[Hazard] = (),
) -> Power:
    """What a picture of a whole wall can show under conditions that are planned.

    Parameters
    ----------
    option, wall, frame, catalog, hazards
        As `warmside.options.apply` takes them.
    conditions : Conditions
        Air on both sides, and what will be known of the hours before.
    contrast : float
        The camera's, from place to place within a picture [K].

    Returns
    -------
    Power
        A fault that makes a bay's middle colder by ``d`` is found with the chance
        ``Phi(d / s - 3.5)`` in the middle bay of all, s being the standard deviation of a sound one
        there.

    Raises
    ------
    InputError
        As `Conditions`; an option without foam, a wall without a bay wide enough.
    """
    if not 0.01 <= contrast <= 2.0:
        raise InputError([Fault("camera, contrast", f"{contrast:g} K", "0.01 to 2 K")])
    if not option.foam:
        raise InputError([Fault(f'option "{option.id}"', "no foam", "an option with foam")])
    strips = _Strips.of(option, wall, frame, catalog, tuple(hazards))
    rise, planned = conditions.difference, option.thickness
    late = past_of(conditions).late(strips.sound)
    at = _patches(frame, strips, late, rise)
    if not (at.bay >= 0).any():
        raise InputError([Fault(f'wall "{wall.name}"', "no bay wide enough", "bays to look at")])
    slope = abs(rise * strips.drop(1.0 - WORKMANSHIP / planned)) / WORKMANSHIP
    spread = float(np.hypot(slope * WORKMANSHIP, FOAM * rise * (1.0 - strips.bay)))
    work = np.full(len(frame.bays), spread)
    fit = foreseen(at, conditions, work, contrast)
    doubt = float(np.nanmedian(fit.apart_doubt))
    colds = {name: abs(rise * strips.drop(share)) for name, share in SHARES.items()}
    colds["gap"] = abs(rise * strips.gap)
    shared = max(float(np.nanmedian(fit.doubt)), _offset(strips, conditions, late))
    thin = np.array([abs(rise * strips.drop(1.0 - share)) for share in _THIN])
    enough = thin >= (SURE_OF_WALL + _quantile(OFTEN)) * shared
    return Power(
        wall=wall.name,
        difference=rise,
        planned=planned,
        chances=tuple(Chance(name, chance(cold, doubt), cold, SURE * doubt)
                      for name, cold in colds.items()),
        thin=_rounded(float(_THIN[np.argmax(enough)]) * planned, planned) if enough.any() else None,
    )  # fmt: skip


@dataclass(frozen=True)
class _Strips:
    """Strips of a wall, from the middle of its usual stud to that of its usual bay.

    ``bay`` and ``stud`` are factors of the planned wall, ``wooden`` how both change with the
    wood's doubt, ``gap`` how much lower the bay's own lies beside a gap, ``leaning``
    that of `Prediction` [-].
    """

    sound: Strip
    steps: Floats  # (n,) [-] of the foam planned
    factors: Floats  # (n,) of the bay's middle [-]
    wooden: tuple[float, float]  # stud, bay
    gap: float
    leaning: float

    @classmethod
    def of(
        cls, option: Option, wall: Wall, frame: Frame, catalog: Catalog, hazards: tuple[Hazard, ...]
    ) -> _Strips:
        names = [b.name for b in frame.bays]

        def stacks(share: float) -> tuple[Stack, ...]:
            foam = dict.fromkeys(names, share * option.thickness)
            built = as_built(option, wall, frame, catalog, foam, hazards)
            return usual_foam(built, catalog).stacks

        planned = usual_foam(apply(option, wall, frame, catalog, hazards), catalog)
        steps = np.array([0.0, 0.25, 0.5, 0.75, 0.9, 1.0])
        levels = [strip_response(*strip_of(stacks(float(s)), frame)) for s in steps]
        sound = Strip.of(*strip_of(planned.stacks, frame))
        change = sound.wood.steady - sound.usual.steady
        thin, usual = levels[-2], levels[-1]
        colder = _middle(thin) - _middle(usual)
        return cls(
            sound,
            steps,
            np.array([_middle(one) for one in levels]),
            (float(change[0]), float(change[-1])),
            _middle(sound.usual) - _middle(_beside_gap(planned.stacks, stacks(0.0), frame)),
            min(float(thin.steady[0] - usual.steady[0]) / colder, 0.0),
        )

    @property
    def bay(self) -> float:
        return _middle(self.sound.usual)

    @property
    def films(self) -> tuple[float, float]:
        """How stud and bay change with the film's doubt [-]."""
        change = self.sound.film.steady - self.sound.usual.steady
        return float(change[0]), float(change[-1])

    @property
    def stud(self) -> float:
        return float(self.sound.usual.steady[0])

    def drop(self, share: float) -> float:
        """How much lower the factor lies of a bay that holds that share of its foam [-]."""
        rsi = 1.0 / (1.0 - self.factors)  # linear in foam, in units of the inside film
        held = 1.0 - 1.0 / float(np.interp(share, self.steps, rsi))
        return float(self.factors[-1] - held)


def _middle(strip: Response) -> float:
    """Factor of a bay's middle, where it is looked at: off the studs by ``MARGIN``."""
    return float(strip.steady[strip.places >= MARGIN].mean())


def _beside_gap(planned: tuple[Stack, ...], empty: tuple[Stack, ...], frame: Frame) -> Response:
    """A strip whose foam ends ``GAP`` before the stud."""
    wood, bay, widths = strip_of(planned, frame)
    _, bare, _ = strip_of(empty, frame)
    wood, bay, bare = aligned([wood, bay, bare])
    return strip_response(wood, bay, widths, gap=(bare, GAP))


def _offset(strips: _Strips, c: Conditions, late: Late) -> float:
    """What is left of all bays once they are read against studs, which lean on them [K]."""
    stud, bay, rise = strips.stud, strips.bay, c.difference
    apart = Late(late.rows[:, -1] - late.rows[:, 0])
    film = rise * (strips.films[1] - strips.films[0]) + apart.film
    wood = rise * (strips.wooden[0] - strips.wooden[1]) - apart.wood
    room = c.room_doubt * (bay - stud) + apart.room
    outside = c.outside_doubt * (stud - bay) + apart.outside
    read = (bay - stud + apart.known / rise) * rise * EMISSIVITY_DOUBT
    left = np.linalg.norm([film, wood, room, outside, read, *apart.own])
    return float(left) / (1.0 - strips.leaning)


def _patches(frame: Frame, strips: _Strips, late: Late, rise: float) -> Patches:
    """Patches of every bay and every stud of a wall, as a picture of all of it would show them."""
    rows: list[tuple[float, ...]] = []
    for number, bay in enumerate(frame.bays):
        r = bay.rect
        if wide_enough(bay):
            x, low, high = (r.x0 + r.x1) / 2.0, r.z0 + MARGIN, r.z1 - MARGIN
            rows += [(strips.bay, strips.wooden[1], x, *z, number, -1) for z in _bands(low, high)]
    studs = [r.rect for r in frame.regions if r.kind in REFERENCE and r.rect.height > PATCH]
    for number, r in enumerate(studs):
        x = (r.x0 + r.x1) / 2.0
        rows += [(strips.stud, strips.wooden[0], x, *z, -1, number) for z in _bands(r.z0, r.z1)]
    a = np.array(rows).reshape(-1, 7)
    none = np.zeros(len(a))
    bays = a[:, 5].astype(int)
    lates = late.rows[:, np.where(bays >= 0, late.rows.shape[1] - 1, 0)]
    factor = a[:, 0] + lates[0] / rise
    film = np.where(bays >= 0, *strips.films[::-1])
    return Patches(
        none, factor, a[:, 1], a[:, 2], (a[:, 3] + a[:, 4]) / 2.0, bays,
        a[:, 6].astype(int), a[:, 3:5], none, none, lates, np.zeros(len(a), int),
        factor, lates, np.where(bays >= 0, 1.0, strips.leaning), film, film,
    )  # fmt: skip


def wide_enough(bay: Bay) -> bool:
    """Whether a picture can tell anything of a bay."""
    return min(bay.rect.width, bay.rect.height) > 2 * MARGIN + NARROW


def _bands(low: float, high: float) -> list[tuple[float, float]]:
    count = max(1, round((high - low) / PATCH))
    ends = np.linspace(low, high, count + 1).tolist()
    return list(pairwise(ends))


def _rounded(thin: float, planned: float) -> float:
    """No finer than a probe reads [m]; never less than it is."""
    return min(float(np.ceil(thin / _STEP - 1e-9)) * _STEP, planned)


def _quantile(share: float) -> float:
    from scipy.special import ndtri

    return float(ndtri(share))
