"""One shape for everything that goes wrong: a status, a sentence, and faults to mend."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from warmside.errors import BusyError, Fault, InputError, UnknownRowError, WarmsideError
from warmside.store import StaleError, StoreError, UnknownError


@dataclass(eq=False)
class Problem(Exception):  # noqa: N818
    """What is told to a person as a page and to a program as JSON."""

    status: int
    title: str
    text: str = ""
    faults: tuple[Fault, ...] = ()
    wait: int = 0  # [s] before it is worth trying again

    def to_json(self) -> dict[str, Any]:
        """The body of every refusal of the API."""
        faults = [
            {"place": f.place, "read": f.read, "allowed": f.allowed, "line": f.line}
            for f in self.faults
        ]
        return {
            "error": {
                "status": self.status,
                "title": self.title,
                "text": self.text,
                "faults": faults,
            }
        }


def problem_of(error: WarmsideError) -> Problem:
    """The problem that an error of the rooms is to whoever asked."""
    if isinstance(error, StaleError):
        return Problem(409, "Someone saved first", str(error))
    if isinstance(error, InputError):
        return Problem(422, "Please correct these entries", faults=error.faults)
    if isinstance(error, UnknownError | UnknownRowError):
        return Problem(404, "Not found", str(error))
    if isinstance(error, BusyError):
        return Problem(503, "Please wait", str(error), wait=5)
    if isinstance(error, StoreError):
        return Problem(503, "The store cannot answer now", str(error), wait=5)
    return Problem(422, "This cannot be done", str(error))
