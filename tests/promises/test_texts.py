"""Texts in two languages: the same placeholders, English complete; one formatter for figures."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from warmside.errors import InputError, UnknownRowError
from warmside.promises import Promise, Verdict, texts
from warmside.promises.wording import own_texts, placeholders
from warmside.wording import PAPER, Figure


def test_french_asks_for_the_same_parts_as_english():
    english, french = own_texts("en"), own_texts("fr")
    assert set(french) <= set(english)
    for key, text in french.items():
        assert placeholders(text) == placeholders(english[key]), key


@pytest.mark.parametrize("language", ["en", "fr"])
def test_every_promise_verdict_and_heading_is_named(language):
    own = own_texts(language)
    for group, names in (("promise", get_args(Promise)), ("verdict", get_args(Verdict))):
        for name in names:
            assert texts(language).named(group, name) == own[f"{group}.{name.replace(' ', '_')}"]
    assert {k for k in own if k.startswith("heading.")} == {
        k for k in own_texts("en") if k.startswith("heading.")
    }


def test_what_french_lacks_is_english():
    key = "answer.mice.question"
    assert key not in own_texts("fr")
    assert texts("fr").get(key) == texts("en").get(key)


def test_texts_hold_no_numbers_of_their_own():
    """A number belongs to a figure with its source, never to the text."""
    for language in ("en", "fr"):
        for key, text in own_texts(language).items():
            assert not re.search(r"\d", text), key


def test_faults_are_told():
    with pytest.raises(InputError, match=r"en \| fr"):
        texts("de")
    with pytest.raises(UnknownRowError, match="no text named"):
        texts().get("answer.nothing")
    with pytest.raises(InputError, match="draws, holds"):
        texts().fill("sentence.chance", {"holds": "96"})


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (0.1761101838, "resistance", "R-1.0 (RSI 0.18)"),  # exact: definition of the two R
        (5.678, "resistance", "R-32.2 (RSI 5.68)"),
        (0.0508, "length", '2" (51 mm)'),  # exact
        (52e-12, "permeance", "52 ng/(Pa s m²)"),
        (3.6e9, "heat", "1,000 kWh"),  # exact
        (86_400.0, "time", "1 day"),
        (900.0, "time", "15 min"),
        (0.2e-6, "concentration", "0.2 mg/m³"),
        (0.002359737216, "foam", "1 board ft"),  # exact: 1 ft2 x 1 in
    ],
)
def test_formatter(value, kind, text):
    assert PAPER.figure(Figure(value, kind)) == text


def test_french_numbers_have_commas():
    """Common practice of Canadian French: decimal comma, space between thousands."""
    french = replace(PAPER, language="fr")
    assert french.figure(Figure(-12.5, "temperature")) == "-12,5 °C"
    assert french.figure(Figure(7672.4, "money", currency="CAD")) == "CAD 7\u202f670"
