"""One tree of errors, each saying what was wrong, where, and what is allowed."""

from __future__ import annotations

from dataclasses import dataclass, field


class WarmsideError(Exception):
    """Root of every error that Warmside raises on purpose."""


def shown(text: str) -> str:
    """``text`` as it can stand on a screen: what a file brought may not steer the terminal."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


FORMULA = ("=", "+", "-", "@", "\t", "\r")  # how a cell begins that a spreadsheet computes


def inert(cell: object) -> object:
    """A table cell that a spreadsheet takes for what it says, never for a formula."""
    if isinstance(cell, str) and cell.startswith(FORMULA):
        return f"'{cell}"
    return cell


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input, told so that the person can mend it.

    Attributes
    ----------
    place : str
        Where, in the words of the file: ``wall "north front", opening 2, width``.
    read : str
        What was read there.
    allowed : str
        What is allowed there, as a sentence part: ``a length such as "2 ft 8 in"``.
    line : int or None
        Line of the file, counted from 1, where it is known.
    path : tuple of str and int
        Where, for a program: keys and counts from 0, such as ``("wall", 0, "opening", 1, "left")``;
        () where it is not known.
    """

    place: str
    read: str
    allowed: str
    line: int | None = None
    path: tuple[str | int, ...] = field(default=(), compare=False, repr=False)

    def __str__(self) -> str:
        where = f"line {self.line}: " if self.line is not None else ""
        return shown(f"{where}{self.place}: read {self.read}; allowed: {self.allowed}")


class InputError(WarmsideError, ValueError):
    """An input that cannot be used, with every fault found in it."""

    def __init__(self, faults: tuple[Fault, ...] | list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)


class UnitError(WarmsideError, ValueError):
    """A quantity that cannot be read: what was read, and what is allowed."""

    def __init__(self, read: str, allowed: str) -> None:
        self.read = read
        self.allowed = allowed
        super().__init__(read, allowed)

    def __str__(self) -> str:
        return f"read {self.read}; allowed: {self.allowed}"


class CatalogError(InputError):
    """A catalog row or file that is refused."""


class UnknownRowError(WarmsideError, KeyError):
    """A name that the catalog does not hold."""

    def __init__(self, kind: str, name: str, near: tuple[str, ...] = ()) -> None:
        self.kind = kind
        self.name = name
        self.near = near
        super().__init__(kind, name, near)

    def __str__(self) -> str:
        hint = f"; nearest: {', '.join(self.near)}" if self.near else ""
        return f"no {self.kind} named '{self.name}' in the catalog{hint}"


class BusyError(WarmsideError):
    """Too much is asked at once: what, and what a person may do."""

    def __init__(self, what: str, advice: str) -> None:
        self.what = what
        self.advice = advice
        super().__init__(what, advice)

    def __str__(self) -> str:
        return f"{self.what}; {self.advice}"


class SolverError(WarmsideError, ArithmeticError):
    """A computation that did not reach its tolerance, with advice."""

    def __init__(self, what: str, advice: str) -> None:
        self.what = what
        self.advice = advice
        super().__init__(what, advice)

    def __str__(self) -> str:
        return f"{self.what}; {self.advice}"
