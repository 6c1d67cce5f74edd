"""The takeoff of framed walls against sums made another way."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import pairwise

import pytest

from warmside.catalog import load
from warmside.estimate import (
    combine,
    cost_of_more,
    default_prices,
    foam_fills,
    price,
    takeoff,
)
from warmside.framing import Frame, frame_wall
from warmside.options import KINDS, Option, Quantity, apply, offered
from warmside.survey import AsFound, Box, Brace, FoundLayer, House, Opening, Wall
from warmside.units import BOARD_FOOT

CATALOG = load()
PRICES = default_prices()
HOUSE = House(name="test", climate="ottawa", year_built=1931, volume=400)
FOUND = AsFound(
    finish=(FoundLayer(material="plaster-on-wood-lath", thickness=0.022),),
    sheathing=(FoundLayer(material="board-sheathing", thickness=0.020),),
    paper="building-paper",
    cladding=FoundLayer(material="wood-bevel-siding", thickness=0.013),
)
WINDOW = Opening(name="w", left=1.5, sill=0.9, width=0.8, height=1.4, weight_pockets=True)
PLATFORM = Wall(
    name="platform", faces=0, frame="platform", length=5.0, height=2.5, found=FOUND,
    openings=(WINDOW,), boxes=(Box(x=0.6, z=0.3),),
    braces=(Brace(from_x=0.1, from_z=0.0, to_x=1.3, to_z=2.4),),
)  # fmt: skip
BALLOON = Wall(
    name="balloon", faces=90, frame="balloon", length=4.0, height=5.2, floor_line=2.6,
    found=FOUND, openings=(WINDOW,),
)  # fmt: skip
WALLS = [PLATFORM, BALLOON]


@cache
def framed(wall: Wall) -> Frame:
    return frame_wall(wall, HOUSE, CATALOG.lumber)


def amount(lines: tuple[Quantity, ...], group: str) -> float:
    return sum(line.amount for line in lines if line.group == group)


@pytest.mark.parametrize("wall", WALLS, ids=lambda wall: wall.name)
def test_full_depth_fills_every_bay(wall: Wall) -> None:
    # other method: the framing sums the volume of its bays, net of braces and ribbons
    frame = framed(wall)
    option = Option("full", "", KINDS["closed-cell"], "closed-cell", frame.depth)
    fills = foam_fills(apply(option, wall, frame, CATALOG))
    volume = sum(fill.board_feet for fill in fills) * BOARD_FOOT
    assert volume == pytest.approx(sum(bay.volume for bay in frame.bays), rel=1e-9, abs=0)


@pytest.mark.parametrize("wall", WALLS, ids=lambda wall: wall.name)
def test_bays_take_less_foam_than_the_area_of_the_wall(wall: Wall) -> None:
    # the framing's own share of wood: bays are what the wood leaves (other method)
    frame = framed(wall)
    lines = takeoff(apply(_closed(0.05), wall, frame, CATALOG), wall, CATALOG)
    of_wall = amount(lines, "foam_net") / (frame.net_area * 0.05 / BOARD_FOOT)
    assert of_wall == pytest.approx(1 - frame.framing_share, abs=0.03, rel=0)
    assert 0.5 < of_wall < 0.85


@pytest.mark.parametrize("wall", WALLS, ids=lambda wall: wall.name)
def test_sealant_is_the_metres_of_the_framing(wall: Wall) -> None:
    frame = framed(wall)
    lines = takeoff(apply(_closed(0.05), wall, frame, CATALOG), wall, CATALOG)
    metres = sum(joint.length for joint in frame.joints)
    assert amount(lines, "joint") == pytest.approx(metres, rel=1e-9, abs=0)


@pytest.mark.parametrize("wall", WALLS, ids=lambda wall: wall.name)
def test_every_usual_option_has_a_price_with_nothing_missing(wall: Wall) -> None:
    frame = framed(wall)
    for option in offered(wall, HOUSE, CATALOG):
        buildup = apply(option, wall, frame, CATALOG)
        lines = takeoff(buildup, wall, CATALOG)
        found = price(lines, PRICES)
        assert found.missing == ()
        assert (found.total > 0) == (option.kind.worked and buildup.can_be_built)
        keys = [(line.key, line.unit) for line in lines]
        assert len(keys) == len(set(keys))
        assert all(line.amount >= 0 and line.how and line.name for line in lines)


def test_each_further_half_inch_costs_more() -> None:
    frame = framed(PLATFORM)
    ladder = [
        price(takeoff(apply(_closed(t), PLATFORM, frame, CATALOG), PLATFORM, CATALOG), PRICES)
        for t in (0.0254, 0.0381, 0.0508, 0.0635, 0.0762)
    ]
    steps = [cost_of_more(less, more) for less, more in pairwise(ladder)]
    assert cost_of_more(ladder[1], ladder[0]) == -steps[0]
    # by hand from the file's rows, for a bay area A: A x 12.7 mm x 0.4238 board ft with 15-20 %
    # waste, each 1.25 + 0.007 h x 78, x 1.25 margin x 1.13 tax; 5 % for hours printed in hundredths
    area = sum(bay.rect.area for bay in frame.bays)
    least = area * 12.7 * 0.42378 * 1.15 * (1.25 + 0.007 * 78) * 1.25 * 1.13
    # a day of heat and its tending for 2000 board ft: 85 + 62; the step past 2 in adds a second
    # pass: half of the foam again at 0.0007 h x 62, and two people who wait 15 min at most
    heat = area * 12.7 * 0.42378 / 2000 * (85 + 62) * 1.25 * 1.13
    second = (area * 63.5 * 0.42378 * 0.5 * 0.0007 + 0.25 * 2) * 62 * 1.25 * 1.13
    for n, step in enumerate(steps):
        most = 1.05 * (least * 1.20 / 1.15 + heat) + (second if n == 2 else 0.01 * 62)
        # the more there is to spray, the less of the wait is idle
        assert 0.95 * least - (0.25 * 2 * 62 * 1.4125 if n == 3 else 0) < float(step) < most


def test_house_is_the_sum_of_its_walls() -> None:
    parts = []
    for wall in WALLS:
        buildup = apply(_closed(0.076), wall, framed(wall), CATALOG)
        parts.append(price(takeoff(buildup, wall, CATALOG), PRICES))
    plain = replace(PRICES, rows=tuple(row for row in PRICES.rows if row.kind != "fixed"))
    plain = replace(plain, minimum=Decimal(0))
    assert combine(parts, plain).total == sum((part.total for part in parts), Decimal(0))
    # once for the house: (650 + 350) x 1.25 x 1.13, from the file's own rows
    extra = combine(parts, PRICES).total - combine(parts, plain).total
    assert extra == Decimal("1412.50")


def _closed(thickness: float) -> Option:
    return Option("cc", "", KINDS["closed-cell"], "closed-cell", thickness, seal_joints=True)
