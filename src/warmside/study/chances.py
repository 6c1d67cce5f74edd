"""How sure each promise is: what is put forward, judged again over known spreads."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from warmside.errors import Fault, InputError
from warmside.physics.airflow import SPREAD_LN, Band
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import ISO_SURFACE_FILMS, combined, profile
from warmside.physics.energy import heat_over
from warmside.physics.humid_air import saturation_pressure
from warmside.physics.moisture import MonthlyBalance, monthly_balance
from warmside.promises import (
    Promise,
    Room,
    factor_needed,
    present_value_factor,
    seals_joints,
    texts,
)
from warmside.promises.dryness import TRACE
from warmside.promises.room import MOST_EXCESS, MOST_HUMID
from warmside.study.chances_hourly import DrawnWall, strains
from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.wording import PAPER, Sentence

Floats = NDArray[np.float64]
Three = tuple[float, float, float]  # exceeded in 95, 50 and 5 of 100 draws
# Standard deviations. Source: skilled work stays within a quarter inch, twice this (trade press).
THICKNESS = 0.0032  # [m]
CONDUCTIVITY = 0.05  # [-] of insulation; from memory
READING = 0.03  # [-] of saturation, of a humidity that was read; from memory
RELEASE = 0.25  # [-] of ln, of the water that people give off where it was not read; own figure
MORE_PEOPLE = 0.20  # [-] of ln, by who moves in and how they live later; own figure
BUILT = 0.8  # [-] of plans whose ventilation is built; own figure
COLDEST, WARMEST = 2.5, 1.0  # [K] of one month's mean between years; from memory
SEASON = 0.06  # [-] of the season's degree-hours between years; from memory
_INSULATION = ("foam", "fill", "board")
DRAWS = 32  # unless more are asked for
_MOST_DRAWS = 2000
CORRELATED = 0.2  # [-] of ranks, below which an input is not told
Holding = Sequence[bool] | NDArray[np.bool_]


@dataclass(frozen=True)
class Chance:
    """In how many draws a promise holds, and by what it was judged."""

    promise: Promise
    what: str
    holds: int
    draws: int
    sentence: str
    most_by: tuple[str, ...] = ()  # the two inputs that decide most of it; none where none does


@dataclass(frozen=True)
class WallSpread:
    """The option put forward on one wall, over all draws."""

    wall: str
    option: str
    chances: tuple[Chance, ...]
    resistance: Three  # [m2 K/W]
    surface: Three  # [degC] coldest place on the design night
    condensate: Three  # [kg/m2] most water in the worst path
    heat: Three  # [J] saved a year


@dataclass(frozen=True)
class Spread:
    """All walls over the same draws."""

    draws: int
    seed: int
    walls: tuple[WallSpread, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class _Draws:
    """What is drawn, each (n,)."""

    thicker: Floats  # [m]
    conductivity: Floats  # [-]
    open: Floats  # [-] 0 to 1, place in the band of open joints
    sealed: Floats  # [-] 0 to 1, place in the band of sealed joints
    living: Floats  # [-] vapour given off against the plan's
    built: NDArray[np.bool_]  # whether the plan's ventilation is
    year: Floats  # [-] standard deviations, warm years positive


def spread(study: Study, draws: int = DRAWS, seed: int = 1, workers: int = 1) -> Spread:
    """Judge what is put forward again over thickness, conductivity, leakage, humidity, year.

    A Latin hypercube, the same draws for all walls; the simple methods give each draw's change of
    heat from the study's own figures, so that a solved field keeps its say. Dry is run hour by hour
    at the place nearest its limits, where the study ran hours; else month by month.

    Parameters
    ----------
    study : Study
        The house studied.
    draws : int
        How many, 10 to 2000.
    seed : int
        The same seed gives the same draws.
    workers : int
        Processes that share the hours.

    Returns
    -------
    Spread
        Chances and spreads, wall by wall; no wall that is left as found.

    Raises
    ------
    InputError
        Too few or too many draws.
    """
    if not isinstance(draws, int) or isinstance(draws, bool) or not 10 <= draws <= _MOST_DRAWS:
        raise InputError([Fault("draws", repr(draws)[:40], f"10 to {_MOST_DRAWS}")])
    drawn = _drawn(study, draws, seed)
    known: _Balances = {}
    worked = [_varied_wall(study, wall, drawn) for wall in study.worked]
    warmer = [_warmer(study, year) for year in drawn.year.tolist()]
    strained = strains(study, worked, warmer, workers)
    walls = tuple(
        _wall(study, one, strain, drawn, known)
        for one, strain in zip(worked, strained, strict=True)
    )
    read = study.air.living.by == "reading"
    living, season = PAPER(_living_sd(study), "share"), PAPER(SEASON, "share")
    unbuilt = PAPER(1 - BUILT, "share")
    said = (
        f"Standard deviations: foam thickness {THICKNESS * 1e3:.1f} mm, conductivity of insulation "
        f"{PAPER(CONDUCTIVITY, 'share')}, water given off indoors {living} "
        f"({'by a humidity that was read' if read else 'not read'}; later people counted), mean of "
        f"the coldest month {COLDEST:g} K and the season's degree-hours {season} between "
        f"years; joints within their bands; in {unbuilt} of the draws the ventilation that "
        "goes with the work is not built.",
        "Not drawn: what is charged once for the house, and how far a real house stays behind the "
        "computed saving. The summary's verdict on worth counts both.",
        *_how_dry(strained),
    )
    return Spread(draws, seed, walls, said)


_Balances = dict[tuple[tuple[Layer, ...], int, object], MonthlyBalance]


def _living_sd(study: Study) -> float:
    """Standard deviation of ln of the vapour given off [-]; a reading fixes it against the air."""
    if study.air.living.by != "reading":
        leaks = 0.0 if study.air.leakage.measured else SPREAD_LN
        return float(np.sqrt(RELEASE**2 + MORE_PEOPLE**2 + leaks**2))
    room = study.air.room
    air = study.air.monthly(study.air.leakage.flow_50.best)
    rise = max(room.vapour_pressure - air.vapour[air.coldest], 50.0)
    read = READING * room.vapour_pressure / max(room.humidity, 0.05) / rise
    return float(np.hypot(min(read, 0.5), MORE_PEOPLE))


def _drawn(study: Study, draws: int, seed: int) -> _Draws:
    from scipy.special import ndtri
    from scipy.stats.qmc import LatinHypercube

    u = LatinHypercube(7, rng=np.random.default_rng(seed)).random(draws).T
    z = ndtri(np.clip(u, 1e-6, 1.0 - 1e-6))
    living = np.exp(np.clip(_living_sd(study) * z[4], -1.5, 1.5))
    conductivity = np.clip(1.0 + CONDUCTIVITY * z[1], 0.7, 1.3)
    return _Draws(THICKNESS * z[0], conductivity, u[2], u[3], living, u[6] < BUILT, z[5])


def _rooms(study: Study, option: OptionStudy, drawn: _Draws) -> list[Room]:
    """The option's room in every draw: its excess times the living, more where no fan is built."""
    room, air = option.room, study.air
    month = air.monthly(air.leakage.flow_50.best)
    outdoors = month.vapour[month.coldest]
    rise = max(room.vapour_pressure - outdoors, 0.0)
    removed = 1.0 - study.tight.after.flow_50.best / air.leakage.flow_50.best
    unbuilt = air.room_at(1.0 - removed).vapour_pressure - outdoors
    built = air.room_at(1.0 - removed, study.tight.built).vapour_pressure - outdoors
    damper = max(unbuilt / built, 1.0) if built > 0.0 else 1.0
    most = float(saturation_pressure(room.temperature)) * MOST_HUMID
    rooms = []
    for living, fans in zip(drawn.living.tolist(), drawn.built.tolist(), strict=True):
        times = living * (1.0 if fans else damper)
        vapour = min(outdoors + rise * times, most)
        excess = room.excess and tuple(min(e * times, MOST_EXCESS) for e in room.excess)
        humidity = vapour / float(saturation_pressure(room.temperature))
        rooms.append(replace(room, humidity=humidity, assumption=Sentence(), excess=excess))
    return rooms


def _how_dry(strained: Sequence[Floats | None]) -> tuple[str, ...]:
    """What the chances of staying dry were judged by."""
    if not any(one is not None for one in strained):
        return ("Dry is judged month by month: no hours were run.",)
    return (
        "Dry is judged hour by hour at the place of each wall that is nearest its limits, all "
        "walls by the same draws; what was found wet is dried first where that decides.",
    )


def _varied_wall(study: Study, wall: WallStudy, drawn: _Draws) -> DrawnWall:
    """What is put forward on a wall in every draw."""
    option, air = wall.chosen, wall.chosen.tight
    varied = [_varied(option.build_up.stacks, option, drawn, k) for k in range(drawn.year.size)]
    leaks = _in_band(air.after, drawn.sealed if seals_joints(option.build_up) else drawn.open)
    scale = leaks / air.after.best if air.after.best > 0.0 else np.ones(leaks.size)
    return DrawnWall(wall, varied, _rooms(study, option, drawn), scale)


def _warmer(study: Study, year: float) -> tuple[float, ...]:
    """By how much the months of a year are warmer than the mean [K], January first."""
    mean = np.asarray(study.outside.climate.mean)
    warmth = (mean - mean.min()) / max(float(np.ptp(mean)), 1e-9)
    return tuple((year * (COLDEST + (WARMEST - COLDEST) * warmth)).tolist())


def _wall(
    study: Study, one: DrawnWall, strain: Floats | None, drawn: _Draws, known: _Balances
) -> WallSpread:
    wall, option, varied, rooms = one.wall, one.wall.chosen, one.stacks, one.rooms
    stacks = option.build_up.stacks
    base = combined(stacks).resistance
    resistance = np.array([combined(s).resistance for s in varied]) / base * option.warm.resistance
    factor = _factors(option, varied)
    shift = drawn.year * COLDEST
    room, outside = option.room, study.outside
    surface = outside.design + shift + (room.temperature - outside.design - shift) * factor
    needed = np.array(
        [factor_needed(one, outside.coldest_month + s) for one, s in zip(rooms, shift, strict=True)]
    )
    dew = np.array([one.dew_point for one in rooms])
    balances = _balances(study, option, varied, (drawn, rooms), known)
    # joints that nobody seals stay what they were drawn as
    place = drawn.sealed if seals_joints(option.build_up) else drawn.open
    opened, sealed = _in_band(option.tight.before, drawn.open), _in_band(option.tight.after, place)
    heat = _heat(study, wall, resistance, (opened, sealed), drawn)
    peaks = np.array([balance.peak for balance in balances])
    water = _water(option, opened, sealed)
    margin = np.minimum(factor - needed, (surface - dew) / (room.temperature - outside.design))
    judged: list[tuple[Promise, str, Holding, Floats]] = [
        ("warm", "coldest surface above mould and dew", margin > 0.0, margin),
        ("dry", *_dry(balances, strain)),
        ("tight", "joints leak no more than as found", sealed <= opened, opened - sealed),
        ("tight", "leaking air leaves no more water than as found", water >= 0.0, water),
        ("worth it", *_worth(study, option, heat), heat),
    ]
    inputs = _inputs(option, drawn)
    return WallSpread(
        wall.wall.name,
        option.option.id,
        tuple(
            _chance(promise, what, np.asarray(good), _most(inputs, margin))
            for promise, what, good, margin in judged
        ),
        _three(resistance),
        _three(surface),
        _three(peaks),
        _three(heat),
    )


def _dry(balances: Sequence[MonthlyBalance], strain: Floats | None) -> tuple[str, Holding, Floats]:
    """By the hours of the governing place; by the month where none were run."""
    if strain is not None:
        return "no mould, rot or lasting wet, hour by hour", strain < 1.0, -strain
    dries = [b.within_limit and b.residual < TRACE for b in balances]
    peaks = np.array([balance.peak for balance in balances])
    return "water gathers within its limit and leaves", dries, -peaks


def _inputs(option: OptionStudy, drawn: _Draws) -> dict[str, Floats]:
    """What is drawn, by what it is called; only what this option feels."""
    seals = seals_joints(option.build_up)
    told = {
        "the foam's thickness": drawn.thicker if option.option.thickness else None,
        "the insulation's conductivity": drawn.conductivity,
        "how much the joints leaked before": drawn.open,
        "how tight the sealed joints are": drawn.sealed if seals else None,
        "how much water people give off": drawn.living,
        "whether the ventilation is built": drawn.built.astype(np.float64),
        "the year's weather": drawn.year,
    }
    return {name: values for name, values in told.items() if values is not None}


def _most(inputs: Mapping[str, Floats], margin: Floats) -> tuple[str, ...]:
    """The two inputs by whose order the margin goes most (Spearman's rank correlation)."""
    from scipy.stats import spearmanr

    if bool(np.all(margin == margin[0])):
        return ()
    ordered = {
        name: abs(float(spearmanr(values, margin).statistic))
        for name, values in inputs.items() if np.ptp(values) > 0.0
    }  # fmt: skip
    chief = sorted(ordered, key=lambda name: -ordered[name])[:2]
    return tuple(name for name in chief if ordered[name] >= CORRELATED)


def _chance(promise: Promise, what: str, good: NDArray[np.bool_], most: tuple[str, ...]) -> Chance:
    holds, draws = int(good.sum()), good.size
    parts = {"holds": str(holds), "draws": str(draws)}
    return Chance(promise, what, holds, draws, texts().fill("sentence.chance", parts), most)


def _three(values: Floats) -> Three:
    low, middle, high = np.percentile(values, (5.0, 50.0, 95.0))
    return float(low), float(middle), float(high)


def _varied(
    stacks: Sequence[Stack], option: OptionStudy, drawn: _Draws, k: int
) -> tuple[Stack, ...]:
    """The stacks of one draw: resistance and permeance of the foam follow its thickness.

    The air left beside foam hardly changes its resistance, so that the slices keep theirs.
    """
    thickness = option.option.thickness
    more = max(1.0 + drawn.thicker[k] / thickness, 0.2) if thickness else 1.0

    def changed(layer: Layer) -> Layer:
        if layer.role not in _INSULATION or layer.conductivity is None:
            return layer
        by = more if layer.role == "foam" else 1.0
        return replace(
            layer,
            conductivity=layer.conductivity * float(drawn.conductivity[k]) / by,
            permeability_dry=layer.permeability_dry / by,
            permeability_wet=layer.permeability_wet / by,
        )

    return tuple(replace(s, layers=tuple(changed(layer) for layer in s.layers)) for s in stacks)


def _factors(option: OptionStudy, varied: Sequence[Sequence[Stack]]) -> Floats:
    """Temperature factor of the coldest place: ``1 - (1 - f) (1 - f_k) / (1 - f_0)``."""
    stacks = option.build_up.stacks
    place = option.warm.coldest.region
    here = [n for n, stack in enumerate(stacks) if stack.kind == place] or range(len(stacks))

    def simple(layered: Sequence[Stack]) -> float:
        return min(profile(layered[n], 1.0, 0.0, ISO_SURFACE_FILMS).surface for n in here)

    loss = (1.0 - option.warm.coldest.factor) / (1.0 - simple(stacks))
    return np.array([1.0 - loss * (1.0 - simple(layered)) for layered in varied])


def _balances(
    study: Study,
    option: OptionStudy,
    varied: Sequence[Sequence[Stack]],
    drawn_rooms: tuple[_Draws, Sequence[Room]],
    known: _Balances,
) -> list[MonthlyBalance]:
    """A year of the path that is wettest in the hardest of the draws."""
    drawn, rooms = drawn_rooms
    hard = int(np.argmax(np.array([one.humidity for one in rooms]) - 0.02 * drawn.year))
    reached = [n for n, s in enumerate(option.build_up.stacks) if s.kind != "pocket"]
    balance = _balancer(study, drawn, rooms, known)
    worst = max(reached, key=lambda n: balance(varied[hard][n], hard).peak)
    return [balance(layered[worst], k) for k, layered in enumerate(varied)]


def _balancer(
    study: Study, drawn: _Draws, rooms: Sequence[Room], known: _Balances
) -> Callable[[Stack, int], MonthlyBalance]:
    climate = study.outside.climate
    warmer = [_warmer(study, year) for year in drawn.year.tolist()]

    def balance(stack: Stack, k: int) -> MonthlyBalance:
        layers = stack.sheets  # walls that are built alike share their balances
        key = layers, k, rooms[k].same_as
        if key not in known:
            months = tuple(t + more for t, more in zip(climate.mean, warmer[k], strict=True))
            air = rooms[k].monthly(replace(climate, mean=months))
            known[key] = monthly_balance(replace(stack, layers=layers), air)
        return known[key]

    return balance


def _in_band(band: Band, u: Floats) -> Floats:
    """Values at the shares ``u`` of a triangular distribution over the band."""
    low, best, high = band.low, band.best, band.high
    if high <= low:
        return np.full(u.size, best)
    peak = (best - low) / (high - low)
    rising = low + np.sqrt(u * (high - low) * (best - low))
    falling = high - np.sqrt((1.0 - u) * (high - low) * (high - best))
    return np.where(u < peak, rising, falling)


def _water(option: OptionStudy, opened: Floats, sealed: Floats) -> Floats:
    """By how much leaks leave less water than before [kg]; it goes with the area that leaks."""
    found = option.tight
    after = found.water_after * sealed / max(found.after.best, 1e-12)
    before = found.water_before * opened / max(found.before.best, 1e-12)
    return np.asarray(before - after)


def _heat(
    study: Study, wall: WallStudy, resistance: Floats, areas: tuple[Floats, Floats], drawn: _Draws
) -> Floats:
    """Heat saved [J]: each draw's share of transmission and of air, times its year."""
    option, case = wall.chosen, study.heating
    change, opened, sealed = option.change, *areas
    hours = case.differences[1]
    by_wall = heat_over(hours, change.before - change.after)
    flow = study.air.infiltration(study.air.leakage.flow_50.best)
    fewer = study.air.infiltration(study.air.leakage.flow_50.best * (1.0 - change.removed.best))
    by_air = heat_over(hours, 0.0, flow - fewer)
    whole = max(by_wall + by_air, 1e-9)
    after = wall.frame.net_area / resistance
    u = (change.before - after) / (change.before - change.after or 1e-9)
    closed = option.tight.before.best - option.tight.after.best
    air = (opened - sealed) / closed if closed > 0.0 else np.zeros(u.size)
    part = (by_wall * u + by_air * air) / whole
    return np.asarray(option.worth.heat.best * part * (1.0 - SEASON * drawn.year))


def _worth(
    study: Study, option: OptionStudy, heat: Floats
) -> tuple[str, Sequence[bool] | NDArray[np.bool_]]:
    """Whether it pays within the years at today's price; else whether it saves at all."""
    worth, terms = option.worth, study.heating.terms
    if worth.money is None or worth.cost is None or terms is None or worth.heat.best <= 0.0:
        return "heat is saved", heat > 0.0
    money = worth.money.best * heat / worth.heat.best
    if terms.discount is None:
        return f"paid back within {terms.years} years", money * terms.years >= worth.cost
    factor = present_value_factor(terms.discount, terms.years, terms.rise)
    pays = (money * factor >= worth.cost) & (money * terms.years >= worth.cost)
    return f"saves more than it costs over {terms.years} years", pays
