"""Foam with batts before it: the least thickness whose face stays above the dew point."""

from __future__ import annotations

from dataclasses import replace

from warmside.catalog import Source
from warmside.options import BuildUp
from warmside.physics.assembly import Stack
from warmside.physics.conduction import profile
from warmside.promises.finding import Finding
from warmside.promises.room import Outside, Room
from warmside.wording import Figure, say

LEAST = 0.005  # [m] no foam is sprayed thinner
_RULE = Source(
    "Room air passes batts: the face of the foam behind them stays above the dew point of the room "
    "air in the mean of the coldest month, the rule behind the ratios of codes",
    "common practice",
)


def least_under_batts(build_up: BuildUp, room: Room, outside: Outside) -> float | None:
    """Least thickness of foam under the batts of an option [m].

    With the depth of the bay held, foam takes the place of batts until
    ``T_face = T_i - (T_i - T_e) R_inside / R`` meets the dew point of the room air, with T_e the
    mean of the coldest month.

    Parameters
    ----------
    build_up : BuildUp
        An option with foam and batts before it.
    room : Room
        In the state that the work leaves.
    outside : Outside
        Climate.

    Returns
    -------
    float or None
        None where even foam in the full depth would be too cold.
    """
    bay = max((s for s in build_up.stacks if s.kind == "bay"), key=lambda s: s.area)

    def above(thickness: float) -> float:
        return _face(_moved(bay, thickness), room, outside) - room.dew_point

    depth = sum(layer.thickness for layer in bay.sheets if layer.role in ("foam", "fill"))
    most = depth - 1e-4
    if above(LEAST) >= 0.0:
        return LEAST
    if above(most) < 0.0:
        return None
    low, high = LEAST, most  # halved: a library's search would cost every process its loading
    while high - low > 1e-5:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if above(middle) >= 0.0 else (middle, high)
    return high


def _moved(bay: Stack, thickness: float) -> Stack:
    """The bay with its foam that thick, the batts taking the rest."""
    sheets = bay.sheets
    depth = sum(layer.thickness for layer in sheets if layer.role in ("foam", "fill"))
    parts = {"foam": thickness, "fill": depth - thickness}
    found = tuple(
        replace(layer, thickness=parts.get(layer.role, layer.thickness)) for layer in sheets
    )
    return replace(bay, layers=found)


def _face(bay: Stack, room: Room, outside: Outside) -> float:
    """Temperature of the foam's face towards the batts [degC]."""
    at = next(i for i, layer in enumerate(bay.layers) if layer.role == "foam")
    return profile(bay, room.temperature, outside.coldest_month).temperatures[at]


def foam_under_batts(build_up: BuildUp, room: Room, outside: Outside) -> tuple[Finding, ...]:
    """Whether the foam of an option is thick enough for the batts before it; nothing without both.

    Parameters
    ----------
    build_up, room, outside
        As in `least_under_batts`.
    """
    option = build_up.option
    bays = [s for s in build_up.stacks if s.kind == "bay"]
    roles = [layer.role for layer in max(bays, key=lambda s: s.area).sheets] if bays else []
    if option.foam is None or roles.count("foam") != 1 or roles.count("fill") != 1:
        return ()
    if roles.index("fill") > roles.index("foam"):  # batts on the cold side meet no room air
        return ()
    least = least_under_batts(build_up, room, outside)
    holds = least is not None and option.thickness >= least - 1e-4
    state = {
        "foam": Figure(option.thickness, "size"),
        "dew": Figure(room.dew_point, "temperature"),
        "room": Figure(room.temperature, "temperature"),
        "humidity": Figure(room.humidity, "share"),
        "out": Figure(outside.coldest_month, "temperature"),
    }
    if least is None:
        reason = say(
            "No thickness with batts before it keeps the foam's face above the room's dew point of "
            "{dew} ({room}, {humidity}) at {out} outside.",
            **{name: state[name] for name in ("dew", "room", "humidity", "out")},
        )
    else:
        reason = say(
            "Under batts the foam must be at least {least} thick here: thinner, its face falls "
            "below the room's dew point of {dew} ({room}, {humidity}) at {out} outside, the mean "
            "of the coldest month. {foam} {enough}.",
            least=Figure(least, "size"),
            enough="are enough" if holds else "are not",
            **state,
        )
    return (
        Finding(
            promise="dry",
            key="foam_under_batts_m",
            name="Least foam under batts",
            figure=option.thickness,
            unit="m",
            limit=least,
            limit_is="least" if least is not None else "none",
            verdict="holds" if holds else "falls short",
            reason=reason,
            change=say("" if holds else "Thicker foam, foam in the full depth, or drier air."),
            source=_RULE,
        ),
    )
