"""One house judged: studied at its likeliest, screened over its draws, looked at closely if asked.

Everything follows from the house and the settings alone, so that order, machine and neighbours
change nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from hashlib import blake2b
from typing import Any

import numpy as np
from numpy.typing import NDArray

from warmside import __version__
from warmside.catalog import Catalog
from warmside.errors import Fault, InputError, WarmsideError
from warmside.estimate import PriceList
from warmside.options import LEAVE as AS_FOUND
from warmside.physics.climate import HourlyClimate
from warmside.promises import Finding
from warmside.stock.archetype import Archetype, Known
from warmside.stock.house import StockHouse, realise
from warmside.stock.screen import Outcome, Workbench, screen, year_of
from warmside.stock.settings import Settings
from warmside.study import HouseRow, OptionStudy, Study, Weights, compare, study, together
from warmside.study.memory import digest
from warmside.survey import Survey, Wanted
from warmside.wording import PROMISES

Row = dict[str, Any]
LEAVE, PER_WALL = AS_FOUND.id, "per wall"
ONE_OPTION = Weights(warm=1.0, cost=0.0)  # what is asked for is looked at, whether it pays or not


@dataclass(frozen=True)
class Ground:
    """What all houses of a run share."""

    catalog: Catalog
    prices: PriceList
    archetypes: Mapping[str, Archetype]
    settings: Settings
    weather: Mapping[str, HourlyClimate] = field(default_factory=dict)  # by climate; "" for all

    def year(self, climate: str) -> HourlyClimate:
        """The hours of a climate."""
        return year_of(self.catalog, climate, self.weather)

    @cached_property
    def shared(self) -> str:
        """Names the content that every house is judged by."""
        how = replace(self.settings, chunk=Settings.chunk)  # files do not change a house
        given = (self.weather,) if self.weather else ()
        return digest(__version__, self.catalog, self.prices, how, *given)

    @cached_property
    def _of_archetypes(self) -> dict[str, str]:
        return {name: digest(a.survey, a.unknowns) for name, a in self.archetypes.items()}

    def key_of(self, known: Known) -> str:
        """Names the content that a house is judged by: any change gives another key."""
        kind = self._of_archetypes.get(known.archetype, "")
        return digest(self.shared, kind, known.id, known.archetype, known.values)


@dataclass(frozen=True)
class Judged:
    """What came of one house: a row for each option, and the draws of its unknowns."""

    rows: tuple[Row, ...]
    draws: tuple[Row, ...]
    refused: tuple[Fault, ...] = ()


def judge(known: Known, ground: Ground) -> Judged:
    """Judge one house.

    Parameters
    ----------
    known : Known
        What the table says of it; its key is the seed of its draws, too.
    ground : Ground
        Archetypes, catalog, prices, settings.

    Returns
    -------
    Judged
        Rows of plain values; a house that cannot be studied comes back as refused, with the reason.
    """
    try:
        house = realise(known, ground.archetypes, ground.catalog)
        return _judged(house, ground.key_of(known), ground)
    except InputError as error:
        return Judged((), (), tuple(
            fault if fault.place.startswith("row ")
            else Fault(f"row {known.row}, {fault.place}", fault.read, fault.allowed)
            for fault in error.faults
        ))  # fmt: skip
    except WarmsideError as error:
        fault = Fault(f"row {known.row}", str(error)[:200], "a house that can be studied")
        return Judged((), (), (fault,))


def _judged(house: StockHouse, key: str, ground: Ground) -> Judged:
    likeliest = quick_study(house.survey, ground)
    u = _shares(house, key, ground.settings)
    drawn = _drawn(house, u, likeliest, ground)
    rows: list[Row] = []
    for found in compare(likeliest).rows:
        if found.id == PER_WALL:
            continue
        outcomes = [by_id[found.id] for by_id in drawn if found.id in by_id]
        rows.append(
            {"key": key, "id": house.id, "archetype": house.archetype}
            | _figures(likeliest, found)
            | _spread_of(outcomes, [by_id[LEAVE] for by_id in drawn])
            | {"near": _near(likeliest, found.id, ground.settings)}
        )
    close = _looked_at(rows, key, ground.settings)
    for row in rows:
        row |= _closely(house.survey, likeliest, row, close.get(row["option"], ""), ground)
    draws = tuple(
        {"key": key, "unknown": one.field, "values": [one.as_number(x) for x in column]}
        for one, column in zip(house.unknowns, u.T, strict=True)
    )
    return Judged(tuple(rows), draws)


def quick_study(survey: Survey, ground: Ground) -> Study:
    """The study that screens a house: no fields, no hours."""
    weather = ground.year(survey.house.climate)
    return study(survey, ground.catalog, ground.prices, weather=weather, fields=False, years=0)


def close_study(survey: Survey, option: str, from_study: Study, ground: Ground) -> Study:
    """The full study of the house with one option: fields solved, hours run through mid-bay.

    Equal to the study of a survey that asks for this option alone.
    """
    alone = survey.model_copy(update={"options": (wanted(option, from_study),)})
    return study(
        alone, ground.catalog, ground.prices, weather=ground.year(survey.house.climate),
        fields=True, years=ground.settings.years, weights=ONE_OPTION,
    )  # fmt: skip


def calibrate(name: str, ground: Ground) -> tuple[Row, ...]:
    """How far the simple methods are off the fields, on the archetype's own walls.

    Heat and resistance of the full fields over those of the screening, option by option; what the
    screening says of any house of the kind is multiplied by it.
    """
    survey = realise(Known(0, name, name), ground.archetypes, ground.catalog).survey
    quick = quick_study(survey, ground)
    weather = ground.year(survey.house.climate)
    full = study(survey, ground.catalog, ground.prices, weather=weather, fields=True, years=0)
    rows = []
    for simple, solved in zip(_rows_of(quick), _rows_of(full), strict=True):
        more = {
            key: solved[key] / simple[key] if simple[key] > 0.0 else 1.0
            for key in ("rsi_m2k_w", "heat_j")
        }
        rows.append({
            "key": factor_key(name, ground), "archetype": name, "option": simple["option"],
            "rsi_factor": more["rsi_m2k_w"], "heat_factor": more["heat_j"],
        })  # fmt: skip
    return tuple(rows)


def factor_key(name: str, ground: Ground) -> str:
    """Names the content that an archetype's factors follow from."""
    return ground.key_of(Known(0, name, name))


def _rows_of(of: Study) -> list[Row]:
    rows = [_figures(of, row) for row in compare(of).rows if row.id != PER_WALL]
    return sorted(rows, key=lambda row: str(row["option"]))


def wanted(option: str, from_study: Study) -> Wanted:
    """What the survey would ask for to get this option and no other."""
    one = next(o.option for w in from_study.walls for o in w.options if o.option.id == option)
    return Wanted(
        kind=one.kind.name,
        foam=one.foam,
        thickness=one.thickness or None,
        furring=one.furring or None,
        board=one.board,
        board_thickness=one.board_thickness or None,
        fill=one.fill if "fill" in one.kind.takes else None,
        seal_joints=one.seal_joints,
        only=True,
        walls=tuple(
            w.wall.name for w in from_study.walls if any(o.option.id == option for o in w.options)
        ),
    )


def _shares(house: StockHouse, key: str, settings: Settings) -> NDArray[np.float64]:
    """Latin hypercube of the unknowns, (draws, unknowns) [-]; no row where nothing is unknown.

    What changes the walls is drawn half as often, each draw of it taken twice with two draws of
    all else: walls take most of the time, and each unknown alone stays evenly spread.
    """
    from scipy.stats.qmc import LatinHypercube

    if not house.unknowns:
        return np.empty((0, 0))
    rng = np.random.default_rng(int(key, 16))
    count, of_walls = settings.draws, [u.field.startswith("wall.") for u in house.unknowns]
    drawn = np.asarray(LatinHypercube(len(of_walls), rng=rng).random(count))
    if any(of_walls):
        few = LatinHypercube(sum(of_walls), rng=rng).random((count + 1) // 2)
        drawn[:, of_walls] = np.repeat(few, 2, axis=0)[:count]
    return drawn


def _drawn(
    house: StockHouse, u: NDArray[np.float64], likeliest: Study, ground: Ground
) -> list[dict[str, Outcome]]:
    """Every option in every draw; the likeliest house alone where nothing is unknown."""
    bench = Workbench(ground.catalog.at(house.survey.house.climate), ground.prices, ground.weather)
    for one in likeliest.walls:
        bench.put(house.survey, one.wall, one.frame)
    surveys = [
        house.with_values([one.at(x) for one, x in zip(house.unknowns, shares, strict=True)])
        for shares in u.tolist()
    ] or [house.survey]
    return [{o.option: o for o in screen(survey, bench)} for survey in surveys]


def _options(of: Study, id: str) -> list[OptionStudy]:
    """The option on each wall, or the wall as found where it cannot be done."""
    return [
        next((o for o in w.options if o.option.id == id and o.price), w.as_found) for w in of.walls
    ]


def _figures(of: Study, row: HouseRow) -> Row:
    """The figures of a study for one option on all walls."""
    done = together(
        _options(of, row.id), of.survey.house, of.air, of.prices, of.heating, of.catalog
    )
    verdicts: dict[str, str] = {**dict(row.verdicts)}
    found = _options(of, row.id)
    if row.id == LEAVE:
        verdicts |= {p: _worst(found, p) for p in ("warm", "dry")}
    money = done.worth.money
    value = done.worth.net_present_value
    return {
        "option": row.id,
        "name": row.name,
        "walls": row.walls,
        "of_walls": row.of_walls,
        "area_m2": sum(o.build_up.frame.net_area for o in found),
        "keeps": row.keeps,
        **{name.replace(" ", "_"): verdicts[name] for name in PROMISES},
        "rsi_m2k_w": row.resistance,
        "cost": row.cost or 0.0,
        "heat_j": done.worth.heat.best,
        "money": money.best if money else None,
        "carbon_kg": done.worth.co2.best,
        "present_value": value[1] if value else None,
        "hours": sum(line.amount for o in found for line in o.quantities if line.group == "labour"),
    }


def _worst(options: Sequence[OptionStudy], promise: str) -> str:
    verdicts = [o.verdict(promise) for o in options]
    return "falls short" if "falls short" in verdicts else "holds"


def _spread_of(outcomes: Sequence[Outcome], as_found: Sequence[Outcome]) -> Row:
    """What the draws say of one option, and how much risk it takes away [-]."""
    risk = _share([o.cold or o.wet for o in outcomes])
    return {
        "draws": len(outcomes),
        "money_draws": [o.money for o in outcomes],
        "carbon_draws": [o.carbon for o in outcomes],
        "heat_draws": [o.heat for o in outcomes],
        "cost_draws": [o.cost for o in outcomes],
        "risk": risk,
        "risk_avoided": _share([o.cold or o.wet for o in as_found]) - risk,
    }


def _share(holds: Sequence[bool]) -> float:
    return sum(holds) / len(holds) if holds else 0.0


def _near(of: Study, id: str, settings: Settings) -> bool:
    """Whether some figure of the option is so near its limit that the screening cannot tell."""
    return any(
        _is_near(finding, settings)
        for option in _options(of, id)
        if option.option.id == id
        for finding in (*option.warm.findings, *option.dry.findings)
    )


def _is_near(finding: Finding, settings: Settings) -> bool:
    if finding.figure is None or finding.limit is None:
        return False
    off = abs(finding.figure - finding.limit)
    within = {
        "surface_factor": settings.near_factor,
        "coldest_surface_c": settings.near_surface,
        "condensate_peak_kg_m2": settings.near_water * finding.limit,
    }
    return finding.key in within and off <= within[finding.key]


def _looked_at(rows: Sequence[Row], key: str, settings: Settings) -> dict[str, str]:
    """Options looked at closely, and why: near a limit, or drawn for the sample.

    The sample is drawn by the key among the options that the screening passes well clear.
    """
    offered = [row for row in rows if row["option"] != LEAVE and row["keeps"]]
    close = {row["option"]: "near" for row in offered if row["near"]}
    clear = [row["option"] for row in offered if not row["near"]]
    first, second = _uniform(key, "sampled"), _uniform(key, "which")
    if clear and first < settings.sample:
        close[clear[int(second * len(clear))]] = "sample"
    return close


def _uniform(key: str, what: str) -> float:
    """A number from 0 to 1 that the key gives; another for every ``what``."""
    found = blake2b(f"{what}:{key}".encode(), digest_size=8).digest()
    return int.from_bytes(found, "big") / 2.0**64


def _closely(survey: Survey, quick: Study, row: Row, why: str, ground: Ground) -> Row:
    """The full study's figures of an option, empty where it was not looked at."""
    names = ("rsi_m2k_w", "heat_j", "money", "carbon_kg", "warm", "dry")
    if not why:
        return {"why_close": "", **{f"close_{name}": None for name in names}, "missed": None}
    full = close_study(survey, row["option"], quick, ground)
    house_row = next(r for r in compare(full).rows if r.id == row["option"])
    figures = _figures(full, house_row)
    falls = "falls short" in (figures["warm"], figures["dry"])
    return {
        "why_close": why,
        **{f"close_{name}": figures[name] for name in names},
        "missed": falls and "falls short" not in (row["warm"], row["dry"]),
    }
