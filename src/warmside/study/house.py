"""The study of a whole house: its walls, its plans, and what they come to together."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog import Catalog, CodePack
from warmside.errors import Fault, InputError
from warmside.estimate import Price, PriceList
from warmside.options import Quantity
from warmside.physics.climate import HourlyClimate
from warmside.promises import Finding, HeatingCase, HouseAir, HouseTight, Outside, Room, Worth
from warmside.study.notebook_html import table
from warmside.study.parts import HEAD, Hours, Settling, WallStudy, Weights
from warmside.study.plan import Plans
from warmside.survey import Survey
from warmside.wording import counted


@dataclass(frozen=True)
class Study:
    """The whole house."""

    survey: Survey
    catalog: Catalog
    prices: PriceList
    packs: tuple[CodePack, ...]
    room: Room  # today's
    room_after: Room  # with the chosen options
    outside: Outside
    walls: tuple[WallStudy, ...]
    takeoff: tuple[Quantity, ...]  # of the chosen options together
    price: Price  # of the chosen options together
    weather: HourlyClimate
    air: HouseAir  # before anything is done
    tight: HouseTight  # the house with the chosen options
    worth: Worth  # of the chosen options together
    heating: HeatingCase  # by what savings are judged
    weights: Weights  # by what options were ranked
    settling: Settling
    plans: Plans  # beside each other; what is put forward follows the recommended one
    hours: Hours = Hours()  # noqa: RUF009 - frozen
    dried: tuple[WallStudy, ...] = ()  # walls that water stops, as they would be judged if dry

    def wall(self, name: str) -> WallStudy:
        """The wall with that name; InputError when there is none."""
        for wall in self.walls:
            if wall.wall.name == name:
                return wall
        names = ", ".join(wall.wall.name for wall in self.walls)
        raise InputError([Fault("wall", f"'{name}'", names)])

    @property
    def worked(self) -> tuple[WallStudy, ...]:
        """Walls on which what is put forward is work."""
        return tuple(wall for wall in self.walls if wall.chosen.option.kind.worked)

    def __repr__(self) -> str:
        price = f"{self.prices.currency} {self.price.total:,.2f}"
        walls = counted(len(self.walls), "wall")
        return f"<Study of {self.survey.house.name!r}: {walls}, {price}>"

    def _repr_html_(self) -> str:
        walls = counted(len(self.walls), "wall")
        price = f"{self.prices.currency} {self.price.total:,.2f}"
        rows = []
        for wall in self.walls:
            rows += [(wall.wall.name, *wall.as_found.cells), ("", *wall.chosen.cells)]
        title = f"{self.survey.house.name}: {walls}, {price}"
        return table(title, ("wall", "option", *HEAD), rows)

    @property
    def follows_plan(self) -> bool:
        """Whether what is put forward is the recommended plan; not where weights were given."""
        return all(w.chosen_id == self.plans.best.options[w.wall.name] for w in self.walls)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Findings of the house as a whole, beside those of its walls."""
        return (*self.tight.findings, *self.worth.findings)
