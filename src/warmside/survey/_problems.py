"""A contradiction within a record; each kind of record has its own check, kept in `_checks`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import singledispatch
from typing import NamedTuple

from pydantic_core import PydanticCustomError


class Problem(NamedTuple):
    """One contradiction: where (path of file names below the record), what, and what is allowed.

    ``read`` is None where the file itself shows what was read.
    """

    path: tuple[str | int, ...]
    read: str | None
    allowed: str


def refuse(problems: Iterable[Problem]) -> None:
    """Raise all problems of a record as one validation error."""
    found = tuple(problems)
    if found:
        text = "; ".join(
            f"{'.'.join(map(str, p.path))}: {p.read or ''} (allowed: {p.allowed})" for p in found
        )
        raise PydanticCustomError("problems", "{text}", {"text": text, "problems": found})


@singledispatch
def problems(record: object) -> Iterator[Problem]:  # noqa: ARG001 - its type is what counts
    """What is wrong between the fields of a record; nothing where no check is registered."""
    return iter(())
