"""Code packs: clauses as data, each with edition, paraphrase, threshold and tag."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from warmside.catalog._rows import Source

RuleKind = Literal[
    "wall_rsi_least",  # effective resistance of the whole wall, by degree-days [m2 K/W]
    "vapour_permeance_most",  # tightest layer on the warm side [kg/(m2 s Pa)]
    "outboard_ratio_least",  # resistance outside / inside a tight layer, by degree-days [-]
    "foam_rsi_least",  # resistance of the foam itself, by degree-days [m2 K/W]
    "air_barrier",
    "foam_covered",
    "cavity_filled",
    "person",  # a statement that a person must confirm
]
AppliesTo = Literal["new work", "new and altered walls", "alterations"]
Band = tuple[float, float, float]  # degree-days from, below, value


@dataclass(frozen=True)
class Clause:
    """One clause of a code, in our own words.

    ``bands`` holds (degree-days from, degree-days below, value); ``limit`` one value for all.
    """

    number: str
    title: str
    paraphrase: str
    applies_to: AppliesTo
    rule: RuleKind
    source: Source
    bands: tuple[Band, ...] = ()
    limit: float | None = None
    most_permeance: float | None = None  # [kg/(m2 s Pa)]
    from_degree_days: float = 0.0  # [K d]
    asks: str = ""

    def value_at(self, degree_days: float) -> float | None:
        """Threshold at ``degree_days`` [K d], or None where the clause asks for nothing."""
        if degree_days < self.from_degree_days:
            return None
        if self.limit is not None:
            return self.limit
        for low, high, value in self.bands:
            if low <= degree_days < high:
                return value
        return None


@dataclass(frozen=True)
class CodePack:
    """The clauses of one code, and the sentence that always closes them."""

    id: str
    name: str
    country: str
    edition: str
    closing: str
    clauses: tuple[Clause, ...]
