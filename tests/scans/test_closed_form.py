"""Slice and block against the moving spot in closed form, without ablation, from crawling to flying."""

import math
from dataclasses import replace

import numpy as np
import pytest

from spotdwell.exact import spot
from spotdwell.inputs.scan import Way
from spotdwell.model.beam import Beam
from spotdwell.model.grid import GridRequest
from spotdwell.model.material import Medium
from spotdwell.model.problem import Ending, Stepping
from spotdwell.model.target import Layer, Surface, Target
from spotdwell.scans.pattern import Pattern, course_of
from spotdwell.scans.problem import Setup, block_problem, peclet, slice_problem
from spotdwell.solve.march import marched

PECLET = (0.1, 1.0, 10.0, 100.0, 1000.0)
RADIUS, POWER, CONDUCTIVITY, CAPACITY, ABSORPTION = 1e-4, 1e-3, 0.5, 3.6e6, 8e4
DIFFUSIVITY = CONDUCTIVITY / CAPACITY
MEDIUM = Medium(
    "plain",
    solid_density=1000.0,
    water_density=0.0,
    specific_heat_solid=CAPACITY / 1000.0,
    conductivity=CONDUCTIVITY,
    conductivity_dry=CONDUCTIVITY,
    conductivity_char=CONDUCTIVITY,
    absorption_coefficient_water=0.0,
    absorption_coefficient_solid=ABSORPTION,
    reflectance=0.0,
)


def setup_for(speed, cell_width):
    """A half-space as deep and wide as heat gets while the beam goes eight radii."""
    spread = math.sqrt(4.0 * DIFFUSIVITY * 8.0 * RADIUS / speed)
    extent = 2.5 * spread + 4.0 * RADIUS
    target = Target((Layer(MEDIUM, math.inf),), 293.15)
    cells = GridRequest(cell_depth=2e-6, depth=extent, half_width=extent, cell_width=cell_width)
    # A slow beam is followed by the time in which heat spreads over it.
    largest = min(0.05 * RADIUS / speed, 0.1 * RADIUS**2 / DIFFUSIVITY)
    return Setup(
        target,
        Beam(10.6e-6, RADIUS),
        POWER,
        Surface(0.0, 293.15, False),
        Ending(1.0),
        Stepping(growth=0.05, largest=largest),
        cells,
    )


def slice_peak(number):
    speed = number * DIFFUSIVITY / RADIUS
    setup = setup_for(speed, 0.1 * RADIUS)
    pattern = Pattern(Way.ONE_WAY, 8.0 * RADIUS, RADIUS, RADIUS, speed=speed)
    course = course_of(pattern, RADIUS)
    setup = replace(setup, ending=Ending(course.total_time))
    assert peclet(setup, speed) == pytest.approx(number)
    problem, _ = slice_problem(setup, pattern, course)
    columns = problem.grid.columns
    column = int(np.argmin(np.abs(columns.y)))
    times = np.linspace(-1.0, 3.0, 401) * RADIUS / speed
    where = float(columns.y[column]), float(problem.grid.depth[0])
    args = POWER, RADIUS, CONDUCTIVITY, CAPACITY, speed, ABSORPTION
    claimed = max(float(spot.swept_spot_rise(*where, one, *args, along=False)) for one in times)
    return marched(problem).history.surface_temperature.max() - 293.15, claimed


@pytest.mark.parametrize("number", PECLET)
def test_a_slice_meets_its_closed_form(number):
    computed, claimed = slice_peak(number)
    assert computed == pytest.approx(claimed, rel=7e-3)


@pytest.mark.parametrize("number", PECLET)
def test_a_block_meets_the_moving_spot(number):
    speed = number * DIFFUSIVITY / RADIUS
    setup = setup_for(speed, 0.2 * RADIUS)
    pattern = Pattern(Way.ONE_WAY, 4.0 * RADIUS, RADIUS, RADIUS, speed=speed)
    course = course_of(pattern, RADIUS)
    setup = replace(setup, ending=Ending(course.total_time))
    problem, _ = block_problem(setup, course)
    outcome = marched(problem)
    columns = problem.grid.columns
    rise = (outcome.final.temperature - 293.15).reshape(columns.x.size, columns.y.size, -1)[:, :, :6]
    at = columns.x[:, None, None] - course.end[-1, 0], columns.y[None, :, None], problem.grid.depth[:6]
    args = POWER, RADIUS, CONDUCTIVITY, CAPACITY, ABSORPTION, speed
    claimed = spot.spot_rise(*at, course.total_time, *args, tolerance=1e-6)
    error = np.abs(rise - claimed).max() / claimed.max()
    assert error < 1.5e-2


@pytest.mark.parametrize(("number", "error"), [(10.0, 0.024), (100.0, 0.0013), (1000.0, 5.5e-5)])
def test_what_a_slice_leaves_out_falls_with_the_peclet_number(number, error):
    assert 0.0 < spot.slice_error(number, ABSORPTION * RADIUS) < error
    assert 0.0 < spot.slice_error(number) < 1.5 / number**2 * (1.0 + 2.0)


def test_conduction_along_the_line_only_delays_it():
    """To first order in 1 / Peclet: heat comes alpha / (2 v2) later than a slice says."""
    number = 300.0
    args = 1.0, 1.0, 1.0, 1.0, number
    delay = 0.5 / number**2
    for time in (-0.3 / number, 0.2 / number, 0.7 / number):
        true = float(spot.swept_spot_rise(0.0, 0.0, time, *args))
        early = float(spot.swept_spot_rise(0.0, 0.0, time + delay, *args, along=False))
        same = float(spot.swept_spot_rise(0.0, 0.0, time, *args, along=False))
        assert abs(early - true) < 0.05 * abs(same - true)


def test_a_line_at_rest_in_time_is_the_moving_spot():
    claimed = float(spot.spot_rise(-0.3, 0.2, 0.1, np.inf, 1.0, 1.0, 1.0, 1.0, 8.0, 0.5))
    assert float(spot.swept_spot_rise(0.2, 0.1, 0.6, 1.0, 1.0, 1.0, 1.0, 0.5, 8.0)) == pytest.approx(
        claimed, rel=1e-9
    )
