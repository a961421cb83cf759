"""Columns: areas and faces of rings and lattices."""

import numpy as np
from numpy.testing import assert_allclose

from spotdwell.model.columns import lattice, rings, slab


def test_rings_fill_the_disc():
    assert_allclose(rings(np.array([0.0, 1e-3, 3e-3])).area.sum(), np.pi * 9e-6, rtol=1e-14)


def test_a_ring_meets_its_neighbour_along_their_common_circle():
    columns = rings(np.array([0.0, 1e-3, 3e-3, 4e-3]))
    assert_allclose(columns.face_width, 2.0 * np.pi * np.array([1e-3, 3e-3]), rtol=1e-14)
    assert_allclose(columns.face_distances, [[0.5e-3, 1e-3], [1e-3, 0.5e-3]], rtol=1e-14)
    assert columns.face_columns.tolist() == [[0, 1], [1, 2]]


def test_a_lattice_column_has_a_face_towards_each_neighbour():
    columns = lattice(np.array([0.0, 1.0, 3.0]), np.array([0.0, 2.0, 5.0, 6.0]))
    faces = {tuple(pair): k for k, pair in enumerate(columns.face_columns.tolist())}
    assert set(faces) == {(0, 3), (1, 4), (2, 5), (0, 1), (1, 2), (3, 4), (4, 5)}
    assert_allclose(columns.area, [2.0, 3.0, 1.0, 4.0, 6.0, 2.0])
    # Column 1 spans y from 2 to 5 and meets column 4 across x = 1; it meets column 0 across y = 2.
    assert columns.face_width[faces[(1, 4)]] == 3.0
    assert columns.face_distances[faces[(1, 4)]].tolist() == [0.5, 1.0]
    assert columns.face_width[faces[(0, 1)]] == 1.0
    assert columns.face_distances[faces[(0, 1)]].tolist() == [1.0, 1.5]


def test_a_slab_has_no_neighbours():
    columns = slab(4e-6)
    assert (columns.count, columns.face_width.size) == (1, 0)
    assert_allclose(columns.area, 4e-6)
