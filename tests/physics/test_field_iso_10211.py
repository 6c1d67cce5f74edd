"""What the cases of ISO 10211 in the register do not say: reciprocity and closure."""

from __future__ import annotations

from numpy.testing import assert_allclose

from warmside.verify.fields import corner


def test_coupling_is_the_same_both_ways():
    # exact: heat conduction is symmetric
    assert_allclose(corner().coupling, corner().coupling.T, rtol=1e-5, atol=0)


def test_what_goes_in_comes_out():
    assert corner().closure <= 1e-8
