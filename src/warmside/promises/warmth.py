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
    End,
    Profile,
    WallHeat,
    code_resistance,
    combined,
    profile,
    resistances,
)
from warmside.promises.finding import Finding
from warmside.promises.room import Outside, Room
from warmside.wording import Figure, Sentence, joined, say

_WARMER = "More insulation over the cold place, or drier room air."
_WHERE = {"corner": "outside corner", "ceiling": "ceiling edge", "floor": "floor edge"}
_ASSUMED = {
    "ceiling": say("We took the attic to be as cold as outside, with 150 mm of loose fill."),
    "floor": say("We took the air under the floor to be half-way between room and outside."),
}
_COLD_END = say("It is held to the cold end of its band.")
TOLD = 0.25  # [K] a smaller band or change of a surface is not told
THINNER = 0.02  # [m2 K/W] by which a new finish must hold less to be the reason
MOULD_HUMIDITY = 0.8  # [-] monthly mean at a surface, EN ISO 13788
_ISO_13788 = Source("EN ISO 13788: surface humidity at most 80 % as a monthly mean", "second-hand")
_DEW = Source("Dew point of the room air (saturation pressure of ISO 13788)", "from memory")


@dataclass(frozen=True)
class Coldest:
    """The coldest place of the room side, with the film that ISO 13788 takes for surfaces."""

    kind: RegionKind | End  # kind of region, or the end of the wall it stands at
    factor: float  # [-] temperature factor
    surface: float  # [degC] on the design night
    error: float = 0.0  # [-] of the factor; 0 where it was reckoned path by path
    rise: float = 0.0  # [K] from outside to the room on the design night

    @property
    def region(self) -> RegionKind:
        """Kind of region there; at an end of the wall, what stands there."""
        if self.kind == "corner":
            return "post"
        return "plate" if self.kind == "ceiling" or self.kind == "floor" else self.kind

    @property
    def where(self) -> str:
        """The place in words."""
        return _WHERE.get(self.kind, self.kind)

    @property
    def lowest_factor(self) -> float:
        """Cold end of the factor's band [-]: what a verdict is held against."""
        return self.factor - self.error

    @property
    def band(self) -> tuple[float, float]:
        """Of ``surface`` [degC]."""
        give = self.error * self.rise
        return self.surface - give, self.surface + give


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

    def humidity_held(self, room: Room) -> float:
        """Most humidity of the room in winter [-] at which its coldest place stays sound.

        No condensation on the design night, and at most 80 % at the surface in the coldest month:
        ``phi = min(p_sat(T_d), 0.8 p_sat(T_m)) / p_sat(T_i)`` at the surface's temperatures on
        that night and in that month. Source: EN ISO 13788 (rule second-hand).
        """
        warm = room.temperature
        night = self.coldest.band[0]
        # the factor needed now tells how cold the month is: T_i - T_e = (T_i - T_least) / (1 - f)
        least = float(humid_air.saturation_temperature(room.vapour_pressure / MOULD_HUMIDITY))
        drop = (warm - least) / (1.0 - self.factor_needed)
        month = warm - (1.0 - self.coldest.lowest_factor) * drop
        wet, damp, full = (float(humid_air.saturation_pressure(t)) for t in (night, month, warm))
        return min(wet, MOULD_HUMIDITY * damp) / full

    def heat_loss(self, area: float) -> float:
        """Heat through ``area`` [m2] of the wall and by its ends [W/K]."""
        return self.transmittance * area + (self.field.beyond if self.field else 0.0)

    def profile_of(self, *kinds: str) -> Profile:
        """Temperatures through the largest stack of the first of ``kinds`` that the wall has."""
        for kind in kinds:
            if here := [p for p in self.profiles if p.kind == kind]:
                return max(here, key=lambda p: p.area)
        return max(self.profiles, key=lambda p: p.area)


def warm(
    build_up: BuildUp,
    room: Room,
    outside: Outside,
    field: WallHeat | None = None,
    before: tuple[BuildUp, Warm] | None = None,
) -> Warm:
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
    before : tuple of BuildUp and Warm, optional
        The wall as found: where the coldest place gets colder, the finding says why.

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
    colder = _colder(coldest, build_up, before) if before else say("")
    findings = [_mould(coldest, needed), _dew(coldest, room, outside, colder)]
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
    """Coldest place of each kind of region, from the field's models or else path by path."""
    factors: list[tuple[RegionKind | End, float, float]]
    if field is not None:
        factors = [
            *((p.kind, p.factor, p.error) for p in field.places),
            *((j.end, j.factor, j.error) for j in field.junctions),
        ]
    else:
        paths = [profile(s, 1.0, 0.0, ISO_SURFACE_FILMS) for s in build_up.stacks]
        factors = [(p.kind, p.surface, 0.0) for p in paths]
    rise = room.temperature - outside.design
    return [Coldest(kind, f, outside.design + rise * f, err, rise) for kind, f, err in factors]


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
    holds = coldest.lowest_factor >= needed
    told = say(
        "The coldest place ({place}) has a temperature factor of {factor}; {needed} keeps its "
        "surface below {most} humidity in the coldest month.",
        place=coldest.where,
        factor=Figure(coldest.factor, "factor"),
        needed=Figure(needed, "factor"),
        most=Figure(MOULD_HUMIDITY, "share"),
    )
    if coldest.factor >= needed and not holds:
        told = joined((told, _COLD_END), " ")
    return Finding(
        promise="warm",
        key="surface_factor",
        name="Coldest place of the room side, against mould",
        figure=coldest.factor,
        unit="-",
        limit=needed,
        limit_is="least",
        verdict="holds" if holds else "falls short",
        reason=told,
        change=say("" if holds else _WARMER),
        source=_ISO_13788,
    )


def _surface(place: Coldest) -> Figure:
    """Its temperature on the design night, with its band where that is wide enough to tell."""
    low, high = place.band if place.band[1] - place.surface > TOLD else (None, None)
    return Figure(place.surface, "temperature", low=low, high=high)


def _dew(coldest: Coldest, room: Room, outside: Outside, colder: Sentence) -> Finding:
    holds = coldest.band[0] > room.dew_point
    told = say(
        "At {outside} outside the coldest place ({place}) is {surface}; water from room air at "
        "{room} and {humidity} condenses on anything colder than {dew}.",
        outside=Figure(outside.design, "temperature"),
        place=coldest.where,
        surface=_surface(coldest),
        room=Figure(room.temperature, "temperature"),
        humidity=Figure(room.humidity, "share"),
        dew=Figure(room.dew_point, "temperature"),
    )
    more = [_ASSUMED[coldest.kind]] if coldest.kind in _ASSUMED else []
    more += [_COLD_END] if coldest.surface > room.dew_point and not holds else []
    more += [colder] if colder else []
    return Finding(
        promise="warm",
        key="coldest_surface_c",
        name="Coldest surface on the design night",
        figure=coldest.surface,
        unit="degC",
        limit=room.dew_point,
        limit_is="least",
        verdict="holds" if holds else "falls short",
        reason=joined((told, *more), " "),
        change=say("" if holds else _WARMER),
        source=_DEW,
    )


def _colder(coldest: Coldest, build_up: BuildUp, before: tuple[BuildUp, Warm]) -> Sentence:
    """Why the coldest place is colder than as found, empty where it is not."""
    found, heat = before
    if coldest.surface > heat.coldest.surface - TOLD:
        return say("")
    finish = [_finish(one) for one in (found, build_up)]
    if finish[1] < finish[0] - THINNER:
        return say(
            "As found it is {before}: the finish that comes off holds back heat with {old}, the "
            "new one with {new}.",
            before=Figure(heat.coldest.surface, "temperature"),
            old=Figure(finish[0], "resistance"),
            new=Figure(finish[1], "resistance"),
        )
    return say(
        "As found the coldest place is {before}: what keeps the bays warm also keeps their heat "
        "from the places that it does not reach.",
        before=Figure(heat.coldest.surface, "temperature"),
    )


def _finish(build_up: BuildUp) -> float:
    """Resistance of the finish on the room side of the bays [m2 K/W]."""
    bays = [s for s in build_up.stacks if s.kind == "bay"] or list(build_up.stacks)
    stack = max(bays, key=lambda s: s.area)
    both = zip(stack.layers, resistances(stack), strict=True)
    return sum(r for layer, r in both if layer.role == "finish")


def _pocket(pocket: Coldest, area: float, room: Room) -> Finding:
    """Pockets that foam does not reach: a person decides whether they are opened and filled."""
    drips = pocket.band[0] <= room.dew_point
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
            surface=_surface(pocket),
            dew=Figure(room.dew_point, "temperature"),
        ),
        change=say("Open the pockets and fill them, or accept the cold stripes." if drips else ""),
        source=_DEW,
    )
