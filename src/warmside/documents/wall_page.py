"""One wall's page: its drawings, what was found, what comes first, the options side by side."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice

from warmside import drawings, units
from warmside.documents.camera import camera_images
from warmside.documents.proposal_data import (
    CHART_WIDTH,
    ELEVATION_HEIGHT,
    ELEVATION_WIDTH,
    SECTION_WIDTH,
    YEARS_WIDTH,
    Fact,
    Figure,
    Judged,
    Note,
    OptionRow,
    Picture,
    WallPage,
)
from warmside.documents.takeoff import sums, takeoff_rows
from warmside.documents.words import (
    References,
    area,
    length,
    money,
    raised,
    resistance,
    temperature,
    worst,
)
from warmside.physics.assembly import Layer
from warmside.physics.moisture import MonthlyBalance, critical_humidity
from warmside.promises import Finding, Verdict
from warmside.study import OptionStudy, Study, WallStudy
from warmside.wording import PROMISES

_AUTUMN = 9  # charts of a year begin in September
_NOTICED = 1e-3  # [kg/m2] less water than this is none
_LEAST_DEPTH = 90.0  # of the layers in a section [user units]


def wall_page(study: WallStudy, whole: Study, refs: References) -> WallPage:
    """Everything that the proposal shows of one wall.

    Parameters
    ----------
    study : WallStudy
        The wall.
    whole : Study
        The house: room, weather.
    refs : References
        Takes the sources used.
    """
    frame, chosen = study.frame, study.chosen
    images, images_note = camera_images(study, whole, refs)
    elevation = Picture.of(
        drawings.elevation(frame, study.wall, width=ELEVATION_WIDTH, max_height=ELEVATION_HEIGHT)
    )
    return WallPage(
        name=study.wall.name,
        facts=(
            Fact("Size", Figure(f"{length(frame.length)} × {length(frame.height)}")),
            Fact("Without openings", area(frame.net_area)),
            Fact("Studs", Figure(_studs(study))),
            Fact("Framing share", Figure(f"{frame.framing_share:.0%}", "of the area")),
            Fact("Joints to seal", _joints(study)),
        ),
        recommended=chosen.option.name,
        why=study.why_chosen,
        price=money(chosen.price) if chosen.price else "",
        elevation=elevation,
        section=_section(study, whole, _height(elevation)),
        options=tuple(_option(o, o is chosen, refs) for o in study.options),
        found=tuple(_found(study, refs)),
        mend_first=tuple(_mend_first(study, refs)),
        takeoff=takeoff_rows(chosen, refs),
        sums=sums(chosen.price) if chosen.price else (),
        charts=(_year_chart(study),),
        promises=judged(chosen),
        images=images,
        images_note=images_note,
        years=tuple(
            islice(years_charts(chosen, YEARS_WIDTH, f"{study.wall.name}: wood, {{path}}"), 1)
        ),
    )


def judged(option: OptionStudy) -> tuple[Judged, ...]:
    """The option's six promises with their verdicts."""
    return tuple(Judged(promise, option.verdict(promise)) for promise in PROMISES)


def _studs(study: WallStudy) -> str:
    frame = study.frame
    width, depth = (units.show(v, "length") for v in (frame.stud_width, frame.depth))
    return f"{width} × {depth} at {units.show(study.wall.spacing, 'length')}"


def _joints(study: WallStudy) -> Figure:
    metres = sum(joint.length for joint in study.frame.joints)
    return Figure(f"{metres / 0.3048:.0f} ft", f"{metres:.0f} m")


def _height(picture: Picture) -> float:
    """Height of a drawing [user units]."""
    box = re.search(r'viewBox="0 0 [\d.]+ ([\d.]+)"', picture.svg)
    return float(box[1]) if box else 0.0


def _section(study: WallStudy, whole: Study, height: float) -> Picture:
    """Section of the chosen option, its layers as deep as makes it as high as the elevation."""
    chosen, room = study.chosen, whole.room
    bay, stud = chosen.warm.profile_of("bay"), chosen.warm.profile_of("stud", "double stud")
    state = drawings.DesignState(room.temperature, whole.outside.design, room.dew_point)

    def drawn(depth: float) -> Picture:
        return Picture.of(
            drawings.section(chosen.build_up, state, bay, stud, width=SECTION_WIDTH, depth=depth)
        )

    first = drawn(_LEAST_DEPTH)
    return drawn(_LEAST_DEPTH + max(0.0, height - _height(first)))


def _year_chart(study: WallStudy) -> Picture:
    """Water through the year of the options that gather any, and of the chosen one."""
    shown = [
        o for o in study.options
        if o is study.chosen or (o.build_up.can_be_built and o.dry.worst.peak >= _NOTICED)
    ]  # fmt: skip
    years = [
        drawings.Year(o.option.name, _from_autumn(o.dry.worst), _AUTUMN, o.verdict("dry"))
        for o in shown
    ]
    title = "Water gathered by diffusion; options not shown gather none"
    return Picture.of(drawings.moisture_year(years, title=title, width=CHART_WIDTH))


def years_charts(
    option: OptionStudy, width: float, title: str = "Moisture of the wood hour by hour, {path}"
) -> Iterator[Picture]:
    """The first path run hour by hour: its wood if it has any, then its worst interface."""
    hourly = option.dry.hourly
    if hourly is None or not hourly.paths:
        return
    path, first = hourly.paths[0], hourly.first_month
    if path.wood:
        courses = [drawings.Course(wood.name, wood.mean.tolist()) for wood in path.wood]
        named = title.replace("{path}", path.path)
        yield Picture.of(drawings.wood_years(courses, first_month=first, title=named, width=width))
    yield Picture.of(
        drawings.mould_years(
            path.temperature.tolist(),
            path.humidity.tolist(),
            lambda t: critical_humidity(t, 100.0 * path.humidity_least) / 100.0,
            path.mould.tolist(),
            between=path.between,
            first_month=first,
            width=width,
            title=f"{option.option.name}: worst interface against mould, {path.path}",
        )
    )


def _from_autumn(balance: MonthlyBalance) -> tuple[float, ...]:
    """Water held at the end of each month [kg/m2], from September on."""
    held = dict(zip(balance.months, balance.accumulated, strict=True))
    return tuple(held[(_AUTUMN - 1 + k) % 12 + 1] for k in range(12))


def _bay(option: OptionStudy) -> tuple[Layer, ...]:
    bays = [s for s in option.build_up.stacks if s.kind == "bay"] or option.build_up.stacks
    return max(bays, key=lambda s: s.area).sheets


def _option(option: OptionStudy, recommended: bool, refs: References) -> OptionRow:
    heat, warm = option.warm.heat, option.warm
    between = [x for x in _bay(option) if x.role in ("foam", "fill", "board") and x.conductivity]
    nominal = sum(x.thickness / x.conductivity for x in between if x.conductivity)
    sources = option.build_up.sources
    net = next((q.amount for q in option.quantities if q.group == "foam_net"), None)
    saved = option.worth.money if option.price else None
    short = [p.removesuffix(" it") for p in PROMISES if option.verdict(p) == "falls short"]
    return OptionRow(
        name=option.option.name,
        nominal=resistance(nominal, *refs.to(*(sources[x.material].heat for x in between)))
        if between
        else Figure("none"),
        parallel=resistance(heat.upper),
        planes=resistance(heat.lower),
        combined=resistance(heat.resistance),
        field=resistance(warm.resistance) if warm.field else Figure("–"),
        coldest=temperature(warm.coldest.surface, worst(warm.findings)),
        year=_water(option),
        board_feet=Figure(f"{net:,.0f}" if net else "–"),
        saving=Figure(f"{saved.best:,.0f}", f"{saved.low:,.0f}–{saved.high:,.0f}")
        if saved
        else Figure("–"),
        price=Figure(f"{option.price.total:,.2f}" if option.price else "–"),
        short=", ".join(short),
        unjudged=any(option.verdict(p) == "not judged" for p in PROMISES),
        recommended=recommended,
        refusals=tuple(f"{r.reason} Instead: {r.instead}" for r in option.build_up.refusals),
    )


def _water(option: OptionStudy) -> Figure:
    """Most water held in the wettest path [g/m²], and whether summer dries it."""
    worst_path, verdict = option.dry.worst, worst(option.dry.findings)
    if worst_path.peak < _NOTICED:
        return Figure("stays dry", verdict=verdict)
    ends = "dries" if worst_path.dries else "stays wet"
    return Figure(f"{worst_path.peak * 1000:.0f}, {ends}", verdict=verdict)


def _found(study: WallStudy, refs: References) -> list[Note]:
    found, frame = study.wall.found, study.frame
    layers, sources = _bay(study.as_found), study.as_found.build_up.sources
    notes = [
        Note(
            "Room to outside: " + ", ".join(layer.name.lower() for layer in layers) + ".",
            refs.to(*(sources[layer.material].heat for layer in layers)),
        )
    ]
    if found.fill and found.fill_state != "dry":
        notes.append(Note(f"The fill was found {found.fill_state}."))
    if frame.pockets:
        whys = "; ".join(dict.fromkeys(pocket.why for pocket in frame.pockets))
        notes.append(Note(f"{len(frame.pockets)} pockets that foam does not reach: {whys}."))
    return notes


def _mend_first(study: WallStudy, refs: References) -> list[Note]:
    """What a person must do before, worst first; the rest of the findings stand in the JSON."""
    # the official's questions and the money are told elsewhere
    open_ = [
        f for f in study.chosen.findings
        if f.verdict != "holds" and f.promise not in ("legal", "worth it")
    ]  # fmt: skip
    order: dict[Verdict, int] = {"falls short": 0, "needs a person": 1, "holds": 2}
    gates = [f for f in open_ if f.key.startswith(("hazard", "wood_moisture", "pocket"))]
    rest = [f for f in open_ if f not in gates and f.verdict == "falls short"]
    return [
        Note(raised(_briefly(f)), refs.to(f.source))
        for f in sorted([*gates, *rest], key=lambda f: order[f.verdict])
    ]


def _briefly(finding: Finding) -> str:
    """A hazard by its first clause, since the first pages tell it whole; the rest as found."""
    if finding.key.startswith("hazard"):
        return f"{str(finding.reason).partition('. It stops:')[0]} (see Before any work starts)."
    return f"{finding.reason} {finding.change}".strip()
