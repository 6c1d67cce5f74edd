"""The table of houses: what is read, what is refused, how large it may be."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import polars as pl
import pytest

from stock.small import archetypes, write_table
from warmside.catalog import load
from warmside.errors import InputError
from warmside.stock import Known, open_table, read_archetype, read_archetypes, realise

FT2 = 0.09290304  # [m2], exact from the foot
CFM = 4.719474432e-4  # [m3/s], exact from the foot
CATALOG = load()


def rows_of(path: Path):
    return list(open_table(path, archetypes()))


def test_units_in_headings_and_cells_in_any_mix(tmp_path: Path):
    """Exact conversions; a unit in the cell goes before that of the heading."""
    path = write_table(
        tmp_path / "t.csv",
        [
            "id,archetype,area [ft2],year,fan test (CFM50),room humidity",
            "A,shed,420,1948,900,35 %",
            "B,shed,39 m2,1950,0.4 m3/s,0.4",
            "C,shed,,,,",
        ],
    )
    a, b, c = rows_of(path)
    assert dict(a.values)["house.floor_area"] == pytest.approx(420 * FT2)
    assert dict(a.values)["house.fan_test.flow_50"] == pytest.approx(900 * CFM)
    assert dict(a.values)["house.indoor_humidity"] == pytest.approx(0.35)
    assert dict(b.values) == pytest.approx(
        {"house.floor_area": 39.0, "house.year_built": 1950, "house.fan_test.flow_50": 0.4,
         "house.indoor_humidity": 0.4}
    )  # fmt: skip
    assert c == Known(4, "C", "shed", ())


def test_rows_that_cannot_be_used_are_told_and_the_others_go_on(tmp_path: Path):
    path = write_table(
        tmp_path / "t.csv",
        [
            "id;archetype;area;house.climate",
            "A;shed;40 m2;ottawa",
            "B;shed;40;ottawa",
            "A;shed;41 m2;ottawa",
            ";shed;41 m2;ottawa",
            "D;shed;41 m2;ottawa;one too many",
            "E;shed;forty m2;ottawa",
            "F;shed;42 m2;ottawa",
        ],
    )
    rows = rows_of(path)
    assert [row.id for row in rows if isinstance(row, Known)] == ["A", "F"]
    told = [str(row) for row in rows if isinstance(row, InputError)]
    assert told[0].startswith('row 3, area: read "40"; allowed: an area with its unit')
    assert told[1] == (
        'row 4, id: read "A"; allowed: an id of its own; row 2 has this one and is kept'
    )
    assert told[2].startswith("row 5, id: read nothing")
    assert told[3].startswith("row 6: read 5 cells; allowed: 4")
    assert told[4].startswith('row 7, area: read "forty m2"')


def test_a_heading_that_says_nothing_is_told_and_left_out(tmp_path: Path):
    path = write_table(tmp_path / "t.csv", ["id,archetype,colour", "A,shed,green"])
    table = open_table(path, archetypes())
    assert "the column is left out" in str(table.faults[0])
    assert list(table) == [Known(2, "A", "shed", ())]


@pytest.mark.parametrize(
    ("lines", "match"),
    [
        (["archetype,area", "shed,1"], 'no column "id"'),
        (["id,archetype,year,year built", "A,shed,1,1"], "house.year_built twice"),
        ([""], 'no column "id"'),
        (["id,archetype" + ",x" * 300], "302 columns"),
    ],
)
def test_tables_that_cannot_be_used(tmp_path: Path, lines, match):
    with pytest.raises(InputError, match=match):
        open_table(write_table(tmp_path / "t.csv", lines), archetypes())


def test_no_file_no_table(tmp_path: Path):
    with pytest.raises(InputError, match="no such file"):
        open_table(tmp_path / "none.csv", archetypes())
    broken = tmp_path / "t.parquet"
    broken.write_bytes(b"PAR1 but not really PAR1")
    with pytest.raises(InputError, match="a Parquet table that can be read"):
        open_table(broken, archetypes())


def test_hostile_cells_are_refused_row_by_row(tmp_path: Path):
    """Bytes that are no text, hidden signs, a cell without end: told, never raised."""
    path = tmp_path / "t.csv"
    path.write_bytes(
        b"id,archetype,place\nA,shed,\xff\xfe\nB,shed,a\x07b\nC\x00,shed,x\nD,shed," + b"x" * 300
        + b"\nE,shed,fine\nF,shed,\"" + b"y" * 200_000 + b"\nG,shed,fine\n"
    )  # fmt: skip
    rows = rows_of(path)
    assert [row.id for row in rows if isinstance(row, Known)] == ["E", "G"]
    assert all(isinstance(row, Known | InputError) for row in rows)


def test_parquet_is_read_as_csv_is(tmp_path: Path):
    frame = pl.DataFrame(
        {
            "id": ["A", "B"],
            "archetype": ["shed"] * 2,
            "area [m2]": [40.0, 41.5],
            "year": [1950, None],
        }
    )
    frame.write_parquet(tmp_path / "t.parquet")
    a, b = rows_of(tmp_path / "t.parquet")
    assert dict(a.values) == {"house.floor_area": 40.0, "house.year_built": 1950}
    assert dict(b.values) == {"house.floor_area": 41.5}


def test_a_large_table_is_never_held(tmp_path: Path):
    """Memory of 60 000 rows stays within two megabytes: eight bytes a row and one batch."""
    path = tmp_path / "t.csv"
    with path.open("w") as file:
        file.write("id,archetype,area\n")
        for k in range(60_000):
            file.write(f"house number {k:09d} of the estate,shed,40 m2\n")
    tracemalloc.start()
    table = open_table(path, archetypes())
    rows = iter(table)
    for _ in range(1000):
        next(rows)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert table.rows == 60_000
    assert most < 2.5e6  # the file has 3 MB; ids alone as Python texts would take 5 MB


def test_a_house_is_stretched_to_its_area():
    """Exact: lengths in plan by the root of the areas, volume by the areas; sizes of wood stay."""
    kind = archetypes()["shed"]
    area = kind.survey.house.floor_area * 1.44
    found = realise(Known(2, "A", "shed", (("house.floor_area", area),)), {"shed": kind}, CATALOG)
    wall, usual = found.survey.walls[0], kind.survey.walls[0]
    assert wall.length == pytest.approx(usual.length * 1.2)
    assert wall.openings[0].left == pytest.approx(usual.openings[0].left * 1.2)
    assert wall.openings[0].width == pytest.approx(usual.openings[0].width * 1.2)
    assert wall.openings[0].height == usual.openings[0].height
    assert (wall.height, wall.spacing) == (usual.height, usual.spacing)
    assert found.survey.house.volume == pytest.approx(kind.survey.house.volume * 1.44)


def test_what_is_known_is_no_longer_unknown():
    kinds = archetypes()
    known = Known(2, "A", "shed", (("house.indoor_humidity", 0.31),))
    found = realise(known, kinds, CATALOG)
    assert [u.name for u in found.unknowns] == ["fan test", "fill"]
    assert found.survey.house.indoor_humidity == 0.31
    assert found.survey.walls[0].found.fill is None  # three of four: nothing
    drawn = found.with_values([0.5, "cellulose-loose"])
    assert drawn.walls[0].found.fill == "cellulose-loose"
    assert drawn.house.fan_test is not None
    assert drawn.house.fan_test.flow_50 == 0.5


@pytest.mark.parametrize(
    ("values", "match"),
    [
        ((("house.climate", "atlantis"),), r"row 7, house\.climate"),
        ((("house.floor_area", 2000.0),), "9 to 149 m2"),
        ((("house.indoor_humidity", 34.0),), r"row 7, indoor_humidity"),
        ((("house.year_built", 3000),), r"row 7, year_built"),
    ],
)
def test_values_that_no_such_house_has(values, match):
    with pytest.raises(InputError, match=match):
        realise(Known(7, "A", "shed", values), archetypes(), CATALOG)


def test_an_archetype_that_nobody_knows():
    with pytest.raises(InputError, match="row 7, archetype"):
        realise(Known(7, "A", "castle"), archetypes(), CATALOG)


@pytest.mark.parametrize(
    ("unknown", "match"),
    [
        ('field = "house.colour"\nnormal = [1, 2]', "unknown 1, field"),
        ('field = "wall.opening.width"\nnormal = ["1 ft", "1 in"]', "unknown 1, field"),
        ('field = "house.indoor_humidity"', "0 distributions"),
        ('field = "house.indoor_humidity"\nnormal = [0.3]', "a list of values"),
        ('field = "house.indoor_humidity"\nnormal = [0.3, 0.0]', "standard deviation"),
        ('field = "house.indoor_humidity"\nnormal = ["35 C", 0.1]', "a share"),
        ('field = "house.indoor_humidity"\ntriangular = [0.5, 0.4, 0.6]', "rising"),
        ('field = "house.indoor_humidity"\nchoice = [0.5, 0.4]\nweights = [0, 0]', "not all 0"),
        ('field = "house.indoor_humidity"\nnormal = [0.3, 0.1]\nspread = 1', "the key spread"),
    ],
)
def test_unknowns_that_make_no_sense_are_told_with_their_line(unknown, match):
    with pytest.raises(InputError, match=match) as told:
        read_archetype(f"[[unknown]]\n{unknown}\n" + _plain(), "shed")
    assert told.value.faults[0].line == 1


def _plain() -> str:
    from stock.small import TEXT

    head, tail = TEXT.split("[[unknown]]", 1)
    return head + tail[tail.index("[[wall]]") :]


def test_faults_of_the_survey_keep_their_lines():
    text = "[[unknown]]\nfield = 'house.people'\nchoice = [2, 3]\n\n" + _plain()
    broken = text.replace('floor_area = "400 ft2"', 'floor_area = "400"')
    with pytest.raises(InputError) as told:
        read_archetype(broken, "shed")
    assert told.value.faults[0].line == broken[: broken.index("floor_area")].count("\n") + 1


def test_a_folder_without_archetypes(tmp_path: Path):
    with pytest.raises(InputError, match="no archetype"):
        read_archetypes(tmp_path)
