"""Faults as a person reads them."""

from __future__ import annotations

from warmside.errors import Fault, InputError


def test_what_a_file_brought_does_not_steer_the_terminal():
    # ECMA-48: ESC begins a control sequence, CSI stands alone; a return hides what was written
    hostile = "\x1b[2J\x9b31m\rgone\x07"
    told = str(Fault("wall", hostile, "a name", 3))
    assert told.isprintable()
    assert told.startswith("line 3: wall: read ")
    assert "gone" in told
    assert told.endswith("; allowed: a name")


def test_words_of_all_languages_and_signs_of_measure_are_told_as_they_are():
    fault = Fault("façade Nord-Ouest", "8' 1-1/2\" × 21 °C, 3 m²", "größer als 0")
    assert str(fault) == ("façade Nord-Ouest: read 8' 1-1/2\" × 21 °C, 3 m²; allowed: größer als 0")


def test_each_fault_keeps_a_line_of_its_own():
    error = InputError([Fault("a", "1\n2", "x"), Fault("b", "3", "y")])
    assert str(error).count("\n") == 1
