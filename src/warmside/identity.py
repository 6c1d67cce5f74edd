"""Values as keys of what was computed of them, where comparing them takes as long as computing."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import fields
from typing import Any, Generic, TypeVar

T = TypeVar("T")


class Same(Generic[T]):
    """A value that is equal to itself alone, whatever else has the same content.

    It holds the value, so that no other can come to stand in its place in memory. Of a dataclass,
    the fields ``but`` may be others: it is equal where each of the rest is the very same.
    """

    __slots__ = ("parts", "value")

    def __init__(self, value: T, but: Collection[str] = ()) -> None:
        self.value = value
        parts: Any = [f.name for f in fields(value) if f.name not in but] if but else ()  # type: ignore[arg-type]
        self.parts = tuple(id(getattr(value, name)) for name in parts) or id(value)

    def __hash__(self) -> int:
        return hash(self.parts)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.parts == self.parts
