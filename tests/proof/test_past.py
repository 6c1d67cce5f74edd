"""The hours before a picture: marched through the wall, and what is unknown in the doubt."""

from __future__ import annotations

import lzma
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest

from proof.conftest import Case
from warmside.errors import InputError
from warmside.options import apply
from warmside.physics.assembly import Layer, Role, Stack
from warmside.physics.conduction import ISO_FILMS, resistances
from warmside.proof import Conditions, Look, Reading, Stand, compare, rules, station_readings
from warmside.proof.conditions import Colour
from warmside.proof.past import (
    FILM_DOUBT,
    FOAM_DOUBT,
    OUTER,
    STORED,
    TAKEN_UP,
    WOOD_DOUBT,
    WOOD_STORED,
    Late,
    Strip,
    past_of,
)
from warmside.proof.prediction import USUAL_FOAM
from warmside.proof.smear import Smear
from warmside.weather import Station

HELD = tuple(Reading(h, outside=1.0, room=21.0, sun=0.0) for h in (6.0, 12.0, 24.0, 48.0))
AIR = Conditions(room=21.0, outside=1.0, past=HELD)


def test_a_past_that_never_changed_is_a_wall_at_rest(case: Case):
    # exact: nothing is still to come
    p = case.prediction
    np.testing.assert_allclose(p.after(AIR).factor, p.factor, rtol=0.0, atol=1e-6)


def test_a_bay_after_frost_sun_and_a_warmed_room_against_small_steps(case: Case):
    # independent method: 1 mm cells of the bay's own layers and implicit steps of half a minute
    p = case.prediction
    past = (
        Reading(3.0, outside=-4.0, room=16.0, sun=0.0), Reading(5.0, sun=400.0),
        Reading(9.0, outside=6.0, room=16.0, sun=0.0), Reading(24.0, outside=2.0, room=20.0),
    )  # fmt: skip
    air = Conditions(room=21.0, outside=-6.0, past=past)
    built = apply(p.option, p.wall, p.frame, case.catalog)
    bay = max((s for s in built.assembly.stacks if s.kind == "bay"), key=lambda s: s.area)
    dy, r, heat = [], [], []
    for layer, resistance in zip(bay.layers, resistances(bay), strict=True):
        n = max(1, round(layer.thickness / 0.001))
        dy += [layer.thickness / n] * n
        r += [resistance / n] * n
        heat += [layer.density * layer.specific_heat * layer.thickness / n] * n
    r, heat = np.array(r), np.array(heat)
    g = 2.0 / (r[1:] + r[:-1])
    ends = 1.0 / (ISO_FILMS.inside + r[0] / 2), 1.0 / (ISO_FILMS.outside + r[-1] / 2)
    k = np.diag(np.r_[g, 0] + np.r_[0, g]) - np.diag(g, 1) - np.diag(g, -1)
    k[0, 0] += ends[0]
    k[-1, -1] += ends[1]
    step = 30.0
    back = np.linalg.inv(np.diag(heat / step) + k)

    def drives(hour: float) -> tuple[float, float]:
        out = np.interp(hour, [-24, -9, -3, 0], [2, 6, -4, -6])
        sun = np.interp(hour, [-9, -5, -3], [0, 400, 0])
        return np.interp(hour, [-24, -9, -3, 0], [20, 16, 16, 21]), out + TAKEN_UP[None][
            0
        ] * sun / OUTER

    def heats(hour: float) -> np.ndarray:
        room, out = drives(hour)
        q = np.zeros(heat.size)
        q[0], q[-1] = ends[0] * room, ends[1] * out
        return q

    field = np.linalg.solve(k, heats(-24.0))
    for n in range(int(24 * 3600 / step)):
        field = back @ (heat / step * field + heats(-24.0 + (n + 1) * step / 3600.0))
    share = r[0] / 2 / (ISO_FILMS.inside + r[0] / 2)
    told = field[0] + share * (21.0 - field[0])
    # the field at rest differs from the layers by what the studs take; only what came is compared
    still = 21.0 - 27.0 * ISO_FILMS.inside / (r.sum() + ISO_FILMS.inside + ISO_FILMS.outside)
    planned = int(np.argmin(abs(p.thicknesses - p.option.thickness)))
    came = 27.0 * float(np.median((p.after(air).factor - p.factor)[planned][p.core]))
    assert abs(told - still) > 0.3  # so that there is something to compare
    assert came == pytest.approx(told - still, rel=0.0, abs=0.02)


def test_what_nobody_noted_goes_into_the_doubt(case: Case):
    p = case.prediction
    planned, places = np.full(1, p.option.thickness), p.lates.shape[2]

    def doubt(air: Conditions) -> float:
        bay, wood = (p.after(air).late(planned, np.full(1, n)).own for n in (places - 1, 0))
        return float(np.linalg.norm(bay - wood))

    some = replace(AIR, past=HELD[:3])
    # what a fact adds cannot make the doubt larger; each of these is a fact less
    assert doubt(AIR) <= doubt(some) < doubt(replace(AIR, past=()))
    gone = replace(AIR, past=(), hours_without_sun=12.0, hours_room_held=24.0, outside_swing=2.0)
    assert doubt(gone) < 0.5 * doubt(replace(AIR, past=()))
    fresh = replace(gone, hours_room_held=0.0)
    assert doubt(fresh) > 1.5 * doubt(gone)


def test_doubts_of_film_storage_and_air_against_small_changes():
    # other method: a plate of one layer is a strip of the same everywhere, and its surface after a
    # ramp of the room's air is that of 1 mm cells stepped by half a minute, with the film and the
    # layer's heat each changed by their doubt
    layer = Layer("board", "gypsum-board", "finish", 0.04, 0.04, 2e-11, 2e-11, 400.0, 1090.0, 0.9)
    stack = Stack("bay", 1.0, (layer,))
    past = past_of(Conditions(
        room=21.0, outside=1.0, room_doubt=0.5,
        past=(Reading(2.0, outside=1.0, room=16.0), Reading(60.0, outside=1.0, room=16.0)),
    ))  # fmt: skip
    late = past.late(Strip.of(replace(stack, kind="stud"), stack, (0.04, 0.36)))

    def stepped(
        change: float, film: float = 1.0, heat: float = 1.0, conducts: float = 1.0
    ) -> float:
        """Surface less what it will be, ``change`` [K] run through in the last two hours."""
        n, step = 40, 30.0
        r, c = 0.04 / n / (0.04 * conducts), 400.0 * 1090.0 * heat * 0.04 / n
        inner, outer = ISO_FILMS.inside / film + r / 2, ISO_FILMS.outside + r / 2
        k = np.diag(np.r_[np.full(n - 1, 1 / r), 0] + np.r_[0, np.full(n - 1, 1 / r)])
        k -= np.diag(np.full(n - 1, 1 / r), 1) + np.diag(np.full(n - 1, 1 / r), -1)
        k[0, 0] += 1 / inner
        k[-1, -1] += 1 / outer
        back = np.linalg.inv(np.diag(np.full(n, c / step)) + k)
        drive, field = np.zeros(n), np.zeros(n)
        for m in range(int(7200 / step)):
            air = change * (m + 1) * step / 7200.0
            drive[0] = air / inner
            field = back @ (c / step * field + drive)
        drive[0] = change / inner
        still = np.linalg.solve(k, drive)[0]
        share = r / 2 / inner
        return float((1.0 - share) * (field[0] - still))

    def of(role: Role) -> Late:
        plate = replace(stack, layers=(replace(layer, role=role),))
        return past.late(Strip.of(replace(plate, kind="stud"), plate, (0.04, 0.36)))

    wooden, foamed = of("wood"), of("foam")
    still = [
        20.0 * (1.0 - ISO_FILMS.inside / (ISO_FILMS.inside + 1.0 / conducts + ISO_FILMS.outside))
        for conducts in (1.0, 1.0 + FOAM_DOUBT)
    ]
    denser = 1.0 + WOOD_STORED * WOOD_DOUBT
    usual = stepped(5.0)
    for found, told in (
        (wooden.wood, stepped(5.0, heat=denser, conducts=1.0 + WOOD_DOUBT) - usual),
        # by hand: at rest too, of films and 1 m2 K/W
        (foamed.own[0], stepped(5.0, conducts=1.0 + FOAM_DOUBT) - usual + still[1] - still[0]),
        (late.known, usual),
        (late.room, stepped(0.5)),
        (late.film, stepped(5.0, film=1.0 + FILM_DOUBT) - usual),
        (late.own[-len(STORED)], stepped(5.0, heat=1.0 + STORED[0][0]) - usual),
    ):
        assert abs(told) > 0.004  # so that there is something to compare
        np.testing.assert_allclose(found, told, rtol=0.06, atol=0.001)
    np.testing.assert_allclose(late.own[1 - len(STORED) :], 0.0, rtol=0.0, atol=1e-9)
    np.testing.assert_allclose([late.wood, late.own[0]], 0.0, rtol=0.0, atol=1e-9)


def test_the_doubt_of_wood_is_the_spread_of_framing_lumber():
    # published: conductivity at 12 % moisture of twelve species of framing lumber, Engelmann spruce
    # to loblolly pine (Wood Handbook, Forest Products Laboratory, 2010, table 4-7; from memory)
    species = [0.10, 0.10, 0.11, 0.11, 0.12, 0.12, 0.12, 0.13, 0.14, 0.14, 0.15, 0.15]
    off = np.array(species) / 0.12 - 1.0
    np.testing.assert_allclose(WOOD_DOUBT, np.sqrt((off**2).mean()), rtol=0.01, atol=0.0)
    # the same book's rule: of G 0.37 and 0.45, twelve tenths of the share more heat
    weight = np.array([0.37, 0.45])
    share = np.diff(np.log(weight)) / np.diff(np.log(0.2429 * weight + 0.0186))
    np.testing.assert_allclose(WOOD_STORED, share, rtol=0.03, atol=0.0)


def test_foam_is_as_usual_and_its_doubt_is_the_spread_of_data_sheets():
    # published: an inch of data sheets where the row has, and 0.97 of the row
    # after ageing, open-cell foam to R-3.9 (from memory); by hand: the middle, and the spread
    # of an even choice between 0.76 and 0.97, 0.21 / 12^0.5 = 0.061
    share = (0.76 + 0.97) / 2.0
    inch = 0.0254 * 5.678263  # [W/(m K)] of R-1 an inch
    np.testing.assert_allclose(
        list(USUAL_FOAM.values()), [share * inch / 5.2, inch / 3.7], rtol=0.01, atol=0.0
    )
    np.testing.assert_allclose(FOAM_DOUBT, 0.061 / share, rtol=0.02, atol=0.0)


def test_what_is_considered_widens_a_doubt_and_moves_nothing(case: Case):
    # exact: weights are those of a wall of which film, air and past are known, so a bay's own
    # difference and what all share stay where they are while their doubts grow
    surface = case.surface({}, AIR.room, AIR.outside)
    found = Look(
        surface=np.where(case.prediction.seen, surface, np.nan), view=Stand(2.1, 1.2, 4.4).view,
        likeness=1.0, shift=0.0, misfit=None, misplaced=0.0,
        smear=Smear.even(0.01, case.prediction),
    )  # fmt: skip
    sure = replace(AIR, room_doubt=0.05, outside_doubt=0.1)
    one, other = (compare(found, case.prediction, air) for air in (sure, AIR))
    for a, b in zip(one.bays, other.bays, strict=True):
        if a.deviation is not None and b.deviation is not None:
            assert a.deviation == pytest.approx(b.deviation, rel=0.0, abs=1e-6)
            assert a.thickness == pytest.approx(b.thickness, rel=0.0, abs=1e-6)
    assert other.common_doubt > 1.02 * one.common_doubt


def test_conditions_are_read_off_the_past():
    # exact: the swing of the readings, the last one of another room, the last one in the sun
    past = (
        Reading(6.0, outside=4.0, room=21.4, sun=20.0), Reading(10.0, outside=-1.0, sun=300.0),
        Reading(12.0, outside=0.0, room=18.0), Reading(48.0, outside=-20.0),
    )  # fmt: skip
    told = Conditions(room=21.0, outside=1.0, past=past).with_past()
    assert (told.outside_swing, told.hours_room_held, told.hours_without_sun) == (5.0, 6.0, 10.0)
    noted = Conditions(room=21.0, outside=1.0, outside_swing=2.0, past=past).with_past()
    assert noted.outside_swing == 2.0
    held = {rule.what: rule.met for rule in rules(Conditions(room=21.0, outside=1.0, past=past))}
    assert held["Hours that the room was held"] is False
    assert held["Hours without sun on the wall"] is True
    assert held["Wind"] is None


def test_sun_that_hides_the_foam_is_refused(case: Case):
    # a wall that the sun has warmed above the room shows its foam the other way round
    past = (Reading(0.5, sun=900.0), Reading(6.0, sun=900.0), Reading(7.0, sun=0.0))
    with pytest.raises(InputError, match=r"0 % of what foam does at rest .* 30 % or more: wait"):
        case.prediction.after(Conditions(room=21.0, outside=13.0, past=past))


@pytest.mark.parametrize(
    ("past", "message"),
    [
        ({"hours_ago": 90.0}, "hours ago: 90"),
        ({"hours_ago": 3.0, "outside": float("nan")}, "outside: nan"),
        ({"hours_ago": 3.0, "sun": 4000.0}, "sun: 4000"),
    ],
)
def test_readings_that_cannot_be(past: dict[str, float], message: str):
    with pytest.raises(InputError, match=message.replace(": ", ".*")):
        Reading(**past)
    with pytest.raises(InputError, match="every hour once"):
        Conditions(room=21.0, outside=1.0, past=(Reading(6.0), Reading(6.0)))


def test_doubts_are_changes_of_one_side_each():
    found = past_of(Conditions(room=21.0, outside=1.0))
    assert {side for side, _ in found.doubts} == {"outside", "inside"}
    for _, change in found.doubts:
        assert change.shape == found.hours.shape
        assert abs(change).max() < 8.0


def test_a_dark_wall_takes_up_the_sun_that_a_light_one_does_not(case: Case):
    # exact: the wall is linear in its air, so a face that takes up three times the sun is warmed
    # three times as much; a colour that nobody noted is doubted more than one that somebody did
    sunny = (Reading(4.0, sun=200.0), Reading(6.0, sun=200.0), Reading(6.5, sun=0.0))
    planned = np.full(1, case.prediction.option.thickness)
    place = np.array([case.prediction.lates.shape[2] - 1])

    def late(colour: Colour | None, past: tuple[Reading, ...] = sunny) -> Late:
        air = replace(AIR, past=past, hours_without_sun=None, outside_colour=colour)
        return case.prediction.after(air).late(planned, place)

    still = late("dark", (Reading(4.0, sun=0.0), Reading(6.5, sun=0.0))).known
    light, dark = (late(colour).known - still for colour in ("light", "dark"))
    assert abs(dark) > 0.05  # [K], so that there is something to compare
    np.testing.assert_allclose(dark, 3.0 * light, rtol=1e-6, atol=0.0)
    noted, free = (np.linalg.norm(late(colour).own) for colour in ("middling", None))
    assert noted < free


def test_a_colour_that_is_none_is_refused():
    with pytest.raises(InputError, match="light or middling or dark"):
        replace(AIR, outside_colour="red")  # type: ignore[arg-type]


def test_a_station_that_has_no_sun_leaves_it_unknown():
    # exact: the sample of ISD-Lite names no place, and its format has no sun
    packed = resources.files("warmside.weather") / "samples" / "isd-lite.txt.xz"
    near = Station(40.5, -75.0, -5.0, 100.0, "House")
    data = lzma.decompress(packed.read_bytes())
    read = station_readings(data, "2019-04-03 12:00", 180.0, near)
    assert len(read) >= 48
    assert {r.sun for r in read} == {None}
    assert all(np.isfinite(r.outside or np.nan) for r in read)
    with pytest.raises(InputError, match="the place of a house"):
        station_readings(data, "2019-04-03 12:00", 180.0)
