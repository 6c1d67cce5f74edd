"""What a thermal camera will show of a wall, as found and after the work, by its solved field."""

from __future__ import annotations

from functools import lru_cache
from math import ceil, floor

import numpy as np

from warmside import drawings
from warmside.catalog import Source
from warmside.documents.picture import Picture
from warmside.documents.readers import builder_style
from warmside.drawings import Place, Thermal
from warmside.framing import Frame
from warmside.identity import Same
from warmside.physics.conduction import WallHeat
from warmside.physics.thermography import Camera
from warmside.promises import Outside, Room
from warmside.study import Study, WallStudy
from warmside.study.report import Statement
from warmside.study.report.house import FIELD
from warmside.wording import Figure, say

_READING = Source("Thermal cameras: accuracy of a single reading, 2 K or 2 %", "second-hand")
_FILM = Source("Surface films: 0.13 m2 K/W in the images, 0.25 in the tables", "from memory")
_WIDTH, _HEIGHT = 355.0, 165.0  # of an image, of the wall itself [user units]
_SHOWN = ("bay", "stud")  # kinds of region whose middles are written out


def camera_images(study: WallStudy, whole: Study) -> tuple[tuple[Picture, ...], Statement | None]:
    """Two thermal images on one scale, and how to read them; nothing where no field was solved.

    Parameters
    ----------
    study : WallStudy
        The wall: as found, and with the option put forward.
    whole : Study
        The house: room and design night.
    """
    before, after = study.as_found.warm.field, study.chosen.warm.field
    if before is None or after is None or study.chosen is study.as_found:
        return (), None
    title = f"After: {study.chosen.option.name}"
    return _images(Same(before), Same(after), Same(study.frame), title, whole.room,
                   Same(whole.outside))  # fmt: skip


@lru_cache(maxsize=64)  # the walls of a few houses: other prices leave them as they are
def _images(
    found: Same[WallHeat],
    proposed: Same[WallHeat],
    frame: Same[Frame],
    title: str,
    room: Room,
    around: Same[Outside],
) -> tuple[tuple[Picture, ...], Statement]:
    """Both pictures of a wall, as found and under ``title``."""
    before, after, outside = found.value, proposed.value, around.value
    thermals = [_thermal(heat, room, outside) for heat in (before, after)]
    scale = _scale(thermals)
    pictures = tuple(
        _picture(thermal, heat, frame.value, name, scale, room, outside)
        for thermal, heat, name in zip(thermals, (before, after), ("As found", title), strict=True)
    )
    bare, done = (_contrast(heat, room, outside) for heat in (before, after))
    told = say(
        "Studs and bays differ by {found} on average as found, by {done} after.",
        found=Figure(bare, "difference"),
        done=Figure(done, "difference"),
    )
    return pictures, Statement(told, (FIELD,))


def camera_note(whole: Study) -> Statement:
    """How the images are to be read, and how far.

    Parameters
    ----------
    whole : Study
        The house: room and design night.
    """
    camera, night = Camera(), whole.room.temperature - whole.outside.design
    told = say(
        "Both images of a wall have one scale and hold for the design night, {night} between room "
        "and outdoors; with half of that every difference is half as large. A camera reads a "
        "single temperature to ±{single}, but differences within one image to about {contrast}: "
        "judge the pattern. A bay that stands out colder than its neighbours after the work was "
        "missed. The tables' coldest surfaces are lower: they count with the film of a corner or "
        "behind furniture.",
        night=Figure(round(night), "difference"),
        single=Figure(camera.accuracy, "difference"),
        contrast=Figure(camera.contrast, "difference"),
    )
    return Statement(told, (FIELD, _READING, _FILM))


def _thermal(heat: WallHeat, room: Room, outside: Outside) -> Thermal:
    temperature = heat.temperature(room.temperature, outside.design)
    return Thermal(heat.x, heat.z, temperature, heat.seen)


def _scale(thermals: list[Thermal]) -> tuple[float, float]:
    """Whole degrees round everything that either image shows [degC]."""
    ranges = [thermal.range for thermal in thermals]
    low, high = floor(min(r[0] for r in ranges)), ceil(max(r[1] for r in ranges))
    return float(low), float(max(high, low + 1))


def _conditions(room: Room, outside: Outside) -> str:
    write = builder_style(outside.climate)
    indoors, out = (write(t, "temperature") for t in (room.temperature, outside.design))
    return f"Room {indoors}, outside {out}, steady; emissivity {Camera().emissivity:.2f}"


def _picture(
    thermal: Thermal,
    heat: WallHeat,
    frame: Frame,
    title: str,
    scale: tuple[float, float],
    room: Room,
    outside: Outside,
) -> Picture:
    return Picture.of(
        drawings.thermal_image(
            thermal,
            frame,
            _places(thermal, heat, frame),
            title=title,
            conditions=_conditions(room, outside),
            scale=scale,
            width=_WIDTH,
            max_height=_HEIGHT,
            style=builder_style(outside.climate),
        )
    )


def _places(thermal: Thermal, heat: WallHeat, frame: Frame) -> list[Place]:
    """The coldest spot, and the middle of the largest region of each kind shown."""
    seen = np.where(thermal.seen, thermal.temperature, np.inf)
    i, k = np.unravel_index(int(np.argmin(seen)), seen.shape)
    middle = [float(0.5 * (e[n] + e[n + 1])) for e, n in ((heat.x, i), (heat.z, k))]
    places = [Place("coldest", middle[0], middle[1])]
    for kind in _SHOWN:
        rects = [region.rect for region in frame.regions if region.kind == kind]
        if rects:
            r = max(rects, key=lambda r: r.area)
            places.append(Place(kind, 0.5 * (r.x0 + r.x1), 0.5 * (r.z0 + r.z1)))
    return places


def _contrast(heat: WallHeat, room: Room, outside: Outside) -> float:
    """Mean surface of the bays less that of the studs, as a size [K]."""
    mean = {k.kind: k.mean_factor for k in heat.by_kind}
    if not set(_SHOWN) <= set(mean):
        return 0.0
    return abs(mean["bay"] - mean["stud"]) * (room.temperature - outside.design)
