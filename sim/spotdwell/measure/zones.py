"""Zones: how far charred, dried and coagulated tissue reaches under the floor, at the wall and at the rim."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.measure.crater import WALL_REACH, WALL_SHARES, Cut, edge_radius, floor_parabola, radius_at
from spotdwell.model.material import Medium
from spotdwell.model.problem import Problem
from spotdwell.solve.outcome import Outcome

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

CHAR_CONVERSION = 0.5
"""Conversion from which a cell counts as char [-]."""
DRIED_WATER_SHARE = 0.5
"""Share of its first water below which a cell counts as dried [-]."""
LEAST_DAMAGE = 1e-12
"""Floor of Omega before its logarithm [-]: a cell that never warmed holds exactly 0."""
_FIRST_LOOK = 128
"""Points of the wall's normal that are looked at first."""


@dataclass(frozen=True, eq=False)
class Zone:
    """A change in the tissue. It has happened where `margin` is 0 or more in a cell that can show it."""

    margin: Array
    """What is interpolated between cell centres [-], shape (columns, cells)."""
    applies: BoolArray
    """Cells whose medium can show the change, shape (cells,)."""

    @property
    def inside(self) -> BoolArray:
        """Cells in which it has happened, shape (columns, cells); gone ones have no meaning."""
        return (self.margin >= 0.0) & self.applies


def charred(outcome: Outcome) -> Zone:
    """Where conversion is at least `CHAR_CONVERSION`, in media that leave char."""
    applies = _cells(outcome.problem, lambda m: m.pyrolysis is not None and m.pyrolysis.leaves_char)
    return Zone(outcome.final.conversion - CHAR_CONVERSION, applies)


def dried(outcome: Outcome) -> Zone:
    """Where at most `DRIED_WATER_SHARE` of the water is left, in media with water and solids."""
    applies = _cells(outcome.problem, lambda m: m.water_density > 0.0 and not m.is_liquid)
    of_layer = np.array([layer.medium.water_density or 1.0 for layer in outcome.problem.target.layers])
    share = outcome.final.water / of_layer[outcome.problem.grid.layer_of_cell]
    return Zone(DRIED_WATER_SHARE - share, applies)


def coagulated(outcome: Outcome) -> Zone:
    """Where the first damage process has Omega of at least 1 (eq. 12), in media that have one."""
    applies = _cells(outcome.problem, lambda m: len(m.damage) > 0)
    damage = outcome.final.damage
    first = damage[0] if damage.shape[0] else np.zeros(damage.shape[1:])
    # Omega falls by decades from cell to cell, nearly as an exponential of depth.
    return Zone(np.log(np.maximum(first, LEAST_DAMAGE)), applies)


def _cells(problem: Problem, holds: Callable[[Medium], bool]) -> BoolArray:
    """Cells in layers whose medium `holds`, shape (cells,)."""
    layers = np.array([holds(layer.medium) for layer in problem.target.layers])
    return np.asarray(layers[problem.grid.layer_of_cell])


def length_between_centres(margin: Array, applies: BoolArray, depth_edges: Array) -> Array:
    """Length in the zone between each cell centre and the next deeper one [m], shape (..., cells - 1).

    `margin` is linear from centre to centre; beside a cell that cannot show the change, the zone ends at
    the face.
    """
    centre = 0.5 * (depth_edges[1:] + depth_edges[:-1])
    above, below = depth_edges[1:-1] - centre[:-1], centre[1:] - depth_edges[1:-1]
    upper, lower = margin[..., :-1], margin[..., 1:]
    high, low = np.maximum(upper, lower), np.minimum(upper, lower)
    even = high == low
    share = np.where(even, high >= 0.0, np.clip(high / np.where(even, 1.0, high - low), 0.0, 1.0))
    apart = (applies[:-1] & (upper >= 0.0)) * above + (applies[1:] & (lower >= 0.0)) * below
    return np.where(applies[:-1] & applies[1:], share * np.diff(centre), apart)


def floor_thickness(cut: Cut, zone: Zone) -> float | None:
    """Mean thickness of the zone under the floor, normal to it [m], through all layers that it reaches.

    From each column's front, or the top of the tissue under a film of liquid, times the cosine of the floor's
    slope there. None where perforated on the axis, or if no layer can show the change.
    """
    if cut.surface[0] == zone.applies.size or not zone.applies.any():
        return None
    weights = cut.floor_weights
    slope = 2.0 * floor_parabola(cut)[1] * cut.distance[: weights.size]
    down = np.array([_under(cut, zone, place) for place in range(weights.size)])
    return float(weights @ (down / np.hypot(1.0, slope)))


def _under(cut: Cut, zone: Zone, place: int) -> float:
    """Thickness of the zone under one column of the cut [m]; 0 if its uppermost cell is not in the zone."""
    top, column = int(cut.surface[place]), cut.columns[place]
    if not zone.inside[column, top]:
        return 0.0
    start = max(float(cut.front[place]), float(cut.depth_edges[top]))
    length = length_between_centres(zone.margin[column], zone.applies, cut.depth_edges)[top:]
    ends = np.flatnonzero(length < np.diff(cut.depth)[top:])
    end = cut.depth_edges[-1] if ends.size == 0 else cut.depth[top + ends[0]] + length[ends[0]]
    # A front in the lower half of its cell may lie below the crossing.
    return max(0.0, float(end) - start)


def wall_thickness(cut: Cut, zone: Zone) -> float | None:
    """Thickness of the zone at the wall, along its normal around half the crater's depth [m].

    None without a crater or if no layer can show the change. A gone cell passes for the nearest cell left.
    """
    if not cut.wide or cut.deepest == 0.0 or not zone.applies.any():
        return None
    if radius_at(cut, (WALL_SHARES[0] - WALL_REACH) * cut.deepest) >= cut.distance[-1]:
        return None
    return float(np.mean(_along_normals(cut, _sampler(cut, zone))))


def _along_normals(cut: Cut, sample: Callable[[Array, Array], Array]) -> Array:
    """Thickness of the zone along the wall's normal at each of `WALL_SHARES` of the depth [m]."""
    at, depth, sideways, down = cut.wall_normals
    longest = (cut.outer - at) / sideways
    steep = down > 0.0
    longest[steep] = np.minimum(longest, (cut.depth_edges[-1] - depth) / np.where(steep, down, 1.0))[steep]
    step = 0.25 * min(cut.finest)
    # Zones are thin and the path long: most of it need not be looked at.
    reach, found, left = np.minimum(longest, _FIRST_LOOK * step), longest.copy(), np.arange(at.size)
    while left.size:
        path = np.minimum(np.arange(0.0, reach[left].max() + step, step), reach[left, None])
        across, deep = (
            at[left, None] + sideways[left, None] * path,
            depth[left, None] + down[left, None] * path,
        )
        found[left] = _first_exits(path, sample(across, deep))
        left = left[(found[left] == reach[left]) & (reach[left] < longest[left])]
        reach[left] = np.minimum(longest[left], 4.0 * reach[left])
    return found


def _first_exits(path: Array, margin: Array) -> Array:
    """Where along each row of `path` [m] its margin first falls below 0; the row's end if it never does."""
    outside = ~(margin >= 0.0)
    rows = np.arange(path.shape[0])
    exits = outside.argmax(axis=1)
    last = np.maximum(exits - 1, 0)
    inner, outer, within = margin[rows, last], margin[rows, exits], exits > 0
    drop = np.subtract(inner, outer, where=within, out=np.ones(rows.size))
    share = np.divide(inner, drop, where=within, out=np.zeros(rows.size))
    end = path[rows, last] + share * (path[rows, exits] - path[rows, last])
    return np.where(outside.any(axis=1), end, path[:, -1])


def _sampler(cut: Cut, zone: Zone) -> Callable[[Array, Array], Array]:
    """Margin at points (distance, depth) of the cut, bilinear; -inf where it cannot apply."""
    kept = (np.arange(zone.applies.size) >= cut.floor[:, None]) & zone.applies
    if not kept.any():
        return lambda distance, depth: np.full(distance.shape, -np.inf)
    # Cells beside the crater are the finest and equal, so their size tells which cell is nearest.
    key = zone.applies.tobytes()
    if key not in cut.nearest:
        cut.nearest[key] = nearest_cells(kept, cut.finest)
    margin = zone.margin[cut.columns][cut.nearest[key]]
    last = np.array(margin.shape) - 1

    def sample(distance: Array, depth: Array) -> Array:
        column = np.interp(distance, cut.distance, np.arange(cut.distance.size))
        row = np.interp(depth, cut.depth, np.arange(cut.depth.size))
        left, top = column.astype(np.int64), row.astype(np.int64)
        right, low = np.minimum(left + 1, last[0]), np.minimum(top + 1, last[1])
        across, down = column - left, row - top
        above = (1.0 - across) * margin[left, top] + across * margin[right, top]
        below = (1.0 - across) * margin[left, low] + across * margin[right, low]
        cell = np.clip(np.searchsorted(cut.depth_edges, depth, side="right") - 1, 0, last[1])
        return np.where(zone.applies[cell], (1.0 - down) * above + down * below, -np.inf)

    return sample


def nearest_cells(kept: BoolArray, size: tuple[float, float]) -> tuple[IntArray, IntArray]:
    """Column and row of the `kept` cell nearest to each, both (columns, cells), for cells of a `size` [m].

    The exact distance transform, column by column and then across: to load a library for it would take
    longer than a shot.
    """
    columns, rows = (np.asarray(one, dtype=np.int64) for one in np.indices(kept.shape))
    upper = np.maximum.accumulate(np.where(kept, rows, -1), axis=1)
    lower = np.minimum.accumulate(np.where(kept, rows, kept.shape[1])[:, ::-1], axis=1)[:, ::-1]
    up = np.where(upper >= 0, (rows - upper) * size[1], np.inf)
    down = np.where(lower < kept.shape[1], (lower - rows) * size[1], np.inf)
    row, square = np.where(down <= up, lower, upper), np.minimum(up, down) ** 2
    best, best_column, best_row = square.copy(), columns.copy(), row.copy()
    for shift in range(1, kept.shape[0]):
        if (shift * size[0]) ** 2 >= best.max():
            break
        for into, source in ((slice(shift, None), slice(-shift)), (slice(-shift), slice(shift, None))):
            there = square[source] + (shift * size[0]) ** 2
            nearer = there < best[into]
            best[into][nearer] = there[nearer]
            best_column[into][nearer] = columns[source][nearer]
            best_row[into][nearer] = row[source][nearer]
    return best_column, best_row


def rim_thickness(cut: Cut, zone: Zone) -> float | None:
    """How far the zone reaches along the surface beyond the crater's edge, or from the axis without one [m].

    Read in the uppermost cell with solids of each column, so a film of liquid is looked through. None for
    a slab or if no layer can show the change.
    """
    if not cut.wide or not zone.applies.any():
        return None
    edge, cells = edge_radius(cut), zone.applies.size
    row = np.minimum(cut.surface, cells - 1)
    shown = zone.applies[row] & (cut.surface < cells)
    margin = np.where(shown, zone.margin[cut.columns, row], -np.inf)
    inside = np.flatnonzero(margin >= 0.0)
    if inside.size == 0:
        return 0.0
    last = int(inside[-1])
    if last + 1 == margin.size:
        return cut.outer - edge
    # `last` may be the crater's shallow last column, whose floor then stands for the surface at the edge.
    share = margin[last] / (margin[last] - margin[last + 1])
    reach = cut.distance[last] + share * (cut.distance[last + 1] - cut.distance[last])
    return max(0.0, float(reach) - edge)


def zone_volume(outcome: Outcome, zone: Zone) -> float | None:
    """Volume of what is left in the zone, all symmetric copies [m3]; None if no layer can show the change.

    Summed over columns as the length in the zone, interpolated as for `floor_thickness`.
    """
    if not zone.applies.any():
        return None
    grid, final = outcome.problem.grid, outcome.final
    centre, cells = grid.depth, zone.applies.size
    inside = zone.inside & ~final.gone()
    length = length_between_centres(zone.margin, zone.applies, grid.depth_edges)
    under = np.sum(length * (np.arange(cells - 1) >= final.floor[:, None]), axis=1)
    floor = np.minimum(final.floor, cells - 1)
    above = inside[np.arange(floor.size), floor] * (centre[floor] - final.crater_depth)
    below = inside[:, -1] * (grid.depth_edges[-1] - centre[-1])
    column = np.maximum(under + above + below, 0.0)
    return float(grid.columns.symmetry * (grid.columns.area @ column))
