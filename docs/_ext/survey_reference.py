"""The survey file's reference, from the models that read it."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from warmside import units
from warmside.options import KINDS
from warmside.survey import Survey, allowed_at, quantity_at


def page() -> str:
    """Every table of the file with keys, measure, what is allowed and the default, as Markdown."""
    return "\n".join(_table(Survey, (), set()))


def _table(model: type[BaseModel], path: tuple[str | int, ...], seen: set[str]) -> Iterator[str]:
    seen.add(model.__name__)
    written = ".".join(p for p in path if isinstance(p, str))
    if path:
        heading = f"[[{written}]]" if isinstance(path[-1], int) else f"[{written}]"
        yield f"## `{heading}`\n"
    yield inspect.cleandoc(model.__doc__ or "") + "\n"
    yield "| key | measure | allowed | without it |\n|---|---|---|---|"
    inner = []
    for name, field in model.model_fields.items():
        key = field.alias or name
        here = (*path, key)
        part = _model_of(field.annotation)
        yield f"| `{key}` | {_measure(here)} | {_allowed(here, part)} | {_default(field, here)} |"
        if part is not None and part.__name__ not in seen:
            many = get_origin(_bare(field.annotation)) is tuple
            inner.append((part, (*here, 0) if many else here))
    yield ""
    for part, where in inner:
        if part.__name__ not in seen:
            yield from _table(part, where, seen)


def _bare(annotation: Any) -> Any:
    while hasattr(annotation, "__metadata__"):
        annotation = get_args(annotation)[0]
    if get_origin(annotation) is Union or type(annotation).__name__ == "UnionType":
        return _bare(next(a for a in get_args(annotation) if a is not type(None)))
    return annotation


def _model_of(annotation: Any) -> type[BaseModel] | None:
    bare = _bare(annotation)
    if get_origin(bare) is tuple:
        return _model_of(get_args(bare)[0])
    return bare if isinstance(bare, type) and issubclass(bare, BaseModel) else None


def _measure(path: tuple[str | int, ...]) -> str:
    quantity = quantity_at(path)
    return quantity or "-"


def _allowed(path: tuple[str | int, ...], part: type[BaseModel] | None) -> str:
    if path == ("option", 0, "kind"):
        return "; ".join(f'"{kind.name}": {kind.meaning}' for kind in KINDS.values())
    said = allowed_at(path) or (f"a table: see `{path[-1]}`" if part else "text")
    return said.replace("|", "\\|")


def _default(field: FieldInfo, path: tuple[str | int, ...]) -> str:
    if field.is_required():
        return "**must be given**"
    value = field.default
    if value is None or value in ("", ()) or value is PydanticUndefined:
        return "nothing"
    if isinstance(value, BaseModel):
        return "its own defaults"
    quantity = quantity_at(path)
    if quantity and isinstance(value, float) and quantity != "azimuth":
        return f"`{units.exact(value, quantity)}`"
    return f"`{str(value).lower() if isinstance(value, bool) else value}`"
