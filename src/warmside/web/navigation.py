"""Where a job's pages are called from; a room adds a line for each page that people begin at."""

from __future__ import annotations

from dataclasses import dataclass

from warmside.web.web import Caller, Need


@dataclass(frozen=True)
class JobPage:
    """An entry in a job's navigation.

    ``path`` is what comes after ``/jobs/{job}``; the entry is marked as current there and
    wherever the path begins with it or with one of ``under``.
    """

    path: str
    words: str
    need: Need = "office"
    under: tuple[str, ...] = ()

    def is_current(self, path: str) -> bool:
        """Whether the page at ``path`` (after ``/jobs/{job}``) belongs here."""
        begins = (self.path, *self.under) if self.path else self.under
        return path == self.path or any(path.startswith(start) for start in begins)


JOB_PAGES: tuple[JobPage, ...] = (
    JobPage("", "House", "crew", under=("/house", "/walls", "/weather")),
    JobPage("/study", "Study"),
    JobPage("/client", "For the client"),
    JobPage("/price", "Price"),
    JobPage("/papers", "Papers", under=("/links",)),
    JobPage("/crew", "Crew", "crew", under=("/hours", "/yield")),
    JobPage("/day", "Day record", "crew"),
    JobPage("/proof", "Proof"),
    JobPage("/photos", "Photos", "crew"),
    JobPage("/survey", "Survey text"),
    JobPage("/history", "History"),
)


def entries(caller: Caller, path: str, job: str) -> list[tuple[str, str, bool]]:
    """What the caller is offered of a job: address, words, whether it is the current page."""
    here, rest = f"/jobs/{job}", path.removeprefix(f"/jobs/{job}")
    return [
        (here + entry.path, entry.words, entry.is_current(rest))
        for entry in JOB_PAGES
        if caller.may(entry.need)
    ]
