"""A user's own rows (invented) through check, study, three years, papers and pages.

What is compared is the user's own figure, exact, against where it must come out.
"""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from pypdf import PdfReader

from warmside.catalog import Catalog, chosen_packs, load, load_text
from warmside.documents import annex, annex_view, crew_sheet, crew_view, spray_day
from warmside.errors import CatalogError, InputError
from warmside.estimate import default_text, read_prices
from warmside.site import plan_house, work_air
from warmside.store import Store
from warmside.study import Study, Weights, check, json_text, study
from warmside.survey import Survey, read, template
from warmside.web import Web, create_app

ROWS = (Path(__file__).parent / "ours.toml").read_text(encoding="utf-8")
HOUSE = (Path(__file__).parent / "house.toml").read_text(encoding="utf-8")
PRICES = default_text().replace(
    "[energy]", '[energy]\npellets = { price = 0.40, unit = "kg", rise = 0.0 }'
)
TODAY = date(2026, 11, 29)


@pytest.fixture(scope="module")
def ours() -> Catalog:
    return load_text(ROWS, "ours.toml")


@pytest.fixture(scope="module")
def survey() -> Survey:
    return read(HOUSE)


@pytest.fixture(scope="module")
def studied(survey: Survey, ours: Catalog) -> Study:
    return study(
        survey, ours, read_prices(PRICES), fields=False, years=3, paths="all",
        weights=Weights(warm=1.0, cost=0.0),
    )  # fmt: skip


def option(studied: Study):  # type: ignore[no-untyped-def]
    return next(o for o in studied.walls[0].options if o.option.foam == "our-foam")


# --- check -----------------------------------------------------------------------------------


def test_own_rows_pass_the_check_and_are_unknown_without_the_file(ours: Catalog) -> None:
    assert check(HOUSE, ours).faults == ()
    refused = {fault.read: fault for fault in check(HOUSE, load()).faults}
    assert set(refused) == {"our-town", "pellets", "our-board", "our-wrap", "our-foam", "bee nest"}
    for name, fault in refused.items():
        assert HOUSE.splitlines()[fault.line - 1].endswith(f'"{name}"')


@pytest.mark.parametrize(
    ("row", "name"), [('like = "housewrap"', "our-wrap"), ('like = "closed-cell"', "our-foam")]
)
def test_a_row_that_does_not_tell_how_it_holds_water_is_told_at_the_check(
    row: str, name: str
) -> None:
    dry = load_text(ROWS.replace(row, ""), "ours.toml")
    (fault,) = check(HOUSE, dry).faults
    assert fault.read == name
    heading = ROWS[: ROWS.index(f'id = "{name}"')].count("\n")  # the line above the id
    assert f"to ours.toml, line {heading} add like" in fault.allowed
    assert f'[[moisture]] table with material = "{name}"' in fault.allowed
    assert HOUSE.splitlines()[fault.line - 1].endswith(f'"{name}"')


def test_a_cladding_before_moving_air_is_not_simulated_and_needs_no_moisture() -> None:
    row = ROWS.replace('like = "housewrap"', "").replace('"our-wrap"', '"our-siding"')
    text = HOUSE.replace('paper = "our-wrap"\n', "").replace("wood-bevel-siding", "our-siding")
    behind = text.replace('cladding = "our', 'cladding_vented = true\ncladding = "our')
    assert [f.read for f in check(text, load_text(row)).faults] == ["our-siding"]
    assert check(behind, load_text(row)).faults == ()


# --- study -----------------------------------------------------------------------------------


def test_own_layers_carry_their_own_moisture(studied: Study) -> None:
    layers = {layer.material: layer for s in option(studied).build_up.stacks for layer in s.layers}
    board = layers["our-board"].moisture
    assert board is not None
    assert board.isotherm == ((0.5, 0.07), (0.8, 0.12), (0.93, 0.18), (0.97, 0.25))
    assert (board.free_saturation, board.mould_class) == (1.5, "sensitive")
    stood_in, known = layers["our-foam"].moisture, load().foam("closed-cell").moisture
    assert stood_in is not None
    assert known is not None
    assert stood_in.free_saturation == known.free


def test_three_years_run_through_own_layers(studied: Study) -> None:
    hourly = option(studied).dry.hourly
    assert hourly is not None
    assert hourly.years == 3
    assert hourly.paths[0].wettest is not None
    assert hourly.paths[0].wettest.name == "Our wood-fibre sheathing"
    # a board that takes up more water swings more: the row's own figures are what is simulated
    thirsty = load_text(ROWS.replace("at_80_percent = 12", "at_80_percent = 17"))
    other = study(studied.survey, thirsty, studied.prices, fields=False, years=1, paths="all")
    now, then = (option(s).dry.hourly.paths[0].wettest.mean[:365].max() for s in (studied, other))
    assert then > now * 1.1


def test_what_stands_in_is_said(studied: Study) -> None:
    said = " ".join(option(studied).build_up.cautions)
    assert "Our wrap is taken to hold and draw water as Spun-bonded housewrap" in said
    assert "Our foam is taken to hold and draw water as Closed-cell foam" in said
    assert "Our wood-fibre sheathing is taken" not in said
    assert said.count("is taken to hold") == 2


def test_own_rows_reach_the_verdicts(studied: Study) -> None:
    found = {f.key: f for f in option(studied).findings}
    house = {f.key: f for f in studied.findings}
    assert found["hazard_bee_nest"].verdict == "needs a person"
    assert "a beekeeper, in writing" in found["hazard_bee_nest"].reason
    # 17 % holds against the catalog's 19 %, not against the user's own 15 %
    wood = found["wood_moisture_kg_kg"]
    assert (wood.limit, wood.verdict) == (0.15, "falls short")
    assert "15 % or less" in wood.reason
    by_law = found["canada-nbc-2020:Town 7"]
    assert (by_law.limit, by_law.verdict) == (9.0, "needs a person")
    assert found["our-town:1"].verdict == "needs a person"
    assert house["radon_bq_m3"].limit == 100.0
    assert studied.outside.climate.name == "Our town"
    assert studied.outside.design == -28.0
    # heat over the heat content of the fuel, 17.5 MJ a kilogram (exact)
    saved = studied.worth
    assert saved.fuel is not None
    assert saved.fuel.best == pytest.approx(saved.heat.best / 0.8 / 17.5e6, rel=1e-9)
    assert saved.money.best == pytest.approx(saved.fuel.best * 0.40, rel=1e-9)


def test_an_own_stud_and_an_own_foam_are_taken_off(studied: Study) -> None:
    wall = studied.walls[0]
    assert wall.frame.depth == pytest.approx(3.75 * 0.0254, rel=1e-12)
    (line,) = [
        q for q in option(studied).quantities if q.key.startswith("foam:") or "net" in q.name
    ]
    area = sum(
        s.area for s in option(studied).build_up.stacks for x in s.layers if x.role == "foam"
    )
    assert line.amount == pytest.approx(area * 0.0508 / (0.3048**2 * 0.0254), rel=0.15)


def test_own_packs_are_chosen_by_name(ours: Catalog) -> None:
    assert [p.name for p in chosen_packs(ours, ["our-town"])] == ["Our by-law"]
    with pytest.raises(CatalogError, match="our-town"):
        chosen_packs(ours, ["our-towm"])


# --- papers and pages ------------------------------------------------------------------------


def text_of(pdf: bytes) -> str:
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_own_rows_stand_in_the_proposal_and_the_study(studied: Study) -> None:
    paper = text_of(annex(annex_view(studied, TODAY)))
    for words in (
        "Our wrap", "Our foam", "Bees in the wall", "a beekeeper, in writing", "altered walls of",
        "By-law 12 (own figure)", "our own rule (own figure)", "our supplier (own figure)",
        "climate of Our town", "is taken to hold and draw water", "The official of the town",
        "the maker's sheet (own figure)", "Our by-law",
    ):  # fmt: skip
        assert words in paper.replace("’", "'"), words
    kept = json_text(studied)
    for words in ("our-board", "our-foam", "Bees in the wall", "Town 7", "pellets"):
        assert words in kept


def test_own_limits_stand_on_the_crew_sheet(survey: Survey, ours: Catalog) -> None:
    (plan,) = plan_house(survey, ours, {"north": "cc-51"})
    assert plan.foam == "our-foam"
    assert plan.passes.count == 2  # 51 mm in passes of 40 mm at most
    air = work_air(survey.house, 50.0, ours)
    assert spray_day(air, plan.family, ours).air
    sheet = text_of(crew_sheet(crew_view(survey.house, (plan,), air, ours, TODAY)))
    for words in ("15 % or less", "Bees in the wall", "a beekeeper"):
        assert words in sheet
    assert "19 %" not in sheet


def test_own_rows_of_a_job_reach_its_pages(tmp_path: Path) -> None:
    with Store.open(tmp_path / "warmside.sqlite") as store:
        job = store.new_job(template(), "owner").id
        store.save("catalog", ROWS, store.text("catalog", job).revision, "owner", job)
        store.save("survey", HOUSE, store.text("survey", job).revision, "owner", job)
        web = Web(store, b"s" * 32, hosts=lambda host: host == "localhost:8765")
        client = TestClient(create_app(web), base_url="http://localhost:8765")
        front, form, wall = (
            client.get(f"/jobs/{job}{part}").text for part in ("", "/house", "/walls/1")
        )
        assert "Bees in the wall" in front
        assert "a beekeeper, in writing" in front
        assert "bee nest</option>" in form
        assert '<option value="our-town">Our town</option>' in form
        assert '<option value="our-wrap">Our wrap</option>' in wall
        with pytest.raises(InputError, match="bee nest"):  # the survey names what they tell of
            store.save("catalog", "", store.text("catalog", job).revision, "owner", job)


# --- what is refused -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "column", "allowed"),
    [
        ('material = "our-board"', 'material = "our-bord"', "material", "nearest: our-board"),
        ("at_93_percent = 18", "at_93_percent = 10", "at_80_percent", "in this order"),
        ("at_97_percent = 25\n", "", "at_97_percent", "percent of the dry mass"),
        ('curve = "points"', 'curve = "wood"', "at_50_percent", "wood has its own curve"),
        ("free_percent = 150", "free_percent = 20", "free_percent", "more than 25"),
        ("free_percent = 150", "free_percent = 500", "free_percent", "at most 400"),  # 250 kg/m3
        ("absorption_kg_m2s05 = 0.002", "absorption_kg_m2s05 = nan", "absorption", "0 and 0.99"),
        ("absorption_kg_m2s05 = 0.002", "absorption_kg_m2s05 = 2", "absorption", "0 and 0.99"),
        ('mould_class = "sensitive"', 'mould_class = "sensitiv"', "mould_class", "nearest: sensi"),
        ('like = "housewrap"', 'like = "house-wrap"', "like", "nearest: housewrap"),
        ('like = "housewrap"', 'like = "our-foam"', "like", "moisture of its own"),
        ('like = "housewrap"', "like = 3", "like", "a short name"),
        ('clears = "a beekeeper, in writing"\n', "", "clears", "plain text"),
        ('kind = "bee nest"', f'kind = "{"b" * 61}"', "kind", "up to 60 letters"),
        ('id = "wood-moisture"', 'id = "wood-moistur"', "id", "nearest: wood-moisture"),
        ("high = 0.15", "high = 15", "high", "between 0.01 and 1"),
        ("high = 0.15", "low = 0.15", "high", "asks for this end"),
        ('unit = "kg/kg"', 'unit = "%"', "unit", '"kg/kg"'),
        ('id = "radon-guideline"', 'id = "radon"', "id", "nearest: radon-"),
        ("value = 100", "value = 1e9", "value", "between 0 and 1e+06"),
        ("value = 100", "value = 5000", "value", "between 20 and 2000"),
        ("value = 100", "value = true", "value", "a number"),
        ('pack = "canada-nbc-2020"', 'pack = "canada-nbc"', "pack", "nearest: canada-nbc-2020"),
        (", bands = [[0, 20000, 9.0]]", "", "tests", "bands of"),
        ('fact = "wall_resistance"', 'fact = "wall_resistence"', "tests", "nearest: wall_resist"),
        ('fact = "alteration", is = true', 'fact = "alteration", is = 1', "tolerated", "true or f"),
        ('fact = "alteration", is = true', 'fact = "alteration", least = 1', "tolerated", "is or "),
        ('asks = "the town', 'tests = "the town', "tests", "inline tables"),
        ("heat_content_mj = 17.5", "heat_content_mj = 17.5e6", "heat_content_mj", "50000"),
    ],
)
def test_a_wrong_row_gives_one_clear_line(old: str, new: str, column: str, allowed: str) -> None:
    assert ROWS.count(old) == 1
    text = ROWS.replace(old, new)
    with pytest.raises(CatalogError) as caught:
        load_text(text, "ours.toml")
    told = [fault for fault in caught.value.faults if f"column {column}" in fault.place]
    assert told, str(caught.value)
    (fault,) = told
    assert fault.place.startswith('ours.toml, row "')
    assert allowed in fault.allowed
    assert fault.line is not None
    # the line of the key where it stands, else that of the row's heading
    line = text.splitlines()[fault.line - 1]
    assert line.startswith((column, "[["))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ('[[hazard]]\nkind = "bee nest"\ntitle = "x"\nstops = "x"\nclears = "x"\ndo = "x"\n'
         'source = "x"\n', "each id once"),
        ('[[code_pack]]\nid = "empty"\nname = "x"\ncountry = "x"\nedition = "x"\n'
         'closing = "x"\n', r"at least one \[\[clause\]\]"),
        ("[[venting]]\nkind = 'sealed up'\nname = 'x'\nlimit_pa = 5\nlow_pa = 2\nsource = 'x'\n",
         "nearest: sealed"),
        ("[[venting]]\nkind = 'sealed'\nname = 'x'\nlimit_pa = 5\nlow_pa = 9\nsource = 'x'\n",
         "low_pa <= limit_pa"),
        ("[[hazard]]\ntitel = 'x'\n", "nearest: title"),
        ("[[sight]]\nid = 'x'\n", "nearest: site"),
        ("hazards = 3\n", "tables headed|unknown table|no TOML"),
    ],
)  # fmt: skip
def test_a_row_too_many_is_told(more: str, said: str) -> None:
    with pytest.raises(CatalogError, match=said):
        load_text(f"{ROWS}\n{more}" if more.startswith("[[") else f"{more}{ROWS}")


def test_an_own_venting_row_and_sign_take_the_place_of_the_built_in_ones() -> None:
    found = load_text(
        "[[venting]]\nkind = 'sealed'\nname = 'sealed'\nlimit_pa = 12\nlow_pa = 9\n"
        "source = 'maker'\n[[sign]]\nid = 'fan'\nhead = 'FAN'\ntext = 'Ours.'\n"
        "[[reminder]]\nid = 'ours'\ntext = 'Ours too.'\nsource = 'us'\n"
    )
    assert (found.vent("sealed").limit, found.vent("none").limit) == (12.0, 10.0)
    assert [s.id for s in found.signs] == [s.id for s in load().signs]
    assert next(s.head for s in found.signs if s.id == "fan") == "FAN"
    assert [r.id for r in found.reminders] == [*(r.id for r in load().reminders), "ours"]


def test_ten_megabytes_are_refused_unread(tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_bytes(b"# nothing\n" * 1_000_000)
    with pytest.raises(CatalogError, match="at most 1000000 bytes"):
        load(file)
    with pytest.raises(CatalogError, match="up to 1000000 bytes"):
        load_text("# nothing\n" * 1_000_000)


@pytest.mark.parametrize("bomb", ["a" + ".a" * 60_000 + " = 1", "[" + "a." * 2000 + "a]\n"])
def test_keys_of_many_parts_are_refused_at_every_door(bomb: str) -> None:
    from warmside.catalog import read_code_pack, with_foam_waste
    from warmside.proof import read_proof

    foam = replace(load().foam("closed-cell"))
    doors = (
        load_text, read_code_pack, read_proof, read_prices, read,
        lambda text: with_foam_waste(text, foam),
    )  # fmt: skip
    for door in doors:
        with pytest.raises(InputError, match=r"lines of up to|keys of up to"):
            door(bomb)
