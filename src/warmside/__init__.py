"""Warmside: from a surveyed old wood-framed wall to a computed, priced and provable job."""

__version__ = "0.1.0"
