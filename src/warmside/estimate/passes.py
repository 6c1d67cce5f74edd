"""The pass plan: how thick, how many times, how long to wait, for every depth of a wall."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from warmside.catalog import NOMINAL, Catalog, Foam, Source
from warmside.errors import UnknownRowError
from warmside.estimate.foam import Fill, foam_fills
from warmside.framing import Frame
from warmside.options import BuildUp, Trade
from warmside.units import HOUR
from warmside.wording import Figure, Sentence, say

CREW = 2  # people


@dataclass(frozen=True)
class Depth:
    """Every place of a wall that takes the same thickness of the same foam."""

    foam: str  # catalog id
    foam_name: str
    thickness: float  # [m] in all
    count: int  # passes
    wait: float  # [s] between two passes at any one place
    area: float  # [m2]
    board_feet: float  # net, all passes [board ft]
    bays: tuple[str, ...]  # names of bays and members it stands in
    source: Source

    @property
    def each(self) -> float:
        """Thickness of one pass [m]."""
        return self.thickness / self.count

    @property
    def board_feet_each(self) -> float:
        """Net board feet of one pass [board ft]."""
        return self.board_feet / self.count


@dataclass(frozen=True)
class PassPlan:
    """How the foam of one wall is sprayed."""

    depths: tuple[Depth, ...]  # thickest first
    frame_run: float  # [m] of wood to picture-frame before the bays are filled
    board_feet: float  # net [board ft]
    with_waste: float  # [board ft]
    warnings: tuple[str | Sentence, ...]

    @property
    def count(self) -> int:
        """Passes at the thickest place; 0 without foam."""
        return max((depth.count for depth in self.depths), default=0)

    def board_feet_of(self, number: int) -> float:
        """Net board feet of pass ``number``, counted from 1, over the whole wall [board ft]."""
        return sum(d.board_feet_each for d in self.depths if number <= d.count)


def pass_plan(
    build_up: BuildUp, catalog: Catalog, fills: tuple[Fill, ...] | None = None
) -> PassPlan:
    """Passes by the product's limit, waits, board feet by pass, and what to beware of.

    Equal passes at every depth, as many as the foam's row asks for (``Foam.passes``); each board
    foot is sprayed once.

    Parameters
    ----------
    build_up : BuildUp
        The option on its wall.
    catalog : Catalog
        The foams with their limits.
    fills : tuple of Fill, optional
        What ``foam_fills`` gives for it; asked for when not given.

    Returns
    -------
    PassPlan
        Without depths where the option takes no foam.

    Raises
    ------
    UnknownRowError
        A foam that the catalog does not hold.
    """
    fills = foam_fills(build_up) if fills is None else fills
    for fill in fills:
        if fill.foam not in catalog.foams:
            raise UnknownRowError("foam", fill.foam)
    depths = tuple(
        _depth(catalog.foams[foam], thickness, same)
        for (foam, thickness), same in sorted(_by_depth(fills).items(), key=lambda d: -d[0][1])
    )
    waste = sum(_with_waste(fill, catalog.foams[fill.foam]) for fill in fills)
    return PassPlan(
        depths,
        _frame_run(build_up.frame, fills),
        sum(depth.board_feet for depth in depths),
        waste,
        tuple(_warnings(depths, catalog)),
    )


def _by_depth(fills: Iterable[Fill]) -> dict[tuple[str, float], list[Fill]]:
    """Fills by foam and thickness, to the nearest millimetre."""
    found: dict[tuple[str, float], list[Fill]] = {}
    for fill in fills:
        found.setdefault((fill.foam, round(fill.thickness, 3)), []).append(fill)
    return found


def _depth(foam: Foam, thickness: float, fills: list[Fill]) -> Depth:
    return Depth(
        foam.id,
        foam.name,
        thickness,
        foam.passes(max(fill.thickness for fill in fills)),  # as it is, not to the millimetre
        foam.wait_between_passes,
        sum(fill.area for fill in fills),
        sum(fill.board_feet for fill in fills),
        tuple(dict.fromkeys(fill.part for fill in fills)),
        foam.source_use,
    )


def _with_waste(fill: Fill, foam: Foam) -> float:
    waste = foam.waste_small_bays if fill.small else foam.waste_open_bays
    return fill.board_feet * (1 + waste)


def _frame_run(frame: Frame, fills: Iterable[Fill]) -> float:
    """Edges of the bays that take foam: the wood is framed first, then the field is filled [m]."""
    filled = {fill.part for fill in fills}
    return sum(2 * (b.rect.width + b.rect.height) for b in frame.bays if b.name in filled)


def _warnings(depths: tuple[Depth, ...], catalog: Catalog) -> Iterable[str | Sentence]:
    for id in dict.fromkeys(depth.foam for depth in depths):
        foam = catalog.foams[id]
        deepest = max(depth.thickness for depth in depths if depth.foam == id)
        if deepest > foam.total_max * NOMINAL + 1e-6:
            yield say(
                "{deep} of {foam} is over the {most} of its row: read the listing before "
                "spraying it.",
                deep=Figure(deepest, "length"),
                foam=foam.name,
                most=Figure(foam.total_max, "length"),
            )
        if foam.family == "closed-cell":
            rest = catalog.site_figure("rest-above", foam.family)
            if deepest > rest.most + 1e-6:
                yield say(
                    "Over {most} in all: a long rest after that thickness, as long as the "
                    "maker's sheet says, before more goes on.",
                    most=Figure(rest.most, "length"),
                )
            if foam.passes(deepest) > 1:
                yield (
                    "Foam heats itself. The next pass waits until the last one has cooled to near "
                    "the air of the room: touch it, do not only look at the clock."
                )
        yield say(
            "Never over {most} in one pass, never into rising foam.",
            most=Figure(foam.pass_max, "length"),
        )


@dataclass(frozen=True)
class CrewTime:
    """How long a crew is on a wall."""

    tasks: tuple[tuple[str, float], ...]  # (task, hours added over the people) [h]
    crew: int  # people
    waiting: float  # [h] on the clock that no spraying fills
    parts: tuple[tuple[str, Trade, float], ...] = ()  # (step, trade, [h]), waiting too

    @property
    def by_step(self) -> dict[str, float]:
        """Hours of each step added over the people, waiting too [h]."""
        found: dict[str, float] = {}
        for step, _, hours in self.parts:
            found[step] = found.get(step, 0.0) + hours
        return found

    @property
    def hours(self) -> float:
        """Hours added over the people, without waiting [h]."""
        return sum(hours for _, hours in self.tasks)

    @property
    def on_the_clock(self) -> float:
        """Hours from first to last, everybody busy but for the waits [h]."""
        return self.hours / self.crew + self.waiting


def idle_wait(plan: PassPlan, spray_hours: float, crew: int) -> float:
    """Waiting between passes that spraying the rest of the wall does not fill [h].

    ``sum over k of max(0, wait - t_k)`` with ``t_k`` the time that pass ``k`` takes over the whole
    wall, by its share of the board feet; the last pass is followed by no wait.

    Parameters
    ----------
    plan : PassPlan
        The passes.
    spray_hours : float
        Hours of spraying in all, added over the people [h].
    crew : int
        People.
    """
    if not plan.board_feet:
        return 0.0
    waiting = 0.0
    for number in range(1, plan.count):
        share = plan.board_feet_of(number) / plan.board_feet
        wait = max(d.wait for d in plan.depths if d.count > number) / HOUR
        waiting += max(0.0, wait - spray_hours * share / crew)
    return waiting
