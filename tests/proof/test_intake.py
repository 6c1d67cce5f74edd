"""What cameras write: palettes with a scale bar, counts in PNG, headed and wide-character CSV."""

from __future__ import annotations

import io

import matplotlib as mpl
import numpy as np
import pytest
from PIL import Image, ImageDraw

from warmside.errors import InputError
from warmside.proof import read_matrix, read_toned

RNG = np.random.default_rng(4)
ROWS, COLUMNS = 180, 240
X, Z = np.meshgrid(np.linspace(0, 1, COLUMNS), np.linspace(0, 1, ROWS))
WALL = 17.5 + 1.5 * Z - 1.2 * (np.cos(50 * X) > 0.8) + 0.1 * RNG.standard_normal(X.shape)
COLD, WARM = 14.0, 22.0


def painted(name: str, form: str, lying: bool = False, bar: bool = True) -> bytes:
    """The wall in a palette of Matplotlib, its bar beside it."""
    colours = mpl.colormaps[name]
    image = (255 * colours((WALL - COLD) / (WARM - COLD))[..., :3]).round()
    whole = np.zeros((ROWS + 30, COLUMNS + 40, 3))
    whole[5 : 5 + ROWS, 5 : 5 + COLUMNS] = image
    if bar:
        scale = (255 * colours(np.linspace(0, 1, COLUMNS if lying else ROWS))[..., :3]).round()
        if lying:
            whole[ROWS + 12 : ROWS + 24, 5 : 5 + COLUMNS] = scale[None]
        else:
            whole[5 : 5 + ROWS, COLUMNS + 15 : COLUMNS + 29] = scale[::-1, None]
    buffer = io.BytesIO()
    Image.fromarray(whole.astype(np.uint8)).save(buffer, form, **(
        {"quality": 95, "subsampling": 0} if form == "JPEG" else {}))  # fmt: skip
    return buffer.getvalue()


@pytest.mark.parametrize("name", ["inferno", "viridis", "turbo", "jet", "gray", "gray_r"])
@pytest.mark.parametrize(("form", "off"), [("PNG", 0.05), ("JPEG", 0.15)])
@pytest.mark.parametrize("lying", [False, True])
def test_any_palette_is_inverted_by_its_bar(name: str, form: str, off: float, lying: bool):
    # exact: the temperatures that were painted; reference library: Matplotlib's palettes, of which
    # jet and turbo grow darker again towards the warm end
    found = read_toned(painted(name, form, lying), COLD, WARM)
    mine = found.values[5 : 5 + ROWS, 5 : 5 + COLUMNS]
    assert np.isfinite(mine).mean() > 0.9
    assert float(np.nanmedian(abs(mine - WALL))) < off
    assert float(np.nanpercentile(abs(mine - WALL), 95)) < 4 * off


@pytest.mark.parametrize(
    ("name", "bar", "message"),
    [("inferno", False, "without a scale bar"), ("prism", True, "come twice|without a scale bar")],
)
def test_colours_that_nobody_can_invert_are_refused(name: str, bar: bool, message: str):
    with pytest.raises(InputError, match=message):
        read_toned(painted(name, "PNG", bar=bar), COLD, WARM)


@pytest.mark.parametrize("name", ["gray", "inferno", "jet"])
def test_a_bar_over_the_picture_takes_its_numbers_along(name: str):
    # exact: what was painted under bar and numbers is not told; white numbers are no warm wall, and
    # the rest is as it was painted
    colours = mpl.colormaps[name]
    image = (255 * colours((WALL - COLD) / (WARM - COLD))[..., :3]).round().astype(np.uint8)
    scale = (255 * colours(np.linspace(1, 0, ROWS - 40))[:, None, :3]).round()
    image[20 : ROWS - 20, COLUMNS - 16 : COLUMNS - 4] = scale.astype(np.uint8)
    drawn = Image.fromarray(image)
    for row, number in ((5, WARM), (ROWS - 16, COLD)):
        ImageDraw.Draw(drawn).text((COLUMNS - 28, row), f"{number:.1f}", fill="white")
    buffer = io.BytesIO()
    drawn.save(buffer, "JPEG", quality=90)
    values = read_toned(buffer.getvalue(), COLD, WARM).values
    assert not np.isfinite(values[:, COLUMNS - 28 :]).any()
    off = abs(values - WALL)[:, : COLUMNS - 40]
    assert np.isfinite(off).mean() > 0.9
    assert float(np.nanmedian(off)) < 0.15
    # wood and bays between them are read alike, worn colours or not
    wood = WALL[:, : COLUMNS - 40] < 16.8
    apart = [float(np.nanmedian((values - WALL)[:, : COLUMNS - 40][w])) for w in (wood, ~wood)]
    assert abs(apart[0] - apart[1]) < 0.09


def test_counts_in_a_png_of_16_bits():
    # exact: the counts that were written, in a scale of hundredths of a kelvin
    counts = np.round((WALL + 273.15) * 100).astype(np.uint16)
    buffer = io.BytesIO()
    Image.fromarray(counts).save(buffer, "PNG")
    found = read_matrix(buffer.getvalue(), "K", 0.01, 0.0)
    np.testing.assert_allclose(found.values, WALL, rtol=0.0, atol=0.0051)
    with pytest.raises(InputError, match="gain and offset"):
        read_matrix(buffer.getvalue())


@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_csv_with_a_head_in_any_usual_code(code: str, mark: str):
    # exact: the numbers that were written
    head = ["Camera" + mark + "some camera", "Emissivity" + mark + "0,95", "Note: attic, 21 C", ""]
    rows = [mark.join(f"{v:.3f}".replace(".", "," if mark != "," else ".") for v in row)
            for row in WALL]  # fmt: skip
    found = read_matrix("\r\n".join(head + rows).encode(code))
    np.testing.assert_allclose(found.values, WALL, rtol=0.0, atol=6e-4)
