"""Is it right? Every check against something outside the program, each with its source.

One register of cases: the tests walk through it, and ``warmside verify`` prints it.
"""

from warmside.verify.case import Case, Check, Outcome, Tag
from warmside.verify.report import Report, cases, verify

__all__ = ["Case", "Check", "Outcome", "Report", "Tag", "cases", "verify"]
