"""Warm: effective resistance of the whole framed wall, and its coldest surface."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Source
from warmside.options import BuildUp
from warmside.physics import humid_air
from warmside.physics.conduction import (
    ISO_SURFACE_FILMS,
    Combined,
    Profile,
    code_resistance,
    combined,
    profile,
)
from warmside.promises._finding import Finding
from warmside.promises._room import Outside, Room

MOULD_HUMIDITY = 0.8  # [-] monthly mean at a surface, EN ISO 13788
_ISO_13788 = Source("EN ISO 13788: surface humidity at most 80 % as a monthly mean", "second-hand")
_DEW = Source("Dew point of the room air (saturation pressure of ISO 13788)", "from memory")


@dataclass(frozen=True)
class Warm:
    """Heat through one option of one wall, by the simple methods."""

    heat: Combined  # ISO 6946, all paths
    code: float  # [m2 K/W] as the Canadian code reckons it
    profiles: tuple[Profile, ...]  # at the design temperature, one per stack
    coldest: Profile  # of them, by the film that ISO 13788 takes for surfaces
    factor: float  # [-] temperature factor of the coldest path
    factor_needed: float  # [-] for 80 % at the surface in the coldest month
    dew_point: float  # [degC] of the room air
    findings: tuple[Finding, ...]

    def profile_of(self, *kinds: str) -> Profile:
        """Temperatures through the largest stack of the first of ``kinds`` that the wall has."""
        for kind in kinds:
            if here := [p for p in self.profiles if p.kind == kind]:
                return max(here, key=lambda p: p.area)
        return max(self.profiles, key=lambda p: p.area)


def warm(build_up: BuildUp, room: Room, outside: Outside) -> Warm:
    """Judge the heat of one option on one wall.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall.
    room : Room
        Room air.
    outside : Outside
        Climate and design temperature.

    Returns
    -------
    Warm
        Resistances [m2 K/W], profiles [degC] and findings.
    """
    stacks = build_up.stacks
    profiles = tuple(profile(s, room.temperature, outside.design) for s in stacks)
    surfaces = [profile(s, room.temperature, outside.design, ISO_SURFACE_FILMS) for s in stacks]
    reached = [p for p in surfaces if p.kind != "pocket"] or surfaces
    coldest = min(reached, key=lambda p: p.surface)
    factor = (coldest.surface - outside.design) / (room.temperature - outside.design)
    hollow = [p for p in surfaces if p.kind == "pocket"]
    needed = factor_needed(room, outside.coldest_month)
    return Warm(
        heat=combined(stacks),
        code=code_resistance(stacks),
        profiles=profiles,
        coldest=coldest,
        factor=factor,
        factor_needed=needed,
        dew_point=room.dew_point,
        findings=(
            _mould(coldest, factor, needed),
            _dew(coldest, room, outside),
            *_pockets(hollow, room),
        ),
    )


def factor_needed(room: Room, outdoor: float) -> float:
    """Least temperature factor that keeps a surface at 80 % humidity or less.

    ``f = (T_si,min - Te) / (Ti - Te)``, with T_si,min where saturation is p_i / 0.8.
    Source: EN ISO 13788 (rule second-hand).

    Parameters
    ----------
    room : Room
        Room air.
    outdoor : float
        Monthly mean outdoor temperature [degC].

    Returns
    -------
    float
        Temperature factor [-].
    """
    least = float(humid_air.saturation_temperature(room.vapour_pressure / MOULD_HUMIDITY))
    return (least - outdoor) / (room.temperature - outdoor)


def _mould(coldest: Profile, factor: float, needed: float) -> Finding:
    holds = factor >= needed
    return Finding(
        promise="warm",
        key="surface_factor",
        name="Coldest place of the room side, against mould",
        figure=factor,
        unit="-",
        limit=needed,
        limit_is="least",
        verdict="holds" if holds else "falls short",
        reason=f"The coldest place ({coldest.kind}) has a temperature factor of {factor:.2f}; "
        f"{needed:.2f} keeps its surface below 80 % humidity in the coldest month.",
        change="" if holds else "More insulation over the cold place, or drier room air.",
        source=_ISO_13788,
    )


def _dew(coldest: Profile, room: Room, outside: Outside) -> Finding:
    holds = coldest.surface > room.dew_point
    return Finding(
        promise="warm",
        key="coldest_surface_c",
        name="Coldest surface on the design night",
        figure=coldest.surface,
        unit="degC",
        limit=room.dew_point,
        limit_is="least",
        verdict="holds" if holds else "falls short",
        reason=f"At {outside.design:.0f} °C outside the coldest place ({coldest.kind}) is "
        f"{coldest.surface:.1f} °C; room air at {room.temperature:.0f} °C and "
        f"{room.humidity:.0%} drips below {room.dew_point:.1f} °C.",
        change="" if holds else "More insulation over the cold place, or drier room air.",
        source=_DEW,
    )


def _pockets(hollow: list[Profile], room: Room) -> tuple[Finding, ...]:
    """Pockets that foam does not reach: a person decides whether they are opened and filled."""
    if not hollow:
        return ()
    coldest = min(hollow, key=lambda p: p.surface)
    drips = coldest.surface <= room.dew_point
    area = sum(p.area for p in hollow)
    return (
        Finding(
            promise="warm",
            key="pocket_surface_c",
            name="Coldest hollow pocket on the design night",
            figure=coldest.surface,
            unit="degC",
            limit=room.dew_point,
            limit_is="least",
            verdict="needs a person" if drips else "holds",
            reason=f"{area:.1f} m2 of hollow pockets stay without insulation; their room side "
            f"falls to {coldest.surface:.1f} °C, dew point {room.dew_point:.1f} °C.",
            change="Open the pockets and fill them, or accept the cold stripes." if drips else "",
            source=_DEW,
        ),
    )
