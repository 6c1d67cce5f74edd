"""What can be promised: physics and catalog become figures with verdicts."""

from warmside.promises._finding import Finding, Promise, Verdict

__all__ = ["Finding", "Promise", "Verdict"]
