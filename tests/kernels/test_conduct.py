"""Conduction: conservation, order in time, stability, losses, heat of what is left (eq. 1, 2, 3, 15, 17)."""

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.constants import Stefan_Boltzmann
from scipy.linalg import expm

from spotdwell.kernels import ready
from spotdwell.kernels.conduct import stages_for
from spotdwell.kernels.entry import called
from spotdwell.model.target import Backing, Surface


def held(bench, enthalpy):
    volume = bench.mesh.area[:, None] * bench.mesh.cell
    return float(np.sum(enthalpy * volume))


def rates_matrix(bench):
    """dE/dt = M E of a bench, from unit fields sent through one short step."""
    shape = bench.state.temperature.shape
    size = bench.state.temperature.size
    matrix = np.zeros((size, size))
    for place in range(size):
        bench.state.temperature[:] = 0.0
        bench.state.temperature.ravel()[place] = 1.0
        bench.conduct(1e-12, 3)
        # The first stage keeps its rates; they are those of the field itself.
        capacity = 1.0 / bench.work.inverse_capacity.ravel()[place]
        matrix[:, place] = bench.work.slope.reshape(shape).ravel() / capacity
    return matrix


@pytest.mark.parametrize("columns", ["slab", "rings", "lattice"])
def test_an_insulated_target_keeps_its_heat_to_round_off(bench, tissue, columns):
    b = bench((tissue, 6), columns=columns).stir()
    lost = b.conduct(1e-3, 9)
    assert lost == (0.0, 0.0)
    assert_allclose(held(b, b.work.current), held(b, b.work.start), rtol=1e-13)
    assert np.ptp(b.work.current) < 0.9 * np.ptp(b.work.start)


@pytest.mark.parametrize("columns", ["slab", "rings", "lattice"])
def test_heat_lost_through_faces_is_what_the_target_loses(bench, tissue, columns):
    surface = Surface(500.0, 300.0)
    b = bench(
        (tissue, 6), columns=columns, surface=surface, backing=Backing.HELD, backing_temperature=305.0
    ).stir()
    b.state.floor[0] = 2  # its neighbours have walls, which lose nothing
    b.work.rise[0, :3] = b.work.rise_next[0, :3] = 300.0 - 310.15
    top, bottom = b.conduct(1e-3, 9)
    gone = np.arange(6) < b.state.floor[:, None]
    before, after = (np.where(gone, 0.0, field) for field in (b.work.start, b.work.current))
    assert_allclose(held(b, before) - held(b, after), top + bottom, rtol=1e-12)
    assert min(top, bottom) > 0.0


def test_super_steps_converge_with_order_two_on_the_exact_solution(bench, tissue):
    b = bench((tissue, 5), columns="rings")
    matrix = rates_matrix(b)
    b.stir()
    b.open()
    start, duration = b.work.start.copy(), 2e-3
    exact = (expm(matrix * duration) @ start.ravel()).reshape(start.shape)
    misses = []
    for count in (2, 4, 8, 16):
        b.stir()
        for _ in range(count):
            b.conduct(duration / count, stages_for(duration / count, b_explicit(b)))
            b.state.temperature[:] = b.work.current * b.work.inverse_capacity
        misses.append(np.abs(b.work.current - exact).max())
    orders = np.log2(np.array(misses[:-1]) / misses[1:])
    # Fields rough at the cell size reach the asymptote from below.
    assert orders[-1] > 1.8
    assert misses[-1] < 2e-4 * np.ptp(start)


def b_explicit(b):
    return 1.0 / b.open()


@pytest.mark.parametrize("ratio", [1.0, 10.0, 100.0])
def test_long_super_steps_make_no_new_extremes(bench, dry, ratio):
    b = bench((dry, 12))
    b.state.temperature[0, 3] = 100.0
    explicit = b_explicit(b)
    b.conduct(ratio * explicit, stages_for(ratio * explicit, explicit))
    rises = b.work.current * b.work.inverse_capacity
    # RKL2 keeps the maximum principle to about 1e-3 of the range at its stability limit.
    assert rises.min() > -0.1
    assert rises.max() < 100.0


def test_steady_flow_through_two_layers_is_exact(bench, dry):
    poor = dataclasses.replace(dry, conductivity=0.05, conductivity_dry=0.05)
    surface = Surface(np.inf, 410.15, radiates=False)
    b = bench((dry, 4), (poor, 4), surface=surface, backing=Backing.HELD, backing_temperature=310.15)
    for _ in range(400):
        b.conduct(1e-3, 21)
        b.state.temperature[:] = b.work.current * b.work.inverse_capacity
    flow = 100.0 / (20e-6 / 0.5 + 20e-6 / 0.05)
    depth = (np.arange(8) + 0.5) * 5e-6
    wanted = np.where(depth < 20e-6, 100.0 - flow * depth / 0.5, flow * (40e-6 - depth) / 0.05)
    # Straight profiles are exact for harmonic faces; 0.4 s is many relaxation times.
    assert_allclose(b.state.temperature[0], wanted, rtol=1e-9)


def test_radiation_is_lost_as_the_fourth_power(bench, dry):
    hot = dataclasses.replace(dry, conductivity=1e6, conductivity_dry=1e6, emissivity=0.9)
    b = bench((hot, 1), surface=Surface(0.0, 300.0))
    b.state.temperature[:] = 700.0
    lost, _ = b.conduct(1e-9, 3)
    wanted = 0.9 * Stefan_Boltzmann * (1010.15**4 - 300.0**4)
    # Linearised at the start of a step so short that the cell cools by 1e-6 of its rise.
    assert_allclose(lost / 1e-9 / b.mesh.area[0], wanted, rtol=1e-5)


def test_a_wet_cell_superheats_as_fast_as_its_capacity_lets_it(bench, tissue):
    # There is no plateau: conduction knows nothing of boiling.
    b = bench((tissue, 1)).warm(62.9)
    b.open()
    b.work.source[:] = 60.0 * tissue.heat_capacity / 1e-3
    b.conduct(1e-3, 3)
    rise = b.work.current * b.work.inverse_capacity
    assert_allclose(rise, 122.9, rtol=1e-12)


def test_conductivity_mixes_wet_dry_and_charred(bench, tissue):
    b = bench((tissue, 3))
    b.state.water[0] = [763.0, 381.5, 0.0]
    b.state.conversion[0] = [0.0, 0.0, 0.5]
    b.open()
    assert_allclose(b.work.conductivity[0], [0.46, 0.305, 0.125], rtol=1e-12)


def test_the_active_region_reaches_below_what_is_warm_and_beside_it(bench, tissue):
    b = bench((tissue, 20), columns="rings")
    b.last[:] = 1
    b.state.temperature[0, 0] = 1.0
    scratch = np.zeros((2, 3), dtype=np.int64)
    called(ready.activate)(b.mesh, b.state.temperature, b.state.floor, b.lit, 4, 1, b.last, scratch)
    # The last column is out of reach of one pass: it keeps its margin below the floor alone.
    assert b.last.tolist() == [5, 5, 4]


def test_a_super_step_and_what_it_changes_keep_their_energy(bench, tissue):
    b = bench((tissue, 4), columns="rings").warm(np.linspace(150.0, 20.0, 4))
    b.open()
    b.work.source[:] = 1e11
    before = held(b, b.work.start)
    b.conduct(1e-4, 5)
    booked = b.change(1e-4)
    spent = 1e11 * 1e-4 * 20e-6 * b.mesh.area.sum()
    assert_allclose(b.heat() + booked.heat, before + spent, rtol=1e-12)
    assert booked.latent > 0.0


@pytest.mark.parametrize("left", [0.6, 1.4])
def test_a_floor_cell_of_another_height_conducts_and_holds_by_that_height(bench, dry, left):
    surface = Surface(np.inf, 410.15, radiates=False)
    b = bench((dry, 4), surface=surface, backing=Backing.HELD, backing_temperature=310.15)
    b.state.left[0] = left
    for _ in range(400):
        b.conduct(1e-3, 21)
        b.state.temperature[:] = b.work.current * b.work.inverse_capacity
    thickness = (3.0 + left) * 5e-6
    from_top = np.concatenate([[0.5 * left], left + np.arange(3) + 0.5]) * 5e-6
    assert_allclose(b.state.temperature[0], 100.0 * (1.0 - from_top / thickness), rtol=1e-9)
    assert_allclose(b.work.current[0, 0], left * dry.heat_capacity * b.state.temperature[0, 0], rtol=1e-9)


def test_walls_lose_nothing_and_floors_lose_by_their_area(bench, tissue):
    b = bench((tissue, 6), columns="rings", surface=Surface(500.0, 300.0, radiates=False))
    b.state.floor[0] = 4
    b.work.rise[0, :5] = b.work.rise_next[0, :5] = 300.0 - 310.15
    lost, _ = b.conduct(1e-9, 3)
    film = 1.0 / (1.0 / 500.0 + 2.5e-6 / 0.46)
    # A step so short that nothing cools: the loss is that of three floors, whatever their depths.
    assert_allclose(lost / 1e-9, film * 10.15 * b.mesh.area.sum(), rtol=1e-6)
