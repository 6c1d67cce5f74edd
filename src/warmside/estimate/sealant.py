"""Sealant for the joints that foam does not cross, with what goes with it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from warmside.catalog import Catalog, Source
from warmside.estimate.arithmetic import (
    SMALLEST_JOINT,
    BeadShape,
    bead_area,
    joint_depth,
)
from warmside.estimate.parts import ROUGH_WOOD, PriceList
from warmside.framing import Frame, Joint, JointKind
from warmside.options import Quantity
from warmside.wording import Figure, counted, say

CARTRIDGE = 300e-6  # [m3], 10.1 fl oz
LARGE_CARTRIDGE = 850e-6  # [m3], 28-29 fl oz
BACKER_OVERSIZE = 1.25  # [-] rod diameter to joint width
BACKER_WASTE = 0.05  # [-]

_USUAL_ROUGH = Source("rough wood takes 10-15 % more than geometry says", "common practice")
_JOINTS = Source(
    "framing; usual bead of the catalog, 1/4 in. at least: Handbook of Adhesives and Sealants, "
    "p. 119",
    "second-hand",
)
_COUNT = Source("count of the framing", "computed")
_ROD = Source("backer rod about a quarter larger than the joint", "from memory")

# a lap between two flush faces takes a round bead, an inside corner a fillet, a gap a square one
_SHAPES: dict[JointKind, BeadShape] = {
    "stud to stud": "round",
    "plate to plate": "round",
    "plate splice": "round",
    "header plies": "round",
    "opening perimeter": "square",
}


@dataclass(frozen=True)
class Bead:
    """What one kind of joint takes."""

    kind: JointKind
    shape: BeadShape
    width: float  # [m]
    depth: float | None  # [m], square joints only
    length: float  # [m]
    count: int

    @property
    def volume(self) -> float:
        """Sealant by geometry [m3]."""
        return self.length * bead_area(self.shape, self.width, self.depth)


def beads(frame: Frame, catalog: Catalog, reach: frozenset[str] | None = None) -> tuple[Bead, ...]:
    """Sealant beads by kind of joint; the width is the catalog's, 1/4 in. at least.

    Parameters
    ----------
    frame : Frame
        The framing with its joints.
    catalog : Catalog
        Its joint rows hold the usual bead width.
    reach : frozenset of str, optional
        Kinds of joint that can be sealed; all when not given.

    Returns
    -------
    tuple of Bead
        One for every kind of joint that the frame has, in the order found [m].

    Raises
    ------
    UnknownRowError
        A kind of joint that no row of the catalog serves.
    """
    by_kind: dict[JointKind, list[Joint]] = {}
    for joint in frame.joints:
        if reach is not None and joint.kind not in reach:
            continue
        by_kind.setdefault(joint.kind, []).append(joint)
    found = []
    for kind, joints in by_kind.items():
        width = max(catalog.for_kind(kind).bead, SMALLEST_JOINT)
        shape = _SHAPES.get(kind, "fillet")
        depth = joint_depth(width) if shape == "square" else None
        length = sum(joint.length for joint in joints)
        found.append(Bead(kind, shape, width, depth, length, len(joints)))
    return tuple(found)


def sealant_quantities(
    frame: Frame,
    catalog: Catalog,
    reach: frozenset[str] | None = None,
    prices: PriceList | None = None,
) -> tuple[Quantity, ...]:
    """Metres by kind of joint, cartridges, backer rod, gaskets and holes.

    Parameters
    ----------
    frame : Frame
        The framing with its joints.
    catalog : Catalog
        Its joint rows hold the usual bead width.
    reach : frozenset of str, optional
        As `beads` takes it.
    prices : PriceList, optional
        How much more than geometry rough wood takes; the usual share when not given.

    Returns
    -------
    tuple of Quantity
        Cartridges of 300 ml are priced; those of 850 ml are the same sealant in other packs.
    """
    found = tuple(bead for bead in beads(frame, catalog, reach) if bead.length > 0)
    if not found:
        return ()
    return (
        *(_metres(bead) for bead in found),
        *_cartridges(found, prices.rough if prices else ROUGH_WOOD, prices),
        *_backer(found),
        *_holes(found),
    )


def _ml(volume: float) -> Figure:
    """Sealant is sold by the millilitre everywhere."""
    return Figure(round(volume * 1e6), "number", unit="ml")


def _metres(bead: Bead) -> Quantity:
    width, depth = Figure(bead.width, "bead"), Figure(bead.depth or 0.0, "bead")
    size = say("{w} x {d}", w=width, d=depth) if bead.depth else say("{w}", w=width)
    size = say("{size} {shape} bead", size=size, shape=bead.shape)
    return Quantity(
        f"joint:{bead.kind}",
        f"Joint to seal, {bead.kind}, {size}",
        bead.length,
        "m",
        say(
            "{count}, {length}: {sealant} of sealant",
            count=counted(bead.count, "joint"),
            length=Figure(bead.length, "span"),
            sealant=_ml(bead.volume),
        ),
        _JOINTS,
        priced=False,
        size=size,
    )


def _cartridges(
    found: tuple[Bead, ...], rough: Decimal, prices: PriceList | None
) -> tuple[Quantity, ...]:
    own = prices is not None and rough != ROUGH_WOOD
    source = prices.source if prices is not None and own else _USUAL_ROUGH
    metres = sum(bead.length for bead in found)
    volume = sum(bead.volume for bead in found)
    needed = volume * (1 + float(rough))
    lines = []
    for size, priced in ((CARTRIDGE, True), (LARGE_CARTRIDGE, False)):
        ml = round(size * 1e6)
        count = needed / size
        lines.append(
            Quantity(
                f"sealant_{ml}ml",
                f"Sealant, {ml} ml cartridges" + ("" if priced else " instead"),
                count,
                "cartridge",
                say(
                    "{length}, {sealant} by geometry, +{rough} for rough wood{own}, / {size}; "
                    "{whole} whole",
                    length=Figure(metres, "span"),
                    sealant=_ml(volume),
                    rough=Figure(float(rough), "share"),
                    own=", own figure" if own else "",
                    size=_ml(size),
                    whole=str(math.ceil(count - 1e-9)),
                ),
                source,
                priced=priced,
            )
        )
    return tuple(lines)


def _backer(found: tuple[Bead, ...]) -> tuple[Quantity, ...]:
    return tuple(
        Quantity(
            "backer_rod",
            f"Backer rod, {bead.width * BACKER_OVERSIZE * 1000:.0f} mm",
            bead.length * (1 + BACKER_WASTE),
            "m",
            say(
                "{length} of joint {width} wide, +{waste}",
                length=Figure(bead.length, "span"),
                width=Figure(bead.width, "length"),
                waste=Figure(BACKER_WASTE, "share"),
            ),
            _ROD,
        )
        for bead in found
        if bead.kind == "opening perimeter"
    )


def _holes(found: tuple[Bead, ...]) -> tuple[Quantity, ...]:
    lines = []
    for bead in found:
        how = say(
            "{count} found in the framing, {length} round them",
            count=str(bead.count),
            length=Figure(bead.length, "span"),
        )
        if bead.kind == "box":
            name = "Gaskets for electrical boxes"
            lines.append(Quantity("box_gasket", name, bead.count, "each", how, _COUNT))
        elif bead.kind == "penetration":
            name = "Pipes and cables to seal round"
            lines.append(
                Quantity("penetration", name, bead.count, "each", how, _COUNT, priced=False)
            )
    return tuple(lines)
