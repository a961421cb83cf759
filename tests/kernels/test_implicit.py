"""Implicit conduction down columns and along rows: conservation, order, losses, long steps (eq. 28)."""

from functools import partial

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.kernels.conduct import stages_for
from spotdwell.kernels.entry import bound
from spotdwell.kernels.implicit import conduct_apart
from spotdwell.kernels.slots import Tally
from spotdwell.model.target import Backing, Surface


def held(bench, enthalpy):
    there = np.arange(bench.mesh.cell.size) >= bench.state.floor[:, None]
    return float(np.sum(np.where(there, enthalpy, 0.0) * bench.mesh.area[:, None] * bench.mesh.cell))


def before(bench):
    bench.open()
    return bench.work.start.copy()


@pytest.fixture
def crater(bench, tissue):
    """Warm columns of unequal floors, some of them dried and charred at the top."""

    def make(columns="even", **target):
        b = bench((tissue, 8), columns=columns, **target).stir()
        b.state.floor[:3] = [2, 0, 3]
        b.state.water[0, 2:4] = 0.0
        b.state.conversion[0, 2:4] = 0.7
        b.work.rise[0, :3] = b.work.rise_next[0, :3] = 0.0
        b.work.rise[2, :4] = b.work.rise_next[2, :4] = 0.0
        return b

    return make


@pytest.mark.parametrize("columns", ["lattice", "even"])
@pytest.mark.parametrize("step", [1e-5, 1e-2])
def test_an_insulated_crater_keeps_its_heat_to_round_off(crater, columns, step):
    b = crater(columns)
    start = before(b)
    lost = b.conduct_apart(step)
    assert lost == (0.0, 0.0)
    assert_allclose(held(b, b.work.current), held(b, start), rtol=1e-12)


@pytest.mark.parametrize("last", [8, 6])
def test_heat_lost_through_faces_is_what_the_target_loses(bench, tissue, last):
    surface = Surface(500.0, 300.0)
    below = {"backing": Backing.HELD, "backing_temperature": 305.0}
    b = bench((tissue, 8), columns="even", surface=surface, **below).stir()
    b.state.temperature[:, last:] = 0.0
    b.last[:] = last
    start = before(b)
    start[:, last:] = b.work.current[:, last:] = 0.0
    top, bottom = b.conduct_apart(1e-3)
    assert_allclose(held(b, start) - held(b, b.work.current), top + bottom, rtol=1e-11)
    assert top > 0.0
    # What marches no deeper than this is closed below.
    assert (bottom > 0.0) == (last == 8)


def misses(b, counts, duration, exact):
    """Largest misses of steps down and along, in so many, against `exact` enthalpies [J/m3]."""
    rises, found = b.state.temperature.copy(), []
    for count in counts:
        b.state.temperature[:] = rises
        for _ in range(count):
            b.conduct_apart(duration / count)
            b.state.temperature[:] = b.work.current * b.work.inverse_capacity
        found.append(np.abs(b.work.current - exact).max())
    b.state.temperature[:] = rises
    return np.array(found)


def converged(b, duration, count=400):
    """Enthalpies that many small super steps come to [J/m3]."""
    rises = b.state.temperature.copy()
    for _ in range(count):
        b.conduct(duration / count, stages_for(duration / count, 1.0 / b.open()))
        b.state.temperature[:] = b.work.current * b.work.inverse_capacity
    b.state.temperature[:] = rises
    return b.work.current.copy()


def test_steps_converge_with_order_two_on_what_super_steps_do(bench, tissue):
    b = bench((tissue, 5), columns="even", surface=Surface(500.0, 300.0)).stir()
    exact = converged(b, 2e-3)
    found = misses(b, (8, 16, 32), 2e-3, exact)
    assert np.log2(found[1:] / found[:-1]).max() < -1.7
    assert found[-1] < 1e-3 * np.ptp(before(b))


def test_a_crater_with_dry_walls_comes_to_what_super_steps_do(crater):
    b = crater()
    exact = converged(b, 2e-3)
    there = np.arange(8) >= b.state.floor[:, None]
    b.state.temperature[:] = np.where(there, b.state.temperature, 0.0)
    found = misses(b, (64,), 2e-3, np.where(there, exact, b.work.current))
    assert found[0] < 2e-3 * np.ptp(before(b)[there])


def test_a_column_at_rest_cuts_its_rows(bench, tissue):
    b = bench((tissue, 6), columns="even").stir()
    b.mesh = b.mesh._replace(marching=np.array([0, 1, 2, 3, 5, 6, 7, 8]))
    b.last[4] = -1
    start = before(b)
    b.work.current[4] = start[4]
    b.conduct_apart(1e-2)
    others = np.arange(9) != 4
    assert_allclose(b.work.current[4], start[4])
    assert_allclose(
        held(b, np.where(others[:, None], b.work.current, 0.0)),
        held(b, np.where(others[:, None], start, 0.0)), rtol=1e-12,
    )  # fmt: skip
    assert np.ptp(b.work.current[others]) < 0.5 * np.ptp(start[others])


def test_a_kernel_bound_to_its_first_arguments_gives_the_same(bench, tissue):
    found = []
    for bind in (False, True):
        b = bench((tissue, 6), columns="even").stir()
        b.open()
        tally = np.zeros(len(Tally))
        first, tally[Tally.PENDING] = (b.still, b.state.floor, b.last, b.work, tally), 1e-2
        kernel = bound(conduct_apart, *first) if bind else partial(conduct_apart, *first)
        for _ in range(2):
            assert kernel(b.mesh) == 1e-2
        found.append(b.work.current.copy())
    assert np.array_equal(*found)


def test_a_step_of_any_length_ends_level(bench, dry):
    b = bench((dry, 12), columns="even").stir()
    mean = held(b, before(b)) / held(b, np.ones_like(b.work.start))
    b.conduct_apart(1e4)
    assert_allclose(b.work.current, mean, rtol=1e-5)
