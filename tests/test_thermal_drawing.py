"""The predicted thermal image: what is drawn, and the matrices that others read."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import tifffile

from warmside.drawings import (
    Place,
    Thermal,
    png,
    temperature_csv,
    temperature_tiff,
    thermal_image,
)
from warmside.drawings.thermal import tone
from warmside.errors import InputError
from warmside.framing import Frame, Hole
from warmside.geometry import Rect

FRAME = Frame(
    "north <wall>", (Rect(0, 0, 4, 2.5),), 0.09, 0.04, (), (), (), (), (),
    (Hole("window", "window", Rect(1, 1, 2, 2)),),
)  # fmt: skip


def thermal() -> Thermal:
    x, z = np.linspace(0, 4, 41), np.linspace(0, 2.5, 26)
    xc, zc = (x[1:] + x[:-1]) / 2, (z[1:] + z[:-1]) / 2
    t = 10.0 + 2.0 * xc[:, None] + 0.5 * zc[None, :]
    seen = ~((xc[:, None] > 1) & (xc[:, None] < 2) & (zc[None, :] > 1) & (zc[None, :] < 2))
    return Thermal(x, z, t, seen)


def test_lightness_rises_with_temperature():
    """A grey print keeps the order: relative luminance (Rec. 709) never falls."""
    colours = tone(np.linspace(0, 1, 200), 0.0, 1.0).astype(float)
    luminance = colours @ np.array([0.2126, 0.7152, 0.0722])
    assert (np.diff(luminance) >= -1.0).all()
    assert luminance[-1] - luminance[0] > 150


def test_image_names_sides_numbers_and_places():
    svg = thermal_image(thermal(), FRAME, [Place("mid-bay", 3.05, 0.55)],
                        title="north <wall>", conditions="Room 21 °C")  # fmt: skip
    text = " ".join(e.text or "" for e in ET.fromstring(svg).iter())  # noqa: S314
    # exact: 10 + 2 x 3.05 + 0.5 x 0.55 at the cell's centre
    for piece in ("mid-bay 16.4°", "warm", "cold", "seen from the room", "16 °C", "north <wall>"):
        assert piece in text
    assert "<wall>" not in svg


def test_openings_are_not_read_as_temperature():
    xs, zs, values = thermal().sampled(0.05)
    inside = (xs > 1.05) & (xs < 1.95)
    assert np.isnan(values[np.ix_((zs > 1.05) & (zs < 1.95), inside)]).all()
    assert np.isfinite(values[np.ix_(zs < 0.9, inside)]).all()


def test_csv_round_trip():
    lines = temperature_csv(thermal(), 0.1).strip().split("\n")
    xs = np.array(lines[0].split(",")[1:], dtype=float)
    first = lines[1].split(",")
    # top row first: z = 2.45, x = 0.05: exact by the formula above
    assert float(first[0]) == pytest.approx(2.45, abs=1e-9)
    assert float(first[1]) == pytest.approx(10 + 0.1 + 1.225, abs=1e-3)
    assert xs.size == 40
    assert len(lines) == 26


def test_tiff_round_trip():
    """Reference library: tifffile reads back what was written, 32-bit, one channel."""
    with tifffile.TiffFile(io.BytesIO(temperature_tiff(thermal(), 0.1))) as file:
        page = file.pages[0]
        array = page.asarray()
        assert "degrees Celsius" in page.description
    assert array.dtype == np.float32
    assert array.shape == (25, 40)
    assert array[0, 0] == pytest.approx(11.325, abs=1e-3)


def test_png_is_a_picture():
    from PIL import Image

    svg = thermal_image(thermal(), FRAME, title="t", conditions="c", width=300)
    picture = Image.open(io.BytesIO(png(svg, 1.0)))
    assert picture.size[0] == 300
    colours = np.asarray(picture.convert("RGB").resize((60, 40))).reshape(-1, 3)
    assert len(np.unique(colours, axis=0)) > 20


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"temperature": np.zeros((3, 3))}, "two arrays of shape"),
        ({"seen": np.zeros((40, 25), bool)}, "no or unreadable values"),
        ({"temperature": np.full((40, 25), np.nan)}, "no or unreadable values"),
    ],
)
def test_bad_arrays_are_refused(change, message):
    good = thermal()
    parts = {"x": good.x, "z": good.z, "temperature": good.temperature, "seen": good.seen}
    with pytest.raises(InputError, match=message):
        Thermal(**{**parts, **change})


def test_too_fine_a_pixel_is_refused():
    with pytest.raises(InputError, match="pixel"):
        thermal().sampled(1e-4)


def test_scale_upside_down_is_refused():
    with pytest.raises(InputError, match="cold below warm"):
        thermal_image(thermal(), FRAME, title="t", conditions="c", scale=(20.0, 10.0))
