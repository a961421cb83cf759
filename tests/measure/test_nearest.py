"""Nearest cells that are left: as far as SciPy's exact distance transform says."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt

from spotdwell.measure.zones import nearest_cells


@pytest.mark.parametrize("share", [0.02, 0.5, 0.95])
@pytest.mark.parametrize("size", [(1.0, 1.0), (20e-6, 3e-6), (3e-6, 11e-6)])
def test_nearest_cell_left_is_as_near_as_the_exact_transform_finds(share, size):
    rng = np.random.default_rng(1)
    for shape in ((1, 1), (1, 30), (30, 1), (40, 60), (60, 25)):
        kept = rng.random(shape) < share
        kept[shape[0] // 2, shape[1] // 2] = True
        column, row = nearest_cells(kept, size)
        assert kept[column, row].all()
        there = np.indices(shape)
        away = np.hypot((column - there[0]) * size[0], (row - there[1]) * size[1])
        np.testing.assert_allclose(away, distance_transform_edt(~kept, sampling=size), rtol=1e-12)
