"""Thermal pictures: the way back from a camera whose truth is known, and pictures that are none."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from numpy.testing import assert_allclose
from PIL import Image
from scipy.ndimage import gaussian_filter

from proof.conftest import Case, build
from warmside.drawings.matrix import temperature_csv, temperature_tiff
from warmside.drawings.thermal import Thermal
from warmside.errors import InputError
from warmside.options import apply, as_built
from warmside.physics.conduction import ISO_FILMS, wall_field, wall_heat
from warmside.physics.thermography import Camera
from warmside.proof import (
    Conditions,
    Faults,
    Hints,
    Lens,
    Look,
    Mark,
    Picture,
    Stand,
    bay_foam,
    checked,
    compare,
    corners_seen,
    homography,
    look,
    pictured,
    read_matrix,
    read_toned,
    rules,
    view_of,
    weak,
)
from warmside.proof.estimate import estimated
from warmside.proof.past import FILM_DOUBT, FOAM_DOUBT, WOOD_DOUBT
from warmside.proof.prediction import conducting, resampled, usual_foam
from warmside.proof.smear import Smear
from warmside.survey import Wall

AIR = Conditions(room=21.0, outside=1.0)
STAND = Stand(x=2.1, z=1.2, distance=4.4, turned=30.0, lens=Lens(-0.08))
REAL = Faults(noise=0.1, drift=0.1, offset=1.2, blur=0.7)


def picture(case: Case, foam: dict[str, float], stand: Stand = STAND, seed: int = 1) -> Picture:
    surface = case.surface(foam, AIR.room, AIR.outside)
    return pictured(surface, case.prediction, stand, room=AIR.room, faults=REAL, seed=seed)


@pytest.fixture(scope="module")
def faulty(case: Case) -> tuple[Picture, dict[str, float]]:
    tall = [b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3]
    foam = {tall[1]: 0.0, tall[3]: 0.038}
    return picture(case, foam), foam


# --- geometry


def test_homography_of_a_pinhole_is_found_again():
    # other method: the projection of the pinhole camera itself, up to scale
    stand = replace(STAND, lens=Lens(), raised=10.0)
    places = np.array([(0.0, 0.0), (4.2, 0.0), (4.2, 2.44), (0.0, 2.44), (1.0, 2.0)])
    pixels = stand.view.pixels(places[:, 0], places[:, 1])
    matrix = homography(places, pixels)
    expected = stand.view.matrix / stand.view.matrix[2, 2]
    assert_allclose(matrix, expected, rtol=1e-8, atol=1e-8)


def test_lens_is_undone():
    # exact: the way there and back
    places = np.random.default_rng(0).uniform(0, 240, (50, 2))
    lens = Lens(-0.2, 0.03)
    assert_allclose(
        lens.straight(lens.distorted(places, (240, 320)), (240, 320)), places, atol=1e-6, rtol=0
    )


def off_the_wall(found: Look, stand: Stand) -> float:
    """Root mean square of the way from where places are to where they were found [m]."""
    x, z = (g.ravel() for g in np.meshgrid(np.linspace(0.1, 4.1, 9), np.linspace(0.1, 2.3, 5)))
    off = found.view.places(stand.view.pixels(x, z)) - np.stack([x, z], axis=-1)
    return float(np.sqrt((off**2).sum(axis=-1).mean()))


@pytest.mark.parametrize("turned", [-30.0, 30.0])
def test_marks_without_error_are_exact(case: Case, turned: float):
    # exact: marks of the pinhole itself; the picture does not matter to the geometry
    stand = replace(STAND, turned=turned)
    marks = corners_seen(stand, case.prediction)
    view = view_of(marks, (stand.rows, stand.columns), stand.lens)
    x, z = (g.ravel() for g in np.meshgrid(np.linspace(0.1, 4.1, 9), np.linspace(0.1, 2.3, 5)))
    back = view.places(stand.view.pixels(x, z))
    assert_allclose(back, np.stack([x, z], axis=-1), atol=1e-6, rtol=0)


@pytest.mark.parametrize("known", [True, False], ids=["lens known", "lens found"])
@pytest.mark.parametrize(("turned", "k1"), [(-30.0, -0.08), (30.0, 0.04)])
def test_rectified_within_5_mm_at_30_degrees(case: Case, turned: float, k1: float, known: bool):
    # exact: where the synthetic camera really looked, with noise, drift, blur, lens, and marks off
    # by 1.5 pixels, some 30 mm on this wall
    stand = replace(STAND, turned=turned, raised=4.0, lens=Lens(k1))
    lens = stand.lens if known else None
    for seed in (1, 2):
        shot = picture(case, {}, stand, seed)
        marks = corners_seen(stand, case.prediction, error=1.5, seed=seed)
        as_marked = look(shot, marks, case.prediction, AIR, lens=stand.lens, refine=False)
        found = look(shot, marks, case.prediction, AIR, lens=lens)
        assert off_the_wall(as_marked, stand) > 0.012
        assert off_the_wall(found, stand) < 0.005
        # the doubt that it tells of itself is neither idle nor beaten by what it is off
        assert 0.002 < found.misplaced < 0.005
        assert off_the_wall(found, stand) < 2.5 * found.misplaced
        assert found.view.lens.k1 == pytest.approx(k1, abs=0.015)


# --- the way back


def test_missing_and_half_bays_are_found_and_the_rest_is_not(
    case: Case, faulty: tuple[Picture, dict[str, float]]
):
    # exact: the truth put into the field; the band is 90 % wide, so one bay in ten may lie outside
    shot, foam = faulty
    marks = corners_seen(STAND, case.prediction, error=1.0)
    found = look(shot, marks, case.prediction, AIR, lens=STAND.lens)
    proof = compare(found, case.prediction, AIR)
    told = {bay.bay for bay in proof.bays if bay.seen == "colder"}
    assert told == set(foam)
    inside = [
        b.low - 1e-3 <= foam.get(b.bay, case.option.thickness) <= b.high + 1e-3
        for b in proof.bays
        if b.thickness is not None
    ]
    assert np.mean(inside) > 0.75
    empty, half = (proof.bay(name) for name in foam)
    assert empty.causes[0].kind == "missing foam"
    assert half.causes[0].kind == "thin foam"
    assert empty.thickness == pytest.approx(0.0, abs=0.005)
    assert half.thickness == pytest.approx(0.038, abs=0.015)
    # the camera read 1.2 K too much at emissivity 1, 1.2 / 0.9 at that of the surface
    assert proof.offset == pytest.approx(1.2 / 0.9, abs=0.2)


def test_no_picture_credits_more_than_was_sold_or_probed(
    case: Case, faulty: tuple[Picture, dict[str, float]]
):
    # exact: a bay that looks warm, by a pipe or by warm air, holds no more than was paid for
    shot, foam = faulty
    found = look(shot, corners_seen(STAND, case.prediction), case.prediction, AIR, lens=STAND.lens)
    proof = compare(found, case.prediction, AIR)
    seen = [b for b in proof.bays if b.thickness is not None]
    warm = [replace(b, seen="warmer", thickness=0.0889) for b in seen]
    sold = case.option.thickness
    bays = bay_foam(case.frame, sold, {}, [replace(proof, bays=tuple(warm))])
    assert max(b.thickness for b in bays) == pytest.approx(sold, abs=1e-9)
    probed = {b.bay: 0.0508 for b in seen[:3]}
    bays = bay_foam(case.frame, sold, probed, [replace(proof, bays=tuple(warm))])
    assert max(b.thickness for b in bays) == pytest.approx(0.0508, abs=1e-9)
    # the other way round it may take away
    bays = bay_foam(case.frame, sold, {}, [proof])
    assert {b.bay: b.thickness for b in bays}[min(foam, key=foam.__getitem__)] < 0.01


def test_an_offset_makes_no_bay_colder(case: Case):
    # exact: the planned wall; a camera 2 K off is still within its specification
    surface = case.surface({}, AIR.room, AIR.outside)
    for offset in (-2.0, 2.0):
        shot = pictured(
            surface, case.prediction, STAND, room=AIR.room, faults=replace(REAL, offset=offset)
        )
        marks = corners_seen(STAND, case.prediction)
        proof = compare(
            look(shot, marks, case.prediction, AIR, lens=STAND.lens), case.prediction, AIR
        )
        assert {b.seen for b in proof.bays} <= {"as predicted", "not seen"}
        assert proof.whole_wall == "as predicted"


def test_a_wall_without_any_foam_is_told_as_a_whole(case: Case):
    # exact: no bay holds foam; studs are then warmer than bays, the pattern is turned inside out
    shot = picture(case, {bay.name: 0.0 for bay in case.frame.bays})
    marks = corners_seen(STAND, case.prediction)
    proof = compare(look(shot, marks, case.prediction, AIR, lens=STAND.lens), case.prediction, AIR)
    assert proof.whole_wall == "colder"
    assert {b.seen for b in proof.bays if b.thickness is not None} == {"colder"}


@pytest.mark.parametrize("gradient", [0.5, 1.0])
def test_air_warmer_towards_the_ceiling_condemns_no_bay(case: Case, gradient: float):
    # exact: room air that rises by so many kelvin a metre, and a lens that darkens its corners; the
    # surface follows the air beside it by its own factor. 0.5 to 1 K/m is ordinary in a heated old
    # house (common practice, no source)
    p = case.prediction
    tall = [b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3]
    foam = {tall[1]: 0.0, tall[3]: 0.038}
    factor = (case.surface(foam, AIR.room, AIR.outside) - AIR.outside) / AIR.difference
    surface = AIR.outside + factor * (
        AIR.difference + gradient * (p.z - case.frame.height / 2.0)[:, None]
    )
    shot = pictured(surface, p, STAND, room=AIR.room, faults=replace(REAL, drift=0.03))
    u, v = np.meshgrid(np.linspace(-1, 1, 320), np.linspace(-1, 1, 240))
    shot = Picture(shot.values + 0.3 * (u**2 + v**2) / 2.0)
    found = look(shot, corners_seen(STAND, p), p, AIR, lens=STAND.lens)
    proof = compare(found, p, AIR)
    assert {b.bay for b in proof.bays if b.seen in ("colder", "warmer")} == set(foam)
    assert proof.whole_wall == "as predicted"


@pytest.mark.parametrize(("first", "seed"), [(0, 0), (0, 3), (2, 1), (2, 3)])
def test_two_empty_bays_beside_each_other_do_not_condemn_the_rest(
    case: Case, first: int, seed: int
):
    # exact: two bays hold nothing and the rest is as planned, at 10 K; the many are not taken for
    # cold because the few were taken for sound
    outside = 11.0
    tall = [b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3]
    foam = dict.fromkeys(tall[first : first + 2], 0.0)
    surface = case.surface(foam, AIR.room, outside)
    shot = pictured(surface, case.prediction, STAND, room=AIR.room, faults=REAL, seed=seed)
    told = Conditions(room=20.4, outside=11.7)
    marks = corners_seen(STAND, case.prediction)
    proof = compare(
        look(shot, marks, case.prediction, told, lens=STAND.lens), case.prediction, told
    )
    assert proof.whole_wall == "as predicted"
    assert {name: proof.bay(name).seen for name in foam} == dict.fromkeys(foam, "colder")
    full = [b for b in proof.bays if b.seen != "not seen" and b.bay not in foam]
    assert sum(b.seen == "as predicted" for b in full) >= len(full) - 2


def test_summer_turns_the_signs(case: Case):
    # exact: outside warmer than the room; missing foam then shows warm
    air = Conditions(room=20.0, outside=38.0)
    name = next(b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3)
    surface = case.surface({name: 0.0}, air.room, air.outside)
    shot = pictured(surface, case.prediction, STAND, room=air.room, faults=REAL)
    marks = corners_seen(STAND, case.prediction)
    proof = compare(look(shot, marks, case.prediction, air, lens=STAND.lens), case.prediction, air)
    assert proof.bay(name).seen == "warmer"
    assert proof.bay(name).causes[0].kind == "missing foam"
    assert sum(b.seen in ("colder", "warmer") for b in proof.bays) == 1


def test_probed_bays_tell_the_offset_better_than_wood(case: Case):
    # a probe is good to 3 mm (common practice); wood conducts 10 % more or less than its table
    surface = case.surface({}, AIR.room, AIR.outside)
    shot = pictured(surface, case.prediction, STAND, room=AIR.room, faults=REAL)
    marks = corners_seen(STAND, case.prediction)
    found = look(shot, marks, case.prediction, AIR, lens=STAND.lens)
    known = {b.name: case.option.thickness for b in case.frame.bays if b.rect.width > 0.3}
    bare, probed = (compare(found, case.prediction, AIR, known=k) for k in ({}, known))
    width = [np.mean([b.high - b.low for b in p.bays if b.low is not None]) for p in (bare, probed)]
    assert width[1] < 0.95 * width[0]


def test_the_doubt_that_bays_share_is_what_wood_film_and_foam_do(case: Case):
    # other method: the field solved anew with wood, foam and film off, against what is told of it;
    # the empty bay feels film the other way round than the full ones
    empty = next(b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3)
    air = Conditions(room=21.0, outside=1.0, room_doubt=0.0, outside_doubt=0.0)
    foam = {empty: 0.0}
    built = usual_foam(
        as_built(case.option, case.wall, case.frame, case.catalog, foam), case.catalog
    )
    off = replace(ISO_FILMS, inside=(1.0 + FILM_DOUBT) * ISO_FILMS.inside)
    wooden = conducting(built, 1.0 + WOOD_DOUBT, "wood")
    foamed = conducting(built, 1.0 + FOAM_DOUBT, "foam")
    cases = [(built, ISO_FILMS), (wooden, ISO_FILMS), (foamed, ISO_FILMS), (built, off)]
    found = []
    for build_up, films in cases:
        heat = wall_heat(wall_field(build_up.assembly, films=films, cells=120_000, tolerance=1e-6))
        factor = resampled(heat, case.prediction.x, case.prediction.z)
        surface = np.where(case.prediction.seen, 1.0 + 20.0 * factor, np.nan)
        found.append(estimated(surface, case.prediction, air))
    bays = [j for j, b in enumerate(case.frame.bays) if b.rect.width > 0.3]
    each = np.array([e.temperature[bays] - found[0].temperature[bays] for e in found[1:]])
    ratio = found[0].shared[bays] / np.linalg.norm(each, axis=0)
    # emissivity is told too, and heat that spreads within the board softens what the film does
    assert ratio.min() > 0.9
    assert ratio.max() < 1.5
    full = [j for j in bays if case.frame.bays[j].name != empty]
    one = case.frame.bays.index(next(b for b in case.frame.bays if b.name == empty))
    assert found[0].shared[one] > found[0].shared[full].max()


@pytest.mark.parametrize(("real", "within"), [(0.05, 0.009), (0.06, 0.005), (0.07, 0.004),
                                              (0.085, 0.004)])  # fmt: skip
def test_foam_off_everywhere_alike_is_told_as_it_is(case: Case, real: float, within: float):
    # exact: all bays hold the same, and the camera adds nothing but an offset. Thinner foam leaves
    # bays colder and warms the wood that they are read against; how much it does is told about the
    # foam planned, so that what is far off it is told less well
    foam = dict.fromkeys((b.name for b in case.frame.bays), real)
    surface = case.surface(foam, AIR.room, AIR.outside)
    shot = pictured(
        surface, case.prediction, replace(STAND, turned=10.0, lens=Lens()), room=AIR.room,
        faults=Faults(offset=0.7), seed=1,
    )  # fmt: skip
    marks = corners_seen(replace(STAND, turned=10.0, lens=Lens()), case.prediction)
    air = Conditions(room=21.0, outside=1.0, hours_room_held=48.0, hours_without_sun=24.0,
                     outside_swing=2.0)  # fmt: skip
    proof = compare(look(shot, marks, case.prediction, air), case.prediction, air)
    told = [b.thickness for b in proof.bays if b.thickness is not None]
    assert len(told) >= 5
    assert_allclose(np.median(told), real, rtol=0.0, atol=within)


@pytest.mark.parametrize("spot", [0.0, 0.02], ids=["sharp", "blurred"])
def test_neither_noise_nor_blur_draws_foam_off_a_bay(case: Case, spot: float):
    # exact: the prediction itself is looked at, with noise as likely too warm as too cold. A median
    # of the picture against one of the prediction would miss 2 to 4 mm of every full bay: a core is
    # flat in its middle and colder towards the wood
    p, rng = case.prediction, np.random.default_rng(0)
    for share in (0.5, 1.0):
        foam = share * p.planned
        truth = AIR.outside + AIR.difference * p.at(foam)
        truth = gaussian_filter(truth, spot / float(p.x[1] - p.x[0])) if spot else truth
        errors = []
        for _ in range(8):
            noisy = np.where(p.seen, truth + 0.1 * rng.standard_normal(truth.shape), np.nan)
            errors.append(estimated(noisy, p, AIR, smear=Smear.even(spot, p)).thickness - foam)
        wide = [b.rect.width > 0.3 for b in case.frame.bays]
        # 64 bays of some 400 places each: their median is good to 0.2 mm
        assert np.nanmedian(np.array(errors)[:, wide]) == pytest.approx(0.0, abs=6e-4)


@pytest.mark.parametrize("spot", [0.0, 0.02, 0.04])
@pytest.mark.parametrize("share", [0.3, 0.5, 0.8])
def test_a_picture_without_noise_gives_back_its_foam(case: Case, share: float, spot: float):
    # exact: what is looked at is the prediction itself, so that its own foam leaves no misfit
    p = case.prediction
    truth = AIR.outside + AIR.difference * p.at(share * p.planned)
    truth = gaussian_filter(truth, spot / float(p.x[1] - p.x[0])) if spot else truth
    found = estimated(np.where(p.seen, truth, np.nan), p, AIR, smear=Smear.even(spot, p)).thickness
    assert_allclose(found[np.isfinite(found)], (share * p.planned)[np.isfinite(found)], atol=3e-4)


def test_a_prediction_is_as_good_as_one_on_many_more_cells(case: Case):
    # other method: six times the cells; 0.006 K are a millimetre of foam. Through 120 000 cells,
    # read off by chords, bays lay 0.02 K off against studs
    p = case.prediction
    built = usual_foam(apply(case.option, case.wall, case.frame, case.catalog), case.catalog)
    fine = resampled(
        wall_heat(wall_field(built.assembly, cells=1_800_000, tolerance=1e-6)), p.x, p.z
    )
    spot = 0.02 / float(p.x[1] - p.x[0])  # [pixel] no camera sees sharper

    def bay_against_stud(factor: np.ndarray) -> float:
        seen = AIR.difference * gaussian_filter(factor.astype(float), spot)
        return float(np.median(seen[p.core]) - np.median(seen[p.reference]))

    assert bay_against_stud(p.at(p.planned)) == pytest.approx(bay_against_stud(fine), abs=0.004)


def test_foam_is_as_usual_or_as_a_better_row_of_its_own(case: Case):
    # by hand: an inch is 0.0277 W/(m K), the middle of data sheets 0.0242; a maker's row of
    # an inch, 0.0212, is better than that and stays
    foams = case.catalog.foams
    better = replace(foams["closed-cell"], conductivity_by_thickness=((0.05, 0.0212),))
    own = replace(case.catalog, foams={**foams, "closed-cell": better})
    for catalog, row, told in ((case.catalog, 0.0277, 0.0242), (own, 0.0212, 0.0212)):
        built = apply(case.option, case.wall, case.frame, catalog)
        for build_up, k in ((built, row), (usual_foam(built, catalog), told)):
            found = [y.conductivity for s in build_up.stacks for y in s.layers if y.role == "foam"]
            assert found
            assert_allclose(found, k, rtol=0.004, atol=0.0)


def test_a_leaking_reading_counts_among_the_causes(case: Case, faulty: tuple[Picture, dict]):
    shot, foam = faulty
    name = next(iter(foam))
    rect = next(b.rect for b in case.frame.bays if b.name == name)
    place = (rect.x0 + 0.1, rect.z0 + 0.5)
    marks = corners_seen(STAND, case.prediction)
    found = look(shot, marks, case.prediction, AIR, lens=STAND.lens)
    hints = Hints(moisture=((*place, 0.30),), leaks=(place,))
    kinds = {
        c.kind: c.weight for c in compare(found, case.prediction, AIR, hints=hints).bay(name).causes
    }
    assert sum(kinds.values()) == pytest.approx(1.0, abs=1e-9)
    assert kinds["air leak"] > 0.3
    assert kinds["wet"] > 0.1


# --- round trip with the drawings' matrices


@pytest.mark.parametrize("form", ["csv", "tiff"])
def test_round_trip_of_a_predicted_picture(case: Case, form: str):
    # other method: an image as the study exports it, of the usual foam, read back as a camera's
    # matrix
    heat = wall_heat(
        wall_field(
            usual_foam(
                apply(case.option, case.wall, case.frame, case.catalog), case.catalog
            ).assembly,
            cells=150_000,
        )
    )
    thermal = Thermal(heat.x, heat.z, heat.temperature(21.0, 1.0), heat.seen)
    data = temperature_csv(thermal).encode() if form == "csv" else temperature_tiff(thermal)
    shot = read_matrix(data)
    rows, columns = shot.shape
    wide, high = case.frame.length, case.frame.height
    marks = [
        Mark(-0.5, rows - 0.5, 0.0, 0.0),
        Mark(columns - 0.5, rows - 0.5, wide, 0.0),
        Mark(columns - 0.5, -0.5, wide, high),
        Mark(-0.5, -0.5, 0.0, high),
    ]
    found = look(shot, marks, case.prediction, AIR, camera=Camera(emissivity=1.0), refine=False)
    proof = compare(found, case.prediction, AIR, Camera(emissivity=1.0))
    deviation = [b.deviation for b in proof.bays if b.deviation is not None]
    assert_allclose(deviation, 0.0, atol=0.03)
    assert {b.seen for b in proof.bays} <= {"as predicted", "not seen"}
    middle = proof.difference[case.prediction.core]
    assert abs(np.nanmedian(middle)) < 0.03


# --- what is no picture of this wall


def told(case: Case, shot: Picture, **more: object) -> str:
    with pytest.raises(InputError) as error:
        look(shot, corners_seen(STAND, case.prediction), case.prediction, AIR, **more)  # type: ignore[arg-type]
    return str(error.value)


def test_a_picture_of_nothing(case: Case):
    noise = 20.0 + 0.1 * np.random.default_rng(0).standard_normal((240, 320))
    assert "no framing of this wall" in told(case, Picture(noise))


def test_a_wrong_wall(case: Case):
    other = build(
        Wall(
            name="other", year_built=1955, faces=0, frame="platform", length=4.2, height=2.44,
            spacing=0.6, layout_from="right",
            found=case.wall.found,
        )
    )  # fmt: skip
    shot = pictured(
        other.surface({}, AIR.room, AIR.outside), other.prediction, STAND, room=AIR.room,
        faults=REAL,
    )  # fmt: skip
    assert "no framing of this wall" in told(case, shot, lens=STAND.lens)


def test_upside_down(case: Case):
    stand = replace(STAND, turned=0.0, z=case.frame.height / 2)
    shot = picture(case, {}, stand)
    turned = Picture(np.ascontiguousarray(shot.values[::-1, ::-1]))
    with pytest.raises(InputError, match="upside down"):
        look(turned, corners_seen(stand, case.prediction), case.prediction, AIR, lens=stand.lens)


@pytest.mark.parametrize(("studs", "side"), [(-1, "right"), (1, "left")])
def test_marks_a_whole_stud_off_are_refused(
    case: Case, faulty: tuple[Picture, dict], studs: int, side: str
):
    # exact: the corners marked one spacing beside where they are; studs then lie on studs
    off = studs * case.wall.spacing
    right = corners_seen(STAND, case.prediction)
    places = np.array([(m.x + off, m.z) for m in right])
    pixels = STAND.view.pixels(places[:, 0], places[:, 1])
    marks = [replace(m, column=c, row=r) for m, (c, r) in zip(right, pixels.tolist(), strict=True)]
    said = f"{1e3 * case.wall.spacing:.0f} mm farther {side}"
    with pytest.raises(InputError, match=said):
        look(faulty[0], marks, case.prediction, AIR, lens=STAND.lens)


def test_mirrored_marks_are_refused(case: Case, faulty: tuple[Picture, dict]):
    marks = corners_seen(STAND, case.prediction)
    crossed = [replace(m, x=case.frame.length - m.x) for m in marks]
    with pytest.raises(InputError, match="another order"):
        look(faulty[0], crossed, case.prediction, AIR)


def test_marks_on_one_line_and_too_few():
    line = [Mark(10.0 * k, 20.0, float(k), 0.0) for k in range(4)]
    with pytest.raises(InputError, match="on one line"):
        view_of(line, (240, 320))
    with pytest.raises(InputError, match="3 marks"):
        view_of(line[:3], (240, 320))
    with pytest.raises(InputError, match="not numbers"):
        view_of([*line[:3], Mark(float("nan"), 0.0, 1.0, 1.0)], (240, 320))


@pytest.mark.parametrize(
    ("values", "message"),
    [
        (np.full((240, 320), 68.0) + np.eye(240, 320), "Fahrenheit"),
        (np.full((240, 320), 294.0) + np.eye(240, 320), "kelvin"),
        (np.full((240, 320), 29_400.0) + np.eye(240, 320), "counts"),
        (np.full((240, 320), np.nan), "empty"),
        (np.full((240, 320), 20.0), "everywhere"),
        (np.full((4, 4), 20.0), "16 rows"),
        (np.where(np.eye(240, 320) > 0, np.inf, 20.0), "without end"),
    ],
)
def test_numbers_that_are_no_picture(values: np.ndarray, message: str):
    rows = "\n".join(",".join(f"{v:g}" for v in row) for row in values)
    with pytest.raises(InputError, match=message):
        read_matrix(rows.encode())


def test_fahrenheit_and_kelvin_are_read_when_said():
    # exact: 68 F = 20 C = 293.15 K
    values = np.linspace(18.0, 22.0, 400).reshape(20, 20)
    for unit, said in (("F", values * 1.8 + 32.0), ("K", values + 273.15)):
        text = "\n".join(";".join(f"{v:.4f}".replace(".", ",") for v in row) for row in said)
        found = read_matrix(text.encode(), unit)  # type: ignore[arg-type]
        assert_allclose(found.values, values, atol=1e-3, rtol=0)


def test_large_pictures_are_averaged_and_larger_ones_refused():
    values = np.random.default_rng(0).normal(20.0, 1.0, (3000, 4000)).astype(np.float32)
    buffer = io.BytesIO()
    tifffile.imwrite(buffer, values)
    found = read_matrix(buffer.getvalue())
    assert found.reduced == 3
    assert found.shape == (1000, 1333)
    # exact: a mean of nine
    assert found.values[0, 0] == pytest.approx(float(values[:3, :3].mean()), abs=1e-4)
    buffer = io.BytesIO()
    tifffile.imwrite(buffer, np.zeros((5000, 5000), np.uint8))
    with pytest.raises(InputError, match="up to 20 million pixels"):
        read_matrix(buffer.getvalue(), gain=0.1)


def test_marks_follow_a_picture_that_was_reduced(case: Case, monkeypatch: pytest.MonkeyPatch):
    # exact: the same place of the wall, in pixels twice as fine. The wall stands on twice as many
    # cells as the prediction: on half as many its studs are 0.015 K off, and the view by 0.34 pixel
    monkeypatch.setattr("warmside.proof.picture.KEPT_PIXELS", 320 * 240)
    fine = replace(STAND, columns=640, rows=480, lens=Lens())
    surface = case.surface({}, AIR.room, AIR.outside, cells=600_000)
    shot = pictured(surface, case.prediction, fine, room=AIR.room)
    small = checked(shot.values)
    assert small.reduced == 2
    found = look(small, corners_seen(fine, case.prediction), case.prediction, AIR)
    x, z = np.array([0.5, 3.5]), np.array([0.3, 2.0])
    expected = (fine.view.pixels(x, z) + 0.5) / 2 - 0.5
    assert_allclose(found.view.pixels(x, z), expected, atol=0.3, rtol=0)


def test_16_bit_counts_with_scale():
    # exact: hundredths of a kelvin
    values = np.linspace(18.0, 22.0, 400).reshape(20, 20)
    counts = np.round((values + 273.15) * 100.0).astype(np.uint16)
    buffer = io.BytesIO()
    tifffile.imwrite(buffer, counts)
    found = read_matrix(buffer.getvalue(), unit="K", gain=0.01)
    assert_allclose(found.values, values, atol=0.006, rtol=0)
    with pytest.raises(InputError, match="without a scale"):
        read_matrix(buffer.getvalue())


def test_toned_picture_by_its_scale():
    # exact: black is the coldest, white the warmest
    tones = np.tile(np.arange(0, 256, 4, dtype=np.uint8), (32, 1))
    buffer = io.BytesIO()
    Image.fromarray(tones, "L").save(buffer, "PNG")
    found = read_toned(buffer.getvalue(), 10.0, 20.2)
    assert_allclose(found.values[0], 10.0 + tones[0] * 10.2 / 255.0, atol=1e-9, rtol=0)
    assert found.quantum == pytest.approx(0.04, abs=1e-9)
    with pytest.raises(InputError, match="colder temperature first"):
        read_toned(buffer.getvalue(), 20.0, 10.0)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "empty file"),
        (b"\x89PNG\r\n\x1a\n" + b"0" * 40, "give its scale"),
        (b"II*\0" + b"\xff" * 40, "broken TIFF"),
        (b"\x00\xff\xfe\x80" * 20, "neither text nor TIFF"),
        (b"1,2,3\n4,5\n6\n", "unequal"),
        (b"1,2,x\n4,5,6\n", "a number"),
    ],
)
def test_files_that_are_no_matrix(data: bytes, message: str):
    with pytest.raises(InputError, match=message):
        read_matrix(data)


@pytest.mark.parametrize("data", [b"", b"not a picture", b"\x89PNG\r\n\x1a\n\x00"])
def test_files_that_are_no_picture(data: bytes):
    with pytest.raises(InputError, match="no picture"):
        read_toned(data, 10.0, 20.0)


# --- conditions


def test_conditions_are_held_against_published_ones():
    # published: 10 K, 5 m/s, 12 h dry (UK practice to BS EN 13187); from memory: ASTM C1060
    good = Conditions(
        room=21, outside=5, wind=3, hours_without_sun=4, hours_dry=20, hours_steady=8,
        hours_room_held=20, outside_swing=2, camera_on=20,
    )  # fmt: skip
    assert all(rule.met for rule in rules(good))
    assert not weak(rules(good))
    for change in (
        {"outside": 12.0}, {"wind": 6.0}, {"hours_without_sun": 1.0}, {"hours_dry": 3.0},
        {"camera_on": 2.0}, {"outside_swing": 8.0}, {"hours_steady": 1.0},
        {"hours_room_held": 2.0},
    ):  # fmt: skip
        found = rules(replace(good, **change))
        assert sum(rule.met is False for rule in found) == 1
    assert weak(rules(replace(good, hours_without_sun=5.0), masonry_outside=True))
    # what was not noted was not met
    for name in ("wind", "hours_without_sun", "hours_dry", "hours_steady", "hours_room_held",
                 "outside_swing"):  # fmt: skip
        assert weak(rules(replace(good, **{name: None})))


def test_no_difference_no_answer():
    with pytest.raises(InputError, match=r"1\.0 K between room and outside"):
        Conditions(room=21, outside=20)
    with pytest.raises(InputError, match="wind"):
        Conditions(room=21, outside=0, wind=float("nan"))
