"""Crater: a cut through the beam's axis, and the edge, widths and volume of what was removed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.columns import Columns, Geometry
from spotdwell.model.problem import Problem
from spotdwell.solve.outcome import Outcome

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

FLOOR_SHARE = 0.3
"""Radius of the floor over the crater's radius at half depth [-]: depth differs by under a tenth there."""
WALL_SHARES = tuple(np.linspace(0.4, 0.6, 9))
"""Shares of the depth at which the wall is read, for their mean.

At a single place it would carry the noise of the front (THEORY.md, Burn-off in bursts).
"""
WALL_REACH = 0.1
"""The wall's slope is its chord from this share of the depth above a place to as much below it."""


@dataclass(frozen=True, eq=False)
class Cut:
    """Half of the vertical section through the beam's axis: columns from the axis outward.

    The first column stands for the axis. Where tissue burns off, single columns run ahead of and behind
    their neighbours by some cells (THEORY.md, Burn-off in bursts), so what is said of the floor is said of
    the columns within `FLOOR_SHARE` of the crater's radius at half depth.
    """

    columns: IntArray
    """Indices of the columns, shape (n,)."""
    distance: Array
    """Of each column's centre from the axis [m], ascending, shape (n,)."""
    outer: float
    """Distance of the last column's far edge [m]."""
    front: Array
    """Depth of each column's front [m], shape (n,)."""
    floor: IntArray
    """Index of each column's exposed cell, shape (n,); the cell count where perforated."""
    surface: IntArray
    """Index of the uppermost cell left that has solids, shape (n,); the cell count where there is none."""
    depth_edges: Array
    """[m], shape (cells + 1,)."""
    finest: tuple[float, float]
    """Least width and height of a cell [m]."""
    wide: bool
    """False for a slab, which has no sideways extent to measure."""

    @cached_property
    def depth(self) -> Array:
        """Cell centres [m], shape (cells,)."""
        return 0.5 * (self.depth_edges[1:] + self.depth_edges[:-1])

    @cached_property
    def deepest(self) -> float:
        """Greatest depth in the cut [m]."""
        return float(self.front.max())

    @cached_property
    def floor_weights(self) -> Array:
        """Area of the ring that each column of the floor stands for, over their sum [-], (floor columns,).

        The axis alone where there is no crater or where part of the floor is gone or untouched.
        """
        reach = FLOOR_SHARE * radius_at(self, 0.5 * self.deepest) if self.deepest > 0.0 else 0.0
        count = int(np.searchsorted(self.distance, reach))
        near = slice(0, count)
        if count < 4 or np.any(self.front[near] <= 0.0) or np.any(self.floor[near] >= self.depth.size):
            return np.ones(1)
        weights = self.distance[near] * np.gradient(self.distance)[near]
        return np.asarray(weights / weights.sum())

    @cached_property
    def wall_normals(self) -> tuple[Array, Array, Array, Array]:
        """Of the wall at `WALL_SHARES` of the depth: distance and depth [m], and its normal (out, down)."""
        depth = np.array(WALL_SHARES) * self.deepest
        above, below = ((np.array(WALL_SHARES) + side * WALL_REACH) * self.deepest for side in (-1, 1))
        at, upper, lower = (
            np.array([radius_at(self, one) for one in place]) for place in (depth, above, below)
        )
        run, rise = upper - lower, below - above
        return at, depth, rise / np.hypot(run, rise), run / np.hypot(run, rise)

    @cached_property
    def nearest(self) -> dict[bytes, tuple[IntArray, IntArray]]:
        """Column and row of the cell left nearest to each, by which rows count, as `zones` finds them."""
        return {}


def floor_parabola(cut: Cut) -> tuple[float, float]:
    """Depth on the axis a [m] and bend b [1/m] of the parabola a + b r2 that fits the floor best."""
    weights = cut.floor_weights
    if weights.size == 1:
        return float(cut.front[0]), 0.0
    square, front = cut.distance[: weights.size] ** 2, cut.front[: weights.size]
    mean, middle = weights @ square, weights @ front
    bend = (weights @ ((square - mean) * front)) / (weights @ (square - mean) ** 2)
    return float(middle - bend * mean), float(bend)


def cut_of(outcome: Outcome) -> Cut:
    """The cut of the final state.

    Rings are a cut already. On a lattice a still beam is cut along x through its centre, on the side of
    larger x; distances are to the centre itself, so a round crater reads as on rings although the nearest
    row of columns lies half a cell aside. A scanned beam is cut across its path, half way along it.
    """
    grid, final = outcome.problem.grid, outcome.final
    columns, distance, outer = _line(outcome.problem)
    floor = final.floor[columns]
    return Cut(
        columns,
        distance,
        outer,
        final.crater_depth[columns],
        floor,
        _tissue_surface(outcome.problem, floor),
        grid.depth_edges,
        (float(np.diff(grid.columns.x_edges).min()), float(np.diff(grid.depth_edges).min())),
        grid.columns.geometry is not Geometry.SLAB,
    )


def _tissue_surface(problem: Problem, floor: IntArray) -> IntArray:
    """Uppermost cell at or below each `floor` that has solids; the cell count where there is none."""
    solid = np.array([not layer.medium.is_liquid for layer in problem.target.layers])
    index = np.arange(problem.grid.layer_of_cell.size)
    left = solid[problem.grid.layer_of_cell] & (index >= floor[:, None])
    return np.where(left.any(axis=1), left.argmax(axis=1), index.size)


def _line(problem: Problem) -> tuple[IntArray, Array, float]:
    """Columns of the cut, their distances from the axis and the distance of the last edge [m]."""
    columns, beam = problem.grid.columns, problem.beam
    if columns.geometry is not Geometry.LATTICE:
        return np.arange(columns.count), columns.x, float(columns.x_edges[-1])
    return _across_scan(problem) if beam.scan_speed else _through_spot(columns, beam.centre)


def _through_spot(columns: Columns, centre: tuple[float, float]) -> tuple[IntArray, Array, float]:
    first, row = _nearest(columns.x, centre[0]), _nearest(columns.y, centre[1])
    along = columns.x[first:] - centre[0]
    aside = columns.y[row] - centre[1]
    index = np.arange(first, columns.x.size) * columns.y.size + row
    return index, np.hypot(along, aside), float(np.hypot(columns.x_edges[-1] - centre[0], aside))


def _across_scan(problem: Problem) -> tuple[IntArray, Array, float]:
    columns, beam, exposure = problem.grid.columns, problem.beam, problem.exposure
    middle = 0.5 * (exposure.start[0] + exposure.end) if exposure.start.size else 0.0
    line = _nearest(columns.x, beam.centre[0] + beam.scan_speed * middle)
    first = _nearest(columns.y, beam.centre[1])
    index = line * columns.y.size + np.arange(first, columns.y.size)
    distance = np.abs(columns.y[first:] - beam.centre[1])
    return index, distance, float(columns.y_edges[-1] - beam.centre[1])


def _nearest(centres: Array, at: float) -> int:
    """Index of the centre nearest to `at`; of two that are equally near, but for round-off, the larger."""
    away = np.abs(centres - at)
    near = np.flatnonzero(away <= away.min() + 1e-6 * np.ptp(centres) / centres.size)
    return int(near[-1])


def edge_radius(cut: Cut) -> float:
    """Distance from the axis at which the crater's profile reaches the surface [m]; 0 without a crater.

    Two cases bound what the columns can tell. Where the slope of the last two columns in which anything
    was removed leads on to about the surface in the next one (to a depth under one cell, which goes whole
    or not at all, plus a tenth of the drop for a profile that steepens), it is followed, at most to that
    column's far side; a rim that falls by less than a cell a column is so seen from inside. Where it stays
    much deeper, a wall stands somewhere between the two centres, and midway is the estimate without bias.
    Up to twice that depth the rule passes steadily from one to the other. The outermost edge of the
    columns if even the last one was hit.
    """
    removed = np.flatnonzero(cut.front > 0.0)
    if removed.size == 0:
        return 0.0
    last = int(removed[-1])
    if last + 1 == cut.front.size:
        return cut.outer
    gap = float(cut.distance[last + 1] - cut.distance[last])
    return float(cut.distance[last]) + gap * _edge_share(cut, last, gap)


def _edge_share(cut: Cut, last: int, gap: float) -> float:
    """Where the edge lies beyond the centre of column `last`, in units of the `gap` to the next one [-]."""
    drop = 0.0
    if last > 0:
        drop = (cut.front[last - 1] - cut.front[last]) * gap / (cut.distance[last] - cut.distance[last - 1])
    if drop <= 0.0:
        return 0.5
    slope = min(cut.front[last] / drop, 1.5)
    left = (cut.front[last] - drop) / (cut.depth_edges[1] + 0.1 * drop)
    wall = min(max(left - 1.0, 0.0), 1.0)
    return float((1.0 - wall) * slope + wall * 0.5)


def radius_at(cut: Cut, depth: float) -> float:
    """Outermost distance from the axis at which the crater is `depth` [m] deep (depth > 0) [m].

    The profile is linear between column centres; a wall that falls within one gap is met midway at half
    its height. 0 if the crater is nowhere so deep, the outer edge of the columns if it still is there.
    """
    deep = np.flatnonzero(cut.front >= depth)
    if deep.size == 0:
        return 0.0
    last = int(deep[-1])
    if last + 1 == cut.front.size:
        return cut.outer
    share = (cut.front[last] - depth) / (cut.front[last] - cut.front[last + 1])
    return float(cut.distance[last] + share * (cut.distance[last + 1] - cut.distance[last]))


def width(cut: Cut) -> float | None:
    """Diameter of the crater at the surface [m]; 0 without a crater, None for a slab."""
    return 2.0 * edge_radius(cut) if cut.wide else None


def width_half_depth(cut: Cut) -> float | None:
    """Diameter at half the cut's greatest depth [m]; 0 without a crater, None for a slab."""
    if not cut.wide:
        return None
    return 2.0 * radius_at(cut, 0.5 * cut.deepest) if cut.deepest > 0.0 else 0.0


def volume(outcome: Outcome) -> float:
    """Removed volume of the whole target, all symmetric copies [m3]."""
    columns = outcome.problem.grid.columns
    return float(columns.symmetry * (columns.area @ outcome.final.crater_depth))


def solid_volume(outcome: Outcome) -> float:
    """Removed volume less that of liquid layers, all symmetric copies [m3]."""
    grid, front = outcome.problem.grid, outcome.final.crater_depth
    solid = np.array([not layer.medium.is_liquid for layer in outcome.problem.target.layers])
    edges, cells = grid.depth_edges, solid[grid.layer_of_cell]
    gone = np.clip((front[:, None] - edges[:-1]) / np.diff(edges), 0.0, 1.0)
    depth = gone @ (np.diff(edges) * cells)
    return float(grid.columns.symmetry * (grid.columns.area @ depth))
