"""The four sides of the demonstration house in six climates: rain, summer, winter.

``./bench six_climates [place ...]`` prints the tables of ``docs/six-climates.md``, ``--write`` puts
them there. People, walls and joints stay; the reading of North Bay's winter air does not.
"""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

from warmside.catalog import load
from warmside.demo import survey_text
from warmside.framing import frame_wall
from warmside.options import apply, offered
from warmside.physics.climate import driven_rain
from warmside.promises import dry, dry_years, exposure_of, house_air, outside_of
from warmside.survey import read
from warmside.weather import usual_year

PAGE = Path(__file__).parents[1] / "docs" / "six-climates.md"
PLACES = ("winnipeg", "halifax-ns", "boston-ma", "seattle-wa", "new-orleans-la", "phoenix-az")
SIDES = ("north front", "east side", "south back", "west side")
OPTIONS = ("batt-poly", "cc-51")
HEAD = ("wall", "driven rain, mm", "rooms in summer", "sheet and batts: summer damp",
        "mould index", "51 mm of foam: summer damp", "mould index")  # fmt: skip


def rows(place: str) -> list[tuple[str, ...]]:
    """One line a wall."""
    catalog = load().at(place)
    survey = read(survey_text())
    house = survey.house.model_copy(update={"climate": place, "indoor_humidity": None})
    climate = catalog.climate(place)
    year, outside = usual_year(climate), outside_of(house, climate)
    walls = [wall for wall in survey.walls if wall.name in SIDES]
    frames = [frame_wall(wall, house, catalog.lumber) for wall in survey.walls]
    room = house_air(house, survey.walls, frames, catalog, year).room
    told = []
    for wall in sorted(walls, key=lambda one: SIDES.index(one.name)):
        frame = frame_wall(wall, house, catalog.lumber)
        kinds = {option.id: option for option in offered(wall, house, catalog)}
        # from dry wood: what the wall was found to be is the house's, not the climate's
        exposure = replace(exposure_of(wall, year), start=None)
        cells = []
        for id in OPTIONS:
            built = apply(kinds[id], wall, frame, catalog)
            found = {one.key: one for one in dry(built, room, outside).findings}
            inward = found.get("inward_humidity")
            hours = dry_years(built, exposure, room, paths=("mid-bay",))
            figure = inward.figure if inward and inward.figure is not None else None
            cells += [
                "–" if figure is None else f"{min(figure, 1.0) * 100:.0f} %",
                f"{hours.paths[0].mould_most:.1f}",
            ]
        rain = driven_rain(year, wall.faces).sum()
        told.append((wall.name, f"{rain:.0f}", "cooled" if room.cooled else "open windows", *cells))
    return told


def line(cells: tuple[str, ...]) -> str:
    """A line of the table."""
    return "| " + " | ".join(cells) + " |"


def table(place: str) -> str:
    """The table of one place."""
    lines = (HEAD, ("---",) * len(HEAD), *rows(place))
    return "\n".join(map(line, lines))


def rewrite() -> None:
    """Put fresh tables into the page, its sentences left as they are."""
    text = PAGE.read_text("utf-8")
    for place in PLACES:
        title = f"\n## {load().climate(place).name}\n"
        before, after = text.split(title, 1)
        old = re.search(r"\|(?:[^\n]*\n\|)*[^\n]*", after)
        if old is None:
            raise SystemExit(f"{PAGE}: no table of {place}")
        text = before + title + after.replace(old[0], table(place), 1)
    PAGE.write_text(text, "utf-8")


if __name__ == "__main__":
    if sys.argv[1:] == ["--write"]:
        rewrite()
    else:
        for place in sys.argv[1:] or PLACES:
            print(f"\n## {load().climate(place).name}\n\n{table(place)}")
