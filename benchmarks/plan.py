"""The plan of a house: seconds of the exact program, 12 walls with 12 options each.

Houses are invented at random; on smaller ones the value is held against brute force.
"""

from __future__ import annotations

import itertools
import math
import time

import numpy as np

from record import record
from warmside.study.plan import DEEPEST, LEAST, WORTH, Cell, Charges, Move, best_choice, result

HOUSES, WALLS, OPTIONS = 12, 12, 12


def house(seed: int, walls: int, options: int):
    """Walls with figures of the size of a real house's, and a saving that is jointly concave."""
    rng = np.random.default_rng(seed)
    moves = []
    for wall in range(walls):
        moves.append(Move(f"w{wall}", "leave", 0.0, 0.0, 0.0, worked=False))
        for option in range(options - 1):
            cost, heat = rng.uniform(0.0, 9000.0), rng.uniform(-2.0, 25.0)
            air = rng.uniform(0.0, 0.5 / walls)
            moves.append(Move(f"w{wall}", f"o{option}", cost, heat, air))
    worth, fresh = rng.uniform(5e3, 9e4), rng.uniform(0.0, 2e4)

    def saving(heat: float, air: float) -> float:
        return worth * (1.0 - math.exp(-heat / 120.0 - air)) - fresh * max(air - 0.2, 0.0)

    return tuple(moves), saving, Charges(rng.uniform(0, 2000), rng.uniform(0, 6000))


def main() -> None:
    """Time of the three aims, and the greatest miss against brute force."""
    spent = {}
    for name, aim in (("least", LEAST), ("best worth", WORTH), ("deepest", DEEPEST)):
        times, rounds = [], 0
        for seed in range(HOUSES):
            moves, saving, charges = house(seed, WALLS, OPTIONS)
            start = time.process_time()
            found = best_choice([Cell(-10.0, 10.0, moves)], saving, charges, aim)
            times.append(time.process_time() - start)
            rounds = max(rounds, found.rounds)
        spent[name] = max(times)
        print(f"{name:11s} {np.median(times):6.3f} s, at most {max(times):6.3f} s, {rounds} rounds")
    miss = 0.0
    for seed in range(4):
        moves, saving, charges = house(seed, 5, 5)
        found = best_choice([Cell(-10.0, 10.0, moves)], saving, charges, WORTH)
        walls = dict.fromkeys(move.wall for move in moves)
        ways = itertools.product(*([m for m in moves if m.wall == w] for w in walls))
        best = max(value - cost for one in ways for value, cost in [result(one, saving, charges)])
        miss = max(miss, best - found.net)
    print(f"against brute force, 5 walls x 5 options: misses {miss:.6f} at most")
    figure = f"{WALLS} walls x {OPTIONS} options, slowest aim"
    record(figure, max(spent.values()), "s", target="<= 1")


if __name__ == "__main__":
    main()
