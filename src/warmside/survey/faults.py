"""What the validator found, told in the words of the file and the trade."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, time
from difflib import get_close_matches
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from warmside import units
from warmside.survey._models import FILE_NAMES, Survey
from warmside.survey._problems import Problem
from warmside.survey.quantities import HIDDEN, Reader
from warmside.toml import Path
from warmside.wording import listed

_LONGEST = 60  # characters of what was read
# what people write for a key, and the keys that are meant
_SAID = {
    "facing": "faces", "orientation": "faces", "direction": "faces", "built": "year_built",
    "year": "year_built", "stories": "storeys", "story": "storey", "floors": "storeys",
    "humidity": "indoor_humidity", "rh": "indoor_humidity", "cfm50": "flow_50",
    "insulation": "fill", "siding": "cladding", "vapor_control": "vapour_control",
    "vapour_barrier": "vapour_control", "vapor_barrier": "vapour_control", "studs": "stud",
    "afue": "efficiency", "usage": "yearly_use", "on_centre": "spacing", "oc": "spacing",
    "area": "floor_area", "weather": "climate", "temperature": "indoor_temperature",
}  # fmt: skip
_PAIR = ("x", "height")  # a step of a profile in its short form


def tell(error: ErrorDetails, data: object) -> Iterator[tuple[Path, str, str]]:
    """Path, what was read and what is allowed, for one error of the validator."""
    path, kind = tuple(error["loc"]), error["type"]
    context = error.get("ctx", {})
    if kind == "problems":
        yield from told(context["problems"], data, path)
    elif kind == "extra_forbidden":
        yield path, f"the key {shown(path[-1])}", _known_keys(path)
    elif kind == "missing":
        yield path, "nothing", describe(*_field(path))
    elif kind == "quantity":
        yield path, shown(value_at(data, path)), context["allowed"]
    elif kind == "hidden_character":
        yield path, shown(value_at(data, path)), "text that can be seen: letters, digits, signs"
    else:
        yield path, shown(value_at(data, path)), describe(*_field(path))


def told(
    problems: Iterable[Problem], data: object, path: Path = ()
) -> Iterator[tuple[Path, str, str]]:
    """Path, what was read and what is allowed, for problems below ``path``."""
    for problem in problems:
        place = path + problem.path
        yield place, problem.read or shown(value_at(data, place)), problem.allowed


def value_at(data: object, path: Path) -> object:
    """What stands in the file at ``path``, short forms included; None where nothing does."""
    for key in path:
        part = _PAIR.index(str(key)) if isinstance(data, list) and key in _PAIR else key
        if isinstance(data, str) and part == "material":
            continue
        try:
            data = data[part]  # type: ignore[index]
        except (LookupError, TypeError):
            return None
    return data


def place(path: Path, data: object) -> str:
    """``path`` in words: ``wall "north front", opening "kitchen window", width``."""
    words: list[str] = []
    for depth, part in enumerate(path):
        if isinstance(part, int):
            element = value_at(data, path[: depth + 1])
            name = element.get("name") if isinstance(element, dict) else None
            label = shown(name) if isinstance(name, str) and name else str(part + 1)
            words[-1:] = [f"{words[-1]} {label}" if words else label]
        else:
            words.append(shown(part)[1:-1])
    return ", ".join(words) or "the survey"


def shown(value: object) -> str:
    """A value as a person would point at it; never long, never a control character."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, (list, tuple)):
        return "a list" if value else "an empty list"
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, int) and abs(value) >= 10**_LONGEST:
        return "a very long number"
    text = str(value)
    short = text if len(text) <= _LONGEST else text[: _LONGEST - 3] + "..."
    short = HIDDEN.sub("\N{REPLACEMENT CHARACTER}", short).replace("\n", " ").replace("\t", " ")
    return f'"{short}"' if isinstance(value, str) else short


def describe(annotation: Any, metadata: tuple[Any, ...] = ()) -> str:
    """What a field allows, in a tradesperson's words."""
    annotation, metadata = unwrapped(annotation, metadata)
    reader = reader_of(metadata)
    if reader is not None:
        return units.allowed(reader.quantity, _bounds(metadata, reader.quantity))
    if get_origin(annotation) is Literal:
        words = [f'"{word}"' for word in get_args(annotation)]
        return listed(words, "or")
    if get_origin(annotation) is tuple:
        return _describe_list(
            *unwrapped(get_args(annotation)[0], ()), _limit(metadata, "max_length")
        )
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        needed = [f.alias or n for n, f in annotation.model_fields.items() if f.is_required()]
        return "a table" + (" with " + ", ".join(needed) if needed else "")
    if annotation is bool:
        return "true or false"
    if annotation is str:
        least = "text of at least one character" if _limit(metadata, "min_length") else "text"
        return f"{least} in quotes, on one line, up to {_limit(metadata, 'max_length')} characters"
    number = "a whole number" if annotation is int else "a number"
    return number + _bounds(metadata, None)


def _describe_list(element: Any, metadata: tuple[Any, ...], most: Any) -> str:
    if isinstance(element, type) and issubclass(element, BaseModel):
        return f"a list of tables, up to {most}, each under its own [[double brackets]]"
    return f'a list in brackets, up to {most}: ["...", "..."], each {describe(element, metadata)}'


def quantity_at(path: Path) -> units.Quantity | None:
    """What is measured by the field at ``path`` of file keys; None for text, names, counts."""
    reader = reader_of(_field(path)[1])
    return reader.quantity if reader else None


def allowed_at(path: Path) -> str:
    """What the field at ``path`` of file keys allows, in words; "" where there is no such field."""
    annotation, metadata = _field(path)
    known = path and path[-1] in _fields(_field(path[:-1])[0]) and not _fields(annotation)
    return describe(annotation, metadata) if known else ""


def reader_of(metadata: tuple[Any, ...]) -> Reader | None:
    """The reader of a quantity among a field's metadata."""
    functions = (getattr(item, "func", None) for item in metadata)
    return next((f for f in functions if isinstance(f, Reader)), None)


# samples: up to how much [m3, kg] a bound is told in the small unit, how many are in one, the unit
_SMALL: dict[units.Quantity, tuple[float, float, str]] = {
    "volume": (0.01, 1e6, "mL"), "mass": (1.0, 1e3, "g"),
}  # fmt: skip


def _bounds(metadata: tuple[Any, ...], quantity: units.Quantity | None) -> str:
    def words(value: float) -> str:
        if quantity is None or value == 0:
            return f"{value:g}"
        if quantity == "length":
            return f"{units.show(value, quantity)} ({units.show(value, quantity, 'metric')})"
        if quantity == "temperature":
            return f"{value:g} °C ({value * 1.8 + 32.0:.0f} °F)"
        if (small := _SMALL.get(quantity)) and value <= small[0]:
            return f"{value * small[1]:g} {small[2]}"
        return units.show(value, quantity, "metric") if quantity != "azimuth" else f"{value:g}"

    ends = [
        f"{word} {words(value)}"
        for key, word in (("gt", "above"), ("ge", "from"), ("le", "up to"), ("lt", "below"))
        if (value := _limit(metadata, key)) is not None
    ]
    return ", " + " ".join(ends) if ends else ""


def _limit(metadata: tuple[Any, ...], key: str) -> Any:
    return next((getattr(item, key) for item in metadata if hasattr(item, key)), None)


def unwrapped(annotation: Any, metadata: tuple[Any, ...]) -> tuple[Any, tuple[Any, ...]]:
    """Without ``Annotated`` and ``| None``; what they carry joins the metadata."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            metadata = (*metadata, *_flat(more))
        elif get_origin(annotation) in (Union, UnionType):
            annotation = next(a for a in get_args(annotation) if a is not type(None))
        else:
            return annotation, metadata


def _flat(items: list[Any]) -> Iterator[Any]:
    for item in items:  # Field(...) inside Annotated keeps its limits in its own metadata
        yield from getattr(item, "metadata", ()) or (item,)


def _field(path: Path) -> tuple[Any, tuple[Any, ...]]:
    """Type and metadata of the field at ``path``; of the deepest one known, if it ends early."""
    annotation: Any = Survey
    metadata: tuple[Any, ...] = ()
    for part in path:
        annotation, metadata = unwrapped(annotation, metadata)
        if isinstance(part, int) and get_origin(annotation) is tuple:
            annotation, metadata = get_args(annotation)[0], ()
        elif fields := _fields(annotation):
            if part not in fields:
                break
            annotation, metadata = fields[str(part)]
    return unwrapped(annotation, metadata)


def heading_of(path: tuple[str, ...]) -> str | None:
    """The heading meant by ``path``, with its brackets; None where none is near."""
    record: Any = Survey
    names: list[str] = []
    many = False
    for part in path:
        known = {name: unwrapped(kind, ())[0] for name, (kind, _) in _fields(record).items()}
        tables = {name: _of_list(kind) for name, kind in known.items() if _fields(_of_list(kind))}
        name = part if part in tables else FILE_NAMES.get(part, part)
        if name not in tables:
            near = get_close_matches(name.casefold(), tables, n=1, cutoff=0.6)
            if not near:
                return None
            name = near[0]
        many, record = get_origin(known[name]) is tuple, tables[name]
        names.append(name)
    words = ".".join(names)
    return f"[[{words}]]" if many else f"[{words}]"


def _of_list(kind: Any) -> Any:
    """What a list is of; the kind itself where it is no list."""
    return unwrapped(get_args(kind)[0], ())[0] if get_origin(kind) is tuple else kind


def _fields(annotation: Any) -> Mapping[str, tuple[Any, tuple[Any, ...]]]:
    if not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
        return {}
    return {
        field.alias or name: (field.annotation, tuple(field.metadata))
        for name, field in annotation.model_fields.items()
    }


def _known_keys(path: Path) -> str:
    known = list(_fields(_field(path[:-1])[0]))
    wrong = str(path[-1])[:_LONGEST]
    wrong = FILE_NAMES.get(wrong, wrong)
    meant = [key for key in _SAID.get(wrong.casefold(), "").split() if key in known]
    near = meant or get_close_matches(wrong.casefold(), known, n=1, cutoff=0.6)
    if near:
        return f'a key known here; nearest is "{near[0]}"'
    return "the keys " + ", ".join(known) if known else "no key here"
