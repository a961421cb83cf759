"""The border of columns that marched alone: what flows over it at once (eq. 27)."""

import numpy as np
from numpy.testing import assert_allclose

from spotdwell.kernels.border import make_up


def made_up(bench, index, outside, time):
    """Rises before, and over how many faces heat flowed, on a bench whose columns are `deep` throughout."""
    b = bench
    b.state.temperature[:] = 50.0 * np.random.default_rng(2).random(b.state.temperature.shape)
    b.open()
    capacity = b.work.start / b.state.temperature
    held = (b.work.start * b.mesh.cell).sum(axis=1) * b.mesh.area
    b.work.stored[:] = held
    inside = np.ones(b.mesh.area.size, dtype=bool)
    inside[outside] = False
    deep = np.full(inside.size, b.mesh.cell.size)
    before = b.state.temperature.copy()
    mesh = b.mesh._replace(marching=np.array(index))
    count = make_up(b.media, b.state, b.work, deep, mesh, inside, time)
    now = (capacity * b.state.temperature * b.mesh.cell).sum(axis=1) * b.mesh.area
    assert_allclose(b.work.stored, now, rtol=1e-12)
    assert_allclose(now.sum(), held.sum(), rtol=1e-13)
    assert_allclose(b.work.warmest[[*index, *outside]], b.state.temperature[[*index, *outside]].max(axis=1))
    return before, capacity, count


def test_two_columns_near_their_mean_as_two_cells_do(bench, dry):
    b = bench((dry, 6), columns="even")
    time = 1e-3
    before, capacity, count = made_up(b, [4], [5], time)
    assert count == 1
    # Along y columns are 30 um apart and their faces 20 um wide.
    rate = 2.0 * 0.5 / (30e-6**2 * capacity[4])
    mean, half = 0.5 * (before[4] + before[5]), 0.5 * (before[4] - before[5])
    assert_allclose(b.state.temperature[4], mean + half * np.exp(-rate * time), rtol=1e-12)
    assert_allclose(b.state.temperature[5], mean - half * np.exp(-rate * time), rtol=1e-12)


def test_faces_see_the_rises_before_any_heat_flows(bench, tissue):
    found = []
    for index in ([3, 4, 5], [5, 4, 3]):
        b = bench((tissue, 6), columns="even")
        _, _, count = made_up(b, index, [0, 1, 2, 6, 7, 8], 1e-3)
        assert count == 6
        found.append(b.state.temperature.copy())
    assert_allclose(found[0], found[1], rtol=1e-12)


def test_a_floor_that_has_partly_burned_off_takes_as_little_as_is_left_of_it(bench, dry):
    b = bench((dry, 6), columns="even")
    b.state.left[4] = 0.4
    # Checks that heat is kept with what is left of the floor.
    before, capacity, _ = made_up(b, [4], [5], 1e-3)
    assert_allclose(capacity[4, 0], 0.4 * capacity[5, 0])
    moved = b.state.temperature[[4, 5], 0] - before[[4, 5], 0]
    assert_allclose(moved[0], -moved[1] / 0.4)


def test_nothing_flows_to_cells_that_are_gone(bench, dry):
    b = bench((dry, 6), columns="even")
    b.state.floor[5] = 3
    b.state.temperature[:] = 50.0 * np.random.default_rng(2).random(b.state.temperature.shape)
    b.open()
    before = b.state.temperature[4].copy()
    inside = np.arange(9) != 5
    mesh = b.mesh._replace(marching=np.array([4]))
    make_up(b.media, b.state, b.work, np.full(9, 6), mesh, inside, 1e-3)
    assert_allclose(b.state.temperature[4, :3], before[:3])
    assert np.all(b.state.temperature[4, 3:] != before[3:])
