"""What is not known of a house, with its spread: a field of the survey file and a distribution."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any, Literal

from warmside import units
from warmside.errors import Fault, InputError, UnitError
from warmside.survey import allowed_at, quantity_at

Kind = Literal["normal", "triangular", "choice"]
Value = float | int | str | bool
_KINDS: tuple[Kind, ...] = ("normal", "triangular", "choice")
_KEYS = ("field", "name", "weights", *_KINDS)
_TAIL = 1e-3  # [-] of a normal distribution is cut off at either end
_SHAPES = {
    "normal": "two values: the mean and the standard deviation (above 0)",
    "triangular": "three values: least, likeliest and most, rising",
}


@dataclass(frozen=True)
class Unknown:
    """One field that is not known, and how it is spread over houses of the kind.

    ``values`` are SI: mean and standard deviation, or least, likeliest and most, or the choices.
    """

    field: str  # as in a survey file, walls without their number: "wall.found.fill_thickness"
    name: str  # as a person reads it
    kind: Kind
    values: tuple[Value, ...]
    weights: tuple[float, ...] = ()  # [-] of the choices, summing to 1

    @property
    def likeliest(self) -> Value:
        """The value that a house is taken to have until it is known."""
        if self.kind == "choice":
            return self.values[self.weights.index(max(self.weights))]
        return self.values[0] if self.kind == "normal" else self.values[1]

    def at(self, u: float) -> Value:
        """The value below which the share ``u`` [-] of houses lies (choices in their order).

        Normal: ``m + s z(u)``, the outer thousandths cut off. Triangular: ``a + sqrt(u (c - a)
        (b - a))`` up to the likeliest, ``c - sqrt((1 - u) (c - a) (c - b))`` beyond.
        """
        if self.kind == "choice":
            return self.values[self.number(u)]
        if self.kind == "normal":
            from scipy.special import ndtri

            mean, deviation = (float(v) for v in self.values)
            return mean + deviation * float(ndtri(min(max(u, _TAIL), 1.0 - _TAIL)))
        low, best, high = (float(v) for v in self.values)
        if u * (high - low) < best - low:
            return low + sqrt(u * (high - low) * (best - low))
        return high - sqrt((1.0 - u) * (high - low) * (high - best))

    def number(self, u: float) -> int:
        """Which of the choices, counted from 0, stands at the share ``u`` [-]."""
        reached = 0.0
        for number, weight in enumerate(self.weights):
            reached += weight
            if u < reached:
                return number
        return max(k for k, weight in enumerate(self.weights) if weight > 0.0)

    def as_number(self, u: float) -> float:
        """The drawn value as a number: the value itself, or the place of the choice."""
        return float(self.number(u)) if self.kind == "choice" else float(self.at(u))


def field_path(field: str) -> tuple[str | int, ...]:
    """The path of a field in the survey file; a field of the walls stands for all of them."""
    first, *rest = field.split(".")
    return ("wall", 0, *rest) if first == "wall" else (first, *rest)


def read_unknowns(
    tables: object, place: str, lines: Sequence[int] = ()
) -> tuple[tuple[Unknown, ...], tuple[Fault, ...]]:
    """The ``[[unknown]]`` tables of an archetype, and what is wrong with them.

    Parameters
    ----------
    tables : object
        What the file holds under ``unknown``.
    place : str
        What to call the file.
    lines : sequence of int
        Line of each table.

    Returns
    -------
    tuple
        Unknowns that can be used; faults of the others.
    """
    if not isinstance(tables, list):
        wrong = Fault(f"{place}, unknown", "one value", "a list of tables, each under [[unknown]]")
        return (), (wrong,)
    found: dict[str, Unknown] = {}
    faults: list[Fault] = []
    for number, table in enumerate(tables):
        line = lines[number] if number < len(lines) else None
        try:
            one = _unknown(table, f"{place}, unknown {number + 1}", line)
        except InputError as error:
            faults += error.faults
            continue
        if one.field in found:
            faults.append(Fault(f"{place}, {one.field}", "given twice", "each field once", line))
        found[one.field] = one
    return tuple(found.values()), tuple(faults)


def _unknown(table: object, place: str, line: int | None) -> Unknown:
    if not isinstance(table, Mapping):
        raise InputError([Fault(place, "no table", "a table under [[unknown]]", line)])
    if extra := [key for key in table if key not in _KEYS]:
        raise InputError([Fault(place, f"the key {extra[0]}"[:60], ", ".join(_KEYS), line)])
    field = table.get("field")
    path = field_path(field) if isinstance(field, str) else ()
    if not path or not allowed_at(path):
        allowed = 'a field of the survey file with a value of its own, such as "wall.found.fill"'
        raise InputError([Fault(f"{place}, field", repr(field)[:60], allowed, line)])
    kinds = [kind for kind in _KINDS if kind in table]
    if len(kinds) != 1:
        raise InputError(
            [Fault(place, f"{len(kinds)} distributions", f"one of {', '.join(_KINDS)}", line)]
        )
    kind, where = kinds[0], f"{place}, {kinds[0]}"
    given = table[kind]
    if not isinstance(given, list) or not 2 <= len(given) <= 50:
        raise InputError([Fault(where, repr(given)[:60], "a list of values", line)])
    values = _values(given, path, kind, where, line)
    weights = _weights(table.get("weights"), len(values), kind, place, line)
    return Unknown(str(field), str(table.get("name") or field)[:60], kind, values, weights)


def _values(
    given: list[Any], path: tuple[str | int, ...], kind: Kind, where: str, line: int | None
) -> tuple[Value, ...]:
    quantity = quantity_at(path)
    try:
        if quantity is None:
            values = tuple(given)
        elif kind == "normal" and quantity == "temperature":
            spread = units.parse(given[1], "temperature difference")
            values = (units.parse(given[0], quantity), spread)
        else:
            values = tuple(units.parse(value, quantity) for value in given)
    except UnitError as error:
        raise InputError([Fault(where, error.read, error.allowed, line)]) from None
    if kind == "choice":
        if not all(isinstance(value, str | int | float) for value in values):
            raise InputError([Fault(where, repr(given)[:60], "texts or numbers", line)])
        return values
    plain = all(isinstance(v, int | float) and not isinstance(v, bool) for v in values)
    if kind == "normal":
        good = plain and len(values) == 2 and values[1] > 0
    else:
        good = plain and len(values) == 3 and values[0] <= values[1] <= values[2] > values[0]
    if not good:
        raise InputError([Fault(where, repr(given)[:60], _SHAPES[kind], line)])
    return values


def _weights(
    given: object, count: int, kind: Kind, place: str, line: int | None
) -> tuple[float, ...]:
    if kind != "choice":
        if given is None:
            return ()
        raise InputError([Fault(f"{place}, weights", "weights", "only beside a choice", line)])
    if given is None:
        return (1.0 / count,) * count
    good = isinstance(given, list) and len(given) == count and all(
        isinstance(w, int | float) and not isinstance(w, bool) and 0.0 <= w < 1e9 for w in given
    )  # fmt: skip
    if not isinstance(given, list) or not good or not sum(given) > 0.0:
        allowed = f"{count} numbers from 0 up, not all 0"
        raise InputError([Fault(f"{place}, weights", repr(given)[:60], allowed, line)])
    total = float(sum(given))
    return tuple(float(w) / total for w in given)
