"""What it takes: the takeoff from the real bays, and its price."""

from warmside.estimate._parts import Price, PriceLine, PriceList, PriceRow, Quantity

__all__ = ["Price", "PriceLine", "PriceList", "PriceRow", "Quantity"]
