"""A drawing, or a contractor's own mark, as papers take it."""

from __future__ import annotations

import base64
import re
from dataclasses import dataclass
from html import unescape
from io import BytesIO
from pathlib import Path
from xml.parsers import expat

from PIL import Image

from warmside.errors import Fault, InputError

_LARGEST = 500_000  # bytes of a mark
_PIXELS = 20_000_000  # of a mark that is opened
_SHOWN = (1200, 400)  # pixels that are kept: 300 to the inch at the head of a paper, and some
# an image drawn within an SVG
_WITHIN = re.compile(
    r"""(?:xlink:)?href=["']data:image/(?:png|jpeg);base64,([A-Za-z0-9+/=]*)["']"""
)
_HEADS = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")  # of PNG and JPEG


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
    if data is None or len(data) > _LARGEST:
        raise _no_mark(f"'{where}', too large")
    if data.startswith(_HEADS):
        return Picture(_wrapped(_opened(data, where)), name)
    try:
        text = data.decode("utf-8").lstrip("\ufeff \r\n\t")
    except UnicodeDecodeError:
        raise _no_mark(f"'{where}'") from None
    for found in _WITHIN.finditer(text):
        _opened(_decoded(found[1], where), where)
    # no entity of its own, nothing from elsewhere: only what is drawn in it
    bare = _WITHIN.sub("", text)
    if not re.match(r"(<\?xml[^>]*\?>\s*)?<svg[\s>]", bare) or re.search(
        r"<!(?!--)|<script|<foreignobject|href|@import|url\((?!['\"]?#)", bare, re.IGNORECASE
    ):
        raise _no_mark(f"'{where}'")
    try:  # one that breaks off would keep every paper of the job from being set
        expat.ParserCreate(namespace_separator=" ").Parse(text, True)
    except expat.ExpatError as error:
        raise _no_mark(f"'{where}', {error}") from None
    return Picture(text, name)


def kept_mark(data: bytes) -> str:
    """A mark that somebody sent, as it is kept: SVG. `InputError` as `mark`."""
    return mark(data, "").svg


def _no_mark(read: str) -> InputError:
    allowed = f"an SVG, PNG or JPEG image of at most {_LARGEST // 1000} kB"
    return InputError([Fault("contractor, mark", read, allowed)])


def _decoded(code: str, where: str) -> bytes:
    try:
        return base64.b64decode(code)
    except ValueError:
        raise _no_mark(f"'{where}'") from None


def _opened(data: bytes, where: str) -> Image.Image:
    """The pixels of an image, no more of them than are shown."""
    try:
        with Image.open(BytesIO(data), formats=("PNG", "JPEG")) as image:
            wide, high = image.size
            clear = "A" in image.getbands() or "transparency" in image.info
            shown = image.convert("RGBA" if clear else "RGB") if wide * high <= _PIXELS else None
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise _no_mark(f"'{where}'") from None
    if shown is None:
        raise _no_mark(f"'{where}', {wide} x {high} pixels")
    shown.thumbnail(_SHOWN)
    return shown


def _wrapped(image: Image.Image) -> str:
    """An image as SVG, with nothing in it but its pixels."""
    file = BytesIO()
    image.save(file, "PNG", optimize=True)
    wide, high = image.size
    size = f'width="{wide}" height="{high}" viewBox="0 0 {wide} {high}"'
    code = base64.b64encode(file.getvalue()).decode("ascii")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} href="data:image/png;base64,{code}"/></svg>'
    )
