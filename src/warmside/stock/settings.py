"""How a stock is run: how many draws, how large a sample, what counts as near a limit."""

from __future__ import annotations

from dataclasses import dataclass, fields

from warmside.errors import Fault, InputError


@dataclass(frozen=True)
class Settings:
    """What a run may be told; every figure within its bounds, InputError otherwise."""

    draws: int = 8  # of each house with something unknown
    seed: int = 1
    sample: float = 0.05  # [-] share of houses whose screening is checked
    near_factor: float = 0.02  # [-] temperature factor within this of what is needed
    near_surface: float = 0.5  # [K] coldest surface within this of the dew point
    near_water: float = 0.25  # [-] water within this share of its limit
    years: int = 1  # run hour by hour where the screening is checked
    chunk: int = 10  # houses to a task and to a file

    def __post_init__(self) -> None:
        faults = []
        for field in fields(self):
            value, (low, high) = getattr(self, field.name), _BOUNDS[field.name]
            whole = field.type == "int"
            kinds = (int,) if whole else (int, float)
            if isinstance(value, bool) or not isinstance(value, kinds) or not low <= value <= high:
                allowed = f"a {'whole ' if whole else ''}number from {low:g} to {high:g}"
                faults.append(Fault(field.name.replace("_", " "), repr(value)[:40], allowed))
        if faults:
            raise InputError(faults)


_BOUNDS = {
    "draws": (1, 1000),
    "seed": (0, 2**31),
    "sample": (0.0, 1.0),
    "near_factor": (0.0, 1.0),
    "near_surface": (0.0, 50.0),
    "near_water": (0.0, 1.0),
    "years": (1, 10),
    "chunk": (1, 1000),
}
