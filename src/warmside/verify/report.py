"""The register walked through, the worst disagreement first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from warmside.errors import Fault, InputError
from warmside.verify.case import Case, Outcome


@dataclass(frozen=True)
class Report:
    """Outcomes, the worst first; those left out last."""

    outcomes: tuple[Outcome, ...]

    @property
    def disagreeing(self) -> int:
        """Cases that do not agree as closely as is asked."""
        return sum(outcome.verdict == "disagrees" for outcome in self.outcomes)

    @property
    def left_out(self) -> int:
        """Cases whose library is not installed."""
        return sum(outcome.left_out for outcome in self.outcomes)

    @property
    def checks(self) -> int:
        """Figures compared."""
        return sum(len(outcome.checks) for outcome in self.outcomes)

    @property
    def sentence(self) -> str:
        """What came out, in a sentence."""
        agreeing = len(self.outcomes) - self.disagreeing - self.left_out
        told = f"{agreeing} cases agree with their sources ({self.checks} figures)"
        if self.disagreeing:
            told += f", {self.disagreeing} do not"
        if self.left_out:
            told += f", {self.left_out} were left out: their library is not installed"
        return f"{told}."

    def to_json(self) -> dict[str, Any]:
        """Plain data: every case with every figure."""
        return {
            "sentence": self.sentence,
            "cases": [
                {
                    "case": o.case.id,
                    "room": o.case.room,
                    "what": o.case.what,
                    "source": o.case.source,
                    "tag": o.case.tag,
                    "unit": o.case.unit,
                    "verdict": o.verdict,
                    "failed": o.failed,
                    "needs": list(o.case.missing),
                    "figures": [
                        {
                            "name": c.name,
                            "expected": c.expected,
                            "computed": c.computed,
                            "difference": c.difference,
                            "allowed": c.allowed,
                            "holds": c.holds,
                        }
                        for c in o.checks
                    ],
                }
                for o in self.outcomes
            ],
        }


def cases() -> tuple[Case, ...]:
    """Every case, room by room."""
    from warmside.verify import (
        airflow,
        conduction,
        energy,
        estimate,
        fields,
        humid_air,
        measured_walls,
        moisture,
        mould,
        thermography,
    )

    rooms = (
        humid_air, thermography, conduction, fields, moisture, mould, measured_walls, airflow,
        energy, estimate,
    )  # fmt: skip
    return tuple(case for room in rooms for case in room.CASES)


def verify(rooms: Sequence[str] = (), told: Callable[[Case], None] = lambda _case: None) -> Report:
    """Compute every case, or those of some rooms.

    Parameters
    ----------
    rooms : sequence of str
        Names of rooms; all of them when empty.
    told : callable, optional
        Called with each case before it is computed.

    Returns
    -------
    Report
        The worst disagreement first.

    Raises
    ------
    InputError
        A room without cases.
    """
    every = cases()
    known = dict.fromkeys(case.room for case in every)
    wrong = [room for room in rooms if room not in known]
    if wrong:
        raise InputError([Fault("room", room, ", ".join(known)) for room in wrong])
    outcomes = list(_computed([c for c in every if not rooms or c.room in rooms], told))
    outcomes.sort(key=lambda o: (o.left_out, -o.used))
    return Report(tuple(outcomes))


def _computed(chosen: Sequence[Case], told: Callable[[Case], None]) -> Iterator[Outcome]:
    for case in chosen:
        told(case)
        if case.missing:
            yield Outcome(case, ())
            continue
        try:
            yield Outcome(case, tuple(case.compute()))
        except Exception as error:
            yield Outcome(case, (), f"{type(error).__name__}: {error}")
