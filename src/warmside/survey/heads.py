"""Headings of a survey file that are misspelt, or bracketed as one table where there are many."""

from __future__ import annotations

import re
from collections.abc import Iterator

from warmside.errors import Fault
from warmside.survey.faults import heading_of, shown

_HEADING = re.compile(
    r"[ \t]*(\[\[?)[ \t]*([A-Za-z_][A-Za-z_. -]{0,80}?)[ \t]*(\]\]?)[ \t]*(?:#.*)?$"
)


def faults_of_headings(text: str) -> Iterator[Fault]:
    """One fault for each heading that is not one of the file's, at its line.

    Only looked at where the text cannot be read: a line within a long text may look alike.
    """
    for number, line in enumerate(text.split("\n"), 1):
        match = _HEADING.match(line.rstrip("\r"))
        if match is None:
            continue
        path = tuple(part.strip() for part in match[2].split("."))
        right = heading_of(path)
        if right is not None and right != match[1] + ".".join(path) + match[3]:
            read = shown(line.split("#")[0].strip())
            yield Fault(", ".join(path), read, f"the heading {right}", number)
