"""Papers of the real demonstration house, and the keys of its JSON."""

from __future__ import annotations

import io
import json
import os
import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from warmside.demo import survey_text
from warmside.documents import Picture, annex, annex_view, write_papers
from warmside.documents import write as writing
from warmside.documents.typesetting import cited
from warmside.study import answers, json_text, spread, study, thickness_curve, with_choices
from warmside.study.fields import ends_of, solved
from warmside.survey import read
from warmside.wording import PAPER, PROMISES, SHEET

DAY = date(2026, 11, 24)
DOCS = Path(__file__).parent.parent / "docs" / "study-json.md"
SMALL_WALL = "kitchen west"  # with corners, a ceiling and a floor edge


def _with_field(option, ends):
    return replace(option, warm=replace(option.warm, field=solved(option.build_up, ends)))


@pytest.fixture(scope="module")
def demo():
    """The demonstration by the simple methods: its plan works on some walls and leaves others."""
    return study(read(survey_text()), fields=False)


@pytest.fixture(scope="module")
def seen(demo):
    """The same with foam chosen by hand on the smallest wall, whose fields are solved."""
    whole = with_choices(demo, {SMALL_WALL: "cc-51"})
    walls = tuple(
        replace(
            wall,
            options=tuple(
                _with_field(o, ends_of(wall.wall, [w.wall for w in whole.walls]))
                if o in (wall.as_found, wall.chosen)
                else o
                for o in wall.options
            ),
        )
        if wall.wall.name == SMALL_WALL
        else wall
        for wall in whole.walls
    )
    return replace(whole, walls=walls)


@pytest.fixture(scope="module")
def view(demo):
    return annex_view(demo, DAY)


@pytest.fixture(scope="module")
def paper(view):
    return annex(view)


@pytest.fixture(scope="module")
def text(paper):
    return [page.extract_text() for page in PdfReader(io.BytesIO(paper)).pages]


def _begins(demo, text):
    """The page on which each wall begins: that of its drawings."""
    found = [
        [k for k, page in enumerate(text) if f"Wall {wall.wall.name}, framing" in page]
        for wall in demo.walls
    ]
    assert all(len(pages) == 1 for pages in found)
    return [page for (page,) in found]


def test_walls_follow_each_other_and_no_page_stays_empty(demo, text):
    """Exact: one wall a page where it has room, else its options run over and the next begins."""
    first = _begins(demo, text)
    end = next(k for k, page in enumerate(text) if "What people ask" in page)
    steps = [b - a for a, b in zip(first, [*first[1:], end], strict=True)]
    assert set(steps) <= {1, 2}
    # the head of the options stands on every page, again where a table goes on
    assert all("3-D field" in text[k] for k in range(first[0], end))
    assert sum(text[k].count("The options side by side") for k in range(first[0], end)) == len(
        first
    )
    # two tables that run over on pages of their own would be as many pages more
    assert end - first[0] <= 1.5 * len(first)
    # cover, walls, what people ask, camera, wood, evidence, water, sources
    assert len(text) <= 4 + 1.5 * len(first) + 5 + 2 + 3 + 2 + 4


def test_drawings_can_be_read_on_paper(demo, view, paper, text):
    """Common practice, no source: no letter below 6 points; and 3.2 in high where they fill it."""
    pages = PdfReader(io.BytesIO(paper)).pages
    for page, number in zip(view.walls, _begins(demo, text), strict=True):
        letters = re.findall(r'font-size="([\d.]+)"', page.elevation.svg + page.section.svg)
        smallest = min(map(float, letters))
        scales = []

        def look(_said, outer, inner, _font, size, scales=scales):
            if size == 12.0:  # the letters of a drawing's heading; upright and made smaller
                scales.append(abs(inner[3] * outer[3]))

        pages[number].extract_text(visitor_text=look)
        scale = min(one for one in scales if 0.1 < one < 0.99)
        assert smallest * scale >= 5.99, page.report.name
        box = re.search(r'viewBox="0 0 (\S+) (\S+)"', page.elevation.svg)
        wide, high = float(box[1]), float(box[2])
        column = 62 / 98.6 * 0.986 * 7.3 * 72  # [pt], of a page 8.5 in wide
        assert high * scale >= 3.2 * 72 - 1.0 or scale == pytest.approx(column / wide, rel=2e-3)


def test_the_annex_begins_with_every_wall(demo, text):
    """Who, invented prices, every wall with its six promises; hazards come after."""
    first = " ".join(text[0].split())
    assert "The prices are invented." in first
    assert all(wall.wall.name in first for wall in demo.walls)
    assert "Before any work starts What" not in first
    assert "Before any work starts" in text[1]
    for promise in ("warm", "dry", "tight", "legal", "safe", "worth it"):
        assert first.count(promise) >= len(demo.walls)


def test_the_first_page_says_what_is_not_promised(demo, view, text):
    """Every verdict that does not hold stands there, and nothing that holds does."""
    assert "All that is not promised yet" in " ".join(" ".join(text).split())
    first = " ".join(text[0].split())
    assert "What is not promised" in first
    findings = [f for w in demo.walls for f in w.chosen.findings] + list(demo.findings)
    open_ = {(f.promise, f.verdict) for f in findings
             if f.verdict in ("falls short", "needs a person")}  # fmt: skip
    assert {(u.promise, u.verdict) for u in view.unpromised} == open_
    told = {u.promise: u.what for u in view.unpromised}
    assert "radon from the ground" in told["safe"]
    assert "effective thermal resistance" in told["legal"]
    worked = sum(wall.chosen.price is not None for wall in demo.walls)
    assert f" more ({worked} walls)" in told["legal"]
    for pack in demo.packs:
        assert pack.closing in first


def test_a_wall_left_as_found_is_judged_on_all_six_and_codes_ask_nothing_of_it(demo):
    """Common practice, no source: a lawful wall that is left alone is called up by no clause."""
    wall = demo.walls[0]
    left = replace(demo, walls=(replace(wall, chosen_id="leave"), *demo.walls[1:]))
    view = annex_view(left, DAY)
    judged = view.walls[0].report.verdicts
    assert judged["legal"] == "does not apply"
    assert judged["safe"] == "needs a person"  # open wiring was seen in it
    assert "not judged" not in judged.values()
    assert judged["warm"] == wall.as_found.verdict("warm")


def test_a_temperature_that_does_not_move_is_not_said_to_rise(demo):
    """Exact: walls that stay closed keep their coldest place, and what is felt beside them."""
    left = tuple(
        replace(wall, chosen_id="joints" if wall.wall.name == "west gable" else "leave")
        for wall in demo.walls
    )
    told = " ".join(
        str(note.text) for note in annex_view(replace(demo, walls=left), DAY).report.headline
    )
    coldest = min(wall.as_found.warm.coldest.surface for wall in demo.walls)
    assert told.count("stays at") == 2
    assert f"stays at {coldest:.1f} °C" in told
    assert "warms from" not in told
    assert "will lose 100 % of the heat" in told


def test_money_has_its_thousands_parted(view):
    told = view.report
    texts = [*(str(n.text) for n in told.headline), *(str(r.reason) for r in told.whole)]
    assert any(re.search(r"CAD \d{1,3},\d{3}", text) for text in texts)
    assert not any(re.search(r"CAD -?\d{4}", text) for text in texts)


def test_every_figure_of_the_summary_is_the_study_s(demo, view):
    """Read back from the printed text; tolerance half of the last digit printed."""
    for wall, page in zip(demo.walls, view.walls, strict=True):
        rows = {row.of["id"]: row.of for row in page.options}
        for option in (wall.as_found, wall.chosen):
            row = rows[option.option.id]
            trade, metric = SHEET.part(row["resistance"]).removesuffix(")").split(" (")
            rsi = float(metric.removeprefix("RSI "))
            assert rsi == pytest.approx(option.warm.resistance, abs=0.0051)
            # exact: 1 h ft2 degF/Btu = 0.17611 m2 K/W
            inch_pound = float(trade.removeprefix("R-"))
            assert inch_pound * 0.1761102 == pytest.approx(option.warm.resistance, abs=0.0089)
            coldest = row["coldest"]  # in the reader's degrees, the house's here
            celsius = float(coldest.style.figure(coldest.of).partition(" °C")[0])
            assert celsius == pytest.approx(option.warm.coldest.surface, abs=0.051)
        if wall.chosen.price is None:
            mended = wall.chosen.option.kind.mends
            assert page.report.price == ("not known yet" if mended else "nothing to be done")
        else:
            assert Decimal(page.report.price.replace(",", "")) == wall.chosen.price.total
        assert page.report.verdicts == {p: wall.chosen.verdict(p) for p in PROMISES}
    assert view.report.totals[-1].amount == f"{demo.price.total:,.2f}"


def test_takeoff_lines_and_sums_are_the_price_s(demo, view):
    """Exact: the printed totals of the lines add up to the printed cost."""
    for wall, shown in zip(demo.walls, view.walls, strict=True):
        page = shown.report
        if wall.chosen.price is None:
            assert (page.takeoff, page.sums) == ((), ())
            continue
        printed = [Decimal(row.total.replace(",", "")) for row in page.takeoff if row.total]
        assert sum(printed) == wall.chosen.price.cost
        assert page.sums[0].amount == f"{wall.chosen.price.cost:,.2f}"
        joints = [row for row in page.takeoff if row.name.startswith("Joints to seal")]
        reach = wall.chosen.option.kind.reaches
        within = [j for j in wall.frame.joints if reach is None or j.kind in reach]
        assert bool(joints) == (wall.chosen.option.seal_joints and bool(within))
        if not joints:
            continue
        metres = sum(joint.length for joint in within)
        assert float(PAPER.figure(joints[0].listed).replace(",", "")) == pytest.approx(
            metres, abs=0.006
        )
        kinds = {joint.kind for joint in within if joint.length > 0}
        assert all(kind in str(joints[0].how) for kind in kinds)


def test_the_next_half_inch_is_the_study_s_own(demo, view):
    """The curve of held thicknesses is the whole curve with the others left out."""
    largest = max(demo.walls, key=lambda w: w.frame.net_area)
    shown = view.half_inch
    assert shown.wall == largest.wall.name
    assert [row[0] for row in shown.rows] == [w.wall.name for w in demo.walls]
    held = thickness_curve(demo, shown.wall, studied_only=True)
    whole = {s.option.id: s for s in thickness_curve(demo, shown.wall).steps}
    assert 2 <= len(held.steps) < len(whole)
    for step in held.steps:
        assert step.option in [o.option for o in largest.options]
        same = whole[step.option.id]
        assert (step.cost, step.resistance) == (same.cost, same.resistance)
        assert step.worth == same.worth
        assert f"{step.resistance:.2f} m2 K/W" in shown.chart.alt
    seat = largest.chosen.comfort
    *_, now, after = next(row for row in shown.rows if row[0] == shown.wall)
    assert (now.kind, after.kind) == ("temperature", "temperature")
    assert now.value == pytest.approx(seat.before.radiant_temperature, rel=1e-12)
    assert after.value == pytest.approx(seat.after.radiant_temperature, rel=1e-12)


def test_joints_are_ranked_by_what_a_metre_closes(demo, view):
    """cm2 a metre, most first; the open areas add up to all the joints' (exact)."""
    closes = [float(per_metre) for *_, per_metre in view.sealing]
    assert closes == sorted(closes, reverse=True)
    assert closes[0] == pytest.approx(demo.air.gains[0].per_metre * 1e4, abs=0.0051)
    opened = sum(float(open_) for _, _, open_, *_ in view.sealing)
    assert opened == pytest.approx(sum(g.open for g in demo.air.gains) * 1e4, abs=0.051 * 16)


def test_the_evidence_is_one_page_and_chances_come_only_when_given(demo, view, text):
    (page,) = [p for p in text if "Where the next half inch goes" in p]
    assert "Where sealing pays most" in page
    assert view.sealing[-1][0] in page
    assert not any("How sure it is" in p for p in text)
    drawn = spread(demo, draws=10)
    sure = annex_view(demo, DAY, chances=drawn)
    said = [p.extract_text() for p in PdfReader(io.BytesIO(annex(sure))).pages]
    assert sum("How sure it is" in p for p in said) == 1
    for wall, row in zip(drawn.walls, sure.chances.rows, strict=True):
        assert row == (wall.wall, *(str(c.holds) for c in wall.chances))


def test_every_answer_stands_in_the_paper_once(demo, view, text):
    """The study's answers: each question once, none lost; each text with the walls it is of."""
    whole = "".join("".join(text).replace("\u200b", "").split())
    shared = {asked.question: asked.replies for asked in view.asked}
    assert len(shared) == len(view.asked)
    for wall in demo.walls:
        told = answers(demo, wall.wall.name)
        assert shared.keys() == {answer.question for answer in told}
        for answer in told:
            (reply,) = [
                r for r in shared[answer.question]
                if r.where == "" or wall.wall.name in r.where.split(", ")
            ]  # fmt: skip
            assert str(reply.text) == str(answer.text)
            assert reply.measure == answer.measure
            assert bool(reply.sources) >= bool(answer.figures)
            assert "".join(answer.question.split()) in whole
    assert any("To be measured:" in page for page in text)


def test_a_house_of_one_wall_has_its_answers_once(demo):
    one = annex_view(replace(demo, walls=demo.walls[:1]), DAY)
    assert len(one.asked) == len(answers(demo, demo.walls[0].wall.name))
    assert {reply.where for asked in one.asked for reply in asked.replies} == {""}


def test_references_resolve_and_every_source_is_used(view, text):
    whole = " ".join(text)
    used = {int(n) for n in re.findall(r"\[(\d+)\]", whole)}
    sources = cited(view)
    of_takeoff = {s for wall in view.walls for row in wall.report.takeoff for s in row.sources}
    numbers = {n for n, source in enumerate(sources, 1) if source in of_takeoff}
    assert used | numbers == set(range(1, len(sources) + 1))


def test_hazards_are_told_once_and_assumptions_are_grouped(demo, view):
    texts = [str(note.text) for note in view.report.assumptions]
    assert len(texts) == len(set(texts))
    assert not any("'safe' tells" in t for t in texts)
    assert any(t.endswith("All walls.") for t in texts)
    # what is presumed of several walls for one reason stands in one line
    noted = [hazard for hazard in demo.survey.hazards if hazard.noted]
    presumed = {h.kind for h in demo.survey.hazards if h.state == "presumed"}
    assert len(view.gates) == len(noted) + len(presumed)


def test_units_are_typeset(text):
    whole = " ".join(text)
    assert not re.search(r"\d (m|ft)[23]\b", whole)
    assert "m²" in whole
    assert "m³" in whole


def test_the_camera_s_images_hold_the_field(seen):
    """The named coldest spot is the least of the field, on one scale before and after."""
    demo, view = seen, annex_view(seen, DAY)
    wall = next(w for w in demo.walls if w.wall.name == SMALL_WALL)
    page = next(p for p in view.walls if p.report.name == SMALL_WALL)
    assert len(page.images) == 2
    room, outside = demo.room.temperature, demo.outside.design
    for picture, option in zip(page.images, (wall.as_found, wall.chosen), strict=True):
        heat = option.warm.field
        least = float(heat.temperature(room, outside)[heat.seen].min())
        said = float(re.search(r"coldest (-?[\d.]+) °C", picture.alt)[1])
        assert said == pytest.approx(least, abs=0.051)
        assert np.isfinite(least)
    scales = [re.findall(r">(-?[\d.]+) °C<", p.svg) for p in page.images]
    assert scales[0] == scales[1]
    assert view.camera is not None
    assert all(p.images == () for p in view.walls if p.report.name != SMALL_WALL)


def test_the_same_study_and_date_give_the_same_bytes(demo, paper):
    assert annex(annex_view(demo, DAY)) == paper


def test_hostile_names_stay_words(demo):
    bad = '#panic() </title><script>x</script> ] *a* "q" \\ $y$ \u202e' + "w" * 200
    house = demo.survey.house.model_copy(update={"name": bad, "client": bad, "place": bad})
    first = demo.walls[4]
    renamed = first.wall.model_copy(update={"name": bad})
    one = replace(first, wall=renamed, frame=replace(first.frame, wall=bad))
    name, plans = first.wall.name, demo.plans
    plans = replace(
        plans,
        plans=tuple(replace(p, options={bad: p.options[name]}) for p in plans.plans),
        advice=(replace(plans.advice_for(name), wall=bad),),
    )
    hostile = replace(
        demo,
        survey=demo.survey.model_copy(update={"house": house}),
        walls=(one,),
        plans=plans,
    )
    pages = PdfReader(io.BytesIO(annex(annex_view(hostile, DAY)))).pages
    said = "".join("".join(p.extract_text() for p in pages).replace("\u200b", "").split())
    assert "#panic()</title><script>x</script>]*a*" in said


def test_papers_are_written_whole_under_plain_names(demo, tmp_path):
    one = replace(demo, walls=demo.walls[5:6])
    paths = list(write_papers(one, tmp_path / "new" / "folder", DAY))
    assert [p.name for p in paths] == [
        "proposal.pdf", "annex.pdf", "takeoff.pdf", "study.json", "wall-1-west-gable-elevation.svg",
        "wall-1-west-gable-section.svg", "wall-1-west-gable-wood.svg",
        "wall-1-west-gable-mould.svg",
    ]  # fmt: skip
    there = sorted(p.name for p in paths[0].parent.iterdir())
    assert there == [".warmside.json", *sorted(p.name for p in paths)]
    assert json.loads(paths[3].read_text("utf-8"))["walls"][0]["name"] == "west gable"


def test_a_full_disk_leaves_the_old_file_and_no_half_one(tmp_path, monkeypatch):
    target = writing.write_file(tmp_path / "proposal.pdf", b"old")

    def full(_handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        writing.write_file(target, b"new" * 1000)
    assert target.read_bytes() == b"old"
    assert sorted(p.name for p in tmp_path.iterdir()) == [".warmside.json", "proposal.pdf"]


def test_a_picture_takes_the_words_of_its_drawing(view):
    for page in view.walls:
        for picture in (page.elevation, page.section, page.chart):
            assert picture == Picture.of(picture.svg)
            assert len(picture.alt) > 40


# ------------------------------------------------------------------ docs/study-json.md


def documented():
    """Tables of the page: {table: {key: (unit, table pointed to, may be null or missing)}}."""
    tables: dict[str, dict[str, tuple[str, str, bool]]] = {}
    for line in DOCS.read_text("utf-8").splitlines():
        if heading := re.match(r"## (\w+)$", line):
            tables[heading[1]] = {}
        elif row := re.match(r"\| `([^`]+)` \| (.+?) \| (.+) \|$", line):
            pointed = re.search(r"→ (\w+)", f"{row[2]} {row[3]}")
            may_miss = "(may be" in row[3]
            table = list(tables)[-1]
            tables[table][row[1]] = (row[2], pointed[1] if pointed else "", may_miss)
    return tables


def walked(value, table, tables, seen):
    """Check that every key of ``value`` stands in ``table``; collects the rows met."""
    assert isinstance(value, dict), table
    rows = tables[table]
    for key, item in value.items():
        row = next((r for r in (key, f"{key}[]", f"{key}.*") if r in rows), None)
        assert row, f"{table}: '{key}' is not documented"
        seen.add((table, row))
        _, pointed, may_be_null = rows[row]
        assert item is not None or may_be_null, f"{table}.{key} is null"
        items = item if row.endswith("[]") else [item]
        for one in items:
            if pointed and one is not None:
                walked(one, pointed, tables, seen)
            elif not row.endswith(".*"):
                assert not isinstance(one, (dict, list)), f"{table}.{key}"


UNITS = {  # unit that a key's ending says: the unit written beside it
    "_m2k_w": "m² K/W", "_w_m2k": "W/(m² K)", "_w_mk": "W/(m K)", "_kg_m2": "kg/m²",
    "_kg_m3": "kg/m³", "_kg_kg": "kg/kg", "_kg_m_s_pa": "kg/(m s Pa)", "_m2_m": "m²/m",
    "_m3_s": "m³/s", "_m_s": "m/s", "_k_d": "K d",
    "_m2": "m²", "_m3": "m³", "_m": "m", "_c": "°C", "_deg": "°", "_pa": "Pa", "_w": "W",
    "_share": "-", "_per_h": "1/h", "_j_per_year": "J/year", "_kg_per_year": "kg/year",
    "_years": "years",
}  # fmt: skip


def with_bills():
    """A small house with a year of bills and another trade's offer: the demonstration has none."""
    days = [f"2025-{month:02}-01" for month in range(1, 13)] + ["2026-01-01"]
    used = [400, 350, 290, 180, 90, 40, 30, 30, 60, 150, 260, 370]
    bills = "".join(
        f'[[house.bill]]\nbegins = {a}\nends = {b}\nused = "{m} m3"\n'
        for a, b, m in zip(days[:-1], days[1:], used, strict=True)
    )
    part = '[[house.part]]\nkind = "attic"\narea = "70 m2"\nresistance = "R-12"\n'
    house = '[house]\nname = "Small"\nclimate = "ottawa"\nyear_built = 1950\nvolume = "300 m3"\n'
    wall = (
        '[[wall]]\nname = "w"\nfaces = "N"\nframe = "platform"\nlength = "5 m"\nheight = "2.4 m"\n'
    )
    offer = 'better = "R-50"\nprice = 3000\nseals = "5 %"\n'
    return study(read(house + bills + part + offer + wall), fields=False, years=0)


def test_every_key_of_the_json_is_documented_and_every_documented_key_is_there(seen):
    tables, met = documented(), set()
    whole = json.loads(json_text(seen, spread(seen, draws=10)))
    walked(json.loads(json.dumps(whole, allow_nan=False)), "study", tables, met)
    walked(json.loads(json_text(with_bills())), "study", tables, met)
    rows = {(t, k) for t, keys in tables.items() for k, row in keys.items() if not row[2]}
    assert rows - met == set()


def test_documented_units_are_those_that_the_keys_say():
    for table, rows in documented().items():
        for key, (unit, _, _) in rows.items():
            name = key.removesuffix(".*").removesuffix("[]")
            ending = next((e for e in UNITS if name.endswith(e)), None)
            if ending:
                assert unit == UNITS[ending], f"{table}.{key}"
