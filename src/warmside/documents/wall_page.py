"""One wall's page: its drawings, what was found, what comes first, the options side by side."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from warmside import drawings
from warmside import wording as written
from warmside.documents.annex_data import (
    CHART_WIDTH,
    ELEVATION_HEIGHT,
    ELEVATION_WIDTH,
    SECTION_WIDTH,
    YEARS_WIDTH,
    Fact,
    Figure,
    Judged,
    OptionRow,
    Picture,
    WallPage,
)
from warmside.documents.camera import camera_images
from warmside.documents.words import (
    METRIC,
    TRADE,
    money,
    resistance,
    temperature,
    worst,
)
from warmside.physics.moisture import MonthlyBalance, critical_humidity
from warmside.study import OptionStudy, Study, WallStudy, report
from warmside.study.report.wall import bay_layers
from warmside.wording import PROMISES, raised

_AUTUMN = 9  # charts of a year begin in September
_NOTICED = 1e-3  # [kg/m2] less water than this is none
_LEAST_DEPTH = 90.0  # of the layers in a section [user units]


def wall_page(study: WallStudy, told: report.WallReport, whole: Study) -> WallPage:
    """Everything that the annex shows of one wall.

    Parameters
    ----------
    study : WallStudy
        The wall.
    told : WallReport
        What is reported of it.
    whole : Study
        The house: room, weather.
    """
    frame, chosen = study.frame, study.chosen
    images, images_note = camera_images(study, whole)
    elevation = Picture.of(
        drawings.elevation(frame, study.wall, width=ELEVATION_WIDTH, max_height=ELEVATION_HEIGHT)
    )
    return WallPage(
        name=study.wall.name,
        facts=tuple(map(_fact, told.facts)),
        recommended=chosen.option.name,
        why=study.why_chosen,
        price=money(chosen.price) if chosen.price else "",
        elevation=elevation,
        section=_section(study, whole, _height(elevation)),
        options=tuple(
            _option(o, one, o is chosen) for o, one in zip(study.options, told.options, strict=True)
        ),
        found=told.found,
        mend_first=told.mend_first,
        takeoff=told.takeoff,
        sums=told.sums,
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


def _fact(fact: report.Fact) -> Fact:
    """Areas and runs in both systems; sizes as the trade writes them."""
    text = raised(TRADE.sentence(fact.value))
    both = {figure.kind for figure in fact.value.figures} <= {"area", "span"}
    return Fact(fact.name, Figure(text, METRIC.sentence(fact.value) if both else ""))


def _height(picture: Picture) -> float:
    """Height of a drawing [user units]."""
    box = re.search(r'viewBox="0 0 [\d.]+ ([\d.]+)"', picture.svg)
    return float(box[1]) if box else 0.0


def _section(study: WallStudy, whole: Study, height: float) -> Picture:
    """Section of the chosen option, its layers as deep as makes it as high as the elevation."""

    def drawn(depth: float) -> Picture:
        outside = whole.outside.design
        return Picture.of(option_section(study.chosen, outside, SECTION_WIDTH, depth))

    first = drawn(_LEAST_DEPTH)
    return drawn(_LEAST_DEPTH + max(0.0, height - _height(first)))


def option_section(option: OptionStudy, outside: float, width: float, depth: float = 150.0) -> str:
    """Section of an option on the design night of ``outside`` [degC], as SVG."""
    room, warm = option.room, option.warm
    state = drawings.DesignState(room.temperature, outside, room.dew_point)
    bay, stud = warm.profile_of("bay"), warm.profile_of("stud", "double stud")
    return drawings.section(option.build_up, state, bay, stud, width=width, depth=depth)


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


def _option(option: OptionStudy, told: report.OptionReport, recommended: bool) -> OptionRow:
    heat, warm = option.warm.heat, option.warm
    between = [
        x for x in bay_layers(option) if x.role in ("foam", "fill", "board") and x.conductivity
    ]
    nominal = sum(x.thickness / x.conductivity for x in between if x.conductivity)
    sources = option.build_up.sources
    net = next((q.amount for q in option.quantities if q.group == "foam_net"), None)
    short = [p.removesuffix(" it") for p in PROMISES if option.verdict(p) == "falls short"]
    return OptionRow(
        name=option.option.name,
        nominal=resistance(nominal) if between else Figure("none"),
        parallel=resistance(heat.upper),
        planes=resistance(heat.lower),
        combined=resistance(heat.resistance),
        field=resistance(warm.resistance) if warm.field else Figure("–"),
        coldest=temperature(warm.coldest.surface, worst(warm.findings)),
        year=Figure(
            str(told.water).removesuffix(" by diffusion").replace(" g/m²", ""),
            verdict=worst(option.dry.findings),
        ),
        board_feet=Figure(f"{net:,.0f}" if net else "–"),
        saving=Figure(*_parted(told.saving)) if told.saving else Figure("–"),
        price=Figure(told.price or "–"),
        short=", ".join(short),
        recommended=recommended,
        refusals=told.refusals,
        sources=tuple(dict.fromkeys(sources[x.material].heat for x in between)),
    )


def _parted(saving: written.Figure) -> tuple[str, str]:
    """A sum of money and its band for two lines of a narrow column, in the table's currency."""
    text, _, band = str(replace(saving, currency="")).partition(" (")
    return text, band.removesuffix(")").replace(" to ", "–")
