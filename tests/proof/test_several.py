"""What stands before a wall is painted out, and pictures of one wall are judged together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from proof.conftest import Case
from warmside.errors import InputError
from warmside.proof import (
    CAUSES,
    ENOUGH,
    Conditions,
    Faults,
    Lens,
    Look,
    Mark,
    Picture,
    Region,
    Stand,
    compare,
    corners_seen,
    fused,
    look,
    measured_wall,
    pictured,
)
from warmside.proof.file import MarkEntry, PictureEntry, WallEntry
from warmside.proof.measured import MeasuredWall
from warmside.proof.regions import FRINGE, painted_out

AIR = Conditions(room=21.0, outside=1.0)
STAND = Stand(x=2.1, z=1.2, distance=4.4, turned=15.0, lens=Lens(-0.08))
REAL = Faults(noise=0.1, drift=0.05, offset=1.2, blur=0.7)


def tall(case: Case) -> list[str]:
    return [b.name for b in case.frame.bays if b.kind == "stud bay" and b.rect.width > 0.3]


def box(stand: Stand, x0: float, z0: float, x1: float, z1: float) -> tuple[float, ...]:
    pixels = stand.view.pixels(np.array([x0, x0, x1, x1]), np.array([z0, z1, z0, z1]))
    (left, top), (right, bottom) = pixels.min(axis=0), pixels.max(axis=0)
    return float(left), float(top), float(right), float(bottom)


# --- painted out


def test_a_lamp_and_a_sofa_painted_out_condemn_no_bay(case: Case):
    # exact: the truth of the field; a lamp of 35 C before one sound bay, cool cloth before another
    names = tall(case)
    foam = {names[1]: 0.0}
    shot = pictured(
        case.surface(foam, AIR.room, AIR.outside), case.prediction, STAND, room=AIR.room,
        faults=REAL,
    )  # fmt: skip
    sound = [next(b.rect for b in case.frame.bays if b.name == names[n]) for n in (0, 3)]
    places = [(sound[0].x0, 1.3, sound[0].x1, 1.7), (sound[1].x0, 0.3, sound[1].x1, 0.9)]
    values, regions = shot.values.copy(), []
    for place, warmth, cause in zip(places, (35.0, 14.0), ("lamp", "furniture"), strict=True):
        left, top, right, bottom = box(STAND, *place)
        values[int(top) : int(bottom) + 1, int(left) : int(right) + 1] = warmth
        regions.append(Region(left, top, right, bottom, cause))
    marks = corners_seen(STAND, case.prediction, error=1.0)
    found = look(Picture(values), marks, case.prediction, AIR, lens=STAND.lens, regions=regions)
    proof = compare(found, case.prediction, AIR)
    assert {b.bay for b in proof.bays if b.seen in ("colder", "warmer")} == set(foam)
    assert any("lamp, furniture" in text for text in proof.remarks)
    # what is painted out is not looked at, and nothing else is lost
    bare = look(shot, marks, case.prediction, AIR, lens=STAND.lens)
    lost = bare.seen.sum() - found.seen.sum()
    area = sum((x1 - x0) * (z1 - z0) for x0, z0, x1, z1 in places)
    cell = float(case.prediction.x[1] - case.prediction.x[0]) ** 2
    assert area < lost * cell < 2.5 * area


def test_a_bay_that_is_hidden_wholly_is_not_judged(case: Case):
    name = tall(case)[0]
    bay = next(b.rect for b in case.frame.bays if b.name == name)
    shot = pictured(
        case.surface({}, AIR.room, AIR.outside), case.prediction, STAND, room=AIR.room, faults=REAL
    )
    region = Region(*box(STAND, bay.x0 - 0.02, bay.z0 - 0.02, bay.x1 + 0.02, bay.z1 + 0.02))
    marks = corners_seen(STAND, case.prediction)
    found = look(shot, marks, case.prediction, AIR, lens=STAND.lens, regions=[region])
    judged = compare(found, case.prediction, AIR).bay(name)
    assert judged.seen == "not seen"
    assert "painted out" in judged.why


def test_a_region_takes_its_fringe_in_pixels_of_the_file():
    # exact: a picture of which 2 x 2 pixels became one; regions are in the file's own
    picture = Picture(np.zeros((50, 60)), reduced=2)
    gone = np.isnan(painted_out(picture, [Region(20.0, 10.0, 40.0, 30.0, "radiator")]).values)
    rows, columns = np.nonzero(gone)
    wide = int(FRINGE)
    assert (rows.min(), rows.max()) == (5 - wide, 15 + wide)
    assert (columns.min(), columns.max()) == (10 - wide, 20 + wide)
    assert gone.sum() == (11 + 2 * wide) ** 2


@pytest.mark.parametrize(
    ("sides", "cause", "message"),
    [
        ((10.0, 5.0, 10.0, 9.0), "lamp", "left before right"),
        ((10.0, float("nan"), 20.0, 9.0), "lamp", "left before right"),
        ((10.0, 5.0, 20.0, 9.0), "dog", "radiator, lamp, furniture, reflection, other"),
        ((200.0, 5.0, 220.0, 9.0), "other", "within 60 columns and 50 rows"),
    ],
)
def test_regions_that_cannot_be_are_told(sides: tuple[float, ...], cause: str, message: str):
    with pytest.raises(InputError, match=message):
        painted_out(Picture(np.zeros((50, 60))), [Region(*sides, cause)])  # type: ignore[arg-type]
    assert len(CAUSES) == 5


def test_a_picture_whose_places_run_into_one_another_is_refused(case: Case):
    # own measure: by the benchmark's pictures of 120 to 160 columns, on which 8 to 12 % of sound
    # bays were condemned, a place of the picture must not take in more than a stud and its flanks
    coarse = replace(STAND, columns=100, rows=75)
    shot = pictured(
        case.surface({}, AIR.room, AIR.outside), case.prediction, coarse, room=AIR.room, faults=REAL
    )
    marks = corners_seen(coarse, case.prediction)
    with pytest.raises(InputError, match="several pictures that overlap"):
        look(shot, marks, case.prediction, AIR, lens=coarse.lens)
    nearer = replace(coarse, x=1.2, distance=2.0)
    assert nearer.view.footprint(1.2, 1.2) < 0.5 * coarse.view.footprint(2.1, 1.2)


# --- several pictures of one wall


LEFT = Stand(x=1.25, z=1.2, distance=2.9, turned=8.0)
RIGHT = Stand(x=2.95, z=1.2, distance=2.9, turned=-10.0)


def part(case: Case, foam: dict[str, float], stand: Stand, offset: float, seed: int) -> Look:
    """A picture of a part of the wall, placed by four places that are known on it."""
    shot = pictured(
        case.surface(foam, AIR.room, AIR.outside), case.prediction, stand, room=AIR.room,
        faults=replace(REAL, offset=offset), seed=seed,
    )  # fmt: skip
    marks = [Mark(m.column, m.row, m.x, m.z) for m in _marks(stand, seed)]
    return look(shot, marks, case.prediction, AIR, lens=stand.lens)


def test_two_pictures_give_each_bay_one_verdict_with_the_joint_doubt(case: Case):
    # exact: the truth of the field; two pictures with offsets 1.7 K apart, overlapping by a metre.
    # A bay that both show is known at least as well as by the better one, and every bay that one
    # shows is judged
    names = tall(case)
    foam = {names[1]: 0.0, names[-2]: 0.038}
    looks = [part(case, foam, LEFT, 1.2, 1), part(case, foam, RIGHT, -0.5, 2)]
    singles = [compare(one, case.prediction, AIR) for one in looks]
    both = compare(fused(looks, case.prediction, AIR), case.prediction, AIR)
    assert len({b.bay for b in both.bays}) == len(case.frame.bays)
    assert {b.bay for b in both.bays if b.seen in ("colder", "warmer")} == set(foam)
    twice = 0
    for bay in both.bays:
        each = [one.bay(bay.bay) for one in singles]
        seen = [b for b in each if b.thickness is not None]
        if seen:
            assert bay.thickness is not None
        elif bay.thickness is not None:  # two that tell too little may tell enough together
            chances = [b.chance for b in each if b.chance is not None]
            assert chances
            assert max(chances) < ENOUGH <= (bay.chance or 0.0)
        if len(seen) == 2 and bay.bay not in foam:
            twice += 1
            # how far a sound one may lie off what all share [K]: its deviation by how sure it is
            doubts = [b.deviation / b.sure for b in (bay, *seen) if b.deviation and b.sure]
            assert doubts[0] < 1.03 * min(doubts[1:])
    assert twice >= 2
    assert any("2 pictures are judged as one" in text for text in both.remarks)


def test_a_proof_file_joins_the_pictures_of_one_visit(case: Case):
    # exact: two parts of one wall and a picture of another night; the last stands for itself. A
    # pressure of nothing is a picture without the fan
    shots = {
        name: _csv(case, stand, seed)
        for name, stand, seed in (("left", LEFT, 1), ("right", RIGHT, 2), ("night", LEFT, 3))
    }
    taken = (("left", LEFT, 1.0, 0.0), ("right", RIGHT, 1.0, None), ("night", LEFT, 3.0, None))
    pictures = [
        PictureEntry(
            file=name, room=21.0, outside=outside, pressure=pressure, marks=_marks(stand, 0)
        )
        for name, stand, outside, pressure in taken
    ]
    entry = WallEntry(name=case.wall.name, picture=tuple(pictures))
    found = measured_wall(
        entry, case.option, case.wall, case.frame, case.catalog, shots.__getitem__
    )
    assert len(found.pictures) == 2
    assert "2 pictures are judged as one" in " ".join(found.pictures[0].remarks)
    assert not found.fan_pictures
    judged = [
        {b.bay for b in picture.bays if b.thickness is not None} for picture in found.pictures
    ]
    assert judged[1] < judged[0]


def _marks(stand: Stand, seed: int) -> tuple[MarkEntry, ...]:
    low, high = stand.x - 1.1, stand.x + 1.1
    places = np.array([(low, 0.2), (high, 0.2), (high, 2.2), (low, 2.2)])
    pixels = stand.view.pixels(places[:, 0], places[:, 1])
    pixels = pixels + np.random.default_rng(seed).standard_normal(pixels.shape)
    return tuple(
        MarkEntry(column=c, row=r, x=x, z=z)
        for (c, r), (x, z) in zip(pixels.tolist(), places.tolist(), strict=True)
    )


def _csv(case: Case, stand: Stand, seed: int) -> bytes:
    outside = 1.0 if seed < 3 else 3.0
    shot = pictured(
        case.surface({}, AIR.room, outside), case.prediction, stand, room=AIR.room, faults=REAL,
        seed=seed,
    )  # fmt: skip
    return "\n".join(",".join(f"{v:.3f}" for v in row) for row in shot.values).encode()


def test_pictures_are_moved_onto_each_other_by_what_both_show(case: Case):
    # exact: one surface seen twice, once 1.5 K too warm
    one = part(case, {}, LEFT, 0.0, 1)
    other = replace(one, surface=one.surface + 1.5)
    together = fused([one, other], case.prediction, AIR)
    assert_allclose(together.surface, one.surface, rtol=0.0, atol=1e-9)
    assert together.together == (one, other)
    assert fused([one], case.prediction, AIR) is one
    with pytest.raises(InputError, match="1 to 6"):
        fused([], case.prediction, AIR)


def test_a_picture_that_cannot_be_read_leaves_the_others_of_its_wall(case: Case):
    # exact: three pictures, the middle one no picture at all; what the other two show is judged,
    # and the lost one is named with its reason. Where none can be used all reasons are told
    shots = {"left": _csv(case, LEFT, 1), "torn": b"not a picture", "right": _csv(case, RIGHT, 2)}
    stands = {"left": LEFT, "torn": LEFT, "right": RIGHT}

    def entry(*names: str, pressure: float | None = None) -> WallEntry:
        pictures = [
            PictureEntry(file=name, room=21.0, outside=1.0, marks=_marks(stands[name], 0),
                         pressure=pressure if n else None)
            for n, name in enumerate(names)
        ]  # fmt: skip
        return WallEntry(name=case.wall.name, picture=tuple(pictures))

    def measured(some: WallEntry) -> MeasuredWall:
        return measured_wall(
            some, case.option, case.wall, case.frame, case.catalog, shots.__getitem__
        )

    found = measured(entry("left", "torn", "right"))
    assert "2 pictures are judged as one" in " ".join(found.pictures[0].remarks)
    assert [lost.file for lost in found.lost] == ["torn"]
    assert "allowed: " in found.lost[0].why
    whole = measured(entry("left", "right"))
    assert not whole.lost
    assert [b.thickness for b in found.pictures[0].bays] == [
        b.thickness for b in whole.pictures[0].bays
    ]
    with pytest.raises(InputError, match=r"(?s)picture 1 \(torn\).*picture 2 \(torn\)"):
        measured(entry("torn", "torn"))
    # a picture with the fan running says nothing without the one before the fan
    with pytest.raises(InputError, match="without the fan before it cannot be used"):
        measured(entry("torn", "left", pressure=50.0))
