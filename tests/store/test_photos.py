"""Photos: told by content, upright, stripped, bounded, pinned. Pillow writes what goes in."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from warmside.errors import InputError
from warmside.store import StaleError, UnknownError
from warmside.store.images import LARGEST_IMAGE, cleaned, kept_as_is

MAKER, ORIENTATION, GPS = 0x010F, 0x0112, 0x8825


def picture(size=(600, 400), mode="RGB", kind="JPEG", **options) -> bytes:
    """Left half red, right half blue."""
    image = Image.new("RGB", size, (200, 0, 0))
    image.paste((0, 0, 200), (size[0] // 2, 0, *size))
    file = BytesIO()
    image.convert(mode).save(file, kind, **options)
    return file.getvalue()


def exif(orientation: int) -> Image.Exif:
    tags = Image.Exif()
    tags[MAKER], tags[ORIENTATION] = "SECRET MAKER", orientation
    tags.get_ifd(GPS).update({1: "N", 2: (49.0, 53.0, 4.0), 3: "W", 4: (97.0, 8.0, 47.0)})
    return tags


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data))


# Exif 2.32 (CIPA DC-008), tag 0x0112: where row 0 and column 0 of the stored picture lie. What is
# stored on the left (red) is therefore seen on this side.
RED = {1: "left", 2: "right", 3: "right", 4: "left", 5: "top", 6: "top", 7: "bottom", 8: "bottom"}


@pytest.mark.parametrize("orientation", RED)
def test_turned_upright_and_stripped(orientation):
    kept = cleaned(picture(exif=exif(orientation), comment=b"SECRET COMMENT", dpi=(72, 72)))
    image = opened(kept.image)
    side = RED[orientation]
    assert image.size == ((600, 400) if side in ("left", "right") else (400, 600))
    w, h = image.size
    spots = {"left": (5, h // 2), "right": (w - 5, h // 2)}
    spots |= {"top": (w // 2, 5), "bottom": (w // 2, h - 5)}
    red, _, blue = image.getpixel(spots[side])
    assert red > 150 > 60 > blue
    for file in (kept.image, kept.thumbnail):
        assert not opened(file).getexif()
        assert set(opened(file).info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert b"SECRET" not in file
        assert b"Exif" not in file
    assert kept_as_is(kept.image) == kept


@pytest.mark.parametrize(
    ("mode", "kind"),
    [("RGB", "PNG"), ("RGBA", "PNG"), ("P", "PNG"), ("L", "PNG"), ("1", "PNG"), ("RGB", "WEBP"),
     ("CMYK", "JPEG"), ("L", "JPEG"), ("RGB", "MPO"), ("LA", "PNG"), ("I;16", "PNG")],
)  # fmt: skip
def test_every_usual_kind_becomes_a_jpeg(mode, kind):
    source = picture(mode="L" if mode == "I;16" else mode, kind=kind)
    if mode == "I;16":
        file = BytesIO()
        Image.new("I;16", (600, 400), 30_000).save(file, "PNG")
        source = file.getvalue()
    image = opened(cleaned(source).image)
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (600, 400))


def test_see_through_is_laid_on_white():
    file = BytesIO()
    Image.new("RGBA", (64, 64), (0, 0, 0, 0)).save(file, "PNG")
    assert min(opened(cleaned(file.getvalue()).image).getpixel((32, 32))) > 250


def test_colours_of_a_profile_are_brought_to_srgb():
    """The profile is applied and left out; one that is damaged or of another kind is left out."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    damaged = picture(icc_profile=b"not a profile")
    assert opened(cleaned(damaged).image).size == (600, 400)
    same = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    kept = opened(cleaned(picture(icc_profile=same)).image)
    assert "icc_profile" not in kept.info
    assert kept.getpixel((5, 5))[0] == pytest.approx(200, abs=3)  # exact but for the JPEG
    assert opened(cleaned(picture(icc_profile=profile.tobytes())).image).mode == "RGB"


def test_sizes_are_bounded():
    noise = Image.effect_noise((2600, 1950), 200).convert("RGB")
    file = BytesIO()
    noise.save(file, "JPEG", quality=95)
    kept = cleaned(file.getvalue())
    assert (kept.width, kept.height) == (2048, 1536)
    assert opened(kept.thumbnail).size == (480, 360)
    assert 100_000 < len(kept.image) <= LARGEST_IMAGE
    small = cleaned(picture((20, 10)))
    assert (small.width, small.height) == (20, 10)  # never made larger


def test_a_kept_photo_is_held_to_the_same_bounds():
    for source in (picture((2049, 20)), picture((20, 9000))):
        plain = BytesIO()
        opened(source).save(plain, "JPEG")
        with pytest.raises(InputError, match="2048 pixels"):
            kept_as_is(plain.getvalue())
    with pytest.raises(InputError, match="more than an image"):
        kept_as_is(b"\xff\xd8" + b"\0" * LARGEST_IMAGE)
    with pytest.raises(InputError):
        kept_as_is(picture(kind="PNG"))
    with pytest.raises(InputError):
        kept_as_is(picture(exif=exif(1)))


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few hundred bytes that says it is huge (PNG, ISO/IEC 15948, chunk layout)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(b"\0" * 10_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


PHOTO = picture()
HOSTILE = {
    "nothing": b"",
    "text": b"<html><script>alert(1)</script></html>",
    "svg": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
    "gif": picture(kind="GIF"),
    "tiff": picture(kind="TIFF"),
    "pdf": b"%PDF-1.7\n",
    "zip": b"PK\5\6" + b"\0" * 18,
    "half": PHOTO[: len(PHOTO) // 2],
    "head only": PHOTO[:20],
    "bomb": bomb(60_000, 60_000),
    "just too many pixels": bomb(8_901, 10_000),
    "no rows": bomb(100, 0),
    "too long": b"\xff\xd8" + b"\0" * (40 << 20),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_no_photo_is_refused(lite, survey, name):
    job = lite.new_job(survey, "Ann")
    with pytest.raises(InputError) as caught:
        lite.photos.add(job.id, HOSTILE[name], "Ann")
    assert caught.value.faults[0].place == "photo"
    assert lite.photos.of(job.id) == ()


@given(at=st.integers(0, len(PHOTO) - 1), byte=st.integers(0, 255), cut=st.integers(0, 40))
def test_a_damaged_photo_is_a_photo_or_a_fault(at, byte, cut):
    data = PHOTO[:at] + bytes([byte]) + PHOTO[at + 1 + cut :]
    try:
        kept = cleaned(data)
    except InputError:
        return
    assert kept_as_is(kept.image) == kept


@pytest.mark.parametrize("tail", [b"<script>alert(1)</script>", b"PK\5\6" + b"\0" * 18, PHOTO])
def test_a_file_that_is_two_things_at_once_comes_out_as_a_photo_only(tail):
    kept = cleaned(PHOTO + tail)
    assert kept.image.endswith(b"\xff\xd9")
    assert tail not in kept.image
    with pytest.raises(InputError, match="more than an image"):
        kept_as_is(kept.image + tail)


def test_pinned_moved_removed_and_brought_back(store, survey):
    job = store.new_job(survey, "Ann")
    photo = store.photos.add(job.id, PHOTO, "Cy", "north", 2.0, 1.5, " stain below the sill ")
    assert (photo.wall, photo.x, photo.z, photo.caption) == (
        "north", 2.0, 1.5, "stain below the sill",
    )  # fmt: skip
    second = store.photos.add(job.id, PHOTO, "Cy")
    assert [p.id for p in store.photos.of(job.id)] == [photo.id, second.id]
    assert store.photos.of(job.id, wall="north") == (photo,)
    moved = store.photos.pin(job.id, photo.id, photo.revision, "Ann", "east", 1.0, 1.0)
    assert [p.id for p in store.photos.of(job.id)] == [photo.id, second.id]  # keeps its place
    with pytest.raises(StaleError):
        store.photos.pin(job.id, photo.id, photo.revision, "Bo", "east", 2.0, 1.0)
    store.photos.remove(job.id, photo.id, moved.revision, "Ann")
    with pytest.raises(UnknownError):
        store.photos.file(job.id, photo.id)
    store.undo(job.id, store.job(job.id).revision, "Ann")
    back = store.photos.get(job.id, photo.id)
    assert (back.wall, back.x, back.file) == ("east", 1.0, photo.file)
    assert opened(store.photos.file(job.id, photo.id)).size == (600, 400)
    assert opened(store.photos.file(job.id, photo.id, thumbnail=True)).size == (480, 320)


NAN = float("nan")


@pytest.mark.parametrize(
    "place",
    [("south", 1.0, 1.0), ("north", 8.0, 1.0), ("north", -0.1, 1.0), ("north", 1.0, 2.5),
     ("north", NAN, 1.0), ("north", 1.0, NAN), ("north", 1.0, None), ("", 1.0, 1.0),
     ("north", float("inf"), 1.0), ("north\0", None, None)],
)  # fmt: skip
def test_a_pin_lies_on_a_wall(lite, survey, place):
    """North is 24 ft (7.3152 m, exact) by 8 ft (2.4384 m)."""
    job = lite.new_job(survey, "Ann")
    with pytest.raises(InputError):
        lite.photos.add(job.id, PHOTO, "Ann", *place)
    assert lite.job(job.id).revision == 1
    assert lite.photos.add(job.id, PHOTO, "Ann", "north", 7.3152, 2.4384).x == 7.3152


@pytest.mark.parametrize("id_", ["", "../x", "\0", "%", "x' OR 1=1 --"])
def test_no_such_photo(store, survey, id_):
    job = store.new_job(survey, "Ann")
    with pytest.raises(UnknownError):
        store.photos.file(job.id, id_)
