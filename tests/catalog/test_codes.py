"""Code packs: complete, refused with the clause, thresholds as published."""

from __future__ import annotations

import dataclasses
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import Tag, chosen_packs, load, read_code_pack
from warmside.errors import CatalogError
from warmside.promises.rules.evaluation import _limit
from warmside.survey import template

GOOD = """
id = "town"
name = "Town by-law"
country = "Canada"
edition = "2026"
closing = "The official decides."
[[clause]]
number = "1"
title = "Walls"
paraphrase = "Warm walls."
applies_to = "alterations"
tests = [{ fact = "wall_resistance", least_by = "degree_days", bands = [
    [0, 5000, 2.0], [5000, 9000, 2.5],
] }]
source = "By-law 12"
tag = "own figure"
"""


def clause(pack: str, number: str, word: str = ""):
    return next(c for c in load().packs[pack].clauses if c.number == number and word in c.title)


def limit(pack: str, number: str, fact: str, **facts):
    """The limit that a clause holds ``fact`` against at these facts."""
    checks = [c for c in clause(pack, number).tests if c.fact == fact]
    return next((value for c in checks for value in [_limit(c, facts)] if value is not None), None)


def test_a_local_pack_is_read():
    (check,) = read_code_pack(GOOD).clauses[0].tests
    assert _limit(check, {"degree_days": 5200.0}) == pytest.approx(2.5, abs=0)
    assert read_code_pack(GOOD).closing == "The official decides."


@pytest.mark.parametrize(
    ("degree_days", "rsi"), [(2999, 2.78), (3000, 3.08), (5999, 3.08), (6000, 3.85)]
)
def test_canadian_wall_table(degree_days, rsi):
    """Second-hand: NBC 2020 Table 9.36.2.6.-A (walls, no heat recovery ventilator)."""
    found = limit("canada-nbc-2020", "9.36.2.6", "wall_resistance", degree_days=degree_days)
    assert found == pytest.approx(rsi, abs=0)


@pytest.mark.parametrize(("zone", "u_ip"), [("2", 0.084), ("3", 0.060), ("6", 0.045)])
def test_american_wall_u(zone, u_ip):
    """From memory: IECC 2021 U-factors; 1 Btu/(h ft2 F) = 5.678263 W/(m2 K), exact to 7 digits."""
    found = limit("us-irc-2021", "IECC R402.1.2", "wall_resistance", zone=zone)
    assert found == pytest.approx(1 / (u_ip * 5.678263), rel=5e-4)


@pytest.mark.parametrize(
    ("zone", "thin", "deep"),
    [("4C", 2.5, 3.75), ("5", 5, 7.5), ("6", 7.5, 11.25), ("7", 10, 15), ("8", 12.5, 20)],
)
def test_american_foam_r_for_class_three(zone, thin, deep):
    """Second-hand: IRC 2021 R702.7(3); R for 2x4 and 2x6; the 2021 split of 7 and 8 from memory."""
    checks = [
        c for c in clause("us-irc-2021", "IRC R702.7.1").tests
        if c.fact == "foam_and_board_resistance"
    ]  # fmt: skip
    found = [_limit(c, {"zone": zone}) for c in checks]
    assert found == pytest.approx([thin / 5.678263, deep / 5.678263], rel=5e-4)


def test_sixty_nanograms():
    """Published: NBC 9.25.4.2."""
    found = limit("canada-nbc-2020", "9.25.4.2", "barrier_permeance")
    assert found == pytest.approx(60e-12, rel=1e-12)


def test_every_clause_has_a_source_and_every_pack_a_closing():
    for pack in load().packs.values():
        assert "decide" in pack.closing
        for c in pack.clauses:
            assert c.source.text
            assert c.source.tag in get_args(Tag)
            assert dataclasses.asdict(c)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'tag = "own figure"',
            'tag = "surely"',
            r"line 16: .*town 1., column tag: read surely",
        ),
        ("[5000, 9000, 2.5]", "[4000, 9000, 2.5]", "no overlap"),
        ("[5000, 9000, 2.5]", "[5000, 9000, -1]", "value above 0"),
        ("[5000, 9000, 2.5]", "[5000, 9000, nan]", "a number"),
        ('fact = "wall_resistance"', 'fact = "guess"', "read guess; allowed: a fact"),
        ('fact = "wall_resistance"', 'facts = "wall_resistance"', "read facts.*nearest: fact"),
        ("least_by", "is", "least or most for a number"),
        ("least_by", "at_least", "read at_least"),
        ("[5000, 9000, 2.5]", "[5000, 9000, true]", "a number"),
        ("[5000, 9000, 2.5]", "[5000, 9000]", "from, below, value"),
        ('tag = "own figure"', 'tag = "from memory"', "how well it is remembered"),
        ('tag = "own figure"', 'cases = [{ verdict = "fine", facts = {} }]', "one of holds"),
        ('number = "1"', 'number = "1"\nsurprise = 2', "column .surprise.; allowed: applies_to"),
        ("[[clause]]", "[clause]", "tables headed"),
        ('id = "town"', "id = ", "well-formed TOML"),
        (", bands = [\n    [0, 5000, 2.0], [5000, 9000, 2.5],\n]", "", "bands of"),
        ('id = "town"', 'id = "town"\nname_ = "x"', "nearest: name"),
        ('edition = "2026"', "", "edition: read nothing"),
        ('paraphrase = "Warm walls."', "paraphrase = 7", "paraphrase: read 7"),
    ],
)
def test_a_faulty_pack_is_refused_with_its_row(old, new, message):
    with pytest.raises(CatalogError, match=message):
        read_code_pack(GOOD.replace(old, new))


@given(st.text())
def test_any_text_is_a_pack_or_a_list_of_faults(text):
    with pytest.raises(CatalogError):
        read_code_pack(text)


def test_the_survey_s_template_names_the_hazards_that_have_a_row():
    listed = template().split("# kind: knob")[1].split("[[hazard]]")[0].replace("#", " ")
    kinds = {" ".join(kind.split()) for kind in f"knob{listed}".split(",")}
    assert set(load().hazards) == kinds
    for row in load().hazards.values():
        assert row.source.tag in get_args(Tag)


def test_canadian_stations_are_judged_by_the_canadian_pack():
    """Fact: the national code of the country; what is not in Canada is judged by all packs."""
    for climate in load().climates.values():
        assert [pack.country for pack in load().packs_for(climate)] == ["Canada"]
    elsewhere = dataclasses.replace(load().climate("ottawa"), region="Vermont")
    assert set(load().packs_for(elsewhere)) == set(load().packs.values())


def test_packs_are_chosen_by_id_and_by_file(tmp_path):
    file = tmp_path / "town.toml"
    file.write_text(GOOD, encoding="utf-8")
    assert [p.id for p in chosen_packs(load(), ["us-irc-2021", file])] == ["us-irc-2021", "town"]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "read 'nowhere.toml'; allowed: a file, or one of canada-nbc-2020"),
        (
            GOOD.replace("wall_resistance", "guess").encode(),
            "line 12: town.toml, .*column tests",
        ),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"", "id: read nothing"),
        (b"#" * 300_000, "262144 bytes"),
    ],
)
def test_faulty_files_are_refused(tmp_path, content, message):
    file = tmp_path / "town.toml"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(CatalogError, match=message):
        chosen_packs(load(), ["nowhere.toml" if content is None else file])
    with pytest.raises(CatalogError, match="each pack once"):
        chosen_packs(load(), ["us-irc-2021", "us-irc-2021"])
