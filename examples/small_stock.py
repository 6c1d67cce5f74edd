"""A small stock of partly known houses: which first, and which unknown matters?

Problem: four invented houses of three kinds, partly known. Each is judged with every option over
draws of what is not known; a programme of two years then picks within a budget. It must be the best
of all; and the index that says which unknown matters must find what is known of a test function.

Source: every possible programme tried (other method, exact); total effects of the Ishigami function
0.5576, 0.4424, 0.2437 (Ishigami and Homma 1990, second-hand).
"""

from __future__ import annotations

import tempfile
from itertools import product
from pathlib import Path

import numpy as np
import numpy.typing as npt
from _compared import Compared, compared, show

from warmside import stock
from warmside.demo import write_stock
from warmside.stock import Limits, Offer, Ranked, Settings

TRIED, ISHIGAMI = "all programmes tried [other method]", "Ishigami and Homma 1990 [second-hand]"
TOTAL = {"1": 0.5576, "2": 0.4424, "3": 0.2437}
QUICK = Settings(draws=2, sample=0.0, near_factor=0.0, near_surface=0.0, near_water=0.0)


def ranked(folder: Path) -> tuple[Ranked, ...]:
    """Four houses judged; each with the option that brings most for the money."""
    table = write_stock(folder, 4)
    kinds = stock.read_archetypes(folder / "archetypes")
    done = stock.run(stock.open_table(table, kinds), kinds, folder / "run", QUICK)
    return stock.ranking(stock.read_stock(done.folder))


def best_by_trying(offers: list[Offer], budget: tuple[float, float]) -> float:
    """Every house left out, or done in the first or the second year."""
    best = 0.0
    for years in product((None, 0, 1), repeat=len(offers)):
        cost, value = [0.0, 0.0], 0.0
        for offer, year in zip(offers, years, strict=True):
            if year is not None:
                cost[year] += offer.cost
                value += offer.value
        if cost[0] <= budget[0] and cost[1] <= budget[1]:
            best = max(best, value)
    return best


def ishigami(u: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The test function over the unit cube, (n, 3) to (n,)."""
    a, b, c = np.pi * (2.0 * u.T - 1.0)
    return np.asarray(np.sin(a) + 7.0 * np.sin(b) ** 2 + 0.1 * c**4 * np.sin(a))


def main(folder: Path | None = None) -> list[Compared]:  # noqa: ARG001 - draws nothing
    """Compare the programme and the indices."""
    with tempfile.TemporaryDirectory() as work:
        first = ranked(Path(work))
    offers = [Offer(r.id, r.option, r.cost.value, 10.0, r.saving.value) for r in first]
    a_third = sum(offer.cost for offer in offers) / 3
    budget = (a_third, a_third)
    found = stock.programme(offers, Limits(budget, (1e6, 1e6)))
    tried = best_by_trying(offers, budget)
    effects = stock.total_effects(ishigami, 3, 4096)
    return [
        compared("saving of the programme", found.value, tried, 1e-6 * tried, TRIED),
        *(
            compared(f"total effect of unknown {name}", effect.total, told, 0.01, ISHIGAMI)
            for (name, told), effect in zip(TOTAL.items(), effects, strict=True)
        ),
    ]


if __name__ == "__main__":
    show(main)
