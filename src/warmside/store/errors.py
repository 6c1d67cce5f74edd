"""What can go wrong with kept work, told so that nothing is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from warmside.errors import WarmsideError

if TYPE_CHECKING:
    from warmside.store.keeping import Change


class StoreError(WarmsideError, OSError):
    """The database cannot do what was asked: what happened, and what a person may do."""

    def __init__(self, what: str, advice: str) -> None:
        self.what = what
        self.advice = advice
        super().__init__(what, advice)

    def __str__(self) -> str:
        return f"{self.what}; {self.advice}"


class UnknownError(WarmsideError, KeyError):
    """A job, part, record, photo or person that the store does not hold."""

    def __init__(self, kind: str, name: str) -> None:
        self.kind = kind
        self.name = name
        super().__init__(kind, name)

    def __str__(self) -> str:
        return f"no {self.kind} '{self.name}' in the store"


class StaleError(WarmsideError):
    """A save that started from a text which has changed since.

    Attributes
    ----------
    part : str
        What was to be saved.
    started_from, revision : int
        The revision the save started from, and the one that stands now.
    changes : tuple of Change
        What was changed in between, oldest first.
    difference : str
        From the text started from to the one that stands now, as a unified diff.
    draft : str
        Form under which the refused text is kept as a draft; "" where there was no text.
    """

    def __init__(
        self,
        part: str,
        started_from: int,
        revision: int,
        changes: tuple[Change, ...] = (),
        difference: str = "",
        draft: str = "",
    ) -> None:
        self.part = part
        self.started_from = started_from
        self.revision = revision
        self.changes = changes
        self.difference = difference
        self.draft = draft
        super().__init__(part, started_from, revision, changes, difference, draft)

    def __str__(self) -> str:
        by = ", ".join(dict.fromkeys(change.who for change in self.changes))
        kept = "; your text is kept as a draft" if self.draft else ""
        return (
            f"{self.part} was changed {f'by {by} ' if by else ''}"
            f"since revision {self.started_from} (now {self.revision}){kept}"
        )
