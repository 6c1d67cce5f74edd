"""A house of its years is asked what it may hide; what only a person settles is never ticked."""

from __future__ import annotations

from dataclasses import replace

import pytest

from warmside.catalog import Source, load
from warmside.promises import Finding, by_person, presumed_hazards, with_presumed
from warmside.survey import Hazard, House, Survey, Wall
from warmside.wording import plain

CATALOG = load()
# what a wall of 1931 may hide, as an inspector lists it (common practice, no source)
SEVEN = {
    "knob-and-tube wiring", "asbestos", "vermiculite", "lead paint", "urea-formaldehyde foam",
    "chimney", "old loose fill",
}  # fmt: skip


def survey(year=1931, hazards=(), venting="sealed", frame="platform", walls=1, **house) -> Survey:
    row = House(name="h", climate="ottawa", year_built=year, volume=300.0, **house)
    row = row.model_copy(update={"heating": row.heating.model_copy(update={"venting": venting})})
    made = tuple(
        Wall(name=f"w{n}", faces=0.0, frame=frame, length=3.6, height=2.44) for n in range(walls)
    )
    return Survey(house=row, walls=made, hazards=tuple(hazards))


def kinds(asked: Survey) -> set[str]:
    return {hazard.kind for hazard in presumed_hazards(asked, CATALOG)}


def ruled_out(kind: str, wall=None) -> Hazard:
    return Hazard(
        kind=kind,
        where="all of it",
        wall=wall,
        state="ruled out",
        cleared_by="a licensed electrician",
        how="opened and looked",
        date="2026-05-04",
    )


def test_a_wall_of_1931_with_no_hazard_entered_asks_for_the_seven_things():
    assert kinds(survey()) == SEVEN
    assert all(h.notes.endswith("?") for h in presumed_hazards(survey(), CATALOG))
    assert {h.state for h in presumed_hazards(survey(), CATALOG)} == {"presumed"}


@pytest.mark.parametrize(
    ("kind", "last", "first_not"),
    [
        ("knob-and-tube wiring", 1949, 1950),
        ("lead paint", 1990, 1991),
        ("asbestos", 1989, 1990),
        ("urea-formaldehyde foam", 1980, 1981),  # banned in Canada in December 1980
        ("vermiculite", 1990, 1991),
    ],
)
def test_the_last_year_that_presumes_it_in_canada(kind, last, first_not):
    """Years: Health Canada, provincial notices, EPA; as the rows' tags say."""
    assert kind in kinds(survey(last))
    assert kind not in kinds(survey(first_not))


def test_aluminium_wiring_has_a_first_year_too():
    """From memory: 1965 to 1976."""
    found = {year: "aluminium wiring" in kinds(survey(year)) for year in (1964, 1965, 1976, 1977)}
    assert found == {1964: False, 1965: True, 1976: True, 1977: False}


def test_the_law_of_the_country_decides_lead():
    """40 CFR 745: before 1978."""
    ottawa = CATALOG.climates["ottawa"]
    there = replace(ottawa, id="there", region="MN", country="US")
    known = replace(CATALOG, climates={**CATALOG.climates, "there": there})
    for year, presumed in ((1977, True), (1978, False)):
        asked = survey(year).model_copy(
            update={"house": survey(year).house.model_copy(update={"climate": "there"})}
        )
        assert ("lead paint" in {h.kind for h in presumed_hazards(asked, known)}) is presumed


@pytest.mark.parametrize("place", ["55805", "558", "Duluth, MN", "46.8, -92.1"])
def test_a_place_told_by_zip_or_position_hides_what_its_country_s_houses_do(place):
    """40 CFR 745: lead before 1978, wherever in the United States and however the place is told."""
    asked = survey(1926)
    there = asked.house.model_copy(update={"climate": place})
    assert {"lead paint", "asbestos"} <= kinds(asked.model_copy(update={"house": there}))


def test_balloon_frames_and_draughty_flames_are_asked_for():
    assert "missing fire blocks" in kinds(survey(frame="balloon"))
    assert "missing fire blocks" not in kinds(survey())
    assert "combustion appliance" in kinds(survey(2005, venting="natural draft"))
    assert kinds(survey(2005)) == set()


@pytest.mark.parametrize("state", ["suspected", "found"])
def test_what_is_noted_is_not_presumed_beside_it(state):
    noted = Hazard(kind="vermiculite", where="north", wall="w0", state=state)
    assert "vermiculite" not in kinds(survey(hazards=[noted]))


def test_it_stands_until_somebody_says_how_it_was_ruled_out():
    whole = survey(hazards=[ruled_out("knob-and-tube wiring")], walls=2)
    assert "knob-and-tube wiring" not in kinds(whole)
    one = survey(hazards=[ruled_out("knob-and-tube wiring", "w0")], walls=2)
    left = [h for h in presumed_hazards(one, CATALOG) if h.kind == "knob-and-tube wiring"]
    assert [h.wall for h in left] == ["w1"]


@pytest.mark.parametrize("missing", ["cleared_by", "how", "date"])
def test_ruled_out_wants_who_how_and_when(missing):
    given = {"cleared_by": "an electrician", "how": "traced", "date": "2026-05-04", missing: ""}
    with pytest.raises(ValueError, match=missing):
        Hazard(kind="asbestos", where="here", state="ruled out", **given)


def test_the_wall_s_own_year_goes_before_the_house_s():
    asked = survey(1931, walls=2)
    new = asked.walls[1].model_copy(update={"year_built": 2010})
    asked = asked.model_copy(update={"walls": (asked.walls[0], new)})
    assert {h.wall for h in presumed_hazards(asked, CATALOG)} == {"w0"}


def test_asking_twice_adds_nothing():
    once = with_presumed(survey(), CATALOG)
    assert len(once.hazards) == len(SEVEN)
    assert with_presumed(once, CATALOG) == once


# ---- what no computation may tick


def ticked(key: str, verdict="holds", figure=0.5, limit=0.19) -> Finding:
    """A finding with the best of inputs."""
    return Finding("safe", key, "x", figure, "-", limit, "most", verdict, plain("All is well."),
                   plain(""), Source("computed here", "computed"))  # fmt: skip


NEVER = [(row, key) for row in CATALOG.never.values() for key in row.findings]
FLAMES = survey(venting="natural draft").house


@pytest.mark.parametrize(("row", "key"), NEVER, ids=[key for _, key in NEVER])
def test_nothing_on_the_list_is_ticked_by_computation(row, key):
    (without,) = by_person([ticked(key)], (), CATALOG, FLAMES)
    assert without.verdict == "needs a person"
    assert CATALOG.hazard(row.hazard).clears in without.reason
    undated = Hazard(kind=row.hazard, where="all", state="cleared", cleared_by="somebody")
    other = ruled_out("rot")
    (still,) = by_person([ticked(key)], (undated, other), CATALOG, FLAMES)
    assert still.verdict == "needs a person"
    record = ruled_out(row.hazard)
    (settled,) = by_person([ticked(key, "needs a person")], (record,), CATALOG, FLAMES)
    assert settled.verdict == "holds"
    assert "2026-05-04" in settled.reason
    assert "a licensed electrician" in settled.reason


@pytest.mark.parametrize(("row", "key"), NEVER, ids=[key for _, key in NEVER])
def test_a_record_never_mends_what_falls_short(row, key):
    (finding,) = by_person([ticked(key, "falls short")], (ruled_out(row.hazard),), CATALOG, FLAMES)
    assert finding.verdict == "falls short"


@pytest.mark.parametrize(
    ("key", "figure", "house", "verdict"),
    [
        ("depressurisation_pa", 9.0, survey(venting="sealed").house, "holds"),
        ("wood_moisture_kg_kg", 0.15, FLAMES, "holds"),
        ("humidity_after_share", 0.18, FLAMES, "holds"),  # Ottawa: -25 °C, 20 % advised at most
        ("humidity_after_share", 0.46, FLAMES, "needs a person"),
    ],
)
def test_only_where_it_matters(key, figure, house, verdict):
    (finding,) = by_person([ticked(key, figure=figure)], (), CATALOG, house)
    assert finding.verdict == verdict


def test_the_list_names_what_can_hurt():
    """The matters that a trained person alone settles (common practice, no source)."""
    assert {
        "re-entry", "isocyanate", "combustion-venting", "structural-bracing", "fire-rating",
        "wet-wood", "room-humidity", "radon",
    } <= set(CATALOG.never)  # fmt: skip
    assert {row.hazard for row in CATALOG.never.values()} <= set(CATALOG.hazards)
    assert {row.hazard for row in CATALOG.presumed.values()} <= set(CATALOG.hazards)
