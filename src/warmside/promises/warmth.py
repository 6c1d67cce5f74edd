"""Warm: effective resistance of the whole framed wall, and its coldest surface."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Source
from warmside.geometry import RegionKind
from warmside.options import BuildUp
from warmside.physics import humid_air
from warmside.physics.conduction import (
    ISO_SURFACE_FILMS,
    Combined,
    Profile,
    WallHeat,
    code_resistance,
    combined,
    profile,
)
from warmside.promises.finding import Finding
from warmside.promises.room import Outside, Room
from warmside.wording import Figure, say

_WARMER = "More insulation over the cold place, or drier room air."
MOULD_HUMIDITY = 0.8  # [-] monthly mean at a surface, EN ISO 13788
_ISO_13788 = Source("EN ISO 13788: surface humidity at most 80 % as a monthly mean", "second-hand")
_DEW = Source("Dew point of the room air (saturation pressure of ISO 13788)", "from memory")


@dataclass(frozen=True)
class Coldest:
    """The coldest place of the room side, with the film that ISO 13788 takes for surfaces."""

    kind: RegionKind
    factor: float  # [-] temperature factor
    surface: float  # [degC] on the design night


@dataclass(frozen=True)
class Warm:
    """Heat through one option of one wall: by the simple methods, and by its field."""

    heat: Combined  # ISO 6946, all paths
    code: float  # [m2 K/W] as the Canadian code reckons it
    field: WallHeat | None  # None where it was not solved
    profiles: tuple[Profile, ...]  # at the design temperature, one per stack
    coldest: Coldest  # pockets apart
    pocket: Coldest | None  # coldest hollow pocket
    factor_needed: float  # [-] for 80 % at the surface in the coldest month
    dew_point: float  # [degC] of the room air
    findings: tuple[Finding, ...]

    @property
    def resistance(self) -> float:
        """Effective resistance of the whole framed wall [m2 K/W]: the field's where solved."""
        return self.field.resistance if self.field else self.heat.resistance

    @property
    def transmittance(self) -> float:
        """Heat through the whole framed wall [W/(m2 K)]."""
        return 1.0 / self.resistance

    def profile_of(self, *kinds: str) -> Profile:
        """Temperatures through the largest stack of the first of ``kinds`` that the wall has."""
        for kind in kinds:
            if here := [p for p in self.profiles if p.kind == kind]:
                return max(here, key=lambda p: p.area)
        return max(self.profiles, key=lambda p: p.area)


def warm(build_up: BuildUp, room: Room, outside: Outside, field: WallHeat | None = None) -> Warm:
    """Judge the heat of one option on one wall.

    Parameters
    ----------
    build_up : BuildUp
        The option applied to the wall.
    room : Room
        Room air.
    outside : Outside
        Climate and design temperature.
    field : WallHeat, optional
        The wall's solved field; without it, surfaces are judged path by path.

    Returns
    -------
    Warm
        Resistances [m2 K/W], profiles [degC] and findings.
    """
    stacks = build_up.stacks
    places = _places(build_up, room, outside, field)
    reached = [c for c in places if c.kind != "pocket"] or places
    hollow = [c for c in places if c.kind == "pocket"]
    coldest = min(reached, key=lambda c: c.surface)
    pocket = min(hollow, key=lambda c: c.surface) if hollow else None
    needed = factor_needed(room, outside.coldest_month)
    findings = [_mould(coldest, needed), _dew(coldest, room, outside)]
    if pocket:
        area = sum(s.area for s in stacks if s.kind == "pocket")
        findings.append(_pocket(pocket, area, room))
    return Warm(
        heat=combined(stacks),
        code=code_resistance(stacks),
        field=field,
        profiles=tuple(profile(s, room.temperature, outside.design) for s in stacks),
        coldest=coldest,
        pocket=pocket,
        factor_needed=needed,
        dew_point=room.dew_point,
        findings=tuple(findings),
    )


def _places(
    build_up: BuildUp, room: Room, outside: Outside, field: WallHeat | None
) -> list[Coldest]:
    """Coldest place of each kind of region, from the field or else path by path."""
    film = ISO_SURFACE_FILMS.inside
    if field is not None:
        factors = [(k.kind, field.lowest_factor(k.kind, film)) for k in field.by_kind]
    else:
        paths = [profile(s, 1.0, 0.0, ISO_SURFACE_FILMS) for s in build_up.stacks]
        factors = [(p.kind, p.surface) for p in paths]
    rise = room.temperature - outside.design
    return [Coldest(kind, factor, outside.design + rise * factor) for kind, factor in factors]


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


def _mould(coldest: Coldest, needed: float) -> Finding:
    holds = coldest.factor >= needed
    return Finding(
        promise="warm",
        key="surface_factor",
        name="Coldest place of the room side, against mould",
        figure=coldest.factor,
        unit="-",
        limit=needed,
        limit_is="least",
        verdict="holds" if holds else "falls short",
        reason=say(
            "The coldest place ({place}) has a temperature factor of {factor}; {needed} keeps its "
            "surface below {most} humidity in the coldest month.",
            place=coldest.kind,
            factor=Figure(coldest.factor, "factor"),
            needed=Figure(needed, "factor"),
            most=Figure(MOULD_HUMIDITY, "share"),
        ),
        change=say("" if holds else _WARMER),
        source=_ISO_13788,
    )


def _dew(coldest: Coldest, room: Room, outside: Outside) -> Finding:
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
        reason=say(
            "At {outside} outside the coldest place ({place}) is {surface}; water from room air at "
            "{room} and {humidity} condenses on anything colder than {dew}.",
            outside=Figure(outside.design, "temperature"),
            place=coldest.kind,
            surface=Figure(coldest.surface, "temperature"),
            room=Figure(room.temperature, "temperature"),
            humidity=Figure(room.humidity, "share"),
            dew=Figure(room.dew_point, "temperature"),
        ),
        change=say("" if holds else _WARMER),
        source=_DEW,
    )


def _pocket(pocket: Coldest, area: float, room: Room) -> Finding:
    """Pockets that foam does not reach: a person decides whether they are opened and filled."""
    drips = pocket.surface <= room.dew_point
    return Finding(
        promise="warm",
        key="pocket_surface_c",
        name="Coldest hollow pocket on the design night",
        figure=pocket.surface,
        unit="degC",
        limit=room.dew_point,
        limit_is="least",
        verdict="needs a person" if drips else "holds",
        reason=say(
            "{area} of hollow pockets stay without insulation; their room side falls to {surface}, "
            "dew point {dew}.",
            area=Figure(area, "area"),
            surface=Figure(pocket.surface, "temperature"),
            dew=Figure(room.dew_point, "temperature"),
        ),
        change=say("Open the pockets and fill them, or accept the cold stripes." if drips else ""),
        source=_DEW,
    )
