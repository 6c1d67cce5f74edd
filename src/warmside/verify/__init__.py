"""Is it right? A register of checks, each with its source and with what it is worth as evidence.

Cases agree or disagree; what was measured stands with its deviation. The tests walk through both,
and ``warmside verify`` prints them.
"""

from warmside.verify.case import KINDS, Case, Check, Kind, Outcome, Tag
from warmside.verify.measured import MEASUREMENTS, Deviation, Measurement, in_words, measured
from warmside.verify.report import Report, cases, verify

__all__ = [
    "KINDS",
    "MEASUREMENTS",
    "Case",
    "Check",
    "Deviation",
    "Kind",
    "Measurement",
    "Outcome",
    "Report",
    "Tag",
    "cases",
    "in_words",
    "measured",
    "verify",
]
