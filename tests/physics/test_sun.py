"""The sun on a wall against a library made for it: positions, splitting and transposition."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pvlib
import pytest
from numpy.testing import assert_allclose

from warmside.catalog import load
from warmside.physics.climate import normals_of, sun_on_wall, synthesise
from warmside.physics.climate._sun import split_sun, sun_above_air, sun_position

PLACES = [(46.3, -79.4, 2001), (45.4, -75.7, 2026), (-33.0, 151.0, 2026), (70.0, 20.0, 2026),
          (5.0, 0.0, 1990)]  # fmt: skip


@pytest.mark.parametrize(("latitude", "longitude", "year"), PLACES)
def test_positions_against_the_algorithm_of_nrel(latitude, longitude, year):
    """Reference library (pvlib, NREL's algorithm): within the almanac's own 0.01 degrees."""
    start = np.datetime64(f"{year}-01-01T00:30", "s")
    unix = (start + np.arange(8760) * np.timedelta64(3600, "s")).astype(np.int64).astype(float)
    found = pvlib.spa.solar_position(unix, latitude, longitude, 0.0, 1013.25, 10.0, 69.0, 0.5667)
    zenith, azimuth = sun_position(unix, latitude, longitude)
    assert_allclose(zenith, found[1], rtol=0, atol=0.013)
    turned = (azimuth - found[4] + 180.0) % 360.0 - 180.0
    assert_allclose(turned * np.sin(np.radians(found[1])), 0.0, atol=0.013)


def test_sun_above_the_air():
    """Reference library: the same series of Spencer 1971, so equal to rounding."""
    day = np.arange(1.0, 366.0)
    assert_allclose(sun_above_air(day), pvlib.irradiance.get_extra_radiation(day), rtol=1e-12)


def test_splitting_and_transposition_against_the_library():
    """Reference library: Erbs and Hay-Davies of pvlib, with its own positions.

    Within 0.5 W/m2 on a wall; hours in which 0.05 degrees decide whether the sun counts are left.
    """
    weather = synthesise(normals_of(load().climates["ottawa"]), seed=1)
    place = weather.latitude, weather.longitude
    shift = np.timedelta64(round((0.5 - weather.utc_offset) * 3600), "s")
    times = np.datetime64(weather.time0, "s") + shift + np.arange(8760) * np.timedelta64(3600, "s")
    found = pvlib.spa.solar_position(
        times.astype(np.int64).astype(float), *place, 0.0, 1013.25, 10.0, 69.0, 0.5667
    )
    zenith, azimuth = found[1], found[4]
    day = (times - times.astype("datetime64[Y]")).astype(float) // 86_400 + 1
    clear = np.abs(zenith - 87.0) > 0.05
    dni, dhi = split_sun(weather.time0, weather.ghi, *place, weather.utc_offset)
    split = pvlib.irradiance.erbs(weather.ghi, zenith, day)
    assert_allclose(dhi[clear], np.nan_to_num(split["dhi"])[clear], rtol=0, atol=0.3)
    assert_allclose(
        dni[clear], np.clip(np.nan_to_num(split["dni"]), 0, 1400)[clear], rtol=0, atol=5
    )
    year = replace(weather, dni=dni, dhi=dhi)
    for faces in (0.0, 90.0, 180.0, 270.0):
        parts = pvlib.irradiance.get_total_irradiance(
            90.0, faces, zenith, azimuth, np.where(zenith < 87.0, dni, 0.0), weather.ghi, dhi,
            dni_extra=pvlib.irradiance.get_extra_radiation(day), albedo=0.25, model="haydavies",
        )  # fmt: skip
        expected = np.nan_to_num(parts["poa_global"])
        assert_allclose(sun_on_wall(year, faces)[clear], expected[clear], rtol=0, atol=0.5)
