"""Section: the final state along a vertical cut through the beam's axis, ready to be drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spotdwell.measure.zones import CHAR_CONVERSION, DRIED_WATER_SHARE, LEAST_DAMAGE
from spotdwell.model.columns import Geometry
from spotdwell.output.record import Record
from spotdwell.solve.outcome import Snapshot

Array = NDArray[np.float64]

_POINTS = 3
"""Depths read in each cell."""

ZONES = ("coagulated", "dried", "charred")
"""From the widest to the narrowest, as they are painted over each other."""


@dataclass(frozen=True, eq=False)
class LayerCut:
    """One layer in the section, on a mesh that follows the crater's front.

    Between two columns a zone then runs along the wall. On a mesh of constant depths a zone thinner than
    a step of the wall would break up into stairs. The mesh goes beyond the layer, to be clipped by it.
    """

    name: str
    liquid: bool
    top: float
    """[m]."""
    bottom: float
    """[m]."""
    across: Array
    """Positions along the cut [m], shape (n,)."""
    depth: Array
    """Depths at which the layer is read [m], shape (m, n): they follow the front, which is the first row."""
    margins: dict[str, Array]
    """By zone: 0 or more inside it [-], shape (m, n)."""
    temperature: Array
    """[K], shape (m, n)."""


@dataclass(frozen=True, eq=False)
class Section:
    """A vertical cut through the beam's axis."""

    across: Array
    """Positions of the columns' centres along the cut [m], ascending, shape (n,)."""
    edges: tuple[float, float]
    """Outer edges of the target along the cut [m]."""
    bottom: float
    """Deepest edge of the grid [m]."""
    front: Array
    """Depth of each column's front [m], shape (n,)."""
    layers: tuple[LayerCut, ...]
    beam_at: float
    """Position of the beam's axis [m]."""
    label: str
    """What the positions are."""

    @property
    def has_crater(self) -> bool:
        """Whether anything was removed along the cut."""
        return bool(self.front.max() > 0.0)

    def extent_of(self, zone: str) -> tuple[float, float] | None:
        """Greatest distance from the beam's axis and greatest depth [m] at which `zone` is found, or None."""
        found = [self._extent(layer, layer.margins[zone] >= 0.0) for layer in self.layers]
        reaches = [reach for reach in found if reach is not None]
        return (max(r for r, _ in reaches), max(d for _, d in reaches)) if reaches else None

    def _extent(self, layer: LayerCut, inside: NDArray[np.bool_]) -> tuple[float, float] | None:
        here = inside & (layer.depth >= layer.top) & (layer.depth <= layer.bottom)
        if not here.any():
            return None
        aside = np.abs(layer.across - self.beam_at)[here.any(axis=0)]
        return float(aside.max()), float(layer.depth[here].max())


def at_state(result: Record, state: Snapshot) -> Record:
    """`result` as if it had ended with `state`, for drawings; its measures stay those of the end."""
    return replace(result, snapshots=(state,))


def section_of(result: Record) -> Section:
    """The section of the final state; of an earlier one by `at_state`.

    Rings and a slab are mirrored about the axis. A lattice is cut along x through the spot; under a
    scanned beam it is cut across the path, half way along what the beam has travelled.
    """
    columns, positions, edges, mirrored, beam_at, label = _line(result)
    if mirrored:
        columns = np.concatenate([columns[::-1], columns])
        positions = np.concatenate([-positions[::-1], positions])
        edges = (-edges[1], edges[1])
    layers = tuple(
        cut
        for index in range(len(result.layer_names))
        if (cut := _layer(result, index, columns, positions, edges)) is not None
    )
    front = result.fields.crater_depth[columns]
    return Section(positions, edges, float(result.depth_edges[-1]), front, layers, beam_at, label)


def _line(result: Record) -> tuple[NDArray[np.int64], Array, tuple[float, float], bool, float, str]:
    """Columns along the cut, their positions, the outer edges, whether to mirror, the beam and a label."""
    x_edges, y_edges = result.x_edges, result.y_edges
    x, y = 0.5 * (x_edges[1:] + x_edges[:-1]), 0.5 * (y_edges[1:] + y_edges[:-1])
    if result.geometry is not Geometry.LATTICE:
        # A slab is drawn as wide as it is, so its one column becomes two halves.
        half = 0.5 if result.geometry is Geometry.SLAB else 1.0
        edges = (0.0, half * float(x_edges[-1]))
        return np.arange(x.size), half * x, edges, True, 0.0, "distance from the axis"
    beam_x, beam_y = float(result.beam["x"]), float(result.beam["y"])
    if float(result.beam["scan_speed"]) != 0.0:
        line = int(np.argmin(np.abs(x - _half_way(result))))
        edges = (float(y_edges[0]), float(y_edges[-1]))
        columns = line * y.size + np.arange(y.size)
        return columns, y, edges, result.symmetry >= 2.0, beam_y, "position across the path"
    row = int(np.argmin(np.abs(y - beam_y)))
    edges = (float(x_edges[0]), float(x_edges[-1]))
    return np.arange(x.size) * y.size + row, x, edges, result.symmetry >= 4.0, beam_x, "position along x"


def _half_way(result: Record) -> float:
    """Where along x a scanned beam was in the middle of its exposure [m]."""
    lit = np.flatnonzero(result.history.power > 0.0)
    middle = 0.5 * (result.history.time[lit[0]] + result.history.time[lit[-1]]) if lit.size else 0.0
    return float(result.beam["x"]) + float(result.beam["scan_speed"]) * middle


def _layer(
    result: Record, index: int, columns: NDArray[np.int64], positions: Array, edges: tuple[float, float]
) -> LayerCut | None:
    """One layer's part of the section; None if nothing of it is left along the cut."""
    cells = np.flatnonzero(result.layer_of_cell == index)
    top, bottom = float(result.depth_edges[cells[0]]), float(result.depth_edges[cells[-1] + 1])
    floor, front = result.fields.floor[columns], result.fields.crater_depth[columns]
    left = np.flatnonzero(floor <= cells[-1])
    if left.size == 0:
        return None
    below, centre = (
        _finer(result.depth_edges),
        0.5 * (result.depth_edges[cells] + result.depth_edges[cells + 1]),
    )
    # A column that has lost the layer follows its nearest neighbour that has not.
    source = left[np.argmin(np.abs(np.arange(columns.size)[:, None] - left[None, :]), axis=1)]

    def on_mesh(values: Array) -> Array:
        return _padded(_below_front(values, centre, floor - cells[0], front, below)[:, source])

    margins = {zone: on_mesh(margin) for zone, margin in _margins(result, columns, cells).items()}
    temperature = on_mesh(result.fields.temperature[np.ix_(columns, cells)])
    across = np.concatenate([[edges[0]], positions, [edges[1]]])
    depth = _padded(below[:, None] + front[None, :])
    name, liquid = result.layer_names[index], bool(result.liquid[cells[0]])
    return LayerCut(name, liquid, top, bottom, across, depth, margins, temperature)


def _finer(edges: Array) -> Array:
    """Depths below the front at which a column is read [m]: `_POINTS` for each cell."""
    index = np.arange(edges.size)
    return np.interp(np.linspace(0.0, index[-1], _POINTS * int(index[-1]) + 1), index, edges)


def _below_front(margin: Array, centre: Array, floor: NDArray[np.int64], front: Array, below: Array) -> Array:
    """`margin`, shape (columns, cells), read at depths `below` each front, shape (depths, columns)."""
    first = np.clip(floor, 0, centre.size - 1)
    columns = zip(front, first, margin, strict=True)
    return np.stack([np.interp(f + below, centre[i:], values[i:]) for f, i, values in columns], axis=1)


def _margins(result: Record, columns: NDArray[np.int64], cells: NDArray[np.int64]) -> dict[str, Array]:
    """How far each cell is inside each zone [-], shape (columns, cells); the same limits as the measures'."""
    fields = result.fields
    at = np.ix_(columns, cells)
    first = float(result.initial_water[cells[0]])
    never = np.full((columns.size, cells.size), -1.0)
    dries = first > 0.0 and not result.liquid[cells[0]]
    # Omega falls by decades from cell to cell, nearly as an exponential of depth.
    damage = np.log(np.maximum(fields.damage[0][at], LEAST_DAMAGE)) if fields.damage.shape[0] else never
    return {
        "coagulated": damage,
        "dried": DRIED_WATER_SHARE - fields.water[at] / first if dries else never,
        "charred": fields.conversion[at] - CHAR_CONVERSION if result.leaves_char[cells[0]] else never,
    }


def _padded(values: Array) -> Array:
    """With the outermost columns repeated at the target's edges."""
    return np.pad(values, ((0, 0), (1, 1)), mode="edge")
