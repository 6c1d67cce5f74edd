"""Values as keys of what was computed of them, where comparing them takes as long as computing."""

from __future__ import annotations

from typing import Generic, TypeVar

T = TypeVar("T")


class Same(Generic[T]):
    """A value that is equal to itself alone, whatever else has the same content.

    It holds the value, so that no other can come to stand in its place in memory.
    """

    __slots__ = ("value",)

    def __init__(self, value: T) -> None:
        self.value = value

    def __hash__(self) -> int:
        return id(self.value)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.value is self.value
