"""Every verdict of a study again, from the figures that its JSON hands out and nothing else.

Written from the limits that the documentation states; it imports none of the program.
``python tests/verdicts_again.py study.json`` tells what does not agree.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

Json = dict[str, Any]
ORDER = ("holds", "needs a person", "falls short")
# at the limit itself these have failed already: mould and rot must stay below
BELOW = ("mould_index", "rot_activation")
# what only falls short because the wall was found wet, or may be mended first, a person judges
BY_PERSON = (
    "mould_index_", "rot_activation_", "rotting_days_", "summer_moisture_",
    "found_wet", "wet_wood_found", "leak_water_kg", "gate_", "condensate_",
    "ventilation_m3_s", "humidity_after_share",  # whether fans are built, and who lives there
    "air_change_50_per_h",  # without a fan test nobody knows how much leaks
)  # fmt: skip
HOURLY = {  # finding -> figure of the path it is told of
    "mould_index": "mould_index_most",
    "rot_activation": "rot_activation_most",
    "rotting_days": "warm_days_above_26_percent",
    "summer_moisture": "summer_least_kg_kg",
}
WORTH = ("simple_payback_years", "net_present_value")  # judged by least, middle and most
NEAR = 1e-9


def saturation(temperature: float) -> float:
    """Vapour pressure over water or ice [Pa]; ISO 13788, annex E (from memory)."""
    a, b = (17.269, 237.3) if temperature >= 0.0 else (21.875, 265.5)
    return 610.5 * math.exp(a * temperature / (b + temperature))


def dew_point(temperature: float, humidity: float) -> float:
    """Where air begins to leave water or ice [degC], by the inverse of `saturation`."""
    log = math.log(humidity * saturation(temperature) / 610.5)
    a, b = (17.269, 237.3) if log >= 0.0 else (21.875, 265.5)
    return b * log / (a - log)


def by_number(finding: Json, figure: float) -> str | None:
    """What the figure and its limit alone say; None where there is none or it stands at it."""
    limit, kind = finding["limit"], finding["limit_is"]
    if limit is None or kind == "none":
        return None
    over = figure - limit if kind == "most" else limit - figure
    if abs(over) <= NEAR * max(abs(limit), 1.0):
        return "falls short" if finding["key"].startswith(BELOW) else None
    return "falls short" if over > 0.0 else "holds"


def disagreements(study: Json) -> Iterator[str]:
    """What a study's JSON says that its own figures do not."""
    for finding in study["house_findings"]:
        yield from _finding(finding, finding["figure"], "house", study["house_worth"])
    for wall in study["walls"]:
        for option in wall["options"]:
            where = f"{wall['name']}, {option['id']}"
            yield from _option(option, study["room"]["temperature_c"], where)


def _option(option: Json, room: float, where: str) -> Iterator[str]:
    for finding in option["findings"]:
        figure = finding["figure"]
        if finding["key"] == "coldest_surface_c":
            dew = dew_point(room, option["room_humidity_share"])
            # two sets of coefficients for vapour over ice and water: 0.05 K at most
            if abs(dew - finding["limit"]) > 0.05:
                yield f"{where}: dew point {dew:.2f}, told {finding['limit']:.2f}"
            figure = option["coldest_surface_low_c"]
        if finding["key"] == "surface_factor":
            figure = option["surface_factor"] - (option["surface_factor_error"] or 0.0)
        yield from _finding(finding, figure, where, option["worth"])
    yield from _paths(option, where)
    yield from _promises(option, where)


def _finding(finding: Json, figure: float | None, where: str, worth: Json) -> Iterator[str]:
    if finding["key"] in WORTH:
        yield from _worth(finding, worth[finding["key"]], where)
        return
    told = finding["verdict"]
    if figure is None or finding["promise"] == "legal":  # rules of several parts: not one number
        return
    expected = by_number(finding, figure)
    if expected is None or told == expected or told not in ORDER:
        return
    if told == "needs a person" and finding["key"].startswith(BY_PERSON):
        return
    yield f"{where}: {finding['key']} {figure} by {finding['limit']}: {expected}, told {told}"


def _worth(finding: Json, cases: Json, where: str) -> Iterator[str]:
    """By the least and the most that is saved: what lies across its limit, who pays decides."""
    ends = [by_number(finding, math.inf if end is None else end) for end in cases.values()]
    known = {"holds" if end is None else end for end in ends}
    expected = known.pop() if len(known) == 1 else "needs a person"
    if finding["verdict"] != expected:
        yield f"{where}: {finding['key']} {cases}: {expected}, told {finding['verdict']}"


def _paths(option: Json, where: str) -> Iterator[str]:
    """Figures of the findings beside those of the paths, and whether each path holds."""
    paths = option["hourly"]["paths"] if option["hourly"] else []
    figures = {finding["key"]: finding for finding in option["findings"]}
    for path in paths:
        wood = path["wood"]
        most: Json = {
            "mould_index_most": path["mould_index_most"],
            "rot_activation_most": path["rot_activation_most"],
        }
        for key in ("warm_days_above_26_percent", "summer_least_kg_kg"):
            values = [w["end_kg_kg"] if w.get(key) is None else w[key] for w in wood]
            most[key] = max(values, default=0.0)
        holds = (
            most["mould_index_most"] < 3.0
            and most["rot_activation_most"] < 1.0
            and most["warm_days_above_26_percent"] <= 14.0
            and most["summer_least_kg_kg"] < 0.20
        )
        if path["holds"] != holds:
            yield f"{where}: path {path['path']} holds: {holds}, told {path['holds']}"
        name = path["path"].replace(" ", "_").replace("-", "_")
        for finding, key in HOURLY.items():
            told = figures.get(f"{finding}_{name}")
            if told and abs(told["figure"] - most[key]) > 1e-6:
                yield f"{where}: {finding}_{name} {most[key]}, told {told['figure']}"


def _promises(option: Json, where: str) -> Iterator[str]:
    for promise, told in option["verdicts"].items():
        own = [f["verdict"] for f in option["findings"] if f["promise"] == promise]
        judged = [ORDER.index(verdict) for verdict in own if verdict in ORDER]
        if judged and told != ORDER[max(judged)]:
            yield f"{where}: {promise} {ORDER[max(judged)]}, told {told}"


def count(study: Json) -> int:
    """How many findings there are to judge again."""
    options = [option for wall in study["walls"] for option in wall["options"]]
    return sum(len(option["findings"]) for option in options) + len(study["house_findings"])


def main() -> int:
    study = json.loads(Path(sys.argv[1]).read_text("utf-8"))
    found = list(disagreements(study))
    told = [*found, f"{count(study)} findings judged again, {len(found)} do not agree"]
    sys.stdout.write("\n".join(told) + "\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
