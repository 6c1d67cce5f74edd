"""The radiometric equation against computed examples and its own inverse."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from warmside.errors import InputError
from warmside.physics.thermography import Camera, apparent, surface_temperature


@given(
    st.floats(-30, 40), st.floats(0.5, 1.0), st.floats(-40, 40), st.floats(0.5, 1.0),
    st.floats(-20, 40),
)  # fmt: skip
def test_inverse(surface, emissivity, reflected, transmission, air):
    camera = Camera(emissivity, reflected, transmission, air)
    seen = apparent(surface, camera, 20.0)
    assert float(surface_temperature(seen, camera, 20.0)) == pytest.approx(surface, abs=1e-6)


def test_a_black_surface_is_read_as_it_is():
    """Exact: emissivity 1 and clear air."""
    temperatures = np.linspace(-20.0, 30.0, 7)
    np.testing.assert_allclose(apparent(temperatures, Camera(1.0), 21.0), temperatures, atol=1e-9)

    # by hand: (0.9 x 278.15^4 + 0.1 x 294.15^4)^(1/4) = 279.87 K


@pytest.mark.parametrize("emissivity", [0.05, 1.01, float("nan")])
def test_foil_gives_no_answer(emissivity):
    with pytest.raises(InputError, match="emissivity"):
        Camera(emissivity)


def test_impossible_reading_is_named():
    with pytest.raises(InputError, match="reflected temperature"):
        surface_temperature(-150.0, Camera(0.5, 40.0), 20.0)
