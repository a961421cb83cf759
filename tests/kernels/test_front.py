"""Where a column's front lies between its cells (eq. 19)."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

RUPTURE = 203.0
"""Rise at which the tissue ruptures [K]."""


def test_the_front_lies_where_the_rise_extrapolates_to_rupture(bench, tissue):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    b.warm(RUPTURE * np.exp(-0.3 * (np.arange(6) - 1.6))).gain()
    b.change(1e-12)
    # Cell centres lie at 2.5 um + 5 um k, and the profile meets the limit at k = 1.6.
    assert_allclose(b.state.front[0], 2.5e-6 + 1.6 * 5e-6, rtol=1e-6)


def test_the_front_stays_near_the_cell_that_left_last(bench, tissue):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    b.warm(RUPTURE * np.exp(-0.3 * (np.arange(6) + 4.0))).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 7.5e-6, rtol=1e-9)


@pytest.mark.parametrize("water", [0.0, 300.0])
def test_the_front_above_tissue_that_cannot_rupture_is_a_cell_s_edge(bench, tissue, water):
    b = bench((tissue, 6))
    b.state.floor[0] = 2
    b.state.water[0, 2] = water
    b.warm(RUPTURE * np.exp(-0.3 * (np.arange(6) - 1.6))).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 10e-6, rtol=1e-12)


def test_the_front_in_a_liquid_lies_where_its_water_extrapolates_to_none(bench, film):
    b = bench((film, 6))
    b.state.floor[0] = 2
    b.state.water[0] = 997.0 * (1.0 - np.minimum(np.exp(-0.3 * (np.arange(6) - 1.6)), 1.0))
    b.warm(0.0).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 2.5e-6 + 1.6 * 5e-6, rtol=1e-6)


def test_the_front_at_a_new_layer_is_its_edge(bench, film, tissue):
    b = bench((film, 2), (tissue, 3))
    b.state.floor[0] = 2
    b.warm([0.0, 0.0, 150.0, 100.0, 50.0]).gain()
    b.change(1e-12)
    assert_allclose(b.state.front[0], 10e-6, rtol=1e-12)
