"""What the loader refuses, and that it says where."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.errors import CatalogError

SOUND = {
    "id": "our-board",
    "name": "Our board",
    "group": "board",
    "thickness_mm": "12.7",
    "conductivity_w_mk": "0.12",
    "density_kg_m3": "500",
    "specific_heat_j_kgk": "1600",
    "permeability_dry_ng_msPa": "2",
    "permeability_wet_ng_msPa": "4",
    "emissivity": "0.9",
    "source_heat": "the maker's sheet",
    "source_vapour": "the maker's sheet",
}
FOAM = """
[[foam]]
id = "our-foam"
name = "Our foam"
family = "closed-cell"
density_kg_m3 = 34
in_place_density_kg_m3 = 38
specific_heat_j_kgk = 1470
aged_resistance_mm_m2k_w = [[25, 1.0], [50, 2.05]]
permeance_mm_ng_m2sPa = [[50, 52]]
air_barrier_from_mm = 38
pass_max_mm = 50
total_max_mm = 140
wait_between_passes_min = 15
set_mass_kg = 454
waste_open_bays = 0.15
waste_small_bays = 0.20
emissivity = 0.9
source_heat = "listing"
source_vapour = "listing"
source_use = "listing"
"""


def write(tmp_path, rows, name="our-materials.csv", encoding="utf-8"):
    columns = list(dict.fromkeys(key for row in rows for key in row))
    text = io.StringIO()
    writer = csv.DictWriter(text, columns)
    writer.writeheader()
    writer.writerows(rows)
    path = tmp_path / name
    path.write_bytes(text.getvalue().encode(encoding))
    return path


def faults_of(path):
    with pytest.raises(CatalogError) as caught:
        load(path)
    assert str(caught.value)
    return caught.value.faults


def the_fault(path):
    (fault,) = faults_of(path)
    return fault


# --- own rows that are accepted -------------------------------------------------------------


def test_an_own_row_is_added_with_its_tag_and_the_file_named(tmp_path):
    path = write(tmp_path, [SOUND])
    catalog = load(path)
    row = catalog.material("our-board")
    assert row.source_heat.tag == "own figure"
    assert row.permeability_wet == pytest.approx(4e-12, rel=1e-12)
    assert catalog.own_files == (str(path),)
    assert "our-board" not in load().materials


def test_an_own_row_replaces_a_built_in_one_and_keeps_a_stated_tag(tmp_path):
    path = write(tmp_path, [SOUND | {"id": "plywood", "tag_heat": "published"}])
    row = load(path).material("plywood")
    assert (row.name, row.source_heat.tag, row.source_vapour.tag) == (
        "Our board",
        "published",
        "own figure",
    )


def test_a_folder_of_csv_and_toml(tmp_path):
    write(tmp_path, [SOUND])
    (tmp_path / "ours.toml").write_text(FOAM + "occupancy_wait_h = 24\n")
    (tmp_path / "letter.txt").write_text("not a catalog file")
    catalog = load(str(tmp_path))
    foam = catalog.foam("our-foam")
    assert foam.occupancy_wait == 24 * 3600.0
    assert foam.conductivity(0.025) == pytest.approx(0.025, rel=1e-12)  # 25 mm / 1.0 m2K/W
    assert len(catalog.own_files) == 2


def test_a_permeance_and_a_resistance_belong_to_the_thickness(tmp_path):
    row = {k: v for k, v in SOUND.items() if "permeability" not in k and "conduct" not in k}
    row |= {
        "resistance_m2k_w": "0.1",
        "permeance_dry_ng_m2sPa": "100",
        "permeance_wet_ng_m2sPa": "200",
    }
    got = load(write(tmp_path, [row])).material("our-board")
    # exact: 0.0127 m / 0.1 m2K/W; 100e-12 * 0.0127
    assert got.conductivity == pytest.approx(0.127, rel=1e-12)
    assert got.permeability_dry == pytest.approx(1.27e-12, rel=1e-12)


def test_own_lumber_replaces_its_nominal_size_only(tmp_path):
    path = tmp_path / "lumber.csv"
    path.write_text(
        "nominal,first_year,last_year,width_in,depth_in,source\n2x4,1900,1980,1.75,3.75,measured\n"
    )
    catalog = load(path)
    assert catalog.stud("2x4", 1975).depth == pytest.approx(3.75 * 0.0254, rel=1e-12)
    assert catalog.stud("2x6", 1975) == load().stud("2x6", 1975)


def test_an_own_joint_row_serves_the_kind_of_the_row_it_replaces(tmp_path):
    path = tmp_path / "joints.csv"
    path.write_text(
        "id,name,unit,open_best_cm2,open_low_cm2,open_high_cm2,sealed_best_cm2,sealed_low_cm2,"
        "sealed_high_cm2,bead_mm,source\nbox,Box,each,3,1,6,0.2,0.1,3,6,fan tests of ours\n"
    )
    row = load(path).for_kind("box")
    assert row.open_best == pytest.approx(3e-4, rel=1e-12)
    assert row.source.tag == "own figure"


# --- cells ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "cell", "allowed"),
    [
        ("id", "", "a short name"),
        ("id", "Our Board", "a short name"),
        ("name", "", "plain text"),
        ("name", "=HYPERLINK(1)", "plain text"),
        ("name", "+cmd|' /C calc'!A0", "plain text"),
        ("name", "@SUM(A1)", "plain text"),
        ("name", "x" * 801, "plain text"),
        ("name", "bell\x07", "plain text"),
        ("group", "plastic", "one of wood, board"),
        ("source_heat", "", "plain text"),
        ("source_vapour", "   ", "plain text"),
        ("tag_heat", "gospel", "one of published, second-hand"),
        ("emissivity", "1.2", "between 0.02 and 1"),
        ("emissivity", "nan", "a number between"),
        ("emissivity", "inf", "a number between"),
        ("emissivity", "1e999", "a number between"),
        ("emissivity", "0,9", "a number between"),
        ("emissivity", "0_9", "a number between"),
        ("emissivity", "high", "a number between"),
        ("emissivity", "٠.٩", "a number between"),
        ("density_kg_m3", "", "a number between"),
        ("density_kg_m3", "-500", "a number between"),
        ("density_kg_m3", "5000", "between 150 and 1500 for its class"),
        ("conductivity_w_mk", "1.2", "between 0.04 and 0.6 for its class"),
        ("conductivity_w_mk", "", "either conductivity_w_mk or resistance_m2k_w"),
        ("resistance_m2k_w", "0.1", "either conductivity_w_mk or resistance_m2k_w"),
        ("permeability_wet_ng_msPa", "150", "between 0.1 and 120 for its class"),
        ("permeability_wet_ng_msPa", "1", "not less than the dry value"),
        ("permeability_dry_ng_msPa", "", "either permeability_dry_ng_msPa or"),
        ("permeance_dry_ng_m2sPa", "60", "either permeability_dry_ng_msPa or"),
    ],
)
def test_a_cell_is_refused_with_file_row_and_column(tmp_path, column, cell, allowed):
    fault = the_fault(write(tmp_path, [SOUND | {column: cell}]))
    assert fault.place.startswith("our-materials.csv, row ")
    assert "column " in fault.place
    assert allowed in fault.allowed
    assert fault.line == 2


@pytest.mark.parametrize(
    ("group", "conductivity"),
    [
        ("wood", "0.06"),
        ("wood", "0.26"),
        ("insulation", "0.014"),  # between still air and any foam there is nothing like it
        ("insulation", "0.081"),
        ("masonry", "0.05"),
        ("finish", "1.6"),
        ("cladding", "0.02"),
        ("paint", "1.2"),
        ("membrane", "0.015"),
    ],
)
def test_conductivity_out_of_the_range_of_its_group(tmp_path, group, conductivity):
    row = SOUND | {"group": group, "conductivity_w_mk": conductivity}
    faults = faults_of(write(tmp_path, [row]))
    assert any("column conductivity_w_mk" in fault.place for fault in faults)


def test_air_has_no_conductivity_of_its_own(tmp_path):
    row = SOUND | {"group": "air", "density_kg_m3": "1.2"}
    row |= {"permeability_dry_ng_msPa": "190", "permeability_wet_ng_msPa": "190"}
    assert "air has none" in the_fault(write(tmp_path, [row])).allowed


def test_a_resistance_without_a_thickness(tmp_path):
    row = SOUND | {"thickness_mm": "", "conductivity_w_mk": "", "resistance_m2k_w": "0.1"}
    assert "column thickness_mm" in the_fault(write(tmp_path, [row])).place


def test_a_permeance_without_a_thickness(tmp_path):
    row = SOUND | {
        "thickness_mm": "",
        "permeability_dry_ng_msPa": "",
        "permeance_dry_ng_m2sPa": "9",
    }
    assert "column thickness_mm" in the_fault(write(tmp_path, [row])).place


def test_all_faults_are_listed_at_once(tmp_path):
    rows = [
        SOUND | {"emissivity": "2", "name": ""},
        SOUND | {"id": "b", "source_heat": "", "conductivity_w_mk": "5"},
        SOUND | {"id": "c", "conductivity_w_mk": "thick"},
    ]
    assert [fault.line for fault in faults_of(write(tmp_path, rows))] == [2, 2, 3, 3, 4]


# --- rows and files ---------------------------------------------------------------------------


def test_an_id_twice_in_the_own_files(tmp_path):
    write(tmp_path, [SOUND], "a-materials.csv")
    write(tmp_path, [SOUND], "b-materials.csv")
    fault = the_fault(tmp_path)
    assert fault.place == 'b-materials.csv, row "our-board", column id'
    assert fault.allowed == "each id once"


def test_a_missing_column(tmp_path):
    row = {key: cell for key, cell in SOUND.items() if key != "source_vapour"}
    assert "'source_vapour'" in the_fault(write(tmp_path, [row])).allowed


def test_an_unknown_column(tmp_path):
    fault = the_fault(write(tmp_path, [SOUND | {"lambda": "1"}]))
    assert fault.read == "column 'lambda'"


def test_a_column_twice(tmp_path):
    path = tmp_path / "fuels.csv"
    path.write_text("id,id\nx,y\n")
    assert any("twice" in fault.read for fault in faults_of(path))


def test_a_row_too_short(tmp_path):
    path = write(tmp_path, [SOUND])
    path.write_text(path.read_text() + "only,three,cells\n")
    fault = the_fault(path)
    assert (fault.read, fault.line) == ("3 cells", 3)


def test_semicolons_between_cells(tmp_path):
    path = tmp_path / "materials.csv"
    path.write_text("id;name;group\nx;y;board\n")
    assert "parted by commas" in the_fault(path).allowed


def test_an_open_quote(tmp_path):
    path = write(tmp_path, [SOUND])
    path.write_text(path.read_text() + '"open')
    assert "well-formed CSV" in the_fault(path).allowed


def test_a_wrong_encoding_is_told_with_its_line(tmp_path):
    fault = the_fault(write(tmp_path, [SOUND | {"name": "béton"}], encoding="cp1252"))
    assert (fault.read, fault.allowed, fault.line) == ("byte 0xe9", "text saved as UTF-8", 2)


def test_utf_8_with_a_byte_order_mark_is_read(tmp_path):
    path = write(tmp_path, [SOUND | {"name": "béton"}], encoding="utf-8-sig")
    assert load(path).material("our-board").name == "béton"


def test_a_zero_byte(tmp_path):
    path = tmp_path / "materials.csv"
    path.write_bytes(b"id\0")
    assert the_fault(path).read == "a zero byte"


def test_a_file_too_big(tmp_path):
    path = tmp_path / "materials.csv"
    path.write_bytes(b"#" * 1_000_001)
    assert the_fault(path).allowed == "at most 1000000 bytes"


def test_a_csv_file_whose_name_tells_no_class(tmp_path):
    assert "a name ending in" in the_fault(write(tmp_path, [SOUND], "stuff.csv")).allowed


@pytest.mark.parametrize("name", ["missing.csv", "missing", "rows.xlsx", ""])
def test_a_path_without_rows(tmp_path, name):
    if name.endswith("xlsx"):
        (tmp_path / name).write_text("x")
    assert the_fault(tmp_path / name)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("[[foam]\n", "well-formed TOML"),
        ("[[glues]]\nid = 'x'\n", "[[foam]]"),
        ("[[hazards]]\nkind = 'x'\n", "nearest: hazard"),
        ("foam = 3\n", "tables headed [[foam]]"),
        ("foam = [3]\n", "tables headed [[foam]]"),
        ("a = " + "[" * 5000, "lines of up to 4096"),
        ("a = " + "[" * 4000, "12 levels"),
        ("foam = " + "[" * 20 + "]" * 20, "12 levels"),
        ("a = " + "1" * 5000, "lines of up to 4096"),
        ("a" + ".a" * 20_000 + " = 1", "lines of up to 4096"),
        ("a" + ".a" * 2000 + " = 1", "keys of up to 8 parts"),
        ("[" + "a." * 2000 + "a]", "keys of up to 8 parts"),
        ("x = {" + "a . " * 900 + "a = 1}", "keys of up to 8 parts"),
        ("\n" * 30_000, "up to 20000 lines"),
        ("a = nan\n", "[[foam]]"),
    ],
)
def test_toml_that_is_refused(tmp_path, text, part):
    path = tmp_path / "own.toml"
    path.write_text(text)
    assert part in the_fault(path).allowed


@pytest.mark.parametrize(
    ("line", "column", "allowed"),
    [
        ("family = 'gel'", "family", "one of closed-cell, open-cell"),
        ("family = 'open-cell'", "aged_resistance_mm_m2k_w", "between 0.03 and 0.048"),
        ("aged_resistance_mm_m2k_w = [[50, 9]]", "aged_resistance_mm_m2k_w", "0.018 and 0.035"),
        ("aged_resistance_mm_m2k_w = [[50, 2], [25, 1]]", "aged_resistance_mm_m2k_w", "rising"),
        ("aged_resistance_mm_m2k_w = []", "aged_resistance_mm_m2k_w", "pairs"),
        ("aged_resistance_mm_m2k_w = [[50]]", "aged_resistance_mm_m2k_w", "pairs"),
        ("aged_resistance_mm_m2k_w = [[50, nan]]", "aged_resistance_mm_m2k_w", "pairs"),
        ("permeance_mm_ng_m2sPa = [[50, 900]]", "permeance_mm_ng_m2sPa", "between 0.5 and 8"),
        ("pass_max_mm = 200", "total_max_mm", "pass_max_mm <= total_max_mm"),
        ("in_place_density_kg_m3 = 30", "in_place_density_kg_m3", "density_kg_m3 <="),
        ("waste_small_bays = 0.1", "waste_small_bays", "waste_open_bays <="),
        ("waste_small_bays = true", "waste_small_bays", "a number"),
        ("waste_small_bays = inf", "waste_small_bays", "a number"),
        ("set_mass_kg = 0x" + "f" * 4000, "set_mass_kg", "a number"),
        ("name = 7", "name", "plain text"),
    ],
)
def test_a_foam_that_is_refused(tmp_path, line, column, allowed):
    key = line.split(" =")[0]
    text = "\n".join(line if old.startswith(f"{key} =") else old for old in FOAM.splitlines())
    path = tmp_path / "own.toml"
    path.write_text(text)
    faults = faults_of(path)
    place = f'own.toml, row "our-foam", column {column}'
    assert any(fault.place == place and allowed in fault.allowed for fault in faults)
    # the line of the key itself
    (at,) = {fault.line for fault in faults if fault.place == place}
    assert at == text.split(f"{column} =")[0].count("\n") + 1  # the line of the key itself


@pytest.mark.parametrize(
    ("name", "text", "part"),
    [
        (
            "fuels.csv",
            "id,name,unit,heat_content_mj,co2_kg,co2_low_kg,co2_high_kg,year,source\n"
            "g,Gas,m3,38,2.1,1.9,2,2020,bill\n",
            "co2_low_kg <= co2_kg <= co2_high_kg",
        ),
        (
            "fuels.csv",
            "id,name,unit,heat_content_mj,co2_kg,co2_low_kg,co2_high_kg,year,source\n"
            "g,Gas,m3,38,2,1.9,2,2020.5,bill\n",
            "a whole number",
        ),
        (
            "lumber.csv",
            "nominal,first_year,last_year,width_in,depth_in,source\n"
            "2x4,1900,1950,1.5,3.5,us\n2x4,1950,1980,1.5,3.5,us\n",
            "years apart",
        ),
        (
            "joints.csv",
            "id,name,kinds,unit,open_best_cm2,open_low_cm2,open_high_cm2,sealed_best_cm2,"
            "sealed_low_cm2,sealed_high_cm2,bead_mm,source\n"
            "a,A,box,each,1,1,1,.5,.5,.5,6,us\nb,B,box,each,1,1,1,.5,.5,.5,6,us\n",
            "each kind once",
        ),
        (
            "joints.csv",
            "id,name,unit,open_best_cm2,open_low_cm2,open_high_cm2,sealed_best_cm2,"
            "sealed_low_cm2,sealed_high_cm2,bead_mm,source\na,A,each,1,1,1,.5,.5,2,6,us\n",
            "sealed_high_cm2 <= open_high_cm2",
        ),
    ],
)
def test_figures_that_contradict_each_other(tmp_path, name, text, part):
    path = tmp_path / name
    path.write_text(text)
    assert part in the_fault(path).allowed


CLIMATE = """[[climates]]
id = "here"
name = "Here"
region = "Ours"
latitude_deg = 50
longitude_deg = -90
elevation_m = 300
mean_c = [-15, -12, -5, 4, 11, 16, 19, 18, 12, 5, -4, -12]
daily_max_c = [-10, -7, 0, 10, 18, 23, 26, 25, 18, 10, 0, -8]
daily_min_c = [-20, -17, -10, -2, 4, 10, 13, 12, 6, 0, -8, -17]
humidity = [0.7, 0.7, 0.7, 0.6, 0.6, 0.6, 0.7, 0.7, 0.7, 0.7, 0.7, 0.7]
design_c = -30
design_1_c = -32
degree_days_kd = 5500
source = "airfield"
source_humidity = "airfield"
source_design = "code"
"""


@pytest.mark.parametrize(
    ("old", "new", "column", "part"),
    [
        ("[-15, -12,", "[-12,", "mean_c", "twelve numbers"),
        ("[-15,", "[-9,", "mean_c", "between daily_min_c and daily_max_c"),
        ("[0.7, 0.7,", "[70, 0.7,", "humidity", "between 0.05 and 1"),
        ("design_1_c = -32", "design_1_c = -28", "design_c", "design_1_c <= design_c"),
        ('"airfield"\nsource_h', '""\nsource_h', "source", "plain text"),
    ],
)
def test_a_climate_that_is_refused(tmp_path, old, new, column, part):
    path = tmp_path / "own.toml"
    path.write_text(CLIMATE)
    assert load(path).climate("here").design == -30.0
    assert old in CLIMATE
    path.write_text(CLIMATE.replace(old, new, 1))
    fault = the_fault(path)
    assert fault.place == f'own.toml, row "here", column {column}'
    assert part in fault.allowed


# --- anything at all --------------------------------------------------------------------------


def attempt(path):
    try:
        return load(path), ()
    except CatalogError as error:
        return None, error.faults


@given(content=st.binary(max_size=400), name=st.sampled_from(["materials.csv", "own.toml"]))
def test_any_bytes_give_a_catalog_or_clear_faults(tmp_path_factory, content, name):
    path = tmp_path_factory.mktemp("own") / name
    path.write_bytes(content)
    catalog, faults = attempt(path)
    assert (catalog is None) == bool(faults)
    assert all(fault.place and fault.allowed for fault in faults)


@given(
    column=st.sampled_from(sorted(SOUND)),
    cell=st.one_of(
        st.text(st.characters(codec="utf-8"), max_size=40),
        st.floats().map(str),
        st.integers().map(str),
    ),
)
def test_any_cell_gives_a_row_inside_its_ranges_or_clear_faults(tmp_path_factory, column, cell):
    folder = tmp_path_factory.mktemp("own")
    catalog, faults = attempt(write(folder, [SOUND | {column: cell}]))
    assert (catalog is None) == bool(faults)
    assert all(fault.place and fault.allowed for fault in faults)
    for row in catalog.materials.values() if catalog else ():
        assert row.conductivity is None or 0.015 <= row.conductivity <= 400
        assert 0.0 < row.permeability_dry <= row.permeability_wet <= 220e-12
