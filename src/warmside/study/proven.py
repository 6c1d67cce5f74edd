"""The study with what was measured in place of what was assumed: promised, measured, verdict."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np

from warmside.catalog import Source
from warmside.errors import Fault, InputError
from warmside.options import as_built
from warmside.physics.airflow import Band
from warmside.promises import (
    Change,
    Finding,
    HouseTight,
    Promise,
    Room,
    Verdict,
    Warm,
    Worth,
    by_person,
    comfort,
    dry,
    dry_years,
    exposure_of,
    found_wet,
    house_tight,
    legal,
    room_of,
    safe,
    warm,
    worst_joint,
    worth,
)
from warmside.proof import (
    BayFoam,
    Core,
    Drying,
    FanChange,
    JointLook,
    Load,
    Measured,
    MeasuredWall,
    ProofFile,
    TrueReading,
    WallEntry,
    density_proof,
    fan_change,
    fan_result,
    measured_wall,
)
from warmside.study.fields import ends_of, solved
from warmside.study.house import Study
from warmside.study.parts import OptionStudy, WallStudy
from warmside.survey import same_fan
from warmside.units import BOARD_FOOT
from warmside.weather import station_of
from warmside.wood import DRY_WOOD
from warmside.wording import WORST, Figure, counted, say

Basis = Literal["measured", "follows from what was measured", "as proposed", "not measured"]
SLACK = 0.03  # [-] of a promised resistance, within which it counts as reached; own figure
TRACE = 0.004  # [m] of missing foam that no remedy is asked for: within a probe's reading
_LEAST_METRES = 0.3  # [m] of joint that is sealed again at least
_PROMISED = Source("What the proposal promised of this wall, from its field", "computed")
_HOUSE = Source("What the proposal promised of the house, with its band", "computed")
_OWN = Source("Readings on site", "own figure")


@dataclass(frozen=True)
class KeptPromise:
    """One promise: what was promised, what was measured, and whether it was kept."""

    promise: Promise
    key: str  # of the finding
    name: str
    wall: str  # "" for the house
    unit: str
    promised: float | None
    measured: float | None
    limit: float | None
    limit_is: Literal["least", "most", "none"]
    verdict: Verdict
    basis: Basis
    reason: str
    source: Source
    told: tuple[Figure, ...] = ()  # figures of its sentences, before and after, with their bands


@dataclass(frozen=True)
class Remedy:
    """What is still to be done: foam in board feet [m3 as SI], or joint in metres."""

    wall: str
    where: str
    what: str
    foam: float  # [m3]
    joint: float  # [m]
    why: str

    @property
    def board_feet(self) -> float:
        """Foam to add [board ft]."""
        return self.foam / BOARD_FOOT


@dataclass(frozen=True)
class ProvenWall:
    """One wall as it was built."""

    wall: WallStudy
    measured: MeasuredWall
    built: OptionStudy  # every finding reckoned anew
    kept: tuple[KeptPromise, ...]

    @property
    def promised(self) -> OptionStudy:
        """What was put forward and built."""
        return self.wall.option(self.measured.option)

    @property
    def areas(self) -> dict[str, float]:
        """Area of every bay, without what stands in it [m2]."""
        areas = {bay.name: 0.0 for bay in self.wall.frame.bays}
        for region in self.wall.frame.regions:
            if region.part in areas:
                areas[region.part] += region.rect.area
        return areas


@dataclass(frozen=True)
class Proven:
    """A house after the work, every promise judged."""

    study: Study
    measured: Measured
    walls: tuple[ProvenWall, ...]
    tight: HouseTight
    worth: Worth
    house: tuple[KeptPromise, ...]
    remedies: tuple[Remedy, ...]

    @property
    def kept(self) -> tuple[KeptPromise, ...]:
        """Every promise of walls and house."""
        return (*(k for wall in self.walls for k in wall.kept), *self.house)

    def verdict(self, promise: str) -> Verdict:
        """The worst verdict of one promise; 'holds' where nothing speaks against it."""
        found = [k.verdict for k in self.kept if k.promise == promise]
        return next((v for v in WORST if v in found), "holds")


def measure(study: Study, file: ProofFile, load: Load) -> Measured:
    """What was measured, from a proof file.

    Parameters
    ----------
    study : Study
        As it was sold.
    file : ProofFile
        What was written down.
    load : callable
        Gives the bytes of a picture by its name.

    Raises
    ------
    InputError
        Everything that cannot be used, with its place.
    """
    catalog, hazards = study.catalog, study.survey.hazards
    walls = []
    for entry in file.wall:
        wall = study.wall(entry.name)
        option = _sold(wall, entry)
        walls.append(
            measured_wall(
                entry,
                option.option,
                wall.wall,
                wall.frame,
                catalog,
                load,
                hazards=hazards,
                rule=file.rule,
                drying=_drying(option, file),
                near=station_of(study.outside.climate),
            )
        )
    cores = [Core(c.mass_g / 1e3, c.before_ml * 1e-6, c.after_ml * 1e-6, c.bay) for c in file.core]
    foams = [o.foam for w in study.walls if (o := w.chosen.option).foam]
    cut = cores and foams
    return Measured(
        walls=tuple(walls),
        fan=_fan(study, file),
        humidity=file.indoor_humidity,
        density=density_proof(cores, catalog.foam(foams[0] or ""), catalog) if cut else None,
        closed=date.fromisoformat(file.closed) if file.closed else None,
        synthetic=file.synthetic,
        notes=file.notes,
    )


def _sold(wall: WallStudy, entry: WallEntry) -> OptionStudy:
    """What was built; without foam it has no pictures and no probes, which prove foam alone."""
    id, place = entry.option, f'proof, wall "{wall.wall.name}"'
    found = wall.chosen if not id else next((o for o in wall.options if o.option.id == id), None)
    if found is None:
        ids = ", ".join(o.option.id for o in wall.options)
        raise InputError([Fault(f"{place}, option", f"'{id}'", ids)])
    pictures, probes = len(entry.picture), len(entry.probe)
    if not found.option.foam and (pictures or probes):
        several = [counted(n, noun) for n, noun in ((pictures, "picture"), (probes, "probe")) if n]
        read = f"{' and '.join(several)}, where {found.option.name} was put forward"
        allowed = "camera and probe where foam is sprayed; what holds none is proved at its gates"
        raise InputError([Fault(place, read, allowed)])
    return found


def _drying(option: OptionStudy, file: ProofFile) -> Drying | None:
    """Wood moisture foretold from the day the wall was closed, its wettest layer."""
    if not file.closed:
        return None
    closed, hourly = date.fromisoformat(file.closed), option.dry.hourly
    if hourly is None or not hourly.paths or (wood := hourly.paths[0].wettest) is None:
        return Drying(closed)
    # the years begin with a month; the readings are laid on them by the calendar
    begin = date(closed.year, hourly.first_month, 1)
    if begin > closed:
        begin = date(closed.year - 1, hourly.first_month, 1)
    days = np.arange(wood.mean.size) - float((closed - begin).days)
    return Drying(closed, np.asarray(days, float), wood.mean)


def _fan(study: Study, file: ProofFile) -> FanChange | None:
    before, after = study.survey.house.fan_test, file.fan_test_after
    if before is None or after is None:
        return None
    joints = Band(0.0, 0.0, 0.0)
    for wall in study.walls:
        joints = joints + wall.chosen.change.removed
    return fan_change(fan_result(before), fan_result(after), joints, same_fan(before, after))


def prove(study: Study, measured: Measured) -> Proven:
    """Judge every promise of a study by what was measured.

    Measured thickness, leakage and humidity take the place of assumptions, and everything that
    rests on them is reckoned anew by the same rules: resistance and field, condensation and the
    hourly years, codes, air, ventilation, energy and worth.

    Parameters
    ----------
    study : Study
        As it was sold, its walls' chosen options being those that were built.
    measured : Measured
        What was measured.

    Returns
    -------
    Proven
        Walls that were not measured are judged as planned, their promises marked so.

    Raises
    ------
    InputError
        Measurements of a wall or an option that the study has not.
    """
    for part in measured.walls:
        wall = study.wall(part.wall)
        ids = [o.option.id for o in wall.options]
        if part.option not in ids:
            place = f'proof, wall "{part.wall}", option'
            raise InputError([Fault(place, f"'{part.option}'", ", ".join(ids))])
    room = _room(study, measured)
    walls = tuple(_wall(study, wall, measured, room) for wall in study.walls)
    removed = _removed(study, measured, walls)
    tested = measured.fan is not None
    tight = house_tight(study.survey.house, study.air, [removed], study.catalog, tested)
    found = by_person(tight.findings, study.survey.hazards, study.catalog, study.survey.house)
    tight = replace(tight, findings=found)
    changes = [w.built.change for w in walls]
    cost = float(study.price.total) if study.price.total else None
    change = Change(sum(c.before for c in changes), sum(c.after for c in changes), removed)
    fresh = tight.fresh.increase if removed.high > 0.0 else 0.0
    gain = worth(change, study.heating, cost, fresh)
    return Proven(
        study=study,
        measured=measured,
        walls=walls,
        tight=tight,
        worth=gain,
        house=tuple(_house(study, measured, tight, gain)),
        remedies=tuple(_remedies(walls)),
    )


def _room(study: Study, measured: Measured) -> Room | None:
    """The room as it was read after the work, with the air that then leaks in; None: not read."""
    if measured.humidity is None:
        return None
    air, temperature = study.air, study.room.temperature
    left = study.tight.after if measured.fan is None else measured.fan.after
    by_month = air.monthly(left.flow_50.best, study.tight.built)
    vapour = Room(temperature, measured.humidity).vapour_pressure
    release = by_month.release(vapour, temperature)
    read = say("Humidity as read after the work.")
    return room_of(study.survey.house, release, by_month, read)


def _removed(study: Study, measured: Measured, walls: Iterable[ProvenWall]) -> Band:
    """Share of the house's leakage taken away [-]: by the fan test, or as reckoned."""
    if measured.fan is None:
        total = Band(0.0, 0.0, 0.0)
        for wall in walls:
            total = total + wall.built.change.removed
        return total
    before = study.air.leakage.flow_50.best
    left = measured.fan.after.flow_50
    shares = [min(max(1.0 - flow / before, 0.0), 1.0) for flow in (left.high, left.best, left.low)]
    return Band(*shares)


def _wall(study: Study, wall: WallStudy, measured: Measured, room: Room | None) -> ProvenWall:
    part = measured.wall(wall.wall.name) or MeasuredWall(wall.wall.name, wall.chosen_id, ())
    promised = wall.option(part.option)
    built = _built(study, wall, promised, part, room)
    return ProvenWall(wall, part, built, tuple(_kept(promised, built, part, measured)))


def _built(
    study: Study, wall: WallStudy, promised: OptionStudy, part: MeasuredWall, read: Room | None
) -> OptionStudy:
    """The option as it was built, judged anew; the same where nothing was measured."""
    if not part.foam and read is None:
        return promised
    room = promised.room if read is None else read
    option, found = promised.option, wall.as_found
    hazards, house = study.survey.hazards, study.survey.house
    build_up = as_built(option, wall.wall, wall.frame, study.catalog, part.foam, hazards)
    ends = ends_of(wall.wall, study.survey.walls)
    field = solved(build_up, ends) if promised.warm.field else None
    heat = warm(build_up, room, study.outside, field, (found.build_up, found.warm))
    area = wall.frame.net_area
    transmittances = found.warm.transmittance, heat.transmittance
    change = replace(promised.change, after=heat.heat_loss(area))
    foam = study.catalog.foam(option.foam) if option.foam else None
    read_dry = bool(part.moisture) and all(r.moisture <= DRY_WOOD for r in part.moisture)
    wet = () if read_dry else found_wet(wall.wall, hazards)
    water = dry(build_up, room, study.outside, wet)
    hourly = promised.dry.hourly
    if hourly:
        exposure = exposure_of(wall.wall, study.weather)
        joint = worst_joint(build_up, wall.wall, study.air)
        paths = [path.path for path in hourly.paths]
        water = water.with_hours(
            dry_years(build_up, exposure, room, years=hourly.years, paths=paths, joint=joint)
        )
    return replace(
        promised,
        build_up=build_up,
        room=room,
        warm=heat,
        dry=water,
        legal=legal(
            study.packs,
            build_up,
            study.outside.climate,
            catalog=study.catalog,
            wall=wall.wall,
            house=house,
            hazards=hazards,
        ),
        safe=safe(hazards, wall.wall, build_up, foam, study.catalog, house),
        worth=worth(change, study.heating, promised.cost),
        comfort=comfort(build_up, found.build_up, transmittances, room, study.outside),
        change=change,
    )


def _kept(
    promised: OptionStudy, built: OptionStudy, part: MeasuredWall, measured: Measured
) -> Iterator[KeptPromise]:
    """Every promise of one wall, the wall's own resistance and thickness first."""
    yield from (_moisture(reading, part.wall) for reading in part.moisture)
    if not promised.option.kind.worked:
        return
    seen = bool(part.foam or part.pictures or part.thickness)
    yield _resistance(promised.warm, built.warm, part, seen, bool(promised.option.foam))
    if part.thickness is not None:
        yield _thickness(part)
    if part.pictures:
        yield _picture(part)
    before = dict(_by_place(promised.findings))
    for place, finding in _by_place(built.findings):
        if place not in before or finding.promise == "tight":
            continue  # air is judged for the house, where it can be measured
        rests = seen or (measured.humidity is not None and finding.promise in ("warm", "dry"))
        yield _of(before[place], finding, part.wall, rests)


def _by_place(findings: Sequence[Finding]) -> Iterator[tuple[tuple[str, str, int], Finding]]:
    """Findings by key, name and how manieth of these: several readings of a wall share a key."""
    seen: Counter[tuple[str, str]] = Counter()
    for finding in findings:
        name = finding.key, finding.name
        yield (*name, seen[name]), finding
        seen[name] += 1


def _of(promised: Finding, found: Finding, wall: str, rests: bool) -> KeptPromise:
    moved = rests and found.figure is not None and found.figure != promised.figure
    basis: Basis = "follows from what was measured" if moved else "as proposed"
    return KeptPromise(
        promise=found.promise,
        key=found.key,
        name=found.name,
        wall=wall,
        unit=found.unit,
        promised=promised.figure,
        measured=found.figure if moved else None,
        limit=found.limit,
        limit_is=found.limit_is,
        verdict=found.verdict,
        basis=basis,
        reason=str(found.reason),
        source=found.source,
        told=(*promised.reason.figures, *found.reason.figures),
    )


_FOAM_UNSEEN = "Nothing of this wall's foam was measured."
_NO_FOAM = (
    "No foam was sold for this wall, so neither camera nor probe proves it: the gates signed "
    "before it was covered do, with their photos."
)


def _resistance(
    promised: Warm, built: Warm, part: MeasuredWall, seen: bool, foam: bool
) -> KeptPromise:
    least = promised.resistance * (1.0 - SLACK)
    verdict: Verdict = "holds" if built.resistance >= least else "falls short"
    reason = (
        f"RSI {built.resistance:.2f} of the whole framed wall as built, {promised.resistance:.2f} "
        f"promised; within {SLACK:.0%} counts as reached."
    )
    if not seen:
        verdict = "needs a person"
        reason = _FOAM_UNSEEN if foam else _NO_FOAM
    return KeptPromise(
        "warm",
        "rsi_m2k_w",
        "Effective resistance of the whole wall",
        part.wall,
        "m2 K/W",
        promised.resistance,
        built.resistance if seen else None,
        least,
        "least",
        verdict,
        "follows from what was measured" if seen else "not measured",
        reason,
        _PROMISED,
    )


def _thickness(part: MeasuredWall) -> KeptPromise:
    assert part.thickness is not None  # noqa: S101 - asked by the caller
    found = part.thickness
    return KeptPromise(
        "warm",
        "foam_thickness_m",
        "Thickness of the foam, by the rule chosen",
        part.wall,
        "m",
        found.sold,
        found.found.mean if found.found else None,
        found.sold,
        "least",
        found.verdict,
        "measured",
        found.why,
        found.source,
    )


def _picture(part: MeasuredWall) -> KeptPromise:
    lost = [b for b in part.wrong if any(c.kind != "heat in the bay" for c in b.causes)]
    worse = [b for b in lost if (b.thickness or 0.0) < b.planned or b.part]
    judged = sum(b.thickness is not None for p in part.pictures for b in p.bays)
    weak = any(p.weak for p in part.pictures)
    leaks = len(part.leaks)
    whole = any(p.whole_wall == "colder" for p in part.pictures)
    verdict: Verdict = "falls short" if worse or leaks or whole else "holds"
    if weak:
        verdict = "needs a person"
    names = ", ".join(b.bay for b in worse)
    less = "1 insulates" if len(worse) == 1 else f"{len(worse)} insulate"
    streaks = "1 joint shows" if leaks == 1 else f"{leaks} joints show"
    reason = f"{judged} bays judged; {less} less than promised"
    reason += f" ({names})" if names else ""
    reason += f"; {streaks} a cold streak."
    if weak:
        reason += " Conditions were too weak for a proof."
    if part.lost:
        unread = ", ".join(one.file for one in part.lost)
        reason += f" Not usable, so not counted: {unread}."
    return KeptPromise(
        "warm",
        "bays_colder_count",
        "Bays that insulate less than predicted, by the camera",
        part.wall,
        "-",
        0.0,
        float(len(worse)),
        0.0,
        "most",
        verdict,
        "measured",
        reason,
        _OWN,
    )


def _moisture(found: TrueReading, wall: str) -> KeptPromise:
    return KeptPromise(
        "dry",
        "wood_moisture",
        "Wood by the meter, corrected",
        wall,
        "-",
        found.foretold,
        found.moisture,
        DRY_WOOD,
        "most",
        found.verdict,
        "measured",
        f"{found.reading.where}: {found.why}",
        found.source,
    )


def _house(
    study: Study, measured: Measured, tight: HouseTight, gain: Worth
) -> Iterator[KeptPromise]:
    """Promises of the house as a whole."""
    yield _air(study, measured)
    before = {f.key: f for f in study.findings}
    for finding in (*tight.findings, *gain.findings):
        if finding.key in before and finding.key != "house_air_change_50_per_h":
            rests = measured.fan is not None or finding.promise == "worth it"
            yield _of(before[finding.key], finding, "", rests)


def _air(study: Study, measured: Measured) -> KeptPromise:
    promised = study.tight.air_change_after
    figure: float | None = None
    verdict: Verdict = "needs a person"
    basis: Basis = "not measured"
    reason = "No fan test after the work."
    if measured.fan is not None:
        figure = measured.fan.after.air_change_50(study.survey.house.volume).best
        verdict = "holds" if figure <= promised.high else "falls short"
        basis = "measured"
        fan = measured.fan
        reason = (
            f"{figure:.1f} air changes an hour at 50 Pa; {promised.best:.1f} "
            f"({promised.low:.1f} to {promised.high:.1f}) promised. {fan.removed:.0%} of the "
            f"leakage is gone ({fan.removed_low:.0%} to {fan.removed_high:.0%}); the sealed "
            f"joints were reckoned to hold {fan.joints.best:.0%}."
        )
        if not fan.surely:
            reason += " The change is within what two tests scatter."
    return KeptPromise(
        "tight",
        "house_air_change_50_per_h",
        "Air change of the house at 50 Pa",
        "",
        "1/h",
        promised.best,
        figure,
        promised.high,
        "most",
        verdict,
        basis,
        reason,
        _HOUSE,
    )


def _remedies(walls: Iterable[ProvenWall]) -> Iterator[Remedy]:
    """Foam to add and joints to seal, wall by wall."""
    for proven in walls:
        part, areas = proven.measured, proven.areas
        parts = {b.bay: b for b in part.wrong if b.part is not None}
        for bay in part.bays:
            if bay.how in ("probed", "seen by the camera") and bay.short > TRACE:
                yield _refill(part.wall, bay, areas[bay.bay])
            elif bay.bay in parts:
                z0, z1 = parts[bay.bay].part or (0.0, 0.0)
                yield Remedy(
                    part.wall,
                    f"{bay.bay}, {z0:.1f} to {z1:.1f} m up",
                    "Open and look",
                    0.0,
                    0.0,
                    "Only this part is colder: a hollow place, or thin foam.",
                )
        for joint in part.leaks:
            yield _reseal(part.wall, joint)


def _refill(wall: str, bay: BayFoam, area: float) -> Remedy:
    told = f"{bay.thickness * 1e3:.0f} mm of {bay.planned * 1e3:.0f} mm, {bay.how}"
    what = "Spray" if bay.thickness < TRACE else "Add foam"
    return Remedy(wall, bay.bay, what, area * bay.short, 0.0, told)


def _reseal(wall: str, joint: JointLook) -> Remedy:
    where = f"{joint.joint} ({joint.kind})"
    if joint.at is not None:
        where += f" at {joint.at[0]:.2f} m, {joint.at[1]:.2f} m up"
    why = f"{-(joint.streak or 0.0):.1f} K colder than beside it"
    return Remedy(wall, where, "Seal again", 0.0, max(joint.length, _LEAST_METRES), why)
