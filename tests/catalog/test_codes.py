"""Code packs: complete, refused with the clause, thresholds as published."""

from __future__ import annotations

import dataclasses
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import Tag, chosen_packs, load, read_code_pack
from warmside.errors import CatalogError
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
rule = "wall_rsi_least"
bands = [[0, 5000, 2.0], [5000, 9000, 2.5]]
source = "By-law 12"
tag = "own figure"
"""


def clause(pack: str, number: str, word: str = ""):
    return next(c for c in load().packs[pack].clauses if c.number == number and word in c.title)


def test_a_local_pack_is_read():
    pack = read_code_pack(GOOD)
    assert pack.clauses[0].value_at(5200) == pytest.approx(2.5, abs=0)
    assert pack.closing == "The official decides."


@pytest.mark.parametrize(
    ("degree_days", "rsi"), [(2999, 2.78), (3000, 3.08), (5999, 3.08), (6000, 3.85)]
)
def test_canadian_wall_table(degree_days, rsi):
    """Second-hand: NBC 2020 Table 9.36.2.6.-A (walls, no heat recovery ventilator)."""
    wall = clause("canada-nbc-2020", "9.36.2.6", "no heat recovery")
    assert wall.value_at(degree_days) == pytest.approx(rsi, abs=0)


@pytest.mark.parametrize(("degree_days", "u_ip"), [(500, 0.084), (1500, 0.060), (4500, 0.045)])
def test_american_wall_u(degree_days, u_ip):
    """From memory: IECC 2021 U-factors; 1 Btu/(h ft2 F) = 5.678263 W/(m2 K), exact to 7 digits."""
    wall = clause("us-irc-2021", "IECC R402.1.2")
    assert wall.value_at(degree_days) == pytest.approx(1 / (u_ip * 5.678263), rel=5e-4)


@pytest.mark.parametrize(
    ("degree_days", "r_ip"), [(3500, 5), (4500, 7.5), (6000, 10), (7500, 12.5)]
)
def test_american_foam_r_for_class_three(degree_days, r_ip):
    """Second-hand: IRC 2021 R702.7(3), 2x4 walls."""
    foam = clause("us-irc-2021", "IRC R702.7.1")
    assert foam.value_at(degree_days) == pytest.approx(r_ip / 5.678263, rel=5e-4)
    assert foam.value_at(2000) is None


def test_sixty_nanograms():
    """Published: NBC 9.25.4.2."""
    assert clause("canada-nbc-2020", "9.25.4.2").value_at(4000) == pytest.approx(60e-12, rel=1e-12)


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
            r"line 15: .*town 1., column tag: read surely",
        ),
        ("[5000, 9000, 2.5]", "[4000, 9000, 2.5]", "no overlap"),
        ("[5000, 9000, 2.5]", "[5000, 9000, -1]", "value above 0"),
        ("[5000, 9000, 2.5]", "[5000, 9000, nan]", "value above 0"),
        ('rule = "wall_rsi_least"', 'rule = "guess"', "rule: read guess"),
        ('number = "1"', 'number = "1"\nsurprise = 2', "column .surprise.; allowed: applies_to"),
        ("[[clause]]", "[clause]", "tables headed"),
        ('id = "town"', "id = ", "well-formed TOML"),
        ("bands = [[0, 5000, 2.0], [5000, 9000, 2.5]]", "", "by degree-days"),
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
            GOOD.replace('rule = "wall_rsi_least"', 'rule = "guess"').encode(),
            "line 12: town.toml, .*column rule",
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
