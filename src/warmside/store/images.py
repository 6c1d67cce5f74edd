"""A photo from a phone made safe and small: upright, without a word about where it was taken.

Nothing of the upload is passed on but its pixels: they are decoded, turned upright, brought to
sRGB, made smaller and written as a new JPEG file.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from warmside.errors import Fault, InputError

LARGEST_UPLOAD = 40 << 20  # [byte]
# pixels of what is always decoded whole, once (PNG) and three times over (WebP): 120 to 150 MB
MOST_WHOLE = {"PNG": 20_000_000, "WEBP": 10_000_000}
MOST_PIXELS = 89_000_000  # just below where Pillow warns of a bomb; phones take 12 to 50 million
LONG_SIDE, THUMBNAIL = 2048, 480  # [pixel]
_BAND, _REACH = 128, 3  # [pixel] of the smaller picture; its filter's half width (Lanczos, a = 3)
_TURNED = 0x0112  # Exif's tag of how the camera was held
LARGEST_IMAGE = 3 << 19  # [byte] 1.5 MiB; lower quality until it fits
_QUALITIES = (85, 75, 60, 45, 30)
_FORMATS = ("JPEG", "PNG", "WEBP")  # JPEG includes what phones write with several pictures in it
_ALLOWED = "a photo as JPEG, PNG or WebP"


@dataclass(frozen=True)
class Image:
    """A photo ready to be kept: two JPEG files; ``width`` and ``height`` [pixel] of the first."""

    image: bytes
    thumbnail: bytes
    width: int
    height: int


def cleaned(data: bytes) -> Image:
    """The photo in ``data``, upright, without metadata, bounded.

    Raises
    ------
    InputError
        What is no photo, is damaged, or would take too much memory.
    """
    picture = _decoded(data)
    return _image(_written(picture, LONG_SIDE))


def kept_as_is(data: bytes) -> Image:
    """A photo that ``cleaned`` has written before; anything else is refused."""
    if len(data) > LARGEST_IMAGE or not _is_bare(data):
        raise InputError([Fault("photo", "a file with more than an image in it", "a kept photo")])
    _decoded(data)
    kept = _image(data)
    if max(kept.width, kept.height) > LONG_SIDE:
        raise InputError([Fault("photo", _size(kept), f"up to {LONG_SIDE} pixels a side")])
    return kept


def _image(data: bytes) -> Image:
    """The file with its thumbnail, made of the file itself: the same whoever keeps it."""
    from PIL import Image as Pillow

    with Pillow.open(BytesIO(data), formats=("JPEG",)) as kept:
        width, height = kept.size
        return Image(data, _written(kept, THUMBNAIL), width, height)


def _decoded(data: bytes) -> Any:
    """Upright sRGB pixels on white, at most ``LONG_SIDE`` long, and nothing else."""
    from PIL import Image as Pillow
    from PIL import ImageOps

    if not 0 < len(data) <= LARGEST_UPLOAD:
        allowed = f"a photo of up to {LARGEST_UPLOAD >> 20} MB"
        raise InputError([Fault("photo", f"{len(data)} bytes", allowed)])
    try:
        Pillow.init()
        picture = Pillow.open(BytesIO(data), formats=_FORMATS)
        # a JPEG is decoded smaller at once; the rest would be whole in memory first
        most = MOST_WHOLE.get(str(picture.format), MOST_PIXELS)
        if picture.width * picture.height > most:
            allowed = f"up to {most // 1_000_000} million pixels"
            raise InputError([Fault("photo", _size(picture), allowed)])
        picture.draft("RGB", (LONG_SIDE, LONG_SIDE))  # JPEG only: decode smaller at once
        picture.load()
        turned = picture.getexif().get(_TURNED, 1)
        bare = _smaller(picture)
        bare.getexif()[_TURNED] = turned
        return ImageOps.exif_transpose(bare)
    except (InputError, MemoryError):
        raise
    # The decoders meet hostile bytes with many kinds of error; each means the same here
    except Exception:
        read = "a file that is no photo, or a damaged one"
        raise InputError([Fault("photo", read, _ALLOWED)]) from None


def _smaller(picture: Any) -> Any:
    """sRGB pixels on white, at most ``LONG_SIDE`` long, in an image that carries nothing else.

    Made in bands, so that besides the picture itself only little of it is in memory.
    """
    from PIL import Image as Pillow

    ratio = max(1.0, max(picture.size) / LONG_SIDE)
    width, height = (max(1, round(side / ratio)) for side in picture.size)
    bare, to_srgb = Pillow.new("RGB", (width, height)), _to_srgb(picture)
    for top in range(0, height, _BAND):
        bottom = min(top + _BAND, height)
        begin, end = (y * picture.height / height for y in (top, bottom))
        # as far as the filter reaches beyond the band
        above = max(0, math.floor(begin - _REACH * ratio))
        below = min(picture.height, math.ceil(end + _REACH * ratio))
        band = to_srgb(picture.crop((0, above, picture.width, below)))
        within = (0, begin - above, picture.width, end - above)
        bare.paste(band.resize((width, bottom - top), Pillow.Resampling.LANCZOS, within), (0, top))
    return bare


def _to_srgb(picture: Any) -> Callable[[Any], Any]:
    """What makes plain sRGB on white of a part of the picture."""
    from PIL import Image as Pillow
    from PIL import ImageCms

    profile = picture.info.get("icc_profile")
    if profile and picture.mode in ("RGB", "CMYK", "L"):
        try:
            own = ImageCms.ImageCmsProfile(BytesIO(profile))
            srgb = ImageCms.createProfile("sRGB")
            change = ImageCms.buildTransform(own, srgb, picture.mode, "RGB")
            return lambda part: ImageCms.applyTransform(part, change)
        except (ImageCms.PyCMSError, OSError):
            pass  # a damaged profile: the colours stay as they are
    if picture.mode in ("RGBA", "LA", "PA", "P"):

        def over_white(part: Any) -> Any:
            over = part.convert("RGBA")
            return Pillow.alpha_composite(Pillow.new("RGBA", over.size, "white"), over).convert(
                "RGB"
            )

        return over_white
    return lambda part: part.convert("RGB")


def _written(picture: Any, side: int) -> bytes:
    small = picture.copy()
    small.thumbnail((side, side))
    data = b""
    for quality in _QUALITIES:
        file = BytesIO()
        small.save(file, "JPEG", quality=quality, optimize=True)
        data = file.getvalue()
        if len(data) <= LARGEST_IMAGE:
            break
    return data


def _is_bare(data: bytes) -> bool:
    """Whether a JPEG file holds an image and nothing else, not even after its end."""
    try:
        return set(_markers(data)) <= {0xC0, 0xC4, 0xDA, 0xDB, 0xDD, 0xE0, 0xD9}
    except (IndexError, ValueError):
        return False


def _markers(data: bytes) -> Iterator[int]:
    """Markers of the segments (ISO/IEC 10918-1, B.1); ValueError for what is not one image."""
    if data[:2] != b"\xff\xd8":
        raise ValueError("no start")
    at = 2
    while True:
        if data[at] != 0xFF:
            raise ValueError("no marker")
        marker = data[at + 1]
        yield marker
        if marker == 0xD9:
            if at + 2 != len(data):
                raise ValueError("more after the end")
            return
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == 0xE0 and (length != 16 or data[at + 4 : at + 9] != b"JFIF\0"):
            raise ValueError("more than the plain JFIF header")
        at += 2 + length
        if (
            marker == 0xDA
        ):  # coded data: up to a marker that is neither a stuffed byte nor a restart
            while data[at] != 0xFF or data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7:
                at = data.index(0xFF, at + 1)


def _size(picture: Any) -> str:
    return f"{picture.width} x {picture.height} pixels"
