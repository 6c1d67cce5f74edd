"""The crew sheet: read back by another library, its pages counted, no money in it."""

from __future__ import annotations

import io
import re
from collections import Counter
from datetime import date, datetime, timedelta
from itertools import combinations
from math import hypot
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from site_walls import planned
from warmside.catalog import load
from warmside.cli import main
from warmside.demo import survey_text
from warmside.documents import crew_sheet, crew_view, write_crew_sheet
from warmside.drawings import PHONE, bay_map, joint_map
from warmside.errors import InputError
from warmside.site import Hour, plan_house, work_air, work_area
from warmside.survey import read
from warmside.works import house_works

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def survey():
    return read(survey_text())


def pages(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def sheet_of(survey, options, windows=None) -> bytes:
    plans = plan_house(survey, load(), options)
    air = work_air(survey.house, max(work_area(plan.frame) for plan in plans), load())
    return crew_sheet(crew_view(survey.house, plans, air, load(), TODAY, windows))


def made(survey, options, windows=None) -> list[str]:
    return pages(sheet_of(survey, options, windows))


def test_two_pages_a_wall_at_most(survey):
    """The demonstration's largest walls, with the options that need the most lines."""
    options = {"north front": "cc-76", "south back": "furring-38-cc-full", "east gable": "oc-full",
               "kitchen west": "outside-cc-full"}  # fmt: skip
    found = made(survey, options)
    # the day; the house's own works and the steps of all walls, three; readings; signs
    assert len(found) == 6 + 2 * len(options)
    for name in options:
        assert sum(name in text for text in found) >= 2
    assert not re.search(r"CAD|USD|\$|price", " ".join(found))
    north = " ".join(found[5:7])
    for words in ("2 of 1-1/2", "15 min", "Picture-frame", "Make safe", "studs side by side",
                  "porcelain knobs", "closed in the corner post"):  # fmt: skip
        assert words in north, words


def test_what_holds_on_every_wall_is_said_once(survey):
    """Steps and limits of all walls on four pages; what is one wall's own stays with it."""
    found = made(survey, {"north front": "cc-76", "east gable": "oc-full", "kitchen west":
                          "outside-cc-full"})  # fmt: skip
    told = [" ".join(text.split()) for text in found]
    for words in ("locked and tested dead", "Test shot on scrap", "Smoke pen or fan"):
        where = [n for n, text in enumerate(told) if words in text]
        assert len(where) == 1, words
        assert where[0] in (1, 2, 3), words
    # each foam's own drum temperature by its name, what both ask without one
    for words in ("13 to 49 °C (55 to 120 °F)", "1,000 psi", "(closed-cell)", "(open-cell)", "mph"):
        assert words in told[4], words
    assert told[4].count("85 % or less") == 1
    assert "porcelain knobs" not in "".join(told[1:5])


def test_works_of_the_house_and_counts_of_a_wall(survey):
    """Trade: who sets up, tests the fan and hands over signs too; a count is of its own wall.

    By hand: of the front's 22 pockets eight are boxes of sash weights, two at each of four
    windows. Its wall is 30 ft long, twice that over two floors.
    """
    options = {"north front": "cc-76", "east side": "batt-poly"}
    told = [" ".join(text.split()) for text in made(survey, options)]
    common, own = " ".join(told[1:4]), " ".join(told[5:7])
    for work in house_works(foam=True, flames=True):
        assert work.name in common, work.key
        assert " ".join(work.step.gate.asks.split()) in common, work.key
    for words in ("8 boxes: weights out", "14 pockets of the list", "60 ft (18.3 m)"):
        assert words in own, words
        assert words not in common, words
    assert re.search(r"[0-9]+ blocks: [0-9]+ on the sill, [0-9]+ ft \([0-9.]+ m\)", own)
    assert "blocks: " not in common
    # every length of a step stands in both systems
    assert not re.findall(r"(?<![(0-9.])[0-9.]+ m²?(?= of|,|;|:)", " ".join(told[5:-1]))


@pytest.mark.parametrize(
    ("wall", "option", "words"),
    [("north front", "cc-76", "fill by hand or write down"),
     ("west side", "dense-outside", "stay as they were found"), ("north front", "board-51", "")],
)  # fmt: skip
def test_pockets_are_told_with_what_is_done_there(survey, wall, option, words):
    """Trade: open bays are filled by hand, blown ones never drilled there, a board asks nothing."""
    told = " ".join(" ".join(text.split()) for text in made(survey, {wall: option}))
    assert ("Out of reach" in told) == bool(words)
    assert words in told


def test_nobody_is_let_back_in_where_no_foam_was_sprayed(survey):
    """Common practice, no source: a time before re-entry is of foam and of nothing else."""
    told = " ".join(" ".join(text.split()) for text in made(survey, {"east side": "batt-poly"}))
    assert "Hand over" in told
    for words in ("Let people back in", "applicator"):
        assert words not in told, words


def test_flames_are_tested_where_one_may_spill(survey):
    house = survey.house
    calm = house.model_copy(
        update={"heating": house.heating.model_copy(update={"venting": "none"}),
                "appliances": (), "other_flames": "none"}
    )  # fmt: skip
    for changed, tested in ((house, True), (calm, False)):
        told = made(survey.model_copy(update={"house": changed}), {"east side": "batt-poly"})
        assert ("tested for spillage" in " ".join(" ".join(told).split())) == tested


def test_the_type_is_large(survey):
    """A person reads it on a wall: most of every page of the longest wall is 10 points or more."""
    plans = plan_house(survey, load(), {"north front": "cc-76"})
    air = work_air(survey.house, work_area(plans[0].frame), load())
    pdf = crew_sheet(crew_view(survey.house, plans, air, load(), TODAY))
    for page in PdfReader(io.BytesIO(pdf)).pages[:5]:
        letters: Counter[float] = Counter()

        def count(text, _matrix, _of_text, _font, size, letters=letters):
            letters[round(size, 1)] += len(text.strip())

        page.extract_text(visitor_text=count)
        assert letters.most_common(1)[0][0] >= 10.0, letters
        assert sum(n for size, n in letters.items() if size >= 9.5) > 0.7 * letters.total()


def test_first_page_and_signs(survey):
    found = made(survey, {"kitchen north": "cc-76"})
    for words in ("Exhaust fan", "supplied-air hood", "safety data sheet", "0.02 ppm", "0.005 ppm",
                  "Surface at least"):  # fmt: skip
        assert words in " ".join(found[0].split()), words
    assert all(head in found[-1] for head in ("KEEP OUT", "LEAVE THIS FAN", "NO RE-ENTRY"))


def test_the_map_shows_every_number(survey):
    plan = planned(survey, load(), "north front", "cc-76")
    done = {plan.runs[0].key}
    for width in (390, 720):
        drawn = joint_map(plan.frame, plan.runs, done, width=width)
        root = ElementTree.fromstring(drawn)  # noqa: S314 - our own
        texts = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
        assert texts.count("1✓") == 1
        assert all(texts.count(str(run.number)) == 1 for run in plan.runs[1:])
        assert float(root.get("width", "0")) == width
        assert not list(overlaps(root))
    told = root.find("{http://www.w3.org/2000/svg}desc")
    assert told is not None
    assert f"{len(plan.runs)} numbered runs" in (told.text or "")


def overlaps(root):
    """Pairs of plates of numbers that lie on each other."""
    plates = [
        tuple(float(one.get(key, "0")) for key in ("x", "y", "width", "height"))
        for one in root.iter("{http://www.w3.org/2000/svg}rect")
        if one.get("rx")
    ]
    for (x, y, wide, high), (u, v, wider, higher) in combinations(plates, 2):
        if x < u + wider and u < x + wide and y < v + higher and v < y + high:
            yield (x, y), (u, v)


@pytest.mark.parametrize("width", [PHONE, 760.0])
def test_no_number_of_a_map_lies_on_another(survey, width):
    """On a phone too, where a wall of 24 ft has no place free of lumber for all 21 of them."""
    for wall in ("north front", "east side", "west side"):
        plan = planned(survey, load(), wall, "cc-51")
        root = ElementTree.fromstring(joint_map(plan.frame, plan.runs, width=width))  # noqa: S314
        assert len(plan.runs) == sum(
            one.get("rx") is not None for one in root.iter("{http://www.w3.org/2000/svg}rect")
        )
        assert not list(overlaps(root)), wall


def test_no_letter_of_the_sheet_is_below_six_points(survey):
    """As the crew reads it on the wall; 6 points is the least of the annex as well."""
    options = {"east side": "cc-51", "west side": "board-51", "kitchen north": "cc-76"}
    for page in PdfReader(io.BytesIO(sheet_of(survey, options))).pages:
        sizes: Counter[float] = Counter()

        def count(text, cm, tm, _font, size, sizes=sizes):
            if text.strip():
                across = hypot(tm[0], tm[1]) * hypot(cm[0], cm[1])  # of a drawing that is scaled
                sizes[round(size * across, 1)] += len(text.strip())

        page.extract_text(visitor_text=count)
        assert min(sizes) >= 6.0, (page.page_number, sizes)


def test_a_hostile_name_stays_text(survey):
    wall = survey.walls[6].model_copy(update={"name": "<script>#[x] $y$ " + "W" * 60})
    other = survey.model_copy(update={"walls": (wall,), "options": ()})
    assert sum("<script>" in text for text in made(other, {wall.name: "cc-76"})) == 2


def test_files_of_the_sheet(survey, tmp_path):
    hours = tuple(Hour(datetime(2026, 11, 25) + timedelta(hours=k), 5.0, 0.7, 2.0)
                  for k in range(48))  # fmt: skip
    options = {"kitchen north": "cc-76", "kitchen south": "batt-poly"}
    written = list(write_crew_sheet(survey, load(), options, tmp_path, TODAY, hours=hours))
    assert [p.name for p in written] == ["crew-sheet.pdf", "joint-map-1-kitchen-north.svg",
                                         "joint-map-2-kitchen-south.svg"]  # fmt: skip
    first = pages(written[0].read_bytes())[0]
    assert "Wed 25 Nov" in first
    again = tmp_path / "again"
    list(write_crew_sheet(survey, load(), options, again, TODAY, hours=hours))
    assert (again / "crew-sheet.pdf").read_bytes() == written[0].read_bytes()
    with pytest.raises(InputError, match="one wall"):
        list(write_crew_sheet(survey, load(), {}, tmp_path))


def test_the_command(tmp_path: Path):
    file = tmp_path / "house.toml"
    file.write_text(survey_text(), encoding="utf-8")
    forecast = tmp_path / "hours.csv"
    forecast.write_text("time,temperature_c,humidity_percent\n2026-11-25T09:00,4,70\n")
    words = ["crew", str(file), "--option", "leave", "--option", "kitchen north=cc-76",
             "--forecast", str(forecast), "--sealing", "after"]  # fmt: skip
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "house-papers" / "crew-sheet.pdf").read_bytes().startswith(b"%PDF")
    for more in (["--option", "attic=cc-76"], ["--option", "gold"], ["--forecast", str(file)],
                 ["--option", "leave"], ["--forecast", str(tmp_path / "none.csv")]):  # fmt: skip
        refused = CliRunner().invoke(main, [*words, *more])
        assert refused.exit_code == 1, more
        assert "Traceback" not in refused.output


def test_the_bay_map_shows_what_was_read(survey):
    plan = planned(survey, load(), "kitchen north", "cc-76")
    drawn = bay_map(plan.frame, {"bay 1": '3"', "bay 12": '2-7/8"/3-1/8"'})
    root = ElementTree.fromstring(drawn)  # noqa: S314 - our own
    texts = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {'B1: 3"', 'B12: 2-7/8"/3-1/8"', "B2"} <= set(texts)
    crowded = bay_map(plan.frame, {"bay 10": "/".join(["76"] * 40)})
    assert "no room for B10: 76/76" in crowded
