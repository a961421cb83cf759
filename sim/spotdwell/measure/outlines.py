"""Outlines: the crater and the lower edges of its zones against the distance from the axis, for pictures."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.measure import crater, zones
from spotdwell.measure.crater import Cut
from spotdwell.measure.zones import Zone
from spotdwell.model.columns import Geometry
from spotdwell.solve.outcome import Outcome

Array = NDArray[np.float64]

MARGIN = 1.15
"""How far outlines reach, over the reach of the widest zone [-]."""


def outlines_of(outcome: Outcome, count: int) -> tuple[Array, Array]:
    """Radii [m], shape (count,), and depths there [m], shape (4, count), of what was left in the end.

    The depths are those of the crater and of the lower edges of the charred, dried and coagulated zones,
    each at least as deep as the one before. The radii are spaced evenly from the axis to `MARGIN` times the
    reach of the widest zone, or of the beam where nothing was marked; over a slab to its side. Columns are
    joined by straight lines, and each zone ends at the surface where `measure.crater.edge_radius` and
    `measure.zones.rim_thickness` say. Raises InputError for a lattice, which no one cut stands for.
    """
    if outcome.problem.grid.columns.geometry is Geometry.LATTICE:
        expected = "rings or a slab, whose outline is the same all around"
        raise InputError("grid.geometry", expected, "a lattice", 'Set geometry = "axisymmetric".')
    cut = crater.cut_of(outcome)
    edge = crater.edge_radius(cut)
    marks = (zones.charred(outcome), zones.dried(outcome), zones.coagulated(outcome))
    reaches = [edge, *(edge + (zones.rim_thickness(cut, zone) or 0.0) for zone in marks)]
    depths = [cut.front, *(_lower_edge(cut, zone) for zone in marks)]
    if not cut.wide:
        return np.linspace(0.0, cut.outer, count), _joined(np.repeat(np.vstack(depths)[:, :1], count, axis=1))
    radius = np.linspace(0.0, MARGIN * (max(reaches) or outcome.problem.beam.radius), count)
    lines = [_line(radius, cut.distance, depth, reach) for depth, reach in zip(depths, reaches, strict=True)]
    return radius, _joined(np.vstack(lines))


def _joined(lines: Array) -> Array:
    """Each line at least as deep as the one before."""
    return np.asarray(np.maximum.accumulate(lines, axis=0))


def _line(radius: Array, distance: Array, depth: Array, reach: float) -> Array:
    """`depth` of the columns at each `radius`, 0 from `reach` on [m]."""
    inside = distance < reach
    ends = np.append(distance[inside], reach), np.append(depth[inside], 0.0)
    return np.asarray(np.interp(radius, *ends))


def _lower_edge(cut: Cut, zone: Zone) -> Array:
    """Depth to which the zone reaches without a gap from the surface of each column [m], shape (n,).

    The column's front where its uppermost tissue is not in the zone. Between cell centres the margin is
    linear; beside a cell that cannot show the change the zone ends at the face.
    """
    cells = zone.applies.size
    inside = zone.inside[cut.columns]
    below_top = np.arange(cells) >= cut.surface[:, None]
    # First cell at or below the surface that is outside; the cell count where there is none.
    outside = below_top & ~inside
    first = np.where(outside.any(axis=1), outside.argmax(axis=1), cells)
    marked = first > cut.surface
    found = np.array(cut.front, dtype=float)
    for place in np.flatnonzero(marked):
        found[place] = max(found[place], _crossing(cut, zone, int(place), int(first[place])))
    return found


def _crossing(cut: Cut, zone: Zone, place: int, first: int) -> float:
    """Depth between the last cell inside, which is the one before `first`, and the latter [m]."""
    if first == zone.applies.size or not zone.applies[first]:
        return float(cut.depth_edges[first])
    centre, column = cut.depth, cut.columns[place]
    upper, lower = zone.margin[column, first - 1], zone.margin[column, first]
    share = upper / (upper - lower)
    return float(centre[first - 1] + share * (centre[first] - centre[first - 1]))
