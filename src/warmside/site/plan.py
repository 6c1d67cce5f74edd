"""The plan of one wall's work: everything that the crew sheet and the crew's pages show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from warmside.catalog import Catalog
from warmside.errors import Fault, InputError
from warmside.estimate import (
    CREW,
    CrewTime,
    PassPlan,
    PriceList,
    default_prices,
    foam_fills,
    idle_wait,
    pass_plan,
    takeoff,
)
from warmside.framing import Frame, Pocket, frame_wall
from warmside.options import (
    LEAVE,
    BuildUp,
    Option,
    Quantity,
    Sealing,
    Step,
    apply,
    offered,
)
from warmside.promises import with_presumed
from warmside.site.hours import WorkRules, surface_share
from warmside.site.runs import Run, joint_runs
from warmside.site.steps import sequence
from warmside.survey import Survey, Wall


@dataclass(frozen=True)
class WallPlan:
    """How one wall is done."""

    wall: str
    build_up: BuildUp
    family: str  # of its foam; "" without
    foam: str  # catalog id; "" without
    thickness: float  # [m] of foam sold; 0 without
    sprayed_area: float  # [m2] of bays that take foam
    passes: PassPlan
    runs: tuple[Run, ...]
    steps: tuple[Step, ...]
    time: CrewTime
    trim: float  # [m2] to trim flush; 0: nothing is trimmed
    sealing: Sealing
    labour: tuple[Quantity, ...] = ()  # hours by task, each with its step
    surface: str = ""  # what foam and sealant meet: the sheathing as found
    rough: float = 0.0  # [-] of sealant beyond geometry

    def tasks_of(self, step: str) -> tuple[str, ...]:
        """Keys of the tasks that a step's hours are planned by; waiting is none."""
        keys = (line.key.removeprefix("labour:") for line in self.labour if line.step == step)
        return tuple(key for key in keys if key != "waiting")

    @property
    def option(self) -> Option:
        """What is done."""
        return self.build_up.option

    @property
    def frame(self) -> Frame:
        """The framing."""
        return self.build_up.frame

    @property
    def outside(self) -> bool:
        """Whether foam is sprayed from outside."""
        return self.option.kind.sprays_from_outside

    @property
    def opens_bays(self) -> bool:
        """Whether the bays stand open during the work."""
        return self.option.kind.opened.bays

    @property
    def bay_depths(self) -> dict[str, float]:
        """Depth of each bay, furring before the studs included [m]."""
        return {bay.name: bay.depth + self.option.furring for bay in self.frame.bays}

    def runs_close(self, step: Step) -> bool:
        """Whether the step is closed only when the whole joint map is ticked off."""
        return step.id == "seal-joints" and bool(self.runs)

    @property
    def pockets(self) -> tuple[tuple[str, tuple[Pocket, ...]], ...]:
        """What the fill cannot reach, by the reason; nothing where bays are left as they are."""
        if not (self.opens_bays or self.option.fill):
            return ()
        found: dict[str, list[Pocket]] = {}
        for pocket in self.frame.pockets:
            found.setdefault(pocket.why, []).append(pocket)
        return tuple((why, tuple(same)) for why, same in found.items())

    @property
    def cartridges(self) -> float:
        """Cartridges of 300 ml for the whole joint map [-]."""
        return sum(run.cartridges for run in self.runs)


def rules_of(plan: WallPlan, room: float = 20.0) -> WorkRules:
    """How the work area before a wall is kept, heated to ``room`` [degC]."""
    share = surface_share(plan.build_up)
    return WorkRules(plan.family, room, share, plan.outside)


def plan_wall(
    build_up: BuildUp,
    wall: Wall,
    survey: Survey,
    catalog: Catalog,
    prices: PriceList | None = None,
    sealing: Sealing = "before",
    crew: int = CREW,
) -> WallPlan:
    """Passes, joints, steps and hours of one option on one wall.

    Parameters
    ----------
    build_up : BuildUp
        The option on ``wall``.
    wall : Wall
        As surveyed.
    survey : Survey
        For its hazards.
    catalog : Catalog
        Foams and joints.
    prices : PriceList, optional
        Where hours per unit come from; no money is read.
    sealing : {"before", "after"}
        Joints sealed before or after spraying.
    crew : int
        People, 1 to 20.

    Raises
    ------
    InputError
        A crew of nobody, or an option that cannot be built.
    """
    if not 1 <= crew <= 20:
        raise InputError([Fault("crew", repr(crew)[:20], "1 to 20 people")])
    if not build_up.can_be_built:
        why = "; ".join(refusal.reason for refusal in build_up.refusals)
        raise InputError([Fault(f"option of {wall.name}", why[:200], "one that can be built")])
    survey = with_presumed(survey, catalog)
    plan = pass_plan(build_up, catalog)
    prices = prices or default_prices()
    lines = takeoff(build_up, wall, catalog, prices, crew)
    labour = [q for q in lines if q.group == "labour" and q.unit == "h"]
    tasks = tuple((q.name, q.amount) for q in labour if q.key != "labour:waiting")
    parts = tuple((q.step, q.trade, q.amount) for q in labour)
    spraying = sum(q.amount for q in lines if q.key.startswith("labour:spray"))
    foam = plan.depths[0].foam if plan.depths else ""
    bays = [fill for fill in foam_fills(build_up) if fill.in_bay] if foam else []
    return WallPlan(
        wall.name,
        build_up,
        catalog.foams[foam].family if foam else "",
        foam,
        build_up.option.thickness if foam else 0.0,
        sum(fill.area for fill in bays),
        plan,
        _runs(build_up, catalog, float(prices.rough)),
        sequence(build_up, wall, survey.hazards, plan.count, catalog, sealing),
        CrewTime(tasks, crew, idle_wait(plan, spraying, crew), parts),
        sum(q.amount for q in lines if q.group == "trim"),
        sealing,
        tuple(labour),
        _surface(wall, catalog),
        float(prices.rough),
    )


def _runs(build_up: BuildUp, catalog: Catalog, rough: float) -> tuple[Run, ...]:
    option = build_up.option
    if not option.seal_joints:
        return ()
    return joint_runs(build_up.frame, catalog, option.kind.reaches, rough)


def _surface(wall: Wall, catalog: Catalog) -> str:
    layers = wall.found.sheathing
    return catalog.material(layers[0].material).name if layers else "no sheathing"


def plan_house(
    survey: Survey,
    catalog: Catalog,
    options: Mapping[str, str],
    prices: PriceList | None = None,
    sealing: Sealing = "before",
    crew: int = CREW,
) -> tuple[WallPlan, ...]:
    """Plans of all walls that something is done to.

    Parameters
    ----------
    survey : Survey
        The house as found.
    catalog : Catalog
        What is known.
    options : mapping
        Name of a wall -> id of the option chosen for it; walls left out are left as found.
    prices, sealing, crew
        As in `plan_wall`.

    Raises
    ------
    InputError
        A wall or an option that is not there, or one that cannot be built.
    """
    names = [wall.name for wall in survey.walls]
    lost = [name for name in options if name not in names]
    if lost:
        raise InputError([Fault("wall", repr(lost[0])[:80], ", ".join(names))])
    plans = []
    for wall in survey.walls:
        build_up = build_option(survey, wall, options.get(wall.name, LEAVE.id), catalog)
        if build_up.option.kind.worked:
            plans.append(plan_wall(build_up, wall, survey, catalog, prices, sealing, crew))
    return tuple(plans)


def parse_options(survey: Survey, words: Sequence[str]) -> dict[str, str]:
    """Which option each wall gets: ``cc-76`` for every wall, ``north front=cc-76`` for one.

    The later word counts. Raises InputError for a wall that the survey lacks.
    """
    names = [wall.name for wall in survey.walls]
    chosen: dict[str, str] = {}
    for word in words:
        wall, is_for_one, id = word.rpartition("=")
        if is_for_one and wall not in names:
            raise InputError([Fault("wall", repr(wall)[:80], ", ".join(names))])
        chosen |= {name: id for name in names if not is_for_one or name == wall}
    return chosen


def build_option(survey: Survey, wall: Wall, id: str, catalog: Catalog) -> BuildUp:
    """The option ``id`` applied to ``wall``.

    Raises
    ------
    InputError
        An id that is not offered for this wall.
    """
    survey = with_presumed(survey, catalog)
    frame = frame_wall(wall, survey.house, catalog.lumber)
    found = offered(wall, survey.house, catalog, survey.options, survey.hazards)
    for option in found:
        if option.id == id:
            return apply(option, wall, frame, catalog, survey.hazards)
    read = f"'{id[:60]}'"
    raise InputError(
        [Fault(f"option of {wall.name}", read, ", ".join(option.id for option in found))]
    )
