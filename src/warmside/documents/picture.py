"""A drawing, or a contractor's own mark, as papers take it."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from html import escape, unescape
from pathlib import Path

from warmside.errors import Fault, InputError

_LARGEST = 500_000  # bytes of a mark
_KINDS = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpeg"}


@dataclass(frozen=True)
class Picture:
    """A drawing as SVG and what it shows in words, for those who cannot see it."""

    svg: str
    alt: str

    @classmethod
    def of(cls, svg: str) -> Picture:
        """The drawing with its own title and description as its words."""
        words = re.findall(r"<(title|desc)>(.*?)</\1>", svg, flags=re.DOTALL)
        return cls(svg, ". ".join(unescape(text).strip() for _, text in words[:2]))


def mark_of(file: Path, name: str) -> Picture:
    """A contractor's mark from a file: SVG, PNG or JPEG.

    Parameters
    ----------
    file : Path
        The image.
    name : str
        Whose mark it is, for those who cannot see it.

    Raises
    ------
    InputError
        No such file, too large, or no image of these kinds.
    """
    try:
        data = file.read_bytes() if file.stat().st_size <= _LARGEST else None
    except OSError as error:
        allowed = "an SVG, PNG or JPEG file beside the price file"
        raise InputError(
            [Fault("contractor, mark", f"'{file}' ({error.strerror})", allowed)]
        ) from None
    return mark(data, name, str(file))


def mark(data: bytes | None, name: str, where: str = "mark") -> Picture:
    """A mark from its bytes; see `mark_of`."""
    allowed = f"an SVG, PNG or JPEG image of at most {_LARGEST // 1000} kB"
    if data is None:
        raise InputError([Fault("contractor, mark", f"'{where}', too large", allowed)])
    kind = next((kind for head, kind in _KINDS.items() if data.startswith(head)), "")
    if kind:
        return Picture(_wrapped(data, kind, where, allowed), name)
    text = data.decode("utf-8", "replace").lstrip("\ufeff \r\n\t")
    # no entity of its own, no file from elsewhere: only what is drawn in it
    if not re.match(r"(<\?xml[^>]*\?>\s*)?<svg[\s>]", text) or re.search(r"<!|<script|href", text):
        raise InputError([Fault("contractor, mark", f"'{where}'", allowed)])
    return Picture(text, name)


def _wrapped(data: bytes, kind: str, where: str, allowed: str) -> str:
    from io import BytesIO

    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(BytesIO(data)) as image:
            wide, high = image.size
            image.verify()
    except (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombError):
        raise InputError([Fault("contractor, mark", f"'{where}'", allowed)]) from None
    size = f'width="{wide}" height="{high}" viewBox="0 0 {wide} {high}"'
    code = base64.b64encode(data).decode("ascii")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} href="{escape(f"data:image/{kind};base64,{code}")}"/></svg>'
    )
