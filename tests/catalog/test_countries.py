"""What a place decides once: money, codes, foam, radon; what a person chose goes before it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from fastapi.testclient import TestClient

from test_cli import SMALL
from warmside.catalog import COUNTRIES, country_of, load
from warmside.documents.annex_view import annex_view
from warmside.estimate import default_prices
from warmside.store import Store
from warmside.study import Weights, study
from warmside.survey import read, template
from warmside.web import Web, create_app
from warmside.wording import PAPER, Style

CATALOG = load()


WORKED = Weights(warm=1.0, cost=0.0)  # radon is judged where something is sealed


def house(climate: str):
    return read(SMALL.replace('climate = "ottawa"', f'climate = "{climate}"'))


@pytest.mark.parametrize(
    ("climate", "country"),
    [("winnipeg", "CA"), ("halifax-ns", "CA"), ("55802", "US"), ("Boston, MA", "US"),
     ("49.9, -97.2", "CA"), ("honolulu", "US")],
)  # fmt: skip
def test_country_of_a_place(climate, country):
    assert country_of(CATALOG.climate(climate)) is COUNTRIES[country]


def test_a_house_in_the_north_of_the_united_states_by_its_zip_code():
    found = study(house("04736"), fields=False, years=0, weights=WORKED)
    options = found.walls[0].options
    foams = {o.option.foam for o in options if o.option.foam}
    assert foams == {"closed-cell-us", "open-cell-us"}
    assert found.price.currency == "USD"
    assert {pack.country for pack in found.packs} == {"United States"}
    radon = next(f for f in found.tight.findings if f.key == "radon_bq_m3")
    assert radon.limit == 148  # 4 pCi/L, US EPA, from memory


def test_a_house_in_canada_keeps_its_own():
    found = study(house("ottawa"), fields=False, years=0, weights=WORKED)
    foams = {o.option.foam for o in found.walls[0].options if o.option.foam}
    assert foams == {"closed-cell", "open-cell"}
    assert found.price.currency == "CAD"
    assert {pack.country for pack in found.packs} == {"Canada"}
    radon = next(f for f in found.tight.findings if f.key == "radon_bq_m3")
    assert radon.limit == 200  # Health Canada


def test_gas_is_what_the_country_sells_as_gas():
    """40 CFR 98 table C-1: 1,026 Btu a cubic foot, 38.2 MJ/m3 (published)."""
    sold = {place: CATALOG.at(place).fuel("natural-gas") for place in ("55802", "ottawa")}
    assert sold["55802"].id == "natural-gas-us"
    assert sold["55802"].heat_content == pytest.approx(38.2e6, rel=2e-3)
    assert sold["ottawa"].heat_content == pytest.approx(37.93e6, rel=1e-12)


def test_papers_of_the_united_states_are_in_feet_and_degrees_fahrenheit():
    found = study(house("04736"), fields=False, years=0, weights=WORKED)
    view, day = annex_view(found, date(2026, 11, 29)), Style.of_paper("US")
    said = [note.text for note in view.report.headline]
    said += [part for row in view.report.whole for part in (row.reason, row.change)]
    said += [view.report.conditions]
    said += [line.how for page in view.walls for line in page.report.takeoff]
    metric = re.compile(r"\d (?:°C|m|m²|m³|mm|kg|L|L/s|km)\b")
    written = [day.sentence(text) for text in said]
    assert [text for text in written if metric.search(text)] == []
    lines = [line for page in view.walls for line in page.report.takeoff if line.total]
    assert not {line.unit for line in lines} & {"m", "m²", "m³", "kg", "L"}
    for line in lines:  # what is printed multiplies out, to the half of the last digit of each
        texts = (PAPER.figure(line.listed), line.unit_price, line.total)
        amount, each, total = (float(text.replace(",", "")) for text in texts)
        assert abs(amount * each - total) <= 0.005 * (amount + each) + 0.005, line


def test_what_the_person_gives_goes_before_the_country():
    row = CATALOG.foams["closed-cell"]
    own = replace(row.source_heat, tag="own figure")
    mine = replace(row, id="mine", name="Mine", source_heat=own)
    catalog = replace(CATALOG, foams={"mine": mine, **CATALOG.foams})
    found = study(house("boston"), catalog, default_prices("CAD"), fields=False, years=0)
    foams = {o.option.foam for o in found.walls[0].options if o.option.foam} - {"open-cell-us"}
    assert foams == {"mine"}
    assert found.price.currency == "CAD"


def test_pages_write_as_the_country_of_the_first_job_until_somebody_chooses(tmp_path):
    with Store.open(tmp_path / "warmside.sqlite") as store:
        web = Web(store, b"s" * 32, hosts=lambda _: True)
        client = TestClient(create_app(web), follow_redirects=False)
        word = re.search(r'name="token" value="(\w+)"', client.get("/new").text)
        assert word
        text = SMALL.replace('climate = "ottawa"', 'climate = "55802"')
        begun = client.post("/new", data={"token": word[1], "text": text})
        assert begun.status_code == 303
        assert web.writing("owner").temperature == "°F"
        job = begun.headers["location"]
        assert 'currency = "USD"' in client.get(f"{job}/prices").text.replace("&#34;", '"')
        web.set_writing("owner", replace(web.writing("owner"), temperature="°C"))
        client.post("/new", data={"token": word[1], "text": text})
        assert web.writing("owner").temperature == "°C"


def test_a_fresh_start_in_minnesota_by_a_zip_code_on_a_form(tmp_path):
    """No file is written by hand: a form with a ZIP code, then money, degrees, R, codes, foams,
    fuel and its bill as they are there (common practice of the trade)."""
    with Store.open(tmp_path / "warmside.sqlite") as store:
        web = Web(store, b"s" * 32, hosts=lambda _: True)
        client = TestClient(create_app(web), follow_redirects=False)
        word = re.search(r'name="token" value="(\w+)"', client.get("/new").text)
        assert word
        typed = {"token": word[1], "name": "Lake house", "climate": "558", "year_built": "1931",
                 "volume": "9900 ft3"}  # fmt: skip
        begun = client.post("/new", data=typed)
        assert begun.status_code == 303
        job = begun.headers["location"]
        way = web.writing("owner")
        assert (way.temperature, way.thermal_resistance, way.area) == ("°F", "R", "ft²")
        shown = client.get(f"{job}/weather").text
        assert "recorded typical year of Duluth" in shown
        assert 'currency = "USD"' in client.get(f"{job}/prices").text.replace("&#34;", '"')
        survey = read(store.text("survey", job.removeprefix("/jobs/")).text)
    assert survey.house.heating.fuel == "natural-gas-us"
    found = study(survey, fields=False, years=0, weights=WORKED)
    assert found.price.currency == "USD"
    assert [pack.id for pack in found.packs] == ["us-irc-2021"]
    foams = {o.option.foam for w in found.walls for o in w.options if o.option.foam}
    assert foams == {"closed-cell-us", "open-cell-us"}
    worth = found.walls[0].chosen.worth
    assert worth.fuel_unit == "therm"
    said = next(f for f in worth.findings if f.key == "heat_saved_j_per_year")
    assert re.search(r"therms \([\d ,to]+\) of Natural gas, United States", str(said.reason))
    # a therm is 1e5 Btu of 1055.06 J (exact); what is burnt gives its efficiency as heat
    heat = worth.fuel.best * 1.0550559e8 * survey.house.heating.efficiency
    assert heat == pytest.approx(worth.heat.best, rel=1e-6)


def test_template_needs_no_more_than_its_place_changed():
    text = template().replace('climate = "winnipeg"', 'climate = "554"')
    assert country_of(CATALOG.climate(read(text).house.climate)).currency == "USD"
