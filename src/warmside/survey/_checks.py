"""What must hang together between the fields of a survey, each problem told at its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from warmside.survey._models import (
    AsFound,
    FanTest,
    Hazard,
    House,
    HousePart,
    Opening,
    Survey,
    Wall,
)
from warmside.survey._problems import Problem, problems
from warmside.units import show

_SLACK = 1e-6  # [m] a length typed in sixteenths may miss its neighbour by rounding


LEAST_POINTS = 3  # of a line with a doubt of its own


@problems.register
def fan_test(test: FanTest) -> Iterator[Problem]:
    """Either the flow at 50 Pa or the points."""
    if (test.flow_50 is None) == (not test.points):
        read = "neither flow_50 nor point" if test.flow_50 is None else "both flow_50 and point"
        yield Problem(("flow_50",), read, 'either flow_50 = "3200 CFM50", or [[...point]] tables')
    if test.opposite and min(len(test.points), len(test.opposite)) < LEAST_POINTS:
        read = f"{len(test.points)} and {len(test.opposite)}"
        yield Problem(("opposite",), read, f"{LEAST_POINTS} points or more each way, or none")
    given = {"opposite", "zero_flow"} & test.model_fields_set
    if test.flow_50 is not None and any(getattr(test, name) for name in given):
        yield Problem(
            (sorted(given)[0],), "beside flow_50", "only with points: a flow at 50 Pa has them in"
        )


@problems.register
def house(house: House) -> Iterator[Problem]:
    """Humidity is measured or follows from what people give off, not both."""
    if house.indoor_humidity is not None and house.moisture_production is not None:
        yield Problem(
            ("indoor_humidity",),
            "both indoor_humidity and moisture_production",
            "one of them, or neither",
        )
    if house.moisture_production is not None:
        yield from _production(house, house.moisture_production)
    yield from _bills(house)


@problems.register
def house_part(part: HousePart) -> Iterator[Problem]:
    """What is offered has a price and makes something better."""
    offered = part.better is not None or part.seals > 0.0
    if part.below_ground is not None and part.kind != "basement":
        yield Problem(("below_ground",), None, "left out: only a basement stands in the ground")
    if part.price is None and offered:
        yield Problem(("price",), "nothing", "the price of what is offered, taxes included")
    if part.price is not None and not offered:
        yield Problem(("better",), "nothing", 'what the price buys: better = "R-50" or seals')
    if part.better is not None and part.better <= part.resistance:
        yield Problem(("better",), None, "more than the resistance as found")


BILLED_DAYS = 330  # least days of bills that speak of a year
MOST_DAYS = 400  # that one bill covers


def _bills(house: House) -> Iterator[Problem]:
    """Bills follow one another, cover a year before the work, and stand in a year's place."""
    if not house.bills:
        return
    if house.heating.yearly_use is not None:
        read = "both yearly_use and [[house.bill]]"
        yield Problem(("heating", "yearly_use"), read, "one of them: bills say more")
    last = None
    for number, bill in sorted(enumerate(house.bills), key=lambda pair: pair[1].begins):
        if not 1 <= bill.days <= MOST_DAYS:
            yield Problem(("bill", number, "ends"), None, f"1 to {MOST_DAYS} days after it begins")
        elif last is not None and bill.begins < last:
            allowed = f"{last} or later, the day the bill before it ends"
            yield Problem(("bill", number, "begins"), None, allowed)
        last = max(bill.ends, last or bill.ends)
    covered = sum(max(bill.days, 0) for bill in house.bills_before)
    if covered < BILLED_DAYS:
        read = f"{covered} days of bills before the work"
        yield Problem(("bill",), read, f"at least {BILLED_DAYS} days: twelve months or twenty-four")


# Water that a house gives off a day [kg]: the bounds of what is believed, the most without a
# reason, and the usual a head, which makes the 8 to 15 kg of a family of four. Source: Angell,
# Moisture sources, University of Minnesota Extension 1988, and building handbooks (second-hand).
LEAST_WATER, MOST_WATER, WATER_WITHOUT_REASON = 0.5, 40.0, 15.0
WATER_A_HEAD = (2.0, 3.0, 3.75)


def believed_water(house: House) -> tuple[float, float]:
    """Least and most water that the house is believed to give off a day [kg]."""
    if house.moisture_reason:
        return LEAST_WATER, MOST_WATER
    usual = min(WATER_A_HEAD[2] * house.people, MOST_WATER)
    return LEAST_WATER, max(WATER_WITHOUT_REASON, usual)


def usual_water(people: int) -> str:
    """What is usual, for the person who decides."""
    low, high = WATER_A_HEAD[0] * people, WATER_A_HEAD[2] * people
    said = f": {low:.0f} to {high:.0f} kg for {people}" if people else ""
    return f"usual is 8 to 15 kg a day for a family of four, 2 to 4 kg a head{said}"


def _production(house: House, production: float) -> Iterator[Problem]:
    """A release of water that no house has, or that needs a reason."""
    a_day = production * 86_400.0
    least, most = believed_water(house)
    reason = "" if house.moisture_reason else f", up to {MOST_WATER:g} kg with a moisture_reason"
    if not least - 1e-9 <= a_day <= most + 1e-9:
        yield Problem(
            ("moisture_production",),
            f"{a_day:.3g} kg a day",
            f"{least:g} to {most:.0f} kg a day for the whole house{reason}; "
            f"{usual_water(house.people)}",
        )


MOST_MISSING = 0.9  # [-] of the bays' area; what holds less has no fill


@problems.register
def as_found(found: AsFound) -> Iterator[Problem]:
    """A thickness or a state needs a fill."""
    if found.fill is None and found.fill_thickness is not None:
        yield Problem(("fill_thickness",), None, "only together with fill")
    if found.fill_missing is not None and (found.fill is None or found.fill_missing > MOST_MISSING):
        yield Problem(
            ("fill_missing",), f"{found.fill_missing:.0%}",
            f"0 to {MOST_MISSING:.0%}, only together with fill; bays without any have no fill",
        )  # fmt: skip


@problems.register
def hazard(hazard: Hazard) -> Iterator[Problem]:
    """Only a named person clears a hazard, or rules it out: how and when is written down too."""
    if not hazard.open and not hazard.cleared_by:
        yield Problem(("cleared_by",), "nothing", "who cleared it, and in what capacity")
    if hazard.state == "ruled out":
        if not hazard.how:
            yield Problem(("how",), "nothing", "how it was ruled out: looked into, sampled, tested")
        if not hazard.date:
            yield Problem(("date",), "nothing", "the day on which it was ruled out")


@problems.register
def survey(survey: Survey) -> Iterator[Problem]:
    """Wall names are unique, and every wall named elsewhere exists."""
    yield from names(
        [wall.name for wall in survey.walls],
        [hazard.wall for hazard in survey.hazards],
        [option.walls for option in survey.options],
    )
    frames = {wall.name: wall for wall in survey.walls}
    for n, hazard in enumerate(survey.hazards):
        there = frames.get(hazard.wall or "")
        if hazard.kind != "missing fire blocks" or there is None:
            continue
        if there.frame == "platform" or there.fire_blocks == "present":
            read = f"missing fire blocks in '{there.name}'"
            seen = "of platform frame" if there.frame == "platform" else "whose blocks are present"
            yield Problem(("hazard", n, "kind"), read, f"not in a wall {seen}: mend one of both")


def names_in(data: Mapping[str, Any]) -> Iterator[Problem]:
    """The same for a file in which other things are wrong: only its texts are looked at."""

    def tables(key: str) -> list[Mapping[str, Any]]:
        found = data.get(key)
        entries = found if isinstance(found, list) else [found]
        return [entry if isinstance(entry, dict) else {} for entry in entries]

    def text(value: object) -> str | None:
        return value.strip() if isinstance(value, str) else None

    options = []
    for table in tables("option"):
        listed = table.get("walls", [])
        options.append([text(n) for n in (listed if isinstance(listed, list) else [listed])])
    yield from names(
        [text(table.get("name")) for table in tables("wall")],
        [text(table.get("wall")) for table in tables("hazard")],
        options,
    )


def names(
    walls: Sequence[str | None],
    hazards: Sequence[str | None],
    options: Sequence[Sequence[str | None]],
) -> Iterator[Problem]:
    """Walls named twice, and walls named by hazards and options that are not there."""
    known = [name for name in walls if name]
    yield from _unique(walls, "wall")
    for i, name in enumerate(hazards):
        if name is not None and name not in known:
            yield Problem(("hazard", i, "wall"), None, _one_of(name, known))
    for i, named in enumerate(options):
        for j, name in enumerate(named):
            if name is not None and name not in known:
                yield Problem(("option", i, "walls", j), None, _one_of(name, known))


@problems.register
def wall(wall: Wall) -> Iterator[Problem]:
    """Outline first; the parts are held against it only when it stands."""
    outline = [*_outline(wall)]
    yield from outline
    if not outline:
        yield from _openings(wall)
        yield from _places(wall)


def _outline(wall: Wall) -> Iterator[Problem]:
    if (wall.height is None) == (not wall.profile):
        read = "neither height nor profile" if wall.height is None else "both height and profile"
        yield Problem(("height",), read, 'either height = "8 ft", or profile = [["0 ft", "8 ft"]]')
        return
    before = -1.0
    for i, step in enumerate(wall.profile):
        if i == 0 and step.x != 0:
            yield Problem(("profile", 0, "x"), None, "0 ft: the profile starts at the left end")
        elif step.x <= before:
            yield Problem(
                ("profile", i, "x"), None, f"more than {_both(before)}: steps run left to right"
            )
        elif step.x >= wall.length:
            yield Problem(
                ("profile", i, "x"), None, f"less than the wall's length, {_both(wall.length)}"
            )
        before = max(before, step.x)
    if wall.stud_width is not None and wall.stud_width >= wall.spacing:
        yield Problem(("stud_width",), None, f"less than the stud spacing, {_both(wall.spacing)}")


def _openings(wall: Wall) -> Iterator[Problem]:
    yield from _unique([opening.name for opening in wall.openings], "opening")
    for i, opening in enumerate(wall.openings):
        right, top = opening.left + opening.width, opening.sill + opening.height
        if right > wall.length + _SLACK:
            yield Problem(
                ("opening", i, "width"),
                f"a right edge at {_both(right)}",
                f"left + width up to the wall's length, {_both(wall.length)}",
            )
            continue
        room = wall.height_between(opening.left + _SLACK, right - _SLACK)
        if top > room + _SLACK:
            yield Problem(
                ("opening", i, "height"),
                f"a top edge at {_both(top)}",
                f"sill + height up to the wall's height there, {_both(room)}",
            )
        for other in wall.openings[:i]:
            if _overlap(opening, other):
                yield Problem(
                    ("opening", i, "left"), None, f'a place that leaves "{other.name}" free'
                )


def _overlap(a: Opening, b: Opening) -> bool:
    across = min(a.left + a.width, b.left + b.width) - max(a.left, b.left)
    up = min(a.sill + a.height, b.sill + b.height) - max(a.sill, b.sill)
    return across > _SLACK and up > _SLACK


def _places(wall: Wall) -> Iterator[Problem]:
    """Partitions, braces, boxes, pipes, readings and the floor line lie within the wall."""
    for i, partition in enumerate(wall.partitions):
        yield from _within(wall, ("partition", i), "at", partition.at)
    for i, brace in enumerate(wall.braces):
        yield from _within(wall, ("brace", i), "from_x", brace.from_x, "from_z", brace.from_z)
        yield from _within(wall, ("brace", i), "to_x", brace.to_x, "to_z", brace.to_z)
        if brace.from_x == brace.to_x:
            yield Problem(("brace", i, "to_x"), None, "another x than from_x: a brace is slanted")
    for i, box in enumerate(wall.boxes):
        yield from _within(wall, ("box", i), "x", box.x, "z", box.z, clear=True)
    for i, pipe in enumerate(wall.pipes):
        yield from _within(wall, ("pipe", i), "x", pipe.x, "z", pipe.z, clear=pipe.run == "through")
    for i, reading in enumerate(wall.readings):
        if reading.x is not None:
            yield from _within(wall, ("reading", i), "x", reading.x, "z", reading.z or 0.0)
    top = max(column[2] for column in wall.columns)
    if wall.floor_line is not None and wall.floor_line >= top:
        yield Problem(("floor_line",), None, f"less than the wall's height, {_both(top)}")


def _within(
    wall: Wall,
    path: tuple[str | int, ...],
    across: str,
    x: float,
    up: str = "",
    z: float = 0.0,
    clear: bool = False,
) -> Iterator[Problem]:
    """A point lies in the wall and, if ``clear``, not in an opening."""
    if x > wall.length + _SLACK:
        yield Problem((*path, across), None, f"0 to the wall's length, {_both(wall.length)}")
        return
    height = wall.height_between(x, x)
    if z > height + _SLACK:
        yield Problem((*path, up), None, f"0 to the wall's height there, {_both(height)}")
    for opening in wall.openings:
        beside = min(x - opening.left, opening.left + opening.width - x)
        above = min(z - opening.sill, opening.sill + opening.height - z)
        if clear and beside > _SLACK and above > _SLACK:
            yield Problem((*path, across), None, f'a place outside the opening "{opening.name}"')


def _unique(names: Sequence[str | None], kind: str) -> Iterator[Problem]:
    seen: dict[str, int] = {}
    for i, name in enumerate(names):
        if not name:
            continue
        first = seen.setdefault(name.casefold(), i)
        if first != i:
            yield Problem(
                (kind, i, "name"), None, f"another name: {kind} {first + 1} bears this one already"
            )


def _one_of(name: str, names: list[str]) -> str:
    near = get_close_matches(name, names, n=1, cutoff=0.5)
    if near:
        return f'the name of a wall of this survey; nearest is "{near[0]}"'
    return "the name of a wall of this survey: " + ", ".join(f'"{n}"' for n in names[:8])


def _both(value: float) -> str:
    """A length in both systems, since the file may mix them."""
    return f"{show(value, 'length')} ({show(value, 'length', 'metric')})"
