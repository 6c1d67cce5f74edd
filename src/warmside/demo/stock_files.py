"""The invented demonstration stock: three kinds of houses of an invented provider, partly known."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from importlib import resources
from io import StringIO
from pathlib import Path

HEADINGS = (
    "id", "archetype", "area [ft2]", "year", "climate", "place", "fan test [CFM50]",
    "room humidity in winter", "house.heating.fuel",
)  # fmt: skip
# kind: share of the stock [-], years, areas [ft2], fan test [CFM50], fuels
_KINDS = {
    "balloon": (0.3, (1902, 1930), (900, 1700), (2100, 5000), ("natural-gas", "heating-oil")),
    "cottage": (0.4, (1942, 1954), (620, 1050), (1300, 3000), ("heating-oil", "electricity-on")),
    "bungalow": (0.3, (1958, 1974), (850, 1500), (1100, 2700), ("natural-gas", "electricity-on")),
}
_CLIMATES = ("north-bay", "ottawa", "toronto", "winnipeg")
_TOWNS = ("Larkmere", "Upper Larkmere", "Stillford", "Ferry Road")


def archetype_texts() -> dict[str, str]:
    """Survey files of the archetypes, by name."""
    folder = resources.files("warmside.demo") / "stock"
    return {name: (folder / f"{name}.toml").read_text("utf-8") for name in _KINDS}


def stock_table(houses: int, seed: int = 1) -> str:
    """A CSV table of so many invented houses; every tenth was tested, every fifth measured."""
    rng = random.Random(seed)  # noqa: S311 - invented data, the same every time
    out = StringIO()
    write = csv.writer(out)
    write.writerow(HEADINGS)
    write.writerows(_house(number, rng) for number in range(1, houses + 1))
    return out.getvalue()


def _house(number: int, rng: random.Random) -> Iterator[object]:
    names = list(_KINDS)
    kind = rng.choices(names, [_KINDS[name][0] for name in names])[0]
    _, years, areas, flows, fuels = _KINDS[kind]
    yield f"LHT-{number:05d}"
    yield kind
    yield round(rng.triangular(*areas))
    yield rng.randint(*years)
    yield rng.choices(_CLIMATES, (4, 3, 2, 1))[0]
    yield f"{rng.choice(_TOWNS)} (invented)"
    yield round(rng.triangular(*flows)) if rng.random() < 0.1 else ""
    yield f"{rng.triangular(26, 55):.0f} %" if rng.random() < 0.2 else ""
    yield rng.choices(fuels, (3, 1))[0]


def write_stock(folder: Path, houses: int = 60) -> Path:
    """Write archetypes and table into a folder; the path of the table.

    Raises
    ------
    OSError
        A folder that cannot be written.
    """
    kinds = folder / "archetypes"
    kinds.mkdir(parents=True, exist_ok=True)
    for name, text in archetype_texts().items():
        (kinds / f"{name}.toml").write_text(text, encoding="utf-8")
    table = folder / "houses.csv"
    table.write_text(stock_table(houses), encoding="utf-8", newline="")
    return table
