"""What a plan is chosen from: for each wall its options, as plain figures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

# Worth today [currency] of what is saved by transmission [W/K] and leakage [-] taken away.
# Jointly concave: a warmer house has less left to save, and a tighter one owes more fresh air.
Saving = Callable[[float, float], float]


@dataclass(frozen=True)
class Move:
    """One option on one wall, as the plan counts it."""

    wall: str
    option: str  # id
    cost: float  # [currency] taxes included; what the house pays once is apart
    heat: float  # [W/K] transmission that it takes away; below 0 where the wall loses more
    air: float  # [-] share of the house's leakage that it takes away
    worked: bool = True  # by this contractor; False: nothing is done, or another trade does it


@dataclass(frozen=True)
class Charges:
    """What the house pays beside its walls, where anything is done at all; taxes included."""

    once: float = 0.0  # [currency]
    least: float = 0.0  # [currency] a smaller total is lifted to it

    def total(self, moves: Sequence[Move]) -> float:
        """What these moves cost together [currency]; other trades' prices stand by themselves."""
        others = sum(move.cost for move in moves if not move.worked)
        if not any(move.worked for move in moves):
            return others
        own = sum(move.cost for move in moves if move.worked)
        return max(own + self.once, self.least) + others


@dataclass(frozen=True)
class Cell:
    """A range of leakage taken away [-], and the moves that hold in the air that it leaves."""

    low: float
    high: float
    moves: tuple[Move, ...]


@dataclass(frozen=True)
class Aim:
    """What is made greatest: ``value x saving - cost x total``.

    A weight ten thousand times smaller than the other only breaks ties.
    """

    value: float
    cost: float


LEAST = Aim(1e-4, 1.0)  # the least that may be done
WORTH = Aim(1.0, 1.0)  # the greatest net present value
DEEPEST = Aim(1.0, 1e-4)  # the most that is saved, whatever it costs


def result(moves: Sequence[Move], saving: Saving, charges: Charges) -> tuple[float, float]:
    """Worth today of the saving, and the total cost [currency], of one move on each wall."""
    heat, air = sum(move.heat for move in moves), sum(move.air for move in moves)
    return saving(heat, air), charges.total(moves)
