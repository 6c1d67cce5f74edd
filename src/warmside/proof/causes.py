"""What may have made a place colder or warmer than predicted, the likeliest first.

The weights are our own: each cause begins with how often it is met in such work (common practice)
and grows with what speaks for it. They rank; they are no measured probabilities.
"""

from __future__ import annotations

from collections.abc import Iterable

from warmside.framing import Bay
from warmside.proof.lengths import millimetres
from warmside.proof.looks import BayLook, Cause, Hints, JointLook, Kind
from warmside.wood import DRY_WOOD, FIBRE_SATURATION
from warmside.wording import PAPER

MISSING = 0.2  # [-] of the planned thickness, below which a bay counts as empty
_NEAR = 0.8  # [m] of a reading


def causes_of_bay(look: BayLook, bay: Bay, hints: Hints, difference: float) -> tuple[Cause, ...]:
    """Likely causes of what was seen on a bay.

    Parameters
    ----------
    look : BayLook
        What was seen.
    bay : Bay
        The bay.
    hints : Hints
        What else is known of the wall.
    difference : float
        Room less outside while it was seen [K].

    Returns
    -------
    tuple of Cause
        Empty for a bay as predicted.
    """
    if look.seen in ("as predicted", "not seen") or look.thickness is None:
        return ()
    losing = (look.seen == "colder") == (difference > 0)
    weights = _losing(look, bay, hints) if losing else _keeping(look, bay, hints)
    near = abs(look.sure or 0.0)
    if near < 4.0:
        weights.append(("camera limits", 0.3, f"the difference is {near:.1f} times its doubt"))
    return _ranked(weights)


_Weights = list[tuple[Kind, float, str]]


def _losing(look: BayLook, bay: Bay, hints: Hints) -> _Weights:
    weights: _Weights = []
    share = (look.thickness or 0.0) / look.planned if look.planned else 1.0
    size = f"the surface is that of {millimetres(look.thickness or 0.0)} of foam"
    leaks = [place for place in hints.leaks if _within(bay, *place)]
    if look.part is not None:
        height = f"only from {look.part[0]:.1f} to {look.part[1]:.1f} m height"
        weights += [("hollow pocket", 1.0, height), ("thin foam", 0.5, height)]
    elif share < MISSING:
        weights += [("missing foam", 3.0, size), ("wet", 0.2, "water conducts like missing foam")]
    else:
        weights += [
            ("thin foam", 1.5, size),
            ("hollow pocket", 0.4, "foam that let go of the sheathing lets air behind it"),
        ]
    weights.append(
        ("air leak", 3.0, "grew colder with the fan running")
        if leaks
        else ("air leak", 0.3, "a picture with the fan running would tell")
    )
    moist = [m for x, z, m in hints.moisture if _within(bay, x, z, _NEAR)]
    if moist and max(moist) >= DRY_WOOD:
        kind: Kind = "wet" if max(moist) >= FIBRE_SATURATION else "moisture"
        weights.append((kind, 1.5, f"a meter read {PAPER(max(moist), 'share')} nearby"))
    return weights


def _keeping(look: BayLook, bay: Bay, hints: Hints) -> _Weights:
    weights: _Weights = [
        ("thicker foam", 1.0, f"the surface is that of {millimetres(look.thickness or 0.0)}")
    ]
    weights += [
        ("heat in the bay", 2.0, f"{what} in the bay")
        for x, z, what in hints.warm
        if _within(bay, x, z)
    ]
    return weights


def causes_of_joint(look: JointLook, hints: Hints) -> tuple[Cause, ...]:
    """Likely causes of a cold streak along a joint."""
    weights: _Weights = [("air leak", 2.0, "a cold streak along a joint")]
    if look.at is not None:
        x, z = look.at
        if any((x - a) ** 2 + (z - b) ** 2 < 0.2**2 for a, b in hints.leaks):
            weights.append(("air leak", 3.0, "grew colder with the fan running"))
        moist = [m for a, b, m in hints.moisture if (x - a) ** 2 + (z - b) ** 2 < _NEAR**2]
        if moist and max(moist) >= DRY_WOOD:
            weights.append(("moisture", 1.0, f"a meter read {PAPER(max(moist), 'share')} nearby"))
    weights.append(("thin foam", 0.5, "foam pulled away from the wood"))
    return _ranked(weights)


def _within(bay: Bay, x: float, z: float, more: float = 0.05) -> bool:
    r = bay.rect
    return r.x0 - more <= x <= r.x1 + more and r.z0 - more <= z <= r.z1 + more


def _ranked(weights: Iterable[tuple[Kind, float, str]]) -> tuple[Cause, ...]:
    joined: dict[Kind, tuple[float, list[str]]] = {}
    for kind, weight, why in weights:
        before, whys = joined.get(kind, (0.0, []))
        joined[kind] = before + weight, [*whys, why]
    total = sum(weight for weight, _ in joined.values())
    ranked = sorted(joined.items(), key=lambda item: -item[1][0])
    return tuple(Cause(kind, weight / total, "; ".join(whys)) for kind, (weight, whys) in ranked)
