"""Columns of the results, each with its unit; fixed, so that the files of a run fit together."""

from __future__ import annotations

from functools import cache
from typing import Any

_FIGURES = "area_m2 rsi_m2k_w cost heat_j money carbon_kg present_value hours risk risk_avoided"
_TEXTS = "key id archetype option name warm dry tight legal safe worth_it why_close"
_DRAWS = "money_draws carbon_draws heat_draws cost_draws"
_CLOSE = "close_rsi_m2k_w close_heat_j close_money close_carbon_kg"


@cache
def houses() -> dict[str, Any]:
    """One row for each option of each house, the house as it stands among them."""
    import polars as pl

    columns: dict[str, Any] = dict.fromkeys(_TEXTS.split(), pl.String)
    columns |= dict.fromkeys(("walls", "of_walls", "draws"), pl.Int32)
    columns |= dict.fromkeys(("keeps", "near", "missed"), pl.Boolean)
    columns |= dict.fromkeys(_FIGURES.split(), pl.Float64)
    columns |= dict.fromkeys(_DRAWS.split(), pl.List(pl.Float64))
    columns |= dict.fromkeys(_CLOSE.split(), pl.Float64)
    return columns | {"close_warm": pl.String, "close_dry": pl.String}


@cache
def unknowns() -> dict[str, Any]:
    """One row for each unknown of each house: the values drawn (choices by their place)."""
    import polars as pl

    return {"key": pl.String, "unknown": pl.String, "values": pl.List(pl.Float64)}


@cache
def factors() -> dict[str, Any]:
    """Field over simple method, for each option of each archetype."""
    import polars as pl

    texts = dict.fromkeys(("key", "archetype", "option"), pl.String)
    return texts | {"rsi_factor": pl.Float64, "heat_factor": pl.Float64}


@cache
def effects() -> dict[str, Any]:
    """How much of the saving's spread hangs on each unknown of each archetype."""
    import polars as pl

    texts = dict.fromkeys(("key", "archetype", "unknown", "option"), pl.String)
    return texts | dict.fromkeys(("first", "total", "error"), pl.Float64)
