"""What every kind that puts insulation into an open wall is judged by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from warmside.options import _judge
from warmside.options._option import Case, Kind, Refusal


@dataclass(frozen=True)
class Insulated(Kind):
    """Opened, filled or covered, closed again: what was wet must not be shut in."""

    def refusals(self, case: Case) -> Iterator[Refusal]:
        """Wet wood shut in."""
        yield from _judge.shut_in_wet(case)

    def cautions(self, case: Case) -> Iterator[str]:
        """Water, vapour, spaces and ends, hazards that are not cleared."""
        yield from _judge.moisture(case)
        yield from _judge.vapour(case)
        yield from _judge.geometry(case)
        yield from _judge.dangers(case)
