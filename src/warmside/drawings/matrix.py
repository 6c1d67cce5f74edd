"""A thermal image as a matrix of numbers that other programs read: CSV and 32-bit TIFF."""

from __future__ import annotations

import io

import numpy as np

from warmside.drawings.thermal import Thermal

PIXEL = 0.01  # [m]


def temperature_csv(thermal: Thermal, pixel: float = PIXEL) -> str:
    """Comma-separated temperatures [degC]: first row x [m], first column z [m], top row first.

    Places that are not seen (openings) are empty.

    Parameters
    ----------
    thermal : Thermal
        Temperatures of the surface.
    pixel : float
        Side of a pixel [m].
    """
    xs, zs, values = thermal.sampled(pixel)
    rows = ["z_m\\x_m," + ",".join(f"{x:.4f}" for x in xs)]
    for z, row in zip(zs[::-1], values[::-1], strict=True):
        rows.append(f"{z:.4f}," + ",".join("" if np.isnan(v) else f"{v:.3f}" for v in row))
    return "\n".join(rows) + "\n"


def temperature_tiff(thermal: Thermal, pixel: float = PIXEL) -> bytes:
    """One-channel 32-bit float TIFF of temperatures [degC], top row first, NaN where unseen.

    Pixel size and unit stand in the image description and in the resolution tags.

    Parameters
    ----------
    thermal : Thermal
        Temperatures of the surface.
    pixel : float
        Side of a pixel [m].
    """
    import tifffile

    values = thermal.sampled(pixel)[2][::-1].astype(np.float32)
    buffer = io.BytesIO()
    per_centimetre = 0.01 / pixel
    tifffile.imwrite(
        buffer,
        np.ascontiguousarray(values),
        description=f"surface temperature, degrees Celsius; pixel {pixel:g} m; from the room",
        resolution=(per_centimetre, per_centimetre),
        resolutionunit="CENTIMETER",
        software="warmside",
        metadata=None,
    )
    return buffer.getvalue()
