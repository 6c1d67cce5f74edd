"""Dry: water that gathers in the wall through the year, by the monthly balance of every path."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Source
from warmside.options import BuildUp
from warmside.physics.moisture import MonthlyBalance, monthly_balance, monthly_conditions
from warmside.promises._finding import Finding
from warmside.promises._room import Outside, Room

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_LIMIT = Source(
    "DIN 4108-3: at most 1.0 kg/m2, 0.5 kg/m2 where neither face takes up water", "from memory"
)
_DRIES = Source("EN ISO 13788: what gathers in winter must leave within the year", "from memory")
TRACE = 1e-3  # [kg/m2] a gram on a square metre is no water


@dataclass(frozen=True)
class Dry:
    """The yearly moisture balance of every path of one option on one wall."""

    balances: tuple[MonthlyBalance, ...]  # one per stack
    worst: MonthlyBalance
    findings: tuple[Finding, ...]


def dry(build_up: BuildUp, room: Room, outside: Outside) -> Dry:
    """Judge the moisture of one option on one wall, month by month.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall.
    room : Room
        Room air; its humidity is held all year.
    outside : Outside
        Climate.

    Returns
    -------
    Dry
        Balances [kg/m2] and findings.
    """
    climate = outside.climate
    air = monthly_conditions(
        climate.mean, climate.humidity, room.temperature, humidity=room.humidity
    )
    balances = tuple(monthly_balance(stack, air) for stack in build_up.stacks)
    worst = max(balances, key=lambda balance: balance.peak)
    return Dry(balances, worst, (_gathers(worst), _leaves(balances)))


def _gathers(worst: MonthlyBalance) -> Finding:
    limit, where = 1.0, "no interface"
    if worst.interfaces:
        face = max(worst.interfaces, key=lambda f: f.peak)
        limit, where = face.limit, f"between {face.between[0]} and {face.between[1]}"
    holds = worst.within_limit
    if worst.peak < TRACE:
        reason = "No water gathers in any path of the wall in any month."
    else:
        month = _MONTHS[(worst.worst_month or 1) - 1]
        reason = (
            f"By the end of {month} {worst.peak * 1000:.0f} g/m2 have gathered in the "
            f"{worst.kind}, most of it {where}; the limit there is {limit * 1000:.0f} g/m2."
        )
    return Finding(
        promise="dry",
        key="condensate_peak_kg_m2",
        name="Water that gathers in winter by diffusion",
        figure=worst.peak,
        unit="kg/m2",
        limit=limit,
        limit_is="most",
        verdict="holds" if holds else "falls short",
        reason=reason,
        change=""
        if holds
        else "Vapour control on the warm side, foam on the cold side, or drier air.",
        source=_LIMIT,
    )


def _leaves(balances: tuple[MonthlyBalance, ...]) -> Finding:
    left = max(balance.residual for balance in balances)
    holds = left < TRACE
    return Finding(
        promise="dry",
        key="condensate_left_kg_m2",
        name="Water left after a year",
        figure=left,
        unit="kg/m2",
        limit=0.0,
        limit_is="most",
        verdict="holds" if holds else "falls short",
        reason="Whatever gathers in winter has left by the next autumn."
        if holds
        else f"{left * 1000:.0f} g/m2 are still in the wall after a year: it gets wetter yearly.",
        change="" if holds else "A layer outside that lets vapour pass, or vapour control inside.",
        source=_DRIES,
    )
