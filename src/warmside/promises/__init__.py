"""What can be promised: physics and catalog become figures with verdicts."""

from warmside.promises._dry import Dry, dry
from warmside.promises._finding import Finding, Promise, Verdict
from warmside.promises._legal import legal
from warmside.promises._room import Outside, Room, outside_of, room_of
from warmside.promises._safe import safe
from warmside.promises._warm import Warm, factor_needed, warm

__all__ = [
    "Dry",
    "Finding",
    "Outside",
    "Promise",
    "Room",
    "Verdict",
    "Warm",
    "dry",
    "factor_needed",
    "legal",
    "outside_of",
    "room_of",
    "safe",
    "warm",
]
