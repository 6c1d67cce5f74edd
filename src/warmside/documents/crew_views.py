"""What the crew sheet and the crew's pages show, as plain data; no money in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain, zip_longest
from typing import TypeVar

from warmside import drawings
from warmside.catalog import Catalog, SiteFigure
from warmside.documents.picture import Picture
from warmside.documents.typesetting import PaperView, Written
from warmside.options import WHY_SEALING, Gate, Sealing, Step
from warmside.proof import Power
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
from warmside.wording import Figure, Kind, Sentence, Style, figure_by_unit, joined, plain, say
from warmside.works import house_works

Text = str | Sentence | Figure
Row = tuple[Text, ...]
Said = TypeVar("Said", bound=Text)
MAP_WIDTH = 700.0  # [user units]
MAP_HEIGHT = 300.0  # of the wall itself
_ALONE = 0.75  # of both on a page with the steps, where it is set as much narrower
_TABLE_AIR = (10, 15, 20, 25, 30)  # [degC]
_TABLE_HUMIDITY = (0.4, 0.5, 0.6, 0.7, 0.8)
_OPEN = Gate("", "")  # who closes it is told elsewhere
# what a gate asks, in the order in which it is read
_ASKED = (
    "substrate-temperature", "wood-moisture", "dew-point-spread", "air-humidity",
    "drum-temperature", "drum-conditioning", "hose-temperature", "spray-pressure",
)  # fmt: skip
_DUST = (
    "Dust and fibre: eyes, lungs and skin are covered as the sheet of each material asks; old "
    "dust may hold lead or worse until a test says that it does not."
)


@dataclass(frozen=True)
class RunRow:
    """One run of the joint map: its length [m], its beads [mm], cartridges of 300 ml."""

    number: int
    key: str
    what: str
    where: Written  # in feet alone, so that the map keeps its size on paper
    length: Figure
    bead: Text
    cartridges: str


@dataclass(frozen=True)
class Line:
    """A name and its figure, or what a reading must be; where that is from."""

    name: Text
    text: Text
    source: str = ""


@dataclass(frozen=True)
class CrewWall:
    """One wall's two pages.

    A row of ``passes``: a depth, its passes, the wait between two, in how many places, their area,
    board feet in all and of each pass.
    """

    name: str
    option: Text
    facts: tuple[Line, ...]
    joint_map: Picture
    passes: tuple[Row, ...]
    warnings: tuple[Text, ...]
    runs: tuple[RunRow, ...]
    steps: tuple[Step, ...]
    pockets: tuple[Line, ...]
    pockets_do: Text  # what is done with them
    time: Text
    sealing: Text
    limits: tuple[Line, ...]


@dataclass(frozen=True)
class SprayDay:
    """The work area on a day on which foam is sprayed in it, and where its figures are from.

    The first row of ``least_surface`` are humidities of the air; the others a temperature of the
    air, then the least that the surface must have at each of them.
    """

    air: tuple[Line, ...]  # fan, make-up air, run-on and clearing
    notes: tuple[Text, ...]
    exposure: tuple[Line, ...]  # limits in air for those who work in it
    least_surface: Written  # in °C
    sources: tuple[str, ...]


@dataclass(frozen=True)
class CrewView(PaperView):
    """The whole sheet."""

    day: SprayDay | None  # None without foam
    reminders: tuple[Text, ...]
    windows: tuple[Line, ...]
    signs: tuple[Line, ...]
    before: tuple[Step, ...]  # done once for the house, before the walls and after them
    after: tuple[Step, ...]
    steps: tuple[Step, ...]  # what a step asks on every wall, said once
    limits: tuple[Line, ...]  # of the spray gate, for every foam that is sprayed
    warnings: tuple[Text, ...]
    walls: tuple[CrewWall, ...]


def crew_view(
    house: House,
    plans: tuple[WallPlan, ...],
    air: WorkAir,
    catalog: Catalog,
    today: date,
    windows: tuple[Window, ...] | None = None,
    powers: Mapping[str, Power] | None = None,
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
    powers : mapping of str to Power, optional
        What a thermal picture of a wall will show, by the wall's name.
    """
    family = next((plan.family for plan in plans if plan.family), "")
    works = house_works(bool(family), not house.spill_free)
    shows = powers or {}
    walls = [wall_view(plan, catalog, shows.get(plan.wall)) for plan in plans]
    steps = steps_once(walls)
    warnings = _shared([wall.warnings for wall in walls if wall.passes])
    return CrewView(
        spray_day(air, family, catalog) if family else None,
        tuple(reminder.text for reminder in catalog.reminders) if family else (_DUST,),
        tuple(_windows(windows)),
        tuple(Line(sign.head, sign.text) for sign in catalog.signs) if family else (),
        tuple(work.step for work in works if not work.last),
        tuple(work.step for work in works if work.last),
        tuple(steps.values()),
        limits_once(plans, catalog),
        warnings,
        tuple(_own(wall, steps, warnings) for wall in walls),
        house=house.name,
        place=house.place,
        date=today,
    )


def steps_once(walls: Sequence[CrewWall]) -> dict[str, Step]:
    """Each step as far as it is alike on all walls, by its title, in the order of the work.

    What has figures is of its wall, even where it is the only one or another happens to agree.
    """
    told: dict[str, list[Step]] = {}
    for step in filter(None, chain(*zip_longest(*(wall.steps for wall in walls)))):
        told.setdefault(step.title, []).append(step)
    return {
        title: replace(
            steps[0],
            do=tuple(t for t in _shared([s.do for s in steps]) if not any(plain(t).figures)),
            gate=steps[0].gate if len({(s.gate.who, s.gate.asks) for s in steps}) == 1 else _OPEN,
        )
        for title, steps in told.items()
    }


def _own(wall: CrewWall, steps: Mapping[str, Step], warnings: tuple[Text, ...]) -> CrewWall:
    """What of a wall is not said already of all walls."""
    own = []
    for step in wall.steps:
        said = steps[step.title]
        do = tuple(text for text in step.do if text not in said.do)
        own.append(replace(step, do=do, gate=_OPEN if said.gate.who else step.gate))
    rest = tuple(text for text in wall.warnings if text not in warnings)
    return replace(wall, steps=tuple(own), warnings=rest)


def _shared(told: Sequence[tuple[Said, ...]]) -> tuple[Said, ...]:
    """What every one of these says."""
    return tuple(text for text in told[0] if all(text in one for one in told)) if told else ()


def limits_once(plans: tuple[WallPlan, ...], catalog: Catalog) -> tuple[Line, ...]:
    """The spray gate's rows for each foam sprayed; a row of some foams alone names them."""
    outside = any(plan.outside for plan in plans if plan.family)
    families = tuple(dict.fromkeys(plan.family for plan in plans if plan.family))
    foams: dict[Line, list[str]] = {}
    for family in families:
        for row in limit_rows(family, catalog, outside):
            foams.setdefault(replace(row, source=""), []).append(family)
    return tuple(
        row if len(some) == len(families)
        else replace(row, name=say("{name} ({foams})", name=row.name, foams=joined(some, ", ")))
        for row, some in foams.items()
    )  # fmt: skip


_OPENED = "Open, look for wires and water, fill by hand or write down what stays hollow."
_CLOSED = "Not opened: they stay as they were found."


def wall_view(plan: WallPlan, catalog: Catalog, power: Power | None = None) -> CrewWall:
    """One wall's part of the sheet."""
    drawn = drawings.joint_map(
        plan.frame, plan.runs,
        width=MAP_WIDTH if plan.runs else _ALONE * MAP_WIDTH,
        max_height=MAP_HEIGHT if plan.runs else _ALONE * MAP_HEIGHT,
    )  # fmt: skip
    return CrewWall(
        plan.wall,
        plan.option.title,
        facts(plan, catalog, power),
        Picture.of(drawn),
        tuple(pass_rows(plan)),
        plan.passes.warnings,
        tuple(run_row(run) for run in plan.runs),
        plan.steps,
        tuple(Line(f"{len(same)} ×", why) for why, same in plan.pockets),
        _OPENED if plan.opens_bays else _CLOSED,
        time_words(plan),
        sealing_words(plan.sealing) if plan.runs and plan.family else "",
        limit_rows(plan.family, catalog, plan.outside) if plan.family else (),
    )


def facts(plan: WallPlan, catalog: Catalog, power: Power | None) -> tuple[Line, ...]:
    """The wall in figures, and what a thermal picture will show of its foam."""
    frame, passes = plan.frame, plan.passes
    lines = [Line("Wall", say("{length} × {height}", length=Figure(frame.length, "size"),
                              height=Figure(frame.height, "size")))]  # fmt: skip
    if passes.depths:
        lines += [
            Line("Foam", say("{foam}, {deep} sold", foam=passes.depths[0].foam_name,
                             deep=Figure(plan.thickness, "length"))),
            Line("Board feet", say("{net} net, {all} with waste",
                                   net=f"{passes.board_feet:,.0f}",
                                   all=f"{passes.with_waste:,.0f}")),
            Line("Picture-frame first",
                 say("{run} of edges", run=Figure(passes.frame_run, "span"))),
            Line("Trim", say("{area}, flush", area=Figure(plan.trim, "area"))
                 if plan.trim else "none asked for: leave the skin whole"),
            Line("Probes", say("{probes} at least, {cores} cores for density",
                               probes=f"{probes_needed(plan.sprayed_area, catalog)}",
                               cores=f"{catalog.site_figure('density-cores').least:g}")),
        ]  # fmt: skip
    if plan.runs:
        told = say(
            "{length} in {runs}, {cartridges} of 300 ml",
            length=Figure(sum(run.length for run in plan.runs), "span"),
            runs=Figure(len(plan.runs), "count", noun="run"),
            cartridges=Figure(round(plan.cartridges), "count", noun="cartridge"),
        )
        lines.append(Line("Joints", told))
    if power:
        lines.append(Line("Thermal picture", power.sentence))
    return tuple(lines)


def pass_rows(plan: WallPlan) -> Iterator[Row]:
    """The pass plan; slivers under 0.05 m2 are sprayed with what is beside them."""
    for depth in plan.passes.depths:
        if depth.area >= 0.05:
            yield (
                Figure(depth.thickness, "length"),
                say("{count} of {each}", count=f"{depth.count}", each=Figure(depth.each, "length")),
                Figure(depth.wait, "time") if depth.count > 1 else "none",
                f"{len(depth.bays)}",
                Figure(depth.area, "area"),
                f"{depth.board_feet:,.0f}",
                f"{depth.board_feet_each:,.0f}",
            )


def run_row(run: Run) -> RunRow:
    """One run as text."""
    beads = dict.fromkeys(
        say("{width} {shape}", width=Figure(b.width, "bead"), shape=b.shape) for b, _ in run.beads
    )
    return RunRow(
        run.number, run.key, run.what, Written(run.where, Style()),
        Figure(run.length, "span" if run.length >= 1.0 else "bead"), joined(beads, ", "),
        f"{run.cartridges:.1f}" if run.cartridges >= 0.05 else "<0.1",
    )  # fmt: skip


def sealing_words(chosen: Sealing) -> Sentence:
    """Both reasons, that of what was chosen first."""
    other: Sealing = "after" if chosen == "before" else "before"
    text = "Joints are sealed {chosen} foam: {why} The other way, {other}: {why_not}"
    return say(text, chosen=chosen, why=WHY_SEALING[chosen], other=other,
               why_not=WHY_SEALING[other])  # fmt: skip


def time_words(plan: WallPlan) -> Sentence:
    """How long the crew is on the wall."""
    time = plan.time
    told = say(
        "{all} added over the people; {clock} on the clock for {crew}.",
        all=Figure(time.hours, "labour"),
        clock=Figure(time.on_the_clock, "labour"),
        crew=f"{time.crew}",
    )
    waits = say("{wait} min of waiting are in it.", wait=f"{time.waiting * 60:.0f}")
    return joined((told, waits)) if time.waiting >= 1 / 60 else told


def limit_rows(family: str, catalog: Catalog, outside: bool = False) -> tuple[Line, ...]:
    """The spray gate as a list."""
    asked = (*_ASKED, *(("wind",) if outside else ()))
    rows = [catalog.site_figure(id, family) for id in asked]
    return tuple(Line(row.name, _allowed(row), str(row.source)) for row in rows)


def reading_limits(family: str, catalog: Catalog) -> dict[str, Text]:
    """What is allowed for each field of a reading."""
    return {field: _allowed(catalog.site_figure(id, family)) for field, id in READ_AGAINST.items()}


# as what a limit of the working day is written, by its row or unit, where the unit does not tell
_KINDS: dict[str, Kind] = {"spray-pressure": "pump pressure", "-": "share", "m/s": "wind"}


def _allowed(row: SiteFigure) -> Text:
    if row.low is not None and row.high is not None:
        return Figure(round(row.low), "temperature", to=round(row.high))
    text, end = ("{limit} or less", row.most) if row.low is None else ("{limit} or more", row.low)
    limit = figure_by_unit(end, row.unit)
    kind = _KINDS.get(row.id) or _KINDS.get(row.unit, limit.kind)
    return say(text, limit=replace(limit, kind=kind))


def spray_day(air: WorkAir, family: str, catalog: Catalog) -> SprayDay:
    """The day in the largest work area of a house in which foam of a family is sprayed."""
    rest = ("work-area-air", "work-area-pressure", "run-on-strong", "house-air", "mixing",
            "probe-area", "density-cores")  # fmt: skip
    sources = (str(catalog.site_figure(id, family).source) for id in (*_ASKED, *rest))

    def row(indoors: float) -> Row:
        least = (least_surface(indoors, share, family, catalog) for share in _TABLE_HUMIDITY)
        return tuple(Figure(t, "temperature") for t in (indoors, *map(round, least)))

    heads = tuple(Figure(share, "share") for share in _TABLE_HUMIDITY)
    return SprayDay(
        _air_lines(air),
        (
            "The clearing times count what is in the air when spraying ends, and nothing after "
            "it. Foam gives off more while it cures: a clearance reading settles it, no clock.",
            "Re-entry is the latest of the product's listing, its label and that reading.",
            *air.warnings,
        ),
        tuple(
            Line(
                row.name,
                f"{row.most * 1e6:g} mg/m³ ({parts_per_million(row.most):.1g} ppm); {row.source}",
            )
            for row in map(catalog.site_figure, ("mdi-ceiling", "mdi-shift"))
        ),
        Written((heads, *map(row, _TABLE_AIR)), Style()),
        tuple(dict.fromkeys(sources)),
    )


def _air_lines(air: WorkAir) -> tuple[Line, ...]:
    sized, (mixed, unmixed) = air.fan, air.clear_99
    fan = "{flow}, for {changes} air changes an hour"
    if sized.governs == "pressure":
        fan += " and what the enclosure leaks"
    return (
        Line("Work area", say("{volume}; measure it, the fan follows from it",
                              volume=Figure(air.volume, "volume"))),
        Line("Exhaust fan", say(fan, flow=Figure(sized.flow, "flow"),
                                changes=f"{air.air_changes:g}")),
        Line("Keep the work area", say("{pressure} below the rest of the house, by a gauge",
                                       pressure=f"{air.pressure:g} Pa")),
        Line("Make-up opening", say("{area} of free area, at the far end",
                                    area=Figure(sized.make_up, "hole"))),
        Line("To warm that air", say("{power} for {rise}",
                                     power=f"{sized.heat_per_kelvin * 20 / 1000:.1f} kW",
                                     rise=Figure(20.0, "difference"))),
        Line("After the last pass",
             say("{strong} h at full flow, then {weak} h at a tenth, and until re-entry",
                 strong=f"{air.strong:g}", weak=f"{air.weak:g}")),
        Line("Whole house meanwhile", say("{flow} at least", flow=Figure(air.house_flow, "flow"))),
        Line("Air 99 % cleared", say("{mixed} to {unmixed} min (does not mean safe to enter)",
                                     mixed=f"{mixed * 60:.0f}", unmixed=f"{unmixed * 60:.0f}")),
    )  # fmt: skip


def _windows(windows: tuple[Window, ...] | None) -> Iterator[Line]:
    if windows == ():
        yield Line("No hour", "of the forecast can be sprayed as the work area is kept")
    for one in (windows or ())[:10]:
        weekday, day, month = f"{one.start:%a %d %b}".split()
        start, end = f"{one.start:%H:%M}", f"{one.end:%H:%M}"
        yield Line(
            say("{weekday} {day} {month}", weekday=weekday, day=day, month=month),
            say("{start} to {end}, {hours} h", start=start, end=end, hours=f"{one.hours:g}"),
        )
