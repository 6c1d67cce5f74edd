"""Simple methods of heat conduction against published figures."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.physics import conduction
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import Films


def layer(thickness, conductivity, *, name="x", emissivity=0.9):
    return Layer(
        name, name, "board", thickness, conductivity, 1e-11, 1e-11, 500, 1000, emissivity,
    )  # fmt: skip


def by_resistance(value):
    return layer(0.01, 0.01 / value)


def stacks(share, framing, cavity, before=(), after=()):
    ends = [by_resistance(r) for r in before], [by_resistance(r) for r in after]
    return [
        Stack(kind, area, (*ends[0], by_resistance(r), *ends[1]))
        for kind, area, r in (("stud", share, framing), ("bay", 1 - share, cavity))
    ]


def test_air_layer_beside_foil():
    # same formula, foil of emissivity 0.05 on one side, 25 mm: about 0.66 (computed elsewhere)
    r = conduction.air_layer_resistance(0.025, "horizontal", (0.05, 0.9))
    assert r == pytest.approx(0.66, abs=0.01)


def test_slices_of_one_air_layer_count_once():
    # exact: an air layer has the resistance of its whole depth however finely it is sliced
    whole = Stack("bay", 1.0, (layer(0.01, 0.1), layer(0.09, None), layer(0.01, 0.1)))
    sliced = replace(
        whole,
        layers=(layer(0.01, 0.1), *[layer(0.03, None, name=n) for n in "abc"], layer(0.01, 0.1)),
    )
    assert sum(conduction.resistances(sliced)) == pytest.approx(
        sum(conduction.resistances(whole)), rel=1e-12
    )


def test_air_layer_takes_the_emissivity_of_its_faces():
    foil = layer(0.001, 200.0, emissivity=0.05)
    stack = Stack("bay", 1.0, (foil, layer(0.025, None), layer(0.01, 0.1)))
    assert conduction.resistances(stack)[1] == pytest.approx(0.66, abs=0.01)


@pytest.mark.parametrize(
    ("wool", "timber", "upper", "lower", "mean", "transmittance", "error"),
    # wall of Approved Document L1 2002, App. B style (from memory), 15 % timber; results computed
    # by hand from the standard's equations: 140 mm and 90 mm of mineral wool
    [
        (3.684, 1.077, 3.485, 3.312, 3.398, 0.294, 0.025),
        (2.368, 0.692, 2.495, 2.346, 2.421, 0.413, 0.031),
    ],
)
def test_combined_method(wool, timber, upper, lower, mean, transmittance, error):
    wall = stacks(0.15, timber, wool, before=[0.05], after=[0.077, 0.18, 0.132])
    result = conduction.combined(wall)
    assert result.upper == pytest.approx(upper, abs=1e-3)
    assert result.lower == pytest.approx(lower, abs=1e-3)
    assert result.resistance == pytest.approx(mean, abs=1e-3)
    assert result.transmittance == pytest.approx(transmittance, abs=1e-3)
    assert result.error == pytest.approx(error, abs=1e-3)
    assert result.valid


def test_combined_method_says_where_it_does_not_hold():
    # exact: 90 % of a wall 10, 10 % steel-like 0.01
    result = conduction.combined(stacks(0.1, 0.01, 10.0))
    assert not result.valid
    assert "outside the method's validity" in result.note


# Whole wall [h ft2 F/Btu], trade figures (computed by others, not published): wood R-1.25/in,
# boards, finish and films together, framing 23 %, a 2x4 of 3-5/8 in; foam or
# R-3.7/in, batt R-3.4/in. Columns: inches filled, R/in, continuous R, parallel, isothermal.
_IP = 5.678
_WHOLE_WALL = {
    "empty": (0.0, 6.0, 0.0, 4.2, 4.0),
    "2 in": (2.0, 6.0, 0.0, 12.5, 10.3),
    "2.5 in": (2.5, 6.0, 0.0, 13.9, 11.8),
    "3 in": (3.0, 6.0, 0.0, 15.0, 13.3),
    "full": (3.625, 6.0, 0.0, 16.0, 14.5),
    "full half-lb": (3.625, 3.7, 0.0, 12.7, 12.1),
    "batt": (3.625, 3.4, 0.0, 12.2, 11.7),
    "3 in and R-5": (3.0, 6.0, 5.0, 21.1, 18.3),
    "3 in and R-9": (3.0, 6.0, 9.0, 25.6, 22.3),
}


@pytest.mark.parametrize("row", _WHOLE_WALL.values(), ids=list(_WHOLE_WALL))
def test_whole_wall_figures_of_the_trade(row):
    inches, per_inch, more, parallel, isothermal = row
    gap = 3.625 - inches

    def ip(thickness, r):  # inches, h ft2 F/Btu
        return [layer(thickness * 0.0254, thickness * 0.0254 / (r / _IP))] * (thickness > 0)

    def path(kind, share, cells):
        return Stack(kind, share, (*ip(2.0, 2.7 - 0.85 + more), *cells))

    wood = ip(gap, 1.25 * gap or 1.0) + ip(inches, 1.25 * inches or 1.0)
    bay = [layer(gap * 0.0254, None)] * (gap > 0) + ip(inches, per_inch * inches or 1.0)
    wall = [path("stud", 0.23, wood), path("bay", 0.77, bay)]
    films = Films(0.68 / _IP, 0.17 / _IP, "ASHRAE (from memory)")
    assert conduction.parallel_path(wall, films) * _IP == pytest.approx(parallel, abs=0.25)
    assert conduction.isothermal_planes(wall, films) * _IP == pytest.approx(isothermal, abs=0.25)


class TestProfile:
    stack = Stack("bay", 2.0, tuple(by_resistance(r) for r in (0.08, 2.0, 0.1)))

    def test_temperatures_by_hand(self):
        # R = 0.13 + 0.08 + 2.0 + 0.1 + 0.04 = 2.35; from 20 to -27 degC 20 K per m2K/W
        result = conduction.profile(self.stack, 20.0, -27.0)
        assert result.temperatures == pytest.approx((17.4, 15.8, -24.2, -26.2), abs=1e-9)
        assert result.factor == pytest.approx(1 - 0.13 / 2.35, abs=1e-12)

    def test_factor_does_not_depend_on_the_weather(self):
        # exact: f = (surface - outside) / (inside - outside)
        for inside, outside in ((20.0, -20.0), (15.0, 30.0)):
            result = conduction.profile(self.stack, inside, outside)
            assert (result.surface - outside) / (inside - outside) == pytest.approx(
                result.factor, abs=1e-12
            )

    def test_vented_cladding_is_left_out(self):
        # ISO 6946, from memory: layers outside a well-ventilated air layer do not count and the
        # outside film becomes 0.13
        vented = replace(by_resistance(0.5), vented=True)
        result = conduction.profile(Stack("bay", 1.0, (by_resistance(1.0), vented)), 20.0, -5.0)
        assert result.resistance == pytest.approx(0.13 + 1.0 + 0.13, abs=1e-12)

    def test_thin_membrane_adds_nothing_that_matters(self):
        # 0.15 mm of polyethylene, 0.33 W/(m K) (EN 12524): 0.0005 m2 K/W
        assert conduction.layer_resistance(layer(0.00015, 0.33)) == pytest.approx(0.00045, abs=1e-5)


@given(
    share=st.floats(0.05, 0.5), foam=st.floats(0.0, 0.085), more=st.floats(0.001, 0.085),
    conductivity=st.floats(0.02, 0.05),
)  # fmt: skip
def test_more_foam_never_lowers_the_resistance(share, foam, more, conductivity):
    depth = 0.092
    thick = min(foam + more, depth - 0.002)

    def wall(thickness):
        cuts = sorted({0.0, depth - thick, depth - foam, depth})
        cells = [(b - a, a) for a, b in pairwise(cuts) if b - a > 1e-9]
        board = layer(0.019, 0.1)
        bay = [layer(d, conductivity if a >= depth - thickness - 1e-12 else None)
               for d, a in cells]  # fmt: skip
        stud = [layer(d, 0.12) for d, _ in cells]
        return [
            Stack("stud", share, (board, *stud, board)),
            Stack("bay", 1 - share, (board, *bay, board)),
        ]

    for method in (
        conduction.parallel_path, conduction.isothermal_planes, conduction.code_resistance,
        lambda w: conduction.combined(w).resistance,
    ):  # fmt: skip
        assert method(wall(thick)) >= method(wall(min(foam, thick))) - 1e-12


@given(st.floats(0.001, 0.4), st.floats(0.001, 0.1))
def test_resistance_grows_with_thickness(thickness, more):
    assert conduction.layer_resistance(layer(thickness + more, 0.04)) > conduction.layer_resistance(
        layer(thickness, 0.04)
    )
    # an air layer too, until it starts to move
    assert conduction.air_layer_resistance(thickness + more) >= conduction.air_layer_resistance(
        thickness
    )


@pytest.mark.parametrize("bad", [float("nan"), -0.01, 5.0, "thick", None])
def test_bad_air_layers_are_refused(bad):
    with pytest.raises(InputError, match="air layer, thickness: read"):
        conduction.air_layer_resistance(bad)


def test_stacks_that_do_not_line_up_are_refused():
    uneven = [Stack("bay", 1.0, (layer(0.1, 0.1),)), Stack("stud", 1.0, (layer(0.1, 0.1),) * 2)]
    with pytest.raises(InputError, match="slices that line up"):
        conduction.parallel_path(uneven)
    with pytest.raises(InputError, match="at least one with an area"):
        conduction.combined([])
