"""Sorption and liquid uptake of the catalog's materials: ``moisture_rows``."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal, cast, get_args

from warmside.catalog._rows import Source, Tag
from warmside.errors import CatalogError, Fault
from warmside.physics.assembly import MouldClass

Curve = Literal["wood", "points"]

HUMIDITIES = (0.50, 0.80, 0.93, 0.97)


@dataclass(frozen=True)
class MoistureRow:
    """How one material holds and draws water; ``material`` is the id of a material or foam.

    ``curve`` "wood" takes the equilibrium of wood at each humidity; "points" gives the water
    [kg/kg dry] at ``HUMIDITIES``.
    """

    material: str
    curve: Curve
    points: tuple[float, ...]
    free: float  # [kg/kg dry] held in contact with liquid water
    absorption: float  # [kg/(m2 s^0.5)] uptake coefficient; 0 where nothing draws
    conductivity_per_water: float  # [W m2/(K kg)] rise of conductivity per kg/m3 of water
    mould_class: MouldClass
    source_sorption: Source
    source_liquid: Source
    note: str = ""


@cache
def moisture_rows() -> Mapping[str, MoistureRow]:
    """Every row of the built-in file by material id.

    Raises
    ------
    CatalogError
        A cell that cannot be used, with its line.
    """
    place = resources.files("warmside.catalog") / "data" / "moisture.csv"
    faults: list[Fault] = []
    rows: dict[str, MoistureRow] = {}
    lines = csv.DictReader(place.read_text(encoding="utf-8").splitlines())
    for number, cells in enumerate(lines, start=2):
        try:
            row = _row(cells)
        except (KeyError, ValueError) as fault:
            faults.append(Fault("moisture.csv", str(fault), "a full row", line=number))
            continue
        if row.material in rows:
            faults.append(Fault("moisture.csv", row.material, "each material once", line=number))
        rows[row.material] = row
    if faults:
        raise CatalogError(faults)
    return rows


def _row(cells: Mapping[str, str]) -> MoistureRow:
    curve, mould, tags = cells["curve"], cells["mould_class"], get_args(Tag)
    if curve not in get_args(Curve) or mould not in get_args(MouldClass):
        raise ValueError(f"{curve}, {mould}")
    if cells["tag_sorption"] not in tags or cells["tag_liquid"] not in tags:
        raise ValueError(f"tags {cells['tag_sorption']}, {cells['tag_liquid']}")
    names = [f"at_{h * 100:.0f}_percent" for h in HUMIDITIES]
    points = tuple(float(cells[name]) / 100 for name in names) if curve == "points" else ()
    free, absorption = float(cells["free_percent"]) / 100, float(cells["absorption_kg_m2s05"])
    if list(points) != sorted(points) or not 0 <= absorption < 1 or free <= max(points, default=0):
        raise ValueError(f"{points}, free {free}, absorption {absorption}")
    return MoistureRow(
        material=cells["material"],
        curve=cast(Curve, curve),
        points=points,
        free=free,
        absorption=absorption,
        conductivity_per_water=float(cells["conductivity_per_water_w_m2_kgk"]),
        mould_class=cast(MouldClass, mould),
        source_sorption=Source(cells["source_sorption"], cast(Tag, cells["tag_sorption"])),
        source_liquid=Source(cells["source_liquid"], cast(Tag, cells["tag_liquid"])),
        note=cells["note"],
    )
