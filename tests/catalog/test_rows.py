"""Every built-in row is complete, has its source, and serves those who ask for it."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import get_args

import pytest

from warmside.catalog import Catalog, Tag, load, sources
from warmside.errors import UnknownRowError
from warmside.framing._parts import JointKind

NEEDED = [
    "plaster-on-wood-lath",
    "plaster-on-gypsum-lath",
    "gypsum-board",
    "gypsum-sheathing",
    "kraft-facing",
    "polyethylene",
    "latex-paint",
    "alkyd-paint",
    "vapour-retarder-paint",
    "glass-fibre-batt",
    "mineral-wool-batt",
    "old-rock-wool-blanket",
    "cellulose-dense",
    "cellulose-loose",
    "vermiculite-loose",
    "wood-shavings",
    "urea-formaldehyde-foam",
    "softwood",
    "board-sheathing",
    "plywood",
    "osb",
    "fibreboard-sheathing",
    "building-paper",
    "asphalt-felt",
    "housewrap",
    "foil",
    "wood-bevel-siding",
    "wood-drop-siding",
    "wood-shingles",
    "vinyl-siding",
    "aluminium-siding",
    "stucco",
    "brick-veneer",
    "asbestos-cement-siding",
    "hardboard-siding",
    "insulating-siding",
    "eps-board",
    "xps-board",
    "polyiso-board",
    "mineral-wool-board",
    "air",
    "concrete",
]


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    return load()


def test_the_materials_of_old_walls_are_there(catalog):
    assert [name for name in NEEDED if name not in catalog.materials] == []


def test_every_kind_of_joint_has_exactly_one_row(catalog):
    kinds = [kind for row in catalog.joints.values() for kind in row.kinds]
    assert sorted(kinds) == sorted(get_args(JointKind))
    assert all(kind in catalog.for_kind(kind).kinds for kind in get_args(JointKind))


def test_every_source_says_something_and_has_a_tag(catalog):
    lines = sources(catalog)
    expected = (
        2 * len(catalog.materials)
        + 3 * len(catalog.foams)
        + len(catalog.joints)
        + len(catalog.fills)
        + len(catalog.fuels)
        + 3 * len(catalog.climates)
        + len(catalog.lumber)
        + 2 * len(catalog.moisture)
        + len(catalog.hazards)
        + len(catalog.site)
        + len(catalog.reminders)
        + len(catalog.air)
        + len(catalog.venting)
        + len(catalog.presumed)
        + len(catalog.never)
        + len(catalog.usual)
        + len(catalog.words)
        + sum(len(pack.clauses) for pack in catalog.packs.values())
    )
    assert len(lines) == expected
    assert {line.tag for line in lines} <= set(get_args(Tag))
    assert [line for line in lines if len(line.text) < 3 or not line.figures] == []


# what a text says of itself when it stands between the reader and the source
QUOTES = (
    "as carried by", "as extracted", "quoted", "as copied", "as printed", "as told",
    "lecture notes", "textbook exercise", "trade article", "not read",
)  # fmt: skip


def test_the_weakest_figure_of_a_row_decides_its_tag(catalog):
    for line in sources(catalog):
        if "from memory" in line.text:
            assert line.tag == "from memory", (line.row, line.text)
        if any(word in line.text.lower() for word in QUOTES):
            assert line.tag != "published", (line.row, line.text)


def test_no_row_points_at_one_maker_s_product(catalog):
    """The usual foams carry what their standard asks, with its name."""
    for row, standard in (
        ("closed-cell", "S705.1"), ("closed-cell-us", "C1029"), ("open-cell", "S712.1"),
        ("open-cell-us", "evaluation report"),
    ):  # fmt: skip
        foam = catalog.foams[row]
        assert standard in foam.name + foam.source_heat.text
        assert "evaluation report" not in foam.source_heat.text + foam.source_vapour.text


def test_the_same_catalog_is_given_twice():
    assert load() is load()


def test_rows_can_be_written_as_json(catalog):
    for rows in (catalog.materials, catalog.foams, catalog.joints, catalog.fuels, catalog.climates):
        for row in rows.values():
            assert json.loads(json.dumps(asdict(row)))["id"] == row.id
    assert json.loads(json.dumps([asdict(row) for row in catalog.lumber]))


@pytest.mark.parametrize(
    ("look", "wrong", "near"),
    [
        ("material", "plywod", "plywood"),
        ("foam", "closed cell", "closed-cell"),
        ("joint", "stud to stud", "stud-to-stud"),
        ("for_kind", "stud to studs", "stud to stud"),
        ("fuel", "Natural-Gas", "natural-gas"),
        ("climate", "winipg", "winnipeg"),
    ],
)
def test_an_unknown_name_is_met_with_the_nearest(catalog, look, wrong, near):
    with pytest.raises(UnknownRowError) as caught:
        getattr(catalog, look)(wrong)
    assert near in caught.value.near
    assert f"'{wrong}'" in str(caught.value)


@pytest.mark.parametrize("wrong", ["", "x" * 10_000, None, 7, [], "\x00"])
def test_hostile_names_are_unknown(catalog, wrong):
    with pytest.raises(UnknownRowError):
        catalog.material(wrong)


# 1964 is the year of a proposal; the size took force with PS 20-70 on 1 September 1970
# (building-products trade press); 1-5/8 x 3-5/8 since 1924: from memory.
@pytest.mark.parametrize(
    ("year", "width", "depth"),
    [(1931, 1.625, 3.625), (1964, 1.625, 3.625), (1970, 1.625, 3.625), (1971, 1.5, 3.5)],
)
def test_a_2x4_by_year(catalog, year, width, depth):
    row = catalog.stud("2x4", year)
    assert (row.width, row.depth) == pytest.approx((width * 0.0254, depth * 0.0254), rel=1e-12)


def test_every_size_of_lumber_has_one_row_for_every_year_of_old_houses(catalog):
    for nominal in {row.nominal for row in catalog.lumber}:
        for year in range(1924, 1981):
            found = [
                row
                for row in catalog.lumber
                if row.nominal == nominal and row.first <= year <= row.last
            ]
            assert found == [catalog.stud(nominal, year)]


def test_lumber_that_is_not_known(catalog):
    with pytest.raises(UnknownRowError, match="2x4 of 1700"):
        catalog.stud("2x4", 1700)
    with pytest.raises(UnknownRowError, match="2x4"):
        catalog.stud("2x4s", 1950)
