"""The few files that every page needs; names are looked up, never joined to a path.

Their address carries the edition, a digest of them all, so that a browser keeps them for good and
asks anew only after an upgrade.
"""

from __future__ import annotations

from functools import cache
from hashlib import blake2b
from importlib import resources
from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import Response

from warmside.web.problem import Problem

router = APIRouter(include_in_schema=False)
_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
}
_FOR_GOOD, _A_WHILE = "public, max-age=31536000, immutable", "max-age=3600"


@cache
def _files() -> dict[str, tuple[bytes, str]]:
    root = Path(str(resources.files("warmside"))) / "web" / "static"
    return {
        file.name: (file.read_bytes(), _TYPES[file.suffix])
        for file in sorted(root.iterdir())
        if file.suffix in _TYPES
    }


@cache
def edition() -> str:
    """Names the content of all files together: 16 hexadecimal digits."""
    found = blake2b(digest_size=8)
    for name, (content, _) in _files().items():
        found.update(f"{name}:{len(content)}:".encode() + content)
    return found.hexdigest()


def address(name: str) -> str:
    """Where a page finds a file; KeyError for one that is not there."""
    _files()[name]
    return f"/static/{edition()}/{name}"


@router.get("/static/{of}/{name}")
def static(of: str, name: str) -> Response:
    """A style, script, font or drawing of the pages; a page of an older edition gets today's."""
    if name not in _files():
        raise Problem(404, "Not found")
    content, kind = _files()[name]
    kept = _FOR_GOOD if of == edition() else _A_WHILE
    return Response(content, media_type=kind, headers={"cache-control": kept})
