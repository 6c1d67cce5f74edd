"""One wall's page: its drawings, what was found, what comes first, the options side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from warmside import drawings
from warmside.documents.annex_data import WallPage
from warmside.documents.camera import camera_images
from warmside.documents.picture import Picture
from warmside.documents.readers import builder_style
from warmside.documents.typesetting import Written
from warmside.framing import Frame
from warmside.identity import Same
from warmside.physics.moisture import MonthlyBalance, critical_humidity
from warmside.promises import Outside
from warmside.study import OptionStudy, Study, WallStudy
from warmside.study.report import OptionReport, WallReport
from warmside.survey import Wall
from warmside.wording import PAPER, Style

# elevation and section stand side by side, at 0.72 of their user units; so do two charts of years
_ELEVATION, _HEIGHT, _SECTION = 444.0, 230.0, 262.0  # [user units], height of the wall itself
_CHART, _YEARS = 540.0, 400.0  # [user units] wide
_AUTUMN = 9  # charts of a year begin in September
_NOTICED = 1e-3  # [kg/m2] less water than this is none


def wall_page(study: WallStudy, told: WallReport, whole: Study) -> WallPage:
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
    images, images_note = camera_images(study, whole)
    style, title = builder_style(whole.outside.climate), f"{study.wall.name}: wood, {{path}}"
    return WallPage(
        report=replace(told, facts=(), options=()),
        # areas and runs in both systems, sizes as the trade writes them
        facts=tuple(
            Written(fact) if {f.kind for f in fact.value.figures} <= {"area", "span"} else fact
            for fact in told.facts
        ),
        options=tuple(_option(option, style) for option in told.options),
        elevation=_elevation(Same(study.frame), study.wall),
        section=Picture.of(option_section(study.chosen.lasting, Same(whole.outside), _SECTION)),
        chart=_year_chart(study),
        images=images,
        images_note=images_note,
        years=next(years_charts(study.chosen, style, _YEARS, title), None),
    )


@lru_cache(maxsize=64)  # the walls of a few houses: other prices leave them as they are
def _elevation(frame: Same[Frame], wall: Wall) -> Picture:
    return Picture.of(drawings.elevation(frame.value, wall, width=_ELEVATION, max_height=_HEIGHT))


def _option(told: OptionReport, style: Style) -> Written:
    """An option in both systems, but in one where a column's head names the unit, and in the
    reader's alone where a column has no room for both.
    """
    headed = {name: Written(getattr(told, name), PAPER) for name in ("water", "foam")}
    own = {"coldest": Written(told.coldest, style), "findings": ()}
    return Written(vars(told) | headed | own)


@lru_cache(maxsize=512)  # the options of a few houses: other prices leave them as they are
def option_section(
    lasting: Same[OptionStudy],
    outside: Same[Outside],
    width: float = 600.0,
    style: Style | None = None,
) -> str:
    """Section of an option on the design night, as SVG; for builders unless ``style`` is given."""
    option, night = lasting.value, outside.value
    room, reader = option.room, style or builder_style(night.climate)
    state = drawings.DesignState(room.temperature, night.design, room.dew_point, reader)
    bay, stud = option.warm.profile_of("bay"), option.warm.profile_of("stud", "double stud")
    return drawings.section(option.build_up, state, bay, stud, width=width)


def _year_chart(study: WallStudy) -> Picture:
    """Water through the year of the options that gather any, and of the chosen one."""
    years = [
        drawings.Year(o.option.name, _from_autumn(o.dry.worst), _AUTUMN, o.verdict("dry"))
        for o in study.options
        if o is study.chosen or (o.build_up.can_be_built and o.dry.worst.peak >= _NOTICED)
    ]
    title = "Water gathered by diffusion; options not shown gather none"
    return Picture.of(drawings.moisture_year(years, title=title, width=_CHART))


def years_charts(
    option: OptionStudy,
    style: Style,
    width: float,
    title: str = "Moisture of the wood hour by hour, {path}",
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
            style=style,
            title=f"{option.option.name}: worst interface against mould, {path.path}",
        )
    )


def _from_autumn(balance: MonthlyBalance) -> tuple[float, ...]:
    """Water held at the end of each month [kg/m2], from September on."""
    held = dict(zip(balance.months, balance.accumulated, strict=True))
    return tuple(held[(_AUTUMN - 1 + k) % 12 + 1] for k in range(12))
