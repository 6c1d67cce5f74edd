"""What the state in which old fill is found does to it."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.catalog._cells import Cells
from warmside.catalog._rows import Source

_BANDS = ("conductivity_times", "empty_share")


@dataclass(frozen=True)
class FillState:
    """What one state does to the fill of a bay; ``low`` to ``high`` is how far it was seen to go.

    ``materials`` are the fills that it is told of, any where empty. ``empty_share`` of every bay
    holds none, at its top.
    """

    id: str
    state: str
    materials: tuple[str, ...]
    conductivity_times: float  # [-] of that of the sound fill
    conductivity_times_low: float  # [-]
    conductivity_times_high: float  # [-]
    empty_share: float  # [-]
    empty_share_low: float  # [-]
    empty_share_high: float  # [-]
    water_share: float  # [-] of its volume, when it is found
    stops_air: bool  # whether air must pass its fibres
    source: Source


def check_fill(cells: Cells) -> None:
    """Refuse a row whose bands are crossed."""
    for band in _BANDS:
        cells.ordered(f"{band}_low", band, f"{band}_high")


def fill_state(cells: Cells) -> FillState:
    """The row of ``cells``."""
    return FillState(
        id=cells.text("id"),
        state=cells.text("state"),
        materials=tuple(m.strip() for m in cells.text("materials").split(";") if m.strip()),
        **{
            name + end: cells.number(name + end)
            for name in _BANDS for end in ("", "_low", "_high")
        },
        water_share=cells.number("water_share"),
        stops_air=cells.text("stops_air") == "yes",
        source=cells.source(),
    )  # fmt: skip
