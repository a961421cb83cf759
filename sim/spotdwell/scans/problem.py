"""From a pattern to the problem that the solver marches: a slice across the lines, or a block."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.beam import Beam
from spotdwell.model.columns import Columns, Geometry, lattice
from spotdwell.model.exposure import Exposure, steady
from spotdwell.model.grid import GridRequest, choose_grid
from spotdwell.model.problem import Ending, Grid, Problem, Stepping
from spotdwell.model.target import Surface, Target
from spotdwell.scans.light import BlockLight, SliceLight
from spotdwell.scans.pattern import Course, Pattern, course_of

Array = NDArray[np.float64]

WIDTH_SHARE = {"slice": 0.1, "block": 0.2}
"""Width of columns over the beam's radius (THEORY.md, Scans)."""
_LONGER = 2.0
"""Times as long as in a slice the steps of a block are, over the time in which a front crosses a cell [-]."""
MARGIN = 1.6
"""Fine columns go on beyond the outermost place of the axis by this many radii."""
_GROWTH = 1.25
_STROKE = 0.1
"""Longest chord of a spiral over the radius."""


@dataclass(frozen=True)
class Setup:
    """What a scan starts from, besides its pattern."""

    target: Target
    beam: Beam
    power: float
    """On the target while the beam is on [W]."""
    surface: Surface
    ending: Ending
    stepping: Stepping
    cells: GridRequest
    """What is asked of the cells; its geometry is not used."""
    thermal_dose: bool = False


def course_for(setup: Setup, pattern: Pattern) -> Course:
    """Course of the beam of `setup` over `pattern`."""
    return course_of(pattern, _STROKE * setup.beam.radius)


def slice_problem(setup: Setup, pattern: Pattern, course: Course) -> tuple[Problem, SliceLight]:
    """The plane across the middle of the lines: one column along x as long as a line (eq. 22)."""
    width = _column_width(setup, "slice")
    y = _edges(course.begin[:, 1].min(), course.begin[:, 1].max(), setup.beam.radius, width, setup.cells)
    x = np.array([-0.5, 0.5]) * pattern.length
    reason = f"a slice of {y.size - 1} columns across the lines, {width * 1e6:.3g} um wide under the beam"
    columns = lattice(x, y)
    light = SliceLight(setup.beam, setup.power, pattern.speed, columns, course, spreading_time(setup))
    return _problem(setup, columns, light, course, reason), light


def block_problem(setup: Setup, course: Course) -> tuple[Problem, BlockLight]:
    """The whole area as a lattice (eq. 23)."""
    width = _column_width(setup, "block")
    low = np.minimum(course.begin, course.end).min(axis=0)
    high = np.maximum(course.begin, course.end).max(axis=0)
    x, y = (_edges(low[i], high[i], setup.beam.radius, width, setup.cells) for i in (0, 1))
    reason = f"a block of {x.size - 1} x {y.size - 1} columns, {width * 1e6:.3g} um wide where the beam goes"
    columns = lattice(x, y)
    stepping = replace(setup.stepping, front_share=_LONGER * setup.stepping.front_share)
    setup = replace(setup, stepping=stepping)
    light = BlockLight(setup.beam, setup.power, columns, course, spreading_time(setup))
    return _problem(setup, columns, light, course, reason), light


def _problem(
    setup: Setup, columns: Columns, light: SliceLight | BlockLight, course: Course, reason: str
) -> Problem:
    depths = _depths(setup, course)
    grid = Grid(columns, depths.depth_edges, depths.layer_of_cell, (*depths.reasons, reason))
    start, stop = light.gates()
    # Whatever the slice sees first is at time 0 or later.
    exposure = Exposure(start, stop, np.full(start.size, setup.power))
    return Problem(
        setup.target,
        grid,
        setup.beam,
        exposure,
        setup.surface,
        setup.ending,
        (),
        setup.stepping,
        setup.thermal_dose,
        light,
    )


def _depths(setup: Setup, course: Course) -> Grid:
    """Depths of the cells: those for one shot of the highest radiant exposure that any place gets."""
    beam, power = setup.beam, setup.power
    exposure = steady(power, most_exposure(setup, course) / beam.peak_irradiance)
    request = replace(setup.cells, geometry=Geometry.SLAB, area=1.0 / beam.peak_irradiance)
    grid = choose_grid(setup.target, beam, exposure, request)
    return replace(grid, reasons=tuple(one for one in grid.reasons if "one column" not in one))


def most_exposure(setup: Setup, course: Course) -> float:
    """Highest radiant exposure that the course leaves anywhere, for 1 W [J/m2]."""
    beam = setup.beam
    way = np.hypot(*(course.end - course.begin).T)
    cuts = np.maximum(np.ceil(way / (0.25 * beam.radius)), 1.0).astype(int)
    stroke = np.repeat(np.arange(way.size), cuts)
    part = np.concatenate([(np.arange(n) + 0.5) / n for n in cuts])[:, None]
    at = course.begin[stroke] + part * (course.end - course.begin)[stroke]
    weight = ((course.stop - course.start) / cuts)[stroke]
    # Places a quarter of a radius apart; each sums what comes from all within reach.
    size = 0.25 * beam.radius
    index = np.round((at - at.min(axis=0)) / size).astype(int)
    shape = index.max(axis=0) + 1
    total = np.zeros(shape)
    np.add.at(total, (index[:, 0], index[:, 1]), weight)
    n = math.ceil(beam.reach / size)
    span = size * np.arange(-n, n + 1)
    kernel = beam.irradiance(np.hypot(span[:, None], span[None, :]))
    from scipy.signal import fftconvolve

    return float(fftconvolve(total, kernel, mode="same").max())


def _column_width(setup: Setup, kind: str) -> float:
    width = setup.cells.cell_width or setup.beam.radius * WIDTH_SHARE[kind]
    return width / setup.cells.refinement


def _edges(low: float, high: float, radius: float, width: float, cells: GridRequest) -> Array:
    """Even columns where the beam goes, and beyond them columns that widen [m]."""
    low, high = low - MARGIN * radius, high + MARGIN * radius
    count = math.ceil((high - low) / width)
    fine = low + width * np.arange(count + 1)
    beyond = cells.half_width or max(2e-3, 4.0 * radius)
    growth = _GROWTH ** (1.0 / cells.refinement)
    steps = np.cumsum(width * growth ** np.arange(1, 2000))
    steps = steps[: int(np.searchsorted(steps, beyond)) + 1]
    return np.concatenate([fine[0] - steps[::-1], fine, fine[-1] + steps])


def peclet(setup: Setup, speed: float) -> float:
    """Speed times radius over diffusivity of the target's first solid layer [-] (eq. 24)."""
    return speed / setup.beam.radius * spreading_time(setup)


def spreading_time(setup: Setup) -> float:
    """Radius squared over that diffusivity: time in which heat spreads over the beam [s]."""
    media = [layer.medium for layer in setup.target.layers]
    medium = next((one for one in media if not one.is_liquid), media[0])
    return setup.beam.radius**2 * medium.heat_capacity / medium.conductivity
