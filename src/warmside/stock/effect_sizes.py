"""How much of the spread of an archetype's saving hangs on each of its unknowns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from warmside.stock.archetype import Known
from warmside.stock.house import realise
from warmside.stock.indices import total_effects
from warmside.stock.judgement import LEAVE, Ground, Row, factor_key, quick_study, wanted
from warmside.stock.screen import Workbench, screen
from warmside.study import compare

SAMPLES = 32  # of each half; the screening runs this many times the unknowns and two


def effects(name: str, ground: Ground) -> tuple[Row, ...]:
    """Total-effect indices of the yearly saving, for the archetype's own house.

    Of the option that saves most among those that keep their promises; see ``total_effects``.

    Parameters
    ----------
    name : str
        The archetype.
    ground : Ground
        Archetypes, catalog, prices, settings.

    Returns
    -------
    tuple of dict
        A row for each unknown; none where nothing is unknown or no option keeps its promises.
    """
    house = realise(Known(0, name, name), ground.archetypes, ground.catalog)
    quick = quick_study(house.survey, ground)
    kept = [r for r in compare(quick).rows if r.keeps and r.walls == r.of_walls and r.saving]
    options = [r for r in kept if r.id in {o.option.id for o in quick.walls[0].options}]
    if not house.unknowns or not options:
        return ()
    best = max(options, key=lambda r: r.saving.best if r.saving else 0.0).id
    alone = house.survey.model_copy(update={"options": (wanted(best, quick),)})
    one_option = type(house)(house.id, house.archetype, alone, house.unknowns)
    bench = Workbench(ground.catalog.at(alone.house.climate), ground.prices, ground.weather)

    def saving(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([_saving(point) for point in points.tolist()])

    def _saving(point: list[float]) -> float:
        values = [u.at(x) for u, x in zip(house.unknowns, point, strict=True)]
        found = screen(one_option.with_values(values), bench)
        return next(one.money for one in found if one.option != LEAVE)

    found = total_effects(saving, len(house.unknowns), SAMPLES, ground.settings.seed)
    return tuple(
        {
            "key": factor_key(name, ground), "archetype": name, "unknown": unknown.name,
            "option": best, "first": one.first, "total": one.total, "error": one.error,
        }
        for unknown, one in zip(house.unknowns, found, strict=True)
    )  # fmt: skip
