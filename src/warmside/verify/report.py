"""The register walked through, the worst disagreement first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from warmside.errors import Fault, InputError
from warmside.verify.case import Case, Kind, Outcome
from warmside.verify.measured import Deviation, in_words, measured

MEASURED = "measured"  # asked for like a room


@dataclass(frozen=True)
class Report:
    """Outcomes, the worst first, those left out last; and what was measured, the worst first."""

    outcomes: tuple[Outcome, ...]
    measured: tuple[Deviation, ...] = ()

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
    def by_kind(self) -> dict[Kind, int]:
        """Figures compared, by what they are worth as evidence; those measured are outside.

        What a case of this report compares already is not counted again.
        """
        number: Counter[Kind] = Counter()
        for outcome in self.outcomes:
            number[outcome.case.kind] += len(outcome.checks)
        ran = {outcome.case.id for outcome in self.outcomes if outcome.checks}
        number["outside"] += sum(found.of.case not in ran for found in self.measured)
        return {kind: number[kind] for kind in get_args(Kind)}

    @property
    def sentence(self) -> str:
        """What came out, in sentences."""
        agreeing = len(self.outcomes) - self.disagreeing - self.left_out
        kinds = ", ".join(f"{number} {kind}" for kind, number in self.by_kind.items())
        told = f"{agreeing} cases agree with their sources; figures: {kinds}"
        if self.disagreeing:
            told += f", {self.disagreeing} do not"
        if self.left_out:
            told += f", {self.left_out} were left out: their library is not installed"
        if not self.measured:
            return f"{told}."
        return f"{told}. {in_words(self.measured)}"

    def to_json(self) -> dict[str, Any]:
        """Plain data: every case with every figure."""
        return {
            "sentence": self.sentence,
            "figures_by_kind": dict(self.by_kind),
            "measured": [
                {
                    "id": d.of.id,
                    "subject": d.of.subject,
                    "what": d.of.what,
                    "source": d.of.source,
                    "tag": d.of.tag,
                    "unit": d.of.unit,
                    "measured_least": d.of.least,
                    "measured_most": d.of.most,
                    "computed": d.computed,
                    "deviation": d.share,
                    "uncertainty": d.of.uncertainty,
                    "stated": d.of.stated,
                    "verdict": d.verdict,
                    "why": d.of.why,
                }
                for d in self.measured
            ],
            "cases": [
                {
                    "case": o.case.id,
                    "room": o.case.room,
                    "what": o.case.what,
                    "source": o.case.source,
                    "tag": o.case.tag,
                    "kind": o.case.kind,
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
        Names of rooms, and "measured" for what was measured; all of them when empty.
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
    known = dict.fromkeys([*(case.room for case in every), MEASURED])
    wrong = [room for room in rooms if room not in known]
    if wrong:
        raise InputError([Fault("room", room, ", ".join(known)) for room in wrong])
    outcomes = list(_computed([c for c in every if not rooms or c.room in rooms], told))
    outcomes.sort(key=lambda o: (o.left_out, -o.used))
    return Report(tuple(outcomes), measured() if not rooms or MEASURED in rooms else ())


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
