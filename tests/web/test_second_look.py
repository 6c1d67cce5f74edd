"""What is unusual in a survey is asked on the page before anything is computed."""

from __future__ import annotations

import re
from html import unescape

import pytest
from tests.web.test_pages import browser, send

from warmside.store import Store
from warmside.survey import read, template


@pytest.fixture
def odd(store: Store) -> str:
    """A job with a fan test of ten times the flow."""
    text = template().replace('"1300 CFM50"', '"13000 CFM50"', 1)
    return store.new_job(text.replace('indoor_humidity = "26 %"', "#", 1), "owner").id


def told(html: str) -> str:
    (found,) = re.findall(r'name="doubt.0" value="([^"]*)"', html)
    return unescape(found)


def test_the_page_asks_and_studies_nothing(store: Store, odd: str) -> None:
    client, path = browser(store), f"/jobs/{odd}/study"
    html = client.get(path).text
    assert "78.8 air changes" in html
    assert "8.0 to 20.0 air changes" in html
    assert send(client, path, path).status_code == 422
    assert not store.tasks.of(odd, 5)


@pytest.mark.parametrize("fields", [
    {"sure.0": "yes"}, {"reason.0": "tested twice"}, {"sure.0": "yes", "reason.0": " x "},
    {"sure.0": "yes", "reason.0": "y" * 401},
])  # fmt: skip
def test_a_tick_and_a_reason_are_both_needed(store: Store, odd: str, fields) -> None:
    client, path = browser(store), f"/jobs/{odd}/study"
    said = {"doubt.0": told(client.get(path).text), **fields}
    assert send(client, path, path, **said).status_code == 422
    assert not store.tasks.of(odd, 5)


def test_a_tick_for_another_figure_does_not_count(store: Store, odd: str) -> None:
    client, path = browser(store), f"/jobs/{odd}/study"
    said = {"doubt.0": "another", "sure.0": "yes", "reason.0": "tested twice"}
    assert send(client, path, path, **said).status_code == 422


def test_with_both_the_reason_stands_in_the_survey_and_the_study_begins(
    store: Store, odd: str
) -> None:
    client, path = browser(store), f"/jobs/{odd}/study"
    said = {"doubt.0": told(client.get(path).text), "sure.0": "yes", "reason.0": "tested twice"}
    assert send(client, path, path, **said).status_code == 303
    (kept,) = read(store.text("survey", odd).text).accepted
    assert (kept.warning, kept.reason) == ("air-change-before-1940", "tested twice")
    assert [task.kind for task in store.tasks.of(odd, 5)] == ["study"]
    assert "Please look again" not in client.get(path).text


def test_the_programs_door_is_shut_too(store: Store, odd: str) -> None:
    client = browser(store)
    answer = client.post(f"/api/jobs/{odd}/study", headers={"origin": "http://localhost:8765"})
    assert answer.status_code in (403, 422), answer.text
    assert not store.tasks.of(odd, 5)
