"""Surveys that no house has, or hardly any: stopped at the door, with a line that helps."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from warmside.catalog import billed_amount, load
from warmside.cli import main
from warmside.errors import InputError, UnitError
from warmside.study import accept, check
from warmside.survey import template, update

GOOD = template()
KITCHEN = 'fill = "glass-fibre-batt"\nfill_thickness = "2 in"'

# what is put into the template -> a part of the line, the line's key, and whether it is impossible
FAULTY = {
    "a fan test ten times too high": (
        '"1300 CFM50"', '"13000 CFM50"', "78.8 air changes", "flow_50 =", False),
    "a fan test of a dense house": (
        '"1300 CFM50"', '"130 CFM50"', "8.0 to 20.0 air changes", "flow_50 =", False),
    "eight per cent": ('efficiency = "78 %"', 'efficiency = "8 %"', "55 % to 83 %",
                       "efficiency =", False),
    "electric heat at the default": (
        'fuel = "natural-gas"', 'fuel = "electricity-mb"', "95 % to 100 %", "efficiency =", True),
    "a volume too small for the floor": (
        '"9900 ft3"', '"2000 ft3"', "0.6 m of height", "volume =", True),
    "cubic metres for feet": ('"9900 ft3"', '"20000 m3"', "195.7 m of height", "volume =", True),
    "a year to come": ("year_built = 1931", "year_built = 2090", "a year to come",
                       "year_built =", True),
    "a summer's design temperature": (
        'design_temperature = "-33 C"', 'design_temperature = "23 C"', "-55 °C to 15 °C",
        "design_temperature =", True),
    "a design temperature of another place": (
        'design_temperature = "-33 C"', 'design_temperature = "-20 C"', "-5 K to 5 K",
        "design_temperature =", False),
    "a batt deeper than its bay": (
        KITCHEN, KITCHEN.replace("2 in", "5-1/2 in"), "thicker than the bay", "fill_thickness =",
        True),
    "a batt of three feet": (
        KITCHEN, KITCHEN.replace("2 in", "3 ft"), "thicker than the bay", "fill_thickness =", True),
    "width and depth swapped": (
        'stud_width = "1-3/4 in"           # ... unless measured\nstud_depth = "3-3/4 in"',
        'stud_width = "3-3/4 in"\nstud_depth = "1-3/4 in"', "swapped?", "stud_width =", False),
    "brick as fill": (KITCHEN, KITCHEN.replace("glass-fibre-batt", "brick-veneer"),
                      "glass-fibre-batt", "fill =", False),
    "polyethylene as sheathing": (
        '["fibreboard-sheathing"]', '["polyethylene"]', "plywood", "sheathing =", False),
    "gypsum as cladding": ('"vinyl-siding"', '"gypsum-board"', "wood-bevel-siding",
                           "cladding =", False),
    "bills of a shed": ('# yearly_use = "2900 m3"', 'yearly_use = "300 m3"',
                        "60 kWh to 300 kWh", "yearly_use =", False),
    "gallons of gas": ('# yearly_use = "2900 m3"', 'yearly_use = "635 US gal"', "therms",
                       "yearly_use =", True),
    "a gallon of nobody knows which": (
        '# yearly_use = "2900 m3"', 'yearly_use = "635 gal"', "imperial gal", "yearly_use =", True),
    "a meter that reads water": ('moisture = "17 %"', 'moisture = "75 %"', "4 % to 60 %",
                                 "moisture =", True),
    "a pipe whose depth nobody measured": (
        'kind = "vent" ', 'kind = "water" ', "it freezes", "kind =", False),
    "sixteen in a bedroom": ("people = 4", "people = 16", "a bedroom", "people =", False),
}  # fmt: skip


def put(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new, 1)


def test_the_template_has_nothing_unusual() -> None:
    found = check(GOOD)
    assert not found.faults
    assert not found.doubts


@pytest.mark.parametrize("case", FAULTY)
def test_is_stopped_at_its_own_line(case: str) -> None:
    old, new, told, key, impossible = FAULTY[case]
    text = put(old, new)
    found = check(text)
    lines = text.split("\n")
    mine = [one for one in (found.faults if impossible else found.doubts)
            if one.line and lines[one.line - 1].strip().startswith(key)]  # fmt: skip
    assert any(told in str(one) for one in mine), (found.faults, found.doubts)
    assert (found.survey is None) >= impossible


def test_all_of_a_survey_is_told_once() -> None:
    """Two walls of one mistake make one line that names both."""
    wall = """
[[wall]]
name = "{}"
faces = "E"
frame = "platform"
length = "10 ft"
height = "8 ft"
[wall.found]
cladding = "gypsum-board"
"""
    found = check(GOOD.replace("# ---- what stops", wall.format("a") + wall.format("b") + "# ", 1))
    (doubt,) = found.doubts
    assert 'wall "a"' in doubt.place
    assert 'wall "b"' in doubt.place


class TestSecondLook:
    TEXT = put('"1300 CFM50"', '"13000 CFM50"').replace('indoor_humidity = "26 %"', "#", 1)

    def test_a_reason_lets_it_pass_and_is_kept(self) -> None:
        found = accept(check(self.TEXT), {"air-change-before-1940": "tested twice"}, "Kim")
        assert not found.doubts
        assert found.survey is not None
        (kept,) = found.survey.accepted
        assert (kept.reason, kept.by, kept.read) == ("tested twice", "Kim", '"13000 CFM50"')

    @pytest.mark.parametrize("reasons", [
        {"air-change": "tested twice"}, {"air-change-before-1940": ""},
        {"air-change-before-1940": "x" * 401}, {"air-change-before-1940": "a\x1b[31mb"},
    ])  # fmt: skip
    def test_no_reason_and_no_such_warning_do_not(self, reasons: dict[str, str]) -> None:
        with pytest.raises(InputError, match="allowed"):
            accept(check(self.TEXT), reasons)

    def test_another_figure_is_asked_about_anew(self) -> None:
        record = {"warning": "air-change-before-1940", "read": '"13000 CFM50"', "reason": "twice"}
        kept = update(self.TEXT, {("accepted", 0): record})
        assert not check(kept).doubts
        assert check(kept.replace('"13000 CFM50"', '"12000 CFM50"', 1)).doubts

    def test_what_is_impossible_cannot_be_accepted(self) -> None:
        text = put("year_built = 1931", "year_built = 2090")
        record = {"warning": "year-built", "read": "2090", "reason": "it is so"}
        assert check(update(text, {("accepted", 0): record})).faults

    def test_the_command_line_stops_and_goes_on(self, tmp_path) -> None:
        file = tmp_path / "house.toml"
        file.write_text(self.TEXT, "utf-8")
        stopped = CliRunner().invoke(main, ["check", str(file)])
        assert stopped.exit_code == 1
        assert "1 figure looks unusual" in stopped.output
        assert "--accept" in stopped.output
        gone_on = CliRunner().invoke(
            main, ["check", str(file), "--accept", "air-change-before-1940=tested twice"]
        )
        assert gone_on.exit_code == 0, gone_on.output

    def test_nothing_is_computed_before(self, tmp_path) -> None:
        file = tmp_path / "house.toml"
        file.write_text(self.TEXT, "utf-8")
        stopped = CliRunner().invoke(main, ["study", str(file), "--out", str(tmp_path / "out")])
        assert stopped.exit_code == 1
        assert not (tmp_path / "out").exists()


class TestNearestNames:
    @pytest.mark.parametrize(("kind", "said", "meant"), [
        ("material", "drywall", "gypsum-board"), ("material", "fiberglass", "glass-fibre-batt"),
        ("material", "Tar Paper", "asphalt-felt"), ("fuel", "oil", "heating-oil"),
        ("fuel", "gas", "natural-gas"), ("fuel", "fire wood", "wood-cord"),
        ("material", "fibreglas", "glass-fibre-batt"),
    ])  # fmt: skip
    def test_a_word_of_the_trade_names_its_row(self, kind: str, said: str, meant: str) -> None:
        with pytest.raises(LookupError) as error:
            getattr(load(), kind)(said)
        assert error.value.near[0] == meant  # type: ignore[attr-defined]

    def test_every_word_means_rows_that_are_there(self) -> None:
        catalog = load()
        rows = {"material": catalog.materials, "fuel": catalog.fuels, "foam": catalog.foams}
        for word in catalog.words.values():
            assert word.means, word
            assert set(word.means) <= set(rows[word.kind]), word
            assert word.id not in rows[word.kind], word

    @pytest.mark.parametrize(("old", "new", "right"), [
        ('[[wall]]\nname = "kitchen', '[[walls]]\nname = "kitchen', "[[wall]]"),
        ("[[wall.box]]", "[wall.box]", "[[wall.box]]"),
        ("[wall.found]", "[[wall.found]]", "[wall.found]"),
        ("[[wall.opening]]", "[[wall.openning]]", "[[wall.opening]]"),
        ("[house.heating]", "[house.heatng]", "[house.heating]"),
    ])  # fmt: skip
    def test_a_wrong_heading_is_the_one_fault(self, old: str, new: str, right: str) -> None:
        text = put(old, new)
        (fault,) = check(text).faults
        assert fault.allowed.endswith(right)
        wrong = new.split("\n")[0]
        lines = [n for n, line in enumerate(text.split("\n"), 1) if line.startswith(wrong)]
        assert fault.line == lines[0]

    def test_a_key_that_people_write_names_the_one_that_is_meant(self) -> None:
        found = check(put('faces = "E"', 'facing = "E"')).faults
        assert any('nearest is "faces"' in fault.allowed for fault in found)


class TestBills:
    # NIST SP 811, app. B.8: therm (US) 1.054804e8 J, gallon (US) 3.785412 L; ccf 100 ft3 of
    # 0.02831685 m3. The table's therm is 1e5 international Btu (1.055056e8 J), 2.4e-4 more.
    @pytest.mark.parametrize(("billed", "fuel", "expected"), [
        ("2900 m3", "natural-gas", 2900.0), ("1050 ccf", "natural-gas", 2973.27),
        ("1,000 therms", "natural-gas", 1.054804e11 / 37.93e6),
        ("635 US gal", "heating-oil", 2403.74), ("100 imperial gal", "heating-oil", 454.609),
        ("4 cords", "wood-cord", 4.0), ("14000 kWh", "electricity-mb", 14000.0),
        (250.0, "propane", 250.0),
    ])  # fmt: skip
    def test_bills_as_the_trade_writes_them(self, billed, fuel: str, expected: float) -> None:
        billed = billed.replace(",", "") if isinstance(billed, str) else billed
        assert billed_amount(billed, load().fuel(fuel)) == pytest.approx(expected, rel=5e-4)

    @pytest.mark.parametrize(("billed", "fuel"), [
        ("635 US gal", "natural-gas"), ("4 cords", "heating-oil"), ("300 m3", "electricity-mb"),
    ])  # fmt: skip
    def test_what_a_fuel_is_not_sold_by(self, billed: str, fuel: str) -> None:
        with pytest.raises(UnitError, match="therms"):
            billed_amount(billed, load().fuel(fuel))

    @pytest.mark.parametrize("billed", ["2900", '"nan m3"', '"-5 m3"', '"m3"', "true", '""', "[]"])
    def test_what_is_no_amount(self, billed: str) -> None:
        found = check(put('# yearly_use = "2900 m3"', f"yearly_use = {billed}")).faults
        assert any("with its unit" in fault.allowed for fault in found)
