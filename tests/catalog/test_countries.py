"""What a place decides once: money, codes, foam, radon; what a person chose goes before it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient

from test_cli import SMALL
from warmside.catalog import COUNTRIES, country_of, load
from warmside.estimate import default_prices
from warmside.store import Store
from warmside.study import Weights, study
from warmside.survey import read, template
from warmside.web import Web, create_app

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
    foams = {o.option.foam for o in options if o.option.foam} - {"open-cell"}
    assert foams == {"closed-cell-us"}
    assert found.price.currency == "USD"
    assert {pack.country for pack in found.packs} == {"United States"}
    radon = next(f for f in found.tight.findings if f.key == "radon_bq_m3")
    assert radon.limit == 148  # 4 pCi/L, US EPA, from memory


def test_a_house_in_canada_keeps_its_own():
    found = study(house("ottawa"), fields=False, years=0, weights=WORKED)
    foams = {o.option.foam for o in found.walls[0].options if o.option.foam} - {"open-cell"}
    assert foams == {"closed-cell"}
    assert found.price.currency == "CAD"
    assert {pack.country for pack in found.packs} == {"Canada"}
    radon = next(f for f in found.tight.findings if f.key == "radon_bq_m3")
    assert radon.limit == 200  # Health Canada


def test_what_the_person_gives_goes_before_the_country():
    row = CATALOG.foams["closed-cell"]
    own = replace(row.source_heat, tag="own figure")
    mine = replace(row, id="mine", name="Mine", source_heat=own)
    catalog = replace(CATALOG, foams={"mine": mine, **CATALOG.foams})
    found = study(house("boston"), catalog, default_prices("CAD"), fields=False, years=0)
    foams = {o.option.foam for o in found.walls[0].options if o.option.foam} - {"open-cell"}
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


def test_template_needs_no_more_than_its_place_changed():
    text = template().replace('climate = "winnipeg"', 'climate = "554"')
    assert country_of(CATALOG.climate(read(text).house.climate)).currency == "USD"
