"""The register of checks as a paper: source, figures, verdict, the worst first."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from warmside import __version__
from warmside.documents.typesetting import PaperView, typeset
from warmside.documents.write import write_file
from warmside.verify import Deviation, Outcome, Report

_SHARE_MOST = 9.99  # of what is allowed, as it is printed


@dataclass(frozen=True)
class CaseRow:
    """A case by its worst figure, all as texts."""

    case: str
    what: str
    source: str
    tag: str
    figures: int
    figure: str  # name of the worst
    expected: str
    computed: str
    difference: str
    allowed: str
    used: str  # of what is allowed
    verdict: str


@dataclass(frozen=True)
class MeasuredRow:
    """A measured figure beside the computed one, all as texts."""

    what: str
    source: str
    tag: str
    unit: str
    measured: str
    computed: str
    deviation: str
    stated: str
    verdict: str
    why: str


@dataclass(frozen=True)
class VerificationView(PaperView):
    """What the paper shows."""

    sentence: str
    rows: tuple[CaseRow, ...]
    measured: tuple[MeasuredRow, ...]


def verification(report: Report, made: date) -> bytes:
    """The register as a tagged PDF; the same report gives the same bytes.

    Parameters
    ----------
    report : Report
        Outcomes, the worst first.
    made : date
        Date of the paper.

    Raises
    ------
    PaperError
        The paper could not be set.
    """
    view = VerificationView(
        house=f"Warmside {__version__}",
        date=made,
        prepared_by="Warmside",
        sentence=report.sentence,
        rows=tuple(case_row(outcome) for outcome in report.outcomes),
        measured=tuple(measured_row(one) for one in report.measured),
    )
    return typeset("verification", view, made)


def write_verification(report: Report, folder: Path, today: date | None = None) -> Iterator[Path]:
    """Write ``verification.pdf`` and ``verification.json``; yields each path written."""
    folder.mkdir(parents=True, exist_ok=True)
    paper = verification(report, today or date.today())
    yield write_file(folder / "verification.pdf", paper)
    whole = json.dumps(report.to_json(), indent=1, ensure_ascii=False, allow_nan=False)
    yield write_file(folder / "verification.json", whole.encode("utf-8"))


def measured_row(found: Deviation) -> MeasuredRow:
    """A measured figure as one line of its table."""
    one = found.of
    return MeasuredRow(
        what=one.what,
        source=one.source,
        tag=one.tag,
        unit=one.unit,
        measured=found.measured,
        computed=f"{found.computed:.3g}".replace("-", "−"),
        deviation=f"{found.share * 100:+.0f} %".replace("-", "−") if found.share else "0 %",
        stated=f"{one.uncertainty:.0%}".replace("%", " %") if one.uncertainty else one.stated,
        verdict=found.verdict,
        why=one.why,
    )


def case_row(outcome: Outcome) -> CaseRow:
    """A case as one line of the table."""
    case, worst = outcome.case, outcome.worst
    if worst is None:
        why = outcome.failed or f"needs {', '.join(case.missing)}"
        figures: tuple[str, ...] = (why, "–", "–", "–", "–", "–")
    else:
        numbers = (worst.expected, worst.computed, worst.difference, worst.allowed)
        share = f"{worst.used:.2f}" if worst.used <= _SHARE_MOST else f"over {_SHARE_MOST:.0f}"
        figures = (worst.name, *(f"{n:.4g}".replace("-", "−") for n in numbers), share)
    name, expected, computed, difference, allowed, used = figures
    return CaseRow(
        case=case.id,
        what=case.what,
        source=case.source,
        tag=case.tag,
        figures=len(outcome.checks),
        figure=f"{name} [{case.unit}]" if worst else name,
        expected=expected,
        computed=computed,
        difference=difference,
        allowed=allowed,
        used=used,
        verdict=outcome.verdict,
    )
