"""What the crew sheet and the crew's pages show, as plain data; no money in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from operator import itemgetter

from warmside import drawings, units
from warmside.catalog import Catalog, SiteFigure
from warmside.documents.annex_data import Picture
from warmside.documents.words import METRIC, TRADE
from warmside.options import WHY_SEALING, Sealing, Step
from warmside.site import (
    READ_AGAINST,
    Run,
    WallPlan,
    Window,
    WorkAir,
    least_surface,
    parts_per_million,
    probes_needed,
)
from warmside.survey import House
from warmside.wording import Figure, Sentence, Style, joined, say
from warmside.works import HOUSE_WORKS

Text = str | Sentence | Figure
Write = Callable[[float, str], str]  # a quantity [SI] and its kind, as its reader wants it
_FAHRENHEIT = Style(temperature="°F")
MAP_WIDTH = 700.0  # [user units]
MAP_HEIGHT = 300.0  # of the wall itself
_TABLE_AIR = (10, 15, 20, 25, 30)  # [degC]
_TABLE_HUMIDITY = (0.4, 0.5, 0.6, 0.7, 0.8)
# what a gate asks, in the order in which it is read
_ASKED = (
    "substrate-temperature", "wood-moisture", "dew-point-spread", "air-humidity",
    "drum-temperature", "drum-conditioning", "hose-temperature", "spray-pressure",
)  # fmt: skip
_DUST = (
    "Dust and fibre: eyes, lungs and skin are covered as the sheet of each material asks; old "
    "dust may hold lead or worse until a test says that it does not."
)


def both(value: float, kind: str) -> str:
    """A quantity as a sheet for every hand writes it: in the trade's units and in metric."""
    if kind in ("temperature", "difference"):
        return f"{METRIC(value, kind)} ({_FAHRENHEIT(value, kind)})"
    return f"{TRADE(value, kind)} ({METRIC(value, kind)})"


@dataclass(frozen=True)
class LimitRow:
    """One reading of the spray gate and what it must be."""

    name: Text
    allowed: Text
    source: str


@dataclass(frozen=True)
class PassRow:
    """One depth of the pass plan."""

    thickness: str
    passes: Text  # "2 of 1-1/2""
    wait: Text
    places: str
    area: str
    board_feet: str
    each: str


@dataclass(frozen=True)
class RunRow:
    """One run of the joint map: its length [m], its beads [mm], cartridges of 300 ml."""

    number: int
    key: str
    what: str
    where: str  # in feet alone, so that the map keeps its size on paper
    spot: Sentence  # the same, as each reader writes lengths
    length: Figure
    bead: Text
    cartridges: str


@dataclass(frozen=True)
class StepRow:
    """One step with its gate."""

    id: str
    title: str
    do: tuple[Text, ...]
    who: Text
    asks: Text
    before: bool
    overridable: bool


@dataclass(frozen=True)
class Line:
    """A name and its figure."""

    name: Text
    text: Text


@dataclass(frozen=True)
class CrewWall:
    """One wall's two pages."""

    name: str
    option: Text
    facts: tuple[Line, ...]
    joint_map: Picture
    passes: tuple[PassRow, ...]
    warnings: tuple[Text, ...]
    runs: tuple[RunRow, ...]
    steps: tuple[StepRow, ...]
    pockets: tuple[Line, ...]
    tasks: tuple[Line, ...]
    time: Text
    sealing: Text
    limits: tuple[LimitRow, ...]


@dataclass(frozen=True)
class LeastSurface:
    """Coldest surface that may be sprayed, by the air's temperature (rows) and humidity."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class CrewView:
    """The whole sheet."""

    house: str
    place: str
    date: date
    prepared_by: str
    paper: str
    air: tuple[Line, ...]
    air_notes: tuple[Text, ...]
    exposure: tuple[Line, ...]
    reminders: tuple[Text, ...]
    least_surface: LeastSurface
    windows: tuple[Line, ...]
    signs: tuple[Line, ...]
    before: tuple[StepRow, ...]  # done once for the house, before the walls and after them
    after: tuple[StepRow, ...]
    steps: tuple[StepRow, ...]  # what a step asks on every wall, said once
    limits: tuple[LimitRow, ...]  # of the spray gate, for every foam that is sprayed
    warnings: tuple[Text, ...]
    walls: tuple[CrewWall, ...]
    sources: tuple[str, ...]


def crew_view(
    house: House,
    plans: tuple[WallPlan, ...],
    air: WorkAir,
    catalog: Catalog,
    today: date,
    windows: tuple[Window, ...] | None = None,
    prepared_by: str = "",
    paper: str = "us-letter",
) -> CrewView:
    """Everything on the crew sheet of a house.

    Parameters
    ----------
    house : House
        Its name and place.
    plans : tuple of WallPlan
        The walls that are done.
    air : WorkAir
        Of the largest work area.
    catalog : Catalog
        Limits of the working day, reminders, signs.
    today : date
        Date of the sheet.
    windows : tuple of Window, optional
        Workable hours by the forecast; None: no forecast was given.
    prepared_by, paper : str
        Who made it, and its size of paper.
    """
    family = next((plan.family for plan in plans if plan.family), "")
    walls = tuple(wall_view(plan, catalog) for plan in plans)
    steps, own = steps_once(walls)
    warnings, own = warnings_once(own)
    return CrewView(
        house.name,
        house.place,
        today,
        prepared_by,
        paper,
        air_lines(air) if family else (),
        air_notes(air) if family else (),
        exposure_lines(catalog) if family else (),
        tuple(reminder.text for reminder in catalog.reminders) if family else (_DUST,),
        least_surfaces(family, catalog) if family else LeastSurface((), ()),
        _windows(windows),
        tuple(Line(sign.head, sign.text) for sign in catalog.signs) if family else (),
        house_steps(last=False),
        house_steps(last=True),
        steps,
        limits_once(plans, catalog),
        warnings,
        own,
        sources_of(family, catalog) if family else (),
    )


def house_steps(last: bool) -> tuple[StepRow, ...]:
    """What is done once for the house, before its walls or after them."""
    return tuple(step_row(work.step) for work in HOUSE_WORKS if work.last is last)


def steps_once(walls: tuple[CrewWall, ...]) -> tuple[tuple[StepRow, ...], tuple[CrewWall, ...]]:
    """Each step as far as it is alike on all walls; the walls with what is their own alone."""
    told: dict[str, list[StepRow]] = {}
    for _, step in sorted(
        ((n, step) for wall in walls for n, step in enumerate(wall.steps)), key=itemgetter(0)
    ):
        told.setdefault(step.title, []).append(step)
    common = {title: _alike(steps) for title, steps in told.items()}
    own = tuple(
        replace(wall, steps=tuple(_without(step, common[step.title]) for step in wall.steps))
        for wall in walls
    )
    return tuple(common.values()), own


def _alike(steps: list[StepRow]) -> StepRow:
    """What all these say, which bear one title: the common texts, and the gate if it is one.

    What has figures is of its wall, even where it is the only one or another happens to agree.
    """
    first = steps[0]
    do = tuple(
        text for text in first.do
        if all(text in other.do for other in steps) and not _has_figures(text)
    )  # fmt: skip
    gate = len({(other.who, other.asks) for other in steps}) == 1
    return replace(
        first, do=do, who=first.who if gate else "", asks=first.asks if gate else ""
    )  # fmt: skip


def _has_figures(text: Text) -> bool:
    return isinstance(text, Sentence) and any(text.figures)


def _without(step: StepRow, said: StepRow) -> StepRow:
    """What of a step is not said already."""
    do = tuple(text for text in step.do if text not in said.do)
    return replace(step, do=do, who="", asks="") if said.who else replace(step, do=do)


def warnings_once(walls: tuple[CrewWall, ...]) -> tuple[tuple[Text, ...], tuple[CrewWall, ...]]:
    """The warnings of every wall that is sprayed; the walls with their own."""
    sprayed = [wall.warnings for wall in walls if wall.passes]
    same = tuple(text for text in sprayed[0] if all(text in w for w in sprayed)) if sprayed else ()
    return same, tuple(
        replace(wall, warnings=tuple(text for text in wall.warnings if text not in same))
        for wall in walls
    )


def limits_once(plans: tuple[WallPlan, ...], catalog: Catalog) -> tuple[LimitRow, ...]:
    """The spray gate's rows for each foam sprayed; a row of some foams alone names them."""
    outside = any(plan.outside for plan in plans if plan.family)
    families = tuple(dict.fromkeys(plan.family for plan in plans if plan.family))
    holds: dict[tuple[Text, Text], LimitRow] = {}
    foams: dict[tuple[Text, Text], list[str]] = {}
    for family in families:
        for row in limit_rows(family, catalog, outside):
            holds.setdefault((row.name, row.allowed), row)
            foams.setdefault((row.name, row.allowed), []).append(family)
    return tuple(
        row
        if len(foams[key]) == len(families)
        else replace(
            row, name=say("{name} ({foams})", name=row.name, foams=joined(foams[key], ", "))
        )
        for key, row in holds.items()
    )


def wall_view(plan: WallPlan, catalog: Catalog, write: Write = both) -> CrewWall:
    """One wall's part of the sheet, its figures as ``write`` writes them."""
    drawn = drawings.joint_map(plan.frame, plan.runs, width=MAP_WIDTH, max_height=MAP_HEIGHT)
    return CrewWall(
        plan.wall,
        plan.option.title,
        facts(plan, catalog, write),
        Picture.of(drawn),
        pass_rows(plan, write),
        plan.passes.warnings,
        tuple(run_row(run) for run in plan.runs),
        tuple(step_row(step) for step in plan.steps),
        tuple(
            Line(f"{len(same)} ×" if len(same) > 1 else "1 ×", why) for why, same in plan.pockets
        ),
        tuple(Line(name, Figure(hours, "labour")) for name, hours in plan.time.tasks),
        time_words(plan),
        sealing_words(plan.sealing) if plan.runs and plan.family else "",
        limit_rows(plan.family, catalog, plan.outside, write) if plan.family else (),
    )


def facts(plan: WallPlan, catalog: Catalog, write: Write = both) -> tuple[Line, ...]:
    """The wall in figures."""
    ends = (write(plan.frame.length, "size"), write(plan.frame.height, "size"))
    lines = [Line("Wall", " × ".join(ends))]
    if plan.passes.depths:
        lines += [
            Line("Foam", say("{foam}, {deep} sold", foam=plan.passes.depths[0].foam_name,
                             deep=write(plan.thickness, "length"))),
            Line("Board feet", say("{net} net, {all} with waste",
                                   net=f"{plan.passes.board_feet:,.0f}",
                                   all=f"{plan.passes.with_waste:,.0f}")),
            Line("Picture-frame first",
                 say("{run} of edges", run=write(plan.passes.frame_run, "span"))),
            Line("Trim", say("{area}, flush", area=write(plan.trim, "area"))
                 if plan.trim else "none asked for: leave the skin whole"),
            Line("Probes", say("{probes} at least, {cores} cores for density",
                               probes=f"{probes_needed(plan.sprayed_area, catalog)}",
                               cores=f"{catalog.site_figure('density-cores').least:g}")),
        ]  # fmt: skip
    if plan.runs:
        metres = sum(run.length for run in plan.runs)
        told = say(
            "{length} in {runs}, {cartridges} of 300 ml",
            length=write(metres, "span"),
            runs=Figure(len(plan.runs), "count", noun="run"),
            cartridges=Figure(round(plan.cartridges), "count", noun="cartridge"),
        )
        lines.append(Line("Joints", told))
    return tuple(lines)


def pass_rows(plan: WallPlan, write: Write = both) -> tuple[PassRow, ...]:
    """The pass plan; slivers under 0.05 m2 are sprayed with what is beside them."""
    return tuple(
        PassRow(
            write(depth.thickness, "length"),
            say("{count} of {each}", count=f"{depth.count}", each=write(depth.each, "length")),
            f"{depth.wait / 60:.0f} min" if depth.count > 1 else "none",
            f"{len(depth.bays)}",
            write(depth.area, "area"),
            f"{depth.board_feet:,.0f}",
            f"{depth.board_feet_each:,.0f}",
        )
        for depth in plan.passes.depths
        if depth.area >= 0.05
    )


def run_row(run: Run) -> RunRow:
    """One run as text."""
    beads = dict.fromkeys(
        say("{width} {shape}", width=Figure(b.width, "bead"), shape=b.shape) for b, _ in run.beads
    )
    return RunRow(
        run.number, run.key, run.what, run.key.partition("|")[2], run.where,
        Figure(run.length, "span" if run.length >= 1.0 else "bead"), joined(beads, ", "),
        _tenths(run.cartridges),
    )  # fmt: skip


def _tenths(value: float) -> str:
    return f"{value:.1f}" if value >= 0.05 else "<0.1"


def step_row(step: Step) -> StepRow:
    """One step as text."""
    gate = step.gate
    return StepRow(
        step.id, step.title, step.do, gate.who, gate.asks, gate.before, gate.may_be_overridden
    )


def sealing_words(chosen: Sealing) -> Sentence:
    """Both reasons, that of what was chosen first."""
    other: Sealing = "after" if chosen == "before" else "before"
    text = (
        "Joints are sealed before foam: {why} The other way, after: {other}"
        if chosen == "before"
        else "Joints are sealed after foam: {why} The other way, before: {other}"
    )
    return say(text, why=WHY_SEALING[chosen], other=WHY_SEALING[other])


def time_words(plan: WallPlan) -> Sentence:
    """How long the crew is on the wall."""
    time = plan.time
    told = say(
        "{all} added over the people; {clock} on the clock for {crew}.",
        all=Figure(time.hours, "labour"),
        clock=Figure(time.on_the_clock, "labour"),
        crew=f"{time.crew}",
    )
    if time.waiting < 1 / 60:
        return told
    wait = f"{time.waiting * 60:.0f}"
    return joined((told, say("{wait} min of waiting are in it.", wait=wait)))


def limit_rows(
    family: str, catalog: Catalog, outside: bool = False, write: Write = both
) -> tuple[LimitRow, ...]:
    """The spray gate as a list."""
    asked = (*_ASKED, *(("wind",) if outside else ()))
    return tuple(_limit(catalog.site_figure(id, family), write) for id in asked)


def reading_limits(family: str, catalog: Catalog, write: Write = both) -> dict[str, Text]:
    """What is allowed for each field of a reading."""
    return {
        field: _limit(catalog.site_figure(id, family), write).allowed
        for field, id in READ_AGAINST.items()
    }


def _limit(row: SiteFigure, write: Write) -> LimitRow:
    if row.low is not None and row.high is not None:
        ways = (METRIC, _FAHRENHEIT) if write is both else (write,)
        ends = [[way(round(t), "temperature") for t in (row.low, row.high)] for way in ways]
        first, *other = (
            say("{low} to {high}", low=low.partition(" ")[0], high=high) for low, high in ends
        )
        allowed = say("{first} ({other})", first=first, other=other[0]) if other else first
    elif row.low is not None:
        allowed = say("{limit} or more", limit=_figure(row.low, row.unit, write))
    else:
        allowed = say("{limit} or less", limit=_figure(row.most, row.unit, write))
    return LimitRow(row.name, allowed, str(row.source))


def _figure(value: float, unit: str, write: Write) -> str:
    if unit in ("-", "kg/kg"):
        return f"{value:.0%}"
    if unit == "Pa" and value > 1e5:
        return f"{value / units.POUND_PER_INCH2:.0f} psi ({value / 1e6:.1f} MPa)"
    kinds = {"m/s": "wind", "°C": "temperature", "degC": "temperature", "K": "difference"}
    return write(value, kinds[unit]) if unit in kinds else f"{value:g} {unit}"


def least_surfaces(family: str, catalog: Catalog, write: Write = METRIC) -> LeastSurface:
    """The table that hangs in the truck: for each air, how warm the surface must be."""
    return LeastSurface(
        tuple(f"{humidity:.0%}" for humidity in _TABLE_HUMIDITY),
        tuple(
            (
                write(air, "temperature"),
                *(
                    write(round(least_surface(air, h, family, catalog)), "temperature")
                    for h in _TABLE_HUMIDITY
                ),
            )
            for air in _TABLE_AIR
        ),
    )


def air_lines(air: WorkAir, write: Write = both) -> tuple[Line, ...]:
    """Fan, make-up air, run-on and clearing."""
    sized, hours = air.fan, air.clear_99
    flow, changes = write(sized.flow, "flow"), f"{air.air_changes:g}"
    fan = (
        say(
            "{flow}, for {changes} air changes an hour and what the enclosure leaks",
            flow=flow,
            changes=changes,
        )
        if sized.governs == "pressure"
        else say("{flow}, for {changes} air changes an hour", flow=flow, changes=changes)
    )
    return (
        Line("Work area", say("{volume}; measure it, the fan follows from it",
                              volume=write(air.volume, "volume"))),
        Line("Exhaust fan", fan),
        Line("Keep the work area", say("{pressure} below the rest of the house, by a gauge",
                                       pressure=f"{air.pressure:g} Pa")),
        Line("Make-up opening", say("{area} of free area, at the far end",
                                    area=write(sized.make_up, "hole"))),
        Line("To warm that air", say("{power} for {rise}",
                                     power=f"{sized.heat_per_kelvin * 20 / 1000:.1f} kW",
                                     rise=write(20.0, "difference"))),
        Line("After the last pass",
             say("{strong} h at full flow, then {weak} h at a tenth, and until re-entry",
                 strong=f"{air.strong:g}", weak=f"{air.weak:g}")),
        Line("Whole house meanwhile", say("{flow} at least",
                                          flow=write(air.house_flow, "flow"))),
        Line("Air 99 % cleared", say("{mixed} to {unmixed} min (does not mean safe to enter)",
                                     mixed=f"{hours[0] * 60:.0f}",
                                     unmixed=f"{hours[1] * 60:.0f}")),
    )  # fmt: skip


def air_notes(air: WorkAir) -> tuple[Text, ...]:
    """What the clearing times rest on, and what to switch off."""
    return (
        "The clearing times count what is in the air when spraying ends, and nothing after it. "
        "Foam gives off more while it cures: a clearance reading settles it, no clock.",
        "Re-entry is the latest of the product's listing, its label and that reading.",
        *air.warnings,
    )


def exposure_lines(catalog: Catalog) -> tuple[Line, ...]:
    """Limits in air for those who work in it."""
    lines = []
    for id in ("mdi-ceiling", "mdi-shift"):
        row = catalog.site_figure(id)
        ppm = parts_per_million(row.most)
        lines.append(Line(row.name, f"{row.most * 1e6:g} mg/m³ ({ppm:.1g} ppm); {row.source}"))
    return tuple(lines)


def sources_of(family: str, catalog: Catalog) -> tuple[str, ...]:
    """Where the figures of the sheet come from, each once."""
    asked = (*_ASKED, "work-area-air", "work-area-pressure", "run-on-strong", "house-air", "mixing",
             "probe-area", "density-cores")  # fmt: skip
    return tuple(dict.fromkeys(str(catalog.site_figure(id, family).source) for id in asked))


def _windows(windows: tuple[Window, ...] | None) -> tuple[Line, ...]:
    if windows is None:
        return ()
    if not windows:
        return (Line("No hour", "of the forecast can be sprayed as the work area is kept"),)
    return tuple(
        Line(
            say(
                "{weekday} {day} {month}",
                weekday=f"{w.start:%a}",
                day=f"{w.start:%d}",
                month=f"{w.start:%b}",
            ),
            say(
                "{start} to {end}, {hours} h",
                start=f"{w.start:%H:%M}",
                end=f"{w.end:%H:%M}",
                hours=f"{w.hours:g}",
            ),
        )
        for w in windows[:10]
    )
