"""Outliers by the scatter of the others."""

import numpy as np
from numpy.testing import assert_allclose

from spotdwell.calibration.error import left_out
from spotdwell.calibration.least_squares import Optimum


def optimum(slopes, residuals):
    zeros = np.zeros_like(slopes)
    return Optimum(np.zeros(slopes.shape[1]), residuals, residuals, slopes, zeros, zeros[:, 0] > 0.0)


def test_a_residual_over_the_others_is_that_of_a_fit_without_it():
    random = np.random.default_rng(3)
    slopes = random.standard_normal((9, 2))
    made = random.standard_normal(9)
    made[4] += 12.0
    rest = made - slopes @ np.linalg.lstsq(slopes, made, rcond=None)[0]
    found, outlying = left_out(optimum(slopes, rest))
    for index in range(9):
        keep = np.arange(9) != index
        values, squares, *_ = np.linalg.lstsq(slopes[keep], made[keep], rcond=None)
        size = np.sqrt(squares[0] / (8 - 2))
        inverse = np.linalg.inv(slopes[keep].T @ slopes[keep])
        spread = size * np.sqrt(1.0 + slopes[index] @ inverse @ slopes[index])
        assert_allclose(found[index], -(made[index] - slopes[index] @ values) / spread, rtol=1e-9)
    assert list(np.flatnonzero(outlying)) == [4]
