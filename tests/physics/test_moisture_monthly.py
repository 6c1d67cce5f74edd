"""The monthly moisture balance against hand calculation, a handbook example and another method."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.catalog import load
from warmside.errors import InputError
from warmside.options import layer_of
from warmside.physics.assembly import Layer, Stack
from warmside.physics.conduction import Films, resistances
from warmside.physics.humid_air import saturation_pressure
from warmside.physics.moisture import (
    MONTH_SECONDS,
    MonthlyConditions,
    condensate_limit,
    monthly_balance,
    monthly_conditions,
)

_NO_FILMS = Films(0.0, 0.0, "none")
DELTA = 2e-10  # ISO 13788, from memory


def layer(resistance, sd, name="x", role="fill", thickness=0.02):
    permeability = DELTA * thickness / sd
    return Layer(
        name, name, role, thickness, thickness / resistance, permeability, permeability, 50, 1000,
        0.9,
    )  # fmt: skip


def wall(*rows, roles=None):
    roles = roles or ["fill"] * len(rows)
    return Stack(
        "bay", 1.0,
        tuple(layer(r, sd, f"layer {i}", role)
              for i, ((r, sd), role) in enumerate(zip(rows, roles, strict=True))),
    )  # fmt: skip


def steady(outside, p_out, inside, p_in, winter=12):
    """A cold spell of ``winter`` months from January; then 20 degC, 2200 Pa on both sides."""
    cold = [month < winter for month in range(12)]
    return MonthlyConditions(
        tuple(outside if c else 20.0 for c in cold),
        tuple(p_out if c else 2200.0 for c in cold),
        (inside,) * 12,
        tuple(p_in if c else 2200.0 for c in cold),
        "a test",
    )


class TestTwoInterfacesAtOnce:
    """Worked by hand with ISO 13788's rules (from memory): films 0.13 and 0.04, no splitting.

    R = 0.13 + 3 x 0.25 + 0.04 = 0.92; 20 degC, 1168.5 Pa (50 %) in; -10 degC, 207.9 Pa out.
    Interface temperatures 20 - 30 x 0.38 / 0.92 = 7.6087 and 20 - 30 x 0.63 / 0.92 = -0.5435,
    saturation 610.5 exp(17.269 t / (237.3 + t)) = 1043.96 and, over ice,
    610.5 exp(21.875 t / (265.5 + t)) = 583.71 Pa. With sd of 0.1, 1 and 10 m the slopes
    (1168.5 - 1043.96) / 0.1 = 1245.4, (1043.96 - 583.71) / 1 = 460.25, (583.71 - 207.9) / 10 =
    37.58 Pa/m
    fall towards the outside: both interfaces condense,
    2e-10 (1245.4 - 460.25) = 1.5703e-7 and 2e-10 (460.25 - 37.58) = 8.4534e-8 kg/(m2 s).
    """

    stack = wall((0.25, 0.1), (0.25, 1.0), (0.25, 10.0))
    balance = monthly_balance(stack, steady(-10.0, 207.9, 20.0, 1168.5, winter=1))

    def test_condensed(self):
        # January: 31 days, 2 678 400 s; the figures above have four digits
        assert self.balance.months[0] == 1
        first, second = self.balance.interfaces
        assert first.condensed[0] == pytest.approx(1.5703e-7 * 2_678_400, rel=5e-4)
        assert second.condensed[0] == pytest.approx(8.4534e-8 * 2_678_400, rel=5e-4)

    def test_drying(self):
        # February, 2 419 200 s: 20 degC and 2200 Pa on both sides, both interfaces wet at
        # 610.5 exp(17.269 x 20 / 257.3) = 2336.95 Pa: each dries to its own side, driven by
        # 136.95 Pa over 0.1 and 10 m; nothing passes between them. The first dries at
        # 2e-10 x 136.95 / 0.1 = 2.739e-7, its 0.42060 kg/m2 are gone after 1 535 600 s. For the
        # other 883 600 s the second dries to both sides, over 10 and 1.1 m: in all
        # 2e-10 x 136.95 (1 535 600 / 10 + 883 600 (1 / 10 + 1 / 1.1)) = 0.02863 kg/m2
        first, second = self.balance.interfaces
        assert first.accumulated[1] == 0.0
        assert second.condensed[1] == pytest.approx(-0.02863, rel=1e-3)
        assert self.balance.dries
        assert self.balance.worst_month == 1

    def test_glaser_with_one_interface(self):
        # without the middle layer's resistance to vapour only the colder interface condenses:
        # 2e-10 ((1168.5 - 583.7) / 0.11 - 37.58) = 1.0558e-6, since (1168.5 - 1043.96) / 0.1
        # is less steep than (1043.96 - 583.71) / 0.01
        stack = wall((0.25, 0.1), (0.25, 0.01), (0.25, 10.0))
        balance = monthly_balance(stack, steady(-10.0, 207.9, 20.0, 1168.5, winter=1))
        assert len(balance.interfaces) == 1
        assert balance.interfaces[0].condensed[0] == pytest.approx(1.0558e-6 * 2_678_400, rel=5e-4)


def test_handbook_example_of_accumulation():
    # ASHRAE Handbook-Fundamentals 2021, chapter 25, example 8: 21 degC 995 Pa, -6.6 degC 175 Pa;
    # layers with resistance [m2 K/W] and permeance [ng/(s m2 Pa)]: film, painted gypsum, mineral
    # fibre, sheathing, siding, film. Wet at the sheathing: in 124 746, out 8 661 ng/(s m2),
    # 0.30 kg/m2 in 30 days. The book's saturation curve and rounding differ by under 1 %.
    rows = [(0.12, 9200), (0.08, 290), (1.90, 1700), (0.11, 29), (0.18, 2010), (0.03, 57000)]
    stack = wall(*[(r, DELTA / (permeance * 1e-12)) for r, permeance in rows])
    balance = monthly_balance(stack, steady(-6.6, 175.0, 21.0, 995.0), _NO_FILMS)
    january = balance.months.index(1)
    assert balance.flow_in[january] / MONTH_SECONDS[0] == pytest.approx(124_746e-12, rel=1e-2)
    assert balance.flow_out[january] / MONTH_SECONDS[0] == pytest.approx(8_661e-12, rel=1e-2)
    (face,) = balance.interfaces
    assert face.between == ("layer 2", "layer 3")
    assert face.condensed[january] * 30 / 31 == pytest.approx(0.30, abs=0.005)
    # the same weather all year: it never dries
    assert not balance.dries
    assert not balance.within_limit


def obstacle(sd, ceiling):
    """Pressures under the ceiling by relaxation: each node the lower of its mean and ceiling."""
    p = ceiling.copy()
    left, right = np.diff(sd)[:-1], np.diff(sd)[1:]
    for _ in range(4000):
        for j in range(1, len(p) - 1):
            mean = (p[j - 1] / left[j - 1] + p[j + 1] / right[j - 1]) / (
                1 / left[j - 1] + 1 / right[j - 1]
            )
            p[j] = min(ceiling[j], mean)
    return p


def test_pressures_agree_with_another_method():
    # other method: relaxation of the obstacle problem, node by node, which knows no hull
    rng = np.random.default_rng(7)
    for _ in range(6):
        rows = [(float(r), float(s)) for r, s in zip(
            rng.uniform(0.02, 0.25, 6), 10 ** rng.uniform(-1, 1, 6), strict=True)]  # fmt: skip
        stack = wall(*rows)
        conditions = steady(-12.0, 180.0, 21.0, 1400.0)
        balance = monthly_balance(stack, conditions)
        heat = np.cumsum([0.13, *resistances(stack)])
        t = 21.0 - 33.0 * heat / (heat[-1] + 0.04)
        ceiling = saturation_pressure(t)
        ceiling[0], ceiling[-1] = 1400.0, 180.0
        sd = np.cumsum([0.0, *(s for _, s in rows)])
        p = obstacle(sd, ceiling)
        flux = -DELTA * np.diff(p) / np.diff(sd)
        i = balance.months.index(1)
        assert balance.flow_in[i] / MONTH_SECONDS[0] == pytest.approx(flux[0], rel=1e-6)
        assert balance.flow_out[i] / MONTH_SECONDS[0] == pytest.approx(flux[-1], rel=1e-6)


@st.composite
def cases(draw):
    rows = draw(
        st.lists(st.tuples(st.floats(0.01, 2.5), st.floats(0.01, 60.0)), min_size=1, max_size=6)
    )
    outside = draw(st.lists(st.floats(-35, 30), min_size=12, max_size=12))
    humidity = draw(st.lists(st.floats(0.2, 1.0), min_size=12, max_size=12))
    return wall(*rows), monthly_conditions(
        outside, humidity, draw(st.floats(15, 25)), humidity=draw(st.floats(0.1, 0.9))
    )


@given(cases())
def test_vapour_in_is_vapour_out_and_stored(case):
    balance = monthly_balance(*case)
    before = 0.0
    for i in range(12):
        stored = balance.accumulated[i] - before
        before = balance.accumulated[i]
        scale = max(abs(balance.flow_in[i]), abs(balance.flow_out[i]), 1e-9)
        assert abs(balance.flow_in[i] - balance.flow_out[i] - stored) <= 1e-9 * scale
        assert before >= 0
    assert sorted(balance.months) == list(range(1, 13))
    # the year begins with a month of condensation, if there is one
    if balance.interfaces:
        assert sum(face.condensed[0] for face in balance.interfaces) > 0


class TestSurface:
    @pytest.mark.parametrize(
        ("humidity", "needed"),
        # psychrolib: f_Rsi for 80 % at the face, -20 degC outside, room at 21 degC
        [(0.30, 0.633), (0.35, 0.688), (0.40, 0.736), (0.45, 0.780), (0.50, 0.819)],
    )
    def test_factor_needed_in_the_cold(self, humidity, needed):
        conditions = monthly_conditions([-20.0] * 12, [0.8] * 12, 21.0, humidity=humidity)
        balance = monthly_balance(wall((1.0, 1.0)), conditions)
        assert balance.factor_needed[0] == pytest.approx(needed, abs=1e-3)

    def test_national_criterion(self):
        # DIN 4108-2, from memory, confirmed: 20 degC, 50 %, -5 degC asks f = 0.70 (12.6 degC)
        conditions = monthly_conditions([-5.0] * 12, [0.8] * 12, 20.0, humidity=0.5)
        balance = monthly_balance(wall((1.0, 1.0)), conditions)
        assert max(balance.factor_needed) == pytest.approx(0.70, abs=0.006)

    def test_humidity_of_the_face_by_hand(self):
        # R 1.0, films 0.25 and 0.04: f = 1 - 0.25 / 1.29 = 0.8062; 21 and -20 degC: face
        # 13.05 degC, 1501 Pa; 40 % of 2486 Pa: 994 / 1501 = 0.662
        conditions = monthly_conditions([-20.0] * 12, [0.8] * 12, 21.0, humidity=0.4)
        balance = monthly_balance(wall((1.0, 1.0)), conditions)
        assert balance.factor == pytest.approx(0.8062, abs=1e-4)
        assert balance.surface_humidity[0] == pytest.approx(0.662, abs=1e-3)
        assert balance.surface_stays_dry
        assert balance.critical_month == 1


class TestIndoorHumidity:
    @pytest.mark.parametrize(
        ("number", "excess"), [(1, 270.6), (2, 541.2), (3, 811.7), (4, 1082.3)]
    )
    def test_classes(self, number, excess):
        # ISO 13788:2012 Annex A, from memory: 2, 4, 6, 8 g/m3 at 0 degC outside; at 20 degC inside
        # 270.6, 541.2, 811.7, 1082.3 Pa (dv R_v T); half of it at 10 degC, none at 20 degC
        t = [-10.0, 0.0, 10.0, 20.0, 25.0] + [0.0] * 7
        c = monthly_conditions(t, [0.5] * 12, 20.0, humidity_class=number)
        over = np.subtract(c.indoor_vapour_pressure, c.outdoor_vapour_pressure)
        assert over[:4] == pytest.approx([excess, excess, excess / 2, 0.0], rel=1e-3, abs=1e-9)

    @pytest.mark.parametrize(
        ("litres", "humidity"), [(15, 0.47), (30, 0.26), (60, 0.16), (120, 0.11)]
    )
    def test_production(self, litres, humidity):
        # steady balance computed elsewhere: -15 degC 80 % (132 Pa), 21 degC, 10 kg/day
        c = monthly_conditions(
            [-15.0] * 12, [0.8] * 12, 21.0, production=10 / 86_400, ventilation=litres / 1e3
        )
        assert c.indoor_vapour_pressure[0] / saturation_pressure(21.0) == pytest.approx(
            humidity, abs=0.006
        )

    def test_never_over_saturation(self):
        c = monthly_conditions([0.0] * 12, [0.8] * 12, 20.0, production=1e-3, ventilation=1e-3)
        assert c.indoor_vapour_pressure[0] == pytest.approx(saturation_pressure(20.0), rel=1e-12)


def test_limits_by_the_faces():
    # DIN 4108-3, from memory: 1.0 kg/m2, 0.5 where neither face takes water up
    cold = steady(-10.0, 207.9, 20.0, 1168.5)
    rows = ((0.25, 0.1), (0.25, 1.0), (0.25, 10.0))
    faces = monthly_balance(wall(*rows, roles=["fill", "foam", "sheathing"]), cold).interfaces
    assert [face.limit for face in faces] == [0.5, 1.0]


def test_the_limit_of_one_face_counts_though_the_whole_is_under():
    # by hand as above with sd 0.08 m: 2e-10 (1556.8 - 460.25) x 2 678 400 = 0.587 over 0.5, and
    # with the second face's 0.226 still under 1.0 kg/m2
    cold = steady(-10.0, 207.9, 20.0, 1168.5, winter=1)
    rows = ((0.25, 0.08), (0.25, 1.0), (0.25, 10.0))
    balance = monthly_balance(wall(*rows, roles=["fill", "foam", "sheathing"]), cold)
    assert balance.interfaces[0].peak == pytest.approx(0.587, rel=2e-3)
    assert balance.peak == pytest.approx(0.587 + 0.226, rel=2e-3)
    assert not balance.within_limit


def test_thick_layers_are_split():
    # ISO 13788, from memory: no step over 0.25 m2K/W. One layer of 1.0, saturated air at both
    # ends: the straight line of pressure lies over the curve of saturation at every inner node
    stack = wall((1.0, 1.0))
    full = steady(-10.0, float(saturation_pressure(-10.0)), 20.0, float(saturation_pressure(20.0)))
    faces = monthly_balance(stack, full).interfaces
    assert [face.y for face in faces] == pytest.approx([0.005, 0.010, 0.015])


def test_air_resists_vapour_by_its_thickness():
    # exact: 2e-10 x (1000 - 500) / (1.0 + 0.05) x 2 678 400
    plain = wall((0.2, 1.0))
    air = replace(plain.layers[0], thickness=0.05, conductivity=None, permeability_dry=1.0)
    stack = replace(plain, layers=(*plain.layers, air))
    balance = monthly_balance(stack, steady(10.0, 500.0, 20.0, 1000.0))
    assert balance.flow_in[0] == pytest.approx(2e-10 * 500 / 1.05 * 2_678_400, rel=1e-9)


def test_vented_cladding_is_outside():
    # ISO 6946, from memory: the wall ends at the vented layer, with the film of the inside
    bare = wall((0.25, 0.1), (0.25, 1.0), (0.25, 10.0))
    clad = replace(bare, layers=(*bare.layers, replace(layer(0.5, 50.0), vented=True)))
    cold = steady(-10.0, 207.9, 20.0, 1168.5)
    vented = monthly_balance(clad, cold)
    same = monthly_balance(bare, cold, Films(0.13, 0.13, "hand"))
    assert vented.accumulated == pytest.approx(same.accumulated, rel=1e-9)
    assert vented.peak > 0


def test_the_year_begins_where_most_water_gathers():
    # January and April condense, between them little dries: counted from January
    # both add up, counted from April they would not
    base = steady(-10.0, 207.9, 20.0, 1168.5)
    mild = (2, 3)
    t_e = [-10.0, 8.0, 8.0, -10.0] + [20.0] * 8
    p_e = [207.9, 1000.0, 1000.0, 207.9] + [1000.0] * 8
    p_i = [1168.5, 1350.0, 1350.0, 1168.5] + [1000.0] * 8
    conditions = replace(
        base, outdoor_temperature=tuple(t_e), outdoor_vapour_pressure=tuple(p_e),
        indoor_vapour_pressure=tuple(p_i),
    )  # fmt: skip
    stack = wall((0.25, 5.0), (0.25, 0.5), (0.25, 50.0))
    balance = monthly_balance(stack, conditions)
    assert balance.months[0] == 1
    assert balance.worst_month == 4
    assert all(balance.accumulated[month - 1] > 0 for month in mild)


@pytest.mark.parametrize(
    ("kwargs", "match"),
    [
        ({}, "indoor humidity: read humidity None"),
        ({"humidity": 0.4, "humidity_class": 2}, "exactly one of the four"),
        ({"humidity": 40}, "indoor humidity: read"),
        ({"humidity_class": 7}, "humidity class: read 7; allowed: 1, 2, 3 or 4"),
        ({"production": 1e-4}, "ventilation: read"),
    ],
)
def test_bad_conditions_are_refused(kwargs, match):
    with pytest.raises(InputError, match=match):
        monthly_conditions([0.0] * 12, [0.8] * 12, 20.0, **kwargs)


@pytest.mark.parametrize("bad", [[0.0] * 11, [float("nan")] * 12, ["cold"] * 12, [999.0] * 12])
def test_bad_months_are_refused(bad):
    with pytest.raises(InputError, match="outdoor temperature: read"):
        monthly_conditions(bad, [0.8] * 12, 20.0, humidity=0.4)


@pytest.mark.parametrize(
    ("board", "thickness", "role", "expected"),
    [
        # DIN 4108-3, from memory: 5 % by mass in wood, 3 % in wood-based board, beside 1.0 kg/m2;
        # densities of the catalog's rows 445, 650 and 460 kg/m3
        ("board-sheathing", 0.019, "sheathing", 0.423),
        ("osb", 0.0111, "sheathing", 0.216),
        ("plywood", 0.0127, "sheathing", 0.175),
        ("softwood", 0.089, "wood", 1.0),
        ("gypsum-sheathing", 0.0127, "sheathing", 1.0),
    ],
)
def test_condensate_beside_wood_is_limited_by_its_mass(board, thickness, role, expected):
    catalog = load()
    fill = layer_of(catalog.materials["glass-fibre-batt"], "fill", 0.089, 0.089)
    wood = layer_of(catalog.materials[board], role, thickness, thickness)
    for pair in ((fill, wood), (wood, fill)):
        assert condensate_limit(*pair) == pytest.approx(expected, abs=6e-4)


def test_a_face_that_falls_short_by_the_mass_of_its_board_fails_the_path():
    """0.3 kg/m2 are within 1.0 and beyond what a strand board may take (3 % of 7.2 kg/m2)."""
    catalog = load()
    layers = [
        layer_of(catalog.materials[name], role, t, t)
        for name, role, t in (
            ("gypsum-board", "finish", 0.0127), ("glass-fibre-batt", "fill", 0.089),
            ("osb", "sheathing", 0.0111),
        )
    ]  # fmt: skip
    damp = monthly_balance(Stack("bay", 1.0, tuple(layers)), steady(0.0, 500.0, 21.0, 900.0, 1))
    (face,) = damp.interfaces
    assert 0.216 < face.peak < 1.0
    assert damp.used == pytest.approx(face.peak / face.limit, rel=1e-12)
    assert not damp.within_limit
