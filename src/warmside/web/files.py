"""The few files that every page needs; names are looked up, never joined to a path."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import Response

from warmside.web.problem import Problem

router = APIRouter(include_in_schema=False)
_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".otf": "font/otf",
    ".svg": "image/svg+xml",
}


@cache
def _files() -> dict[str, tuple[bytes, str]]:
    root = Path(str(resources.files("warmside")))
    found = [*(root / "web" / "static").iterdir(), *(root / "documents" / "fonts").iterdir()]
    return {
        file.name: (file.read_bytes(), _TYPES[file.suffix])
        for file in found
        if file.suffix in _TYPES
    }


@router.get("/static/{name}")
def static(name: str) -> Response:
    """A style, script, font or drawing of the pages."""
    if name not in _files():
        raise Problem(404, "Not here")
    content, kind = _files()[name]
    return Response(content, media_type=kind, headers={"cache-control": "max-age=3600"})
