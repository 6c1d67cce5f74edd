"""An own climate row and an hourly file go through study, crew, stock and the pages."""

from __future__ import annotations

import json
import re
from pathlib import Path

import polars as pl
import pvlib
import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient
from numpy.testing import assert_allclose

from stock.small import TEXT
from warmside.catalog import load
from warmside.cli import main
from warmside.errors import InputError
from warmside.store import Store
from warmside.weather import FORMATS, climate_row, figures_of, read_normals, read_weather
from warmside.web import Web, create_app
from warmside.web.dossier import PARTS, key_of
from warmside.web.studies import ask
from warmside.web.work import do

FILE = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"  # Greensboro, North Carolina
DOCS = Path(__file__).parents[2] / "docs" / "weather.md"

ROW = """
[[climates]]
id = "my-town"
name = "My town"
region = "NC"
latitude_deg = 36.1
longitude_deg = -79.95
elevation_m = 270
mean_c = [3.5, 5.4, 9.6, 14.4, 19.0, 23.6, 25.6, 24.9, 21.2, 15.3, 10.0, 5.0]
daily_max_c = [9.0, 11.3, 15.9, 21.1, 25.3, 29.4, 31.1, 30.2, 26.6, 21.2, 16.0, 10.6]
daily_min_c = [-1.9, -0.5, 3.2, 7.7, 12.7, 17.8, 20.1, 19.6, 15.8, 9.4, 4.0, -0.5]
humidity = [0.66, 0.63, 0.62, 0.61, 0.69, 0.71, 0.74, 0.76, 0.75, 0.71, 0.68, 0.68]
design_c = -8.0
design_1_c = -10.0
degree_days_kd = 1950
source = "my own notes"
source_humidity = "my own notes"
source_design = "my own notes"
"""
SHED = TEXT.split("[[unknown]]")[0] + "[[wall]]" + TEXT.split("[[wall]]", 1)[1]
HOUSE = SHED.replace('climate = "ottawa"', 'climate = "my-town"')


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    house, rows = tmp_path / "house.toml", tmp_path / "own.toml"
    house.write_text(HOUSE, encoding="utf-8")
    rows.write_text(ROW, encoding="utf-8")
    return house, rows


def run(*words: object) -> str:
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return result.stdout


def test_study(files: tuple[Path, Path]) -> None:
    house, rows = files
    made = json.loads(run("study", house, "--catalog", rows, "--json"))
    given = json.loads(run("study", house, "--catalog", rows, "--weather", FILE, "--json"))
    assert made["outside"]["station"] == given["outside"]["station"] == "My town"
    assert "synthesised" in " ".join(made["weather"]["notes"])
    assert "GREENSBORO" in given["weather"]["name"].upper()
    assert "tenths of a millimetre" in " ".join(given["weather"]["notes"])

    text = json.dumps(made["walls"]), json.dumps(given["walls"])
    assert text[0] != text[1]  # energy and hourly moisture follow the file


def test_a_place_of_ones_own_from_a_file(tmp_path: Path) -> None:
    """The row agrees with the file's own means; the house is studied by it."""
    out = tmp_path / "town.toml"
    said = run("place", "add", FILE, "--name", "My town", "--region", "North Carolina",
               "--source", "TMY3, a government file", "--out", out)  # fmt: skip
    assert 'climate = "my-town"' in said
    row, year = load(out).climate("my-town"), read_weather(FILE.read_bytes())
    assert_allclose(row.mean, year.monthly_mean(year.temperature), atol=0.051)
    january = year.temperature[year.month == 1]
    assert (january < row.design).mean() == pytest.approx(0.025, abs=0.006)
    assert row.design_1 <= row.design
    assert_allclose(sum(row.rain or ()), year.rain.sum(), atol=1.0)
    assert row.source.tag == "computed"
    assert row.utc_offset == -5.0
    house = tmp_path / "house.toml"
    house.write_text(HOUSE, encoding="utf-8")
    found = json.loads(run("study", house, "--catalog", out, "--weather", FILE, "--json"))
    assert found["outside"]["station"] == "My town"
    again = CliRunner().invoke(main, ["place", "add", str(FILE), "--name", "My town", "--region",
                                      "x", "--source", "y", "--out", str(out)])  # fmt: skip
    assert again.exit_code == 1  # what is there is left as it is


@pytest.mark.parametrize(("name", "source"), [("", "x"), ("...", "x"), ("A\nB", "x"), ("A", " ")])
def test_a_row_without_name_or_source_is_refused(name: str, source: str) -> None:
    year = read_weather(FILE.read_bytes())
    with pytest.raises(InputError):
        climate_row(figures_of(year), name, "NC", source)


NORMALS = """"Canadian Climate Normals 1981-2010"
"STATION_NAME","PROVINCE","LATITUDE","LONGITUDE","ELEVATION","CLIMATE_ID"
"*A TOWN","MB","49°55'00.000"" N","97°14'00.000"" W","238.7 m","1"
"","Jan","Feb","Mar","Apr","May","Jun","Jul","Aug","Sep","Oct","Nov","Dec","Year","Code"
"Temperature"
"Daily Average (°C)",-16.4,-13.2,-5.8,4.4,11.6,17,19.7,18.8,12.7,5,-4.9,-13.2,3,"A"
"Daily Maximum (°C)",-11.3,-8.1,-0.8,10.9,18.6,23.2,25.9,25.4,19,10.5,-0.5,-8.5,8.7,"A"
"Daily Minimum (°C)",-21.4,-18.3,-10.7,-2,4.5,10.7,13.5,12.1,6.4,-0.5,-9.2,-17.8,-2.7,"A"
"Rainfall (mm)",0.2,2.7,9.7,19.2,54.1,90,79.5,77,45.5,32.7,6.9,1.5,418.9,"A"
"Speed (km/h)",17.1,16.5,17.4,18.3,18.4,16.5,14.4,14.9,16.7,17.6,17.1,16.6,16.8,"A"
"Below 18 °C",1065.5,881.7,739.2,412.6,211.6,66.5,22.5,43.1,173.3,404.3,687.3,966.4,5674,"A"
"Average Vapour Pressure (kPa)",0.2,0.2,0.4,0.5,0.8,1.3,1.6,1.5,1,0.7,0.4,0.2,0.7,"A"
"""


def test_normals_of_canada_become_a_row(tmp_path: Path) -> None:
    """Figures of a prairie airport as published for 1981-2010 (from memory); units of the file."""
    file, out = tmp_path / "normals.csv", tmp_path / "row.toml"
    file.write_text(NORMALS, encoding="cp1252")
    run("place", "add", file, "--name", "A town", "--region", "Manitoba", "--source", "normals",
        "--out", out)  # fmt: skip
    row = load(out).climate("a-town")
    assert row.mean[0] == -16.4
    assert row.daily_min[6] == 13.5
    assert_allclose((row.latitude, row.longitude), (49.9167, -97.2333), atol=1e-3)
    assert row.utc_offset == -6.0
    assert row.elevation == 238.7
    assert_allclose(row.wind[0], 17.1 / 3.6, atol=0.051)
    assert sum(row.rain) == pytest.approx(419.0, abs=0.2)
    assert row.degree_days == 5674
    # saturation over water at 19.7 degC is 2.29 kPa (handbook tables): 1.6 / 2.29
    assert row.humidity[6] == pytest.approx(0.698, abs=0.005)
    assert -35.0 < row.design_1 < row.design < -29.0


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [("-16.4", "abc", "line 6.*abc"), ("Daily Minimum", "Nightly", "daily minimum"),
     ("°55'", " ", "position"), ("Jan", "Ene", "Jan, Feb")],
)  # fmt: skip
def test_faults_of_a_normals_file_are_told(old: str, new: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_normals(NORMALS.replace(old, new, 1))


def test_a_faulty_file_is_told_without_a_traceback(
    files: tuple[Path, Path], tmp_path: Path
) -> None:
    house, rows = files
    lines = FILE.read_text(encoding="utf-8").splitlines()
    cells = lines[4].split(",")
    cells[31] = "abc"  # Dry-bulb (C)
    lines[4] = ",".join(cells)
    broken = tmp_path / "broken.csv"
    broken.write_text("\n".join(lines), encoding="utf-8")
    result = CliRunner().invoke(
        main, ["study", str(house), "--catalog", str(rows), "--weather", str(broken), "--json"]
    )
    assert result.exit_code == 1
    assert "line 5" in result.output
    assert "'abc'" in result.output
    assert "Traceback" not in result.output
    short = tmp_path / "short.csv"
    short.write_text("\n".join(lines[:4]), encoding="utf-8")
    result = CliRunner().invoke(
        main, ["study", str(house), "--catalog", str(rows), "--weather", str(short), "--json"]
    )
    assert result.exit_code == 1
    assert "a whole year" in result.output


def test_crew(files: tuple[Path, Path], tmp_path: Path) -> None:
    house, rows = files
    out = tmp_path / "out"
    run("crew", house, "--catalog", rows, "--weather", FILE, "--option", "cc-51", "--out", out)
    assert (out / "crew-sheet.pdf").read_bytes().startswith(b"%PDF")


def test_stock(files: tuple[Path, Path], tmp_path: Path) -> None:
    _, rows = files
    kinds = tmp_path / "archetypes"
    kinds.mkdir()
    (kinds / "shed.toml").write_text(
        TEXT.replace('climate = "ottawa"', 'climate = "my-town"').replace(
            'length = "8 ft"', 'length = "60 ft"'
        ),
        encoding="utf-8",
    )
    table = tmp_path / "houses.csv"
    table.write_text("id,archetype,year,climate\nA,shed,1940,my-town\nB,shed,1941,ottawa\n")
    common = ("--catalog", rows, "--archetypes", kinds, "--sample", 0, "--workers", 1)

    def heat(folder: Path, *more: object) -> dict[str, float]:
        run("stock", "run", table, "--out", folder, *common, *more)
        frame = pl.read_parquet(folder / "stock.parquet").filter(pl.col("option") != "leave")
        return dict(frame.group_by("id").agg(pl.col("heat_j").max()).iter_rows())

    made = heat(tmp_path / "made")
    given = heat(tmp_path / "given", "--weather", f"my-town={FILE}")
    assert_allclose(given["B"], made["B"], rtol=1e-12)  # its climate has no file
    assert abs(given["A"] / made["A"] - 1.0) > 1e-6
    everywhere = heat(tmp_path / "all", "--weather", FILE)
    assert everywhere["A"] == pytest.approx(given["A"], rel=1e-12)
    assert everywhere["B"] < 0.8 * made["B"]  # Ottawa's shed in North Carolina


def test_pages(tmp_path: Path) -> None:
    with Store.open(tmp_path / "warmside.sqlite") as store:
        store.save("catalog", ROW, 0, "owner")
        job = store.new_job(HOUSE, "owner").id
        client = TestClient(
            create_app(Web(store, b"s" * 32, hosts=lambda _: True)), follow_redirects=False
        )
        at = f"/jobs/{job}/weather"
        shown = client.get(at).text
        assert "a year made of the monthly normals of My town" in shown
        word = re.search(r'name="token" value="(\w+)"', shown)
        assert word
        before = key_of({p: store.text(p, job).text for p in PARTS})  # type: ignore[arg-type]
        data = {"token": word[1], "revision": "0"}
        upload = {"file": ("year.csv", FILE.read_bytes(), "text/csv")}
        assert client.post(at, data=data, files=upload).status_code == 303
        after = key_of({p: store.text(p, job).text for p in PARTS})  # type: ignore[arg-type]
        assert after != before  # another file is another study
        shown = client.get(at).text
        assert "tenths of a millimetre" in shown
        assert "36.10°, -79.95°, UTC-5" in shown
        assert client.post(at, data=data, files=upload).status_code == 303  # the same again
        store.choose(job, {"front": "cc-51"}, 0, "owner")
        assert "the year in the job" in client.get(f"/jobs/{job}/hours").text
        faulty = {"file": ("year.csv", FILE.read_bytes()[:5000], "text/csv")}
        answer = client.post(at, data=data, files=faulty)
        assert answer.status_code == 422
        assert "weather" in answer.text
        huge = {"file": ("year.csv", b"1" * (10 << 20), "text/csv")}
        assert client.post(at, data=data, files=huge).status_code == 413
        task = ask(store, job, "owner")
        do(store, store.tasks.take() or task, b"s" * 32)
        found = client.get(f"/jobs/{job}/study.json").json()
        assert "GREENSBORO" in found["weather"]["name"].upper()
        revision = str(store.text("weather", job).revision)
        gone = data | {"revision": revision, "without": "1"}
        assert client.post(at, data=gone).status_code == 303
        assert "a year made of the monthly normals" in client.get(at).text
        # a whole job as one file takes its hours along
        now = store.text("weather", job).revision
        store.save("weather", FILE.read_text("utf-8"), now, "owner", job)
        parcel = tmp_path / "job.zip"
        store.export_job(job, parcel)
        copy = store.import_job(parcel, "owner", as_copy=True)
        assert read_weather(store.text("weather", copy.id).text).hours == 8760


def test_a_place_from_one_official_download_on_the_page(tmp_path: Path) -> None:
    """Normals put in on the page become a row of the job, and the house is studied there; rows
    that are there stay; a file of nothing is told on the page."""
    with Store.open(tmp_path / "warmside.sqlite") as store:
        store.save("catalog", ROW, 0, "owner")
        job = store.new_job(HOUSE, "owner").id
        client = TestClient(
            create_app(Web(store, b"s" * 32, hosts=lambda _: True)), follow_redirects=False
        )
        shown = client.get(f"/jobs/{job}/weather").text
        assert "all judged in the mean year" in shown
        word = re.search(r'name="token" value="(\w+)"', shown)
        assert word
        data = {"token": word[1], "name": "A town", "region": "Manitoba", "source": "normals"}
        at = f"/jobs/{job}/weather/place"
        for content in (b"", b"nothing of the kind", NORMALS.replace("-16.4", "NaN").encode()):
            answer = client.post(at, data=data, files={"file": ("n.csv", content, "text/csv")})
            assert answer.status_code == 422
            for typed in ("A town", "Manitoba", "normals"):
                assert f'value="{typed}"' in answer.text
        nameless = data | {"name": " "}
        file = {"file": ("n.csv", NORMALS.encode("cp1252"), "text/csv")}
        assert client.post(at, data=nameless, files=file).status_code == 422
        assert client.post(at, data=data, files=file).status_code == 303
        rows = store.text("catalog", job).text
        assert 'id = "my-town"' in rows
        assert 'id = "a-town"' in rows
        assert 'climate = "a-town"' in store.text("survey", job).text
        assert "a year made of the monthly normals of A town" in (
            client.get(f"/jobs/{job}/weather").text
        )
        assert client.post(at, data=data, files=file).status_code == 422  # twice the same row
        severe = {("house", "moisture_year"): "severe year"}
        store.change_survey(job, severe, store.text("survey", job).revision, "owner")
        assert "in a severe year, 2 K colder" in client.get(f"/jobs/{job}/weather").text


def test_the_page_of_formats_names_every_one() -> None:
    text = DOCS.read_text(encoding="utf-8")
    for one in FORMATS:
        stem = one.name.split(",")[0].split(" (")[0].removesuffix(" record WY3")
        assert stem.lower() in text.lower(), one.id
        assert one.hours in text, one.id
