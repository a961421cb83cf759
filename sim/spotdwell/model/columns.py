"""Columns: the one geometry. Each column knows its area and its faces towards its lateral neighbours."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from spotdwell.model.beam import Beam

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


class Geometry(StrEnum):
    """How the columns lie."""

    SLAB = "slab"
    AXISYMMETRIC = "axisymmetric"
    LATTICE = "lattice"


@dataclass(frozen=True, eq=False)
class Columns:
    """Columns of cells and the faces between them. A face joins two columns at every depth."""

    geometry: Geometry
    area: Array
    """Horizontal area of each column [m2], shape (columns,)."""
    x_edges: Array
    """Edges along x, or radii of the rings [m], shape (nx + 1,)."""
    y_edges: Array
    """Edges along y [m], shape (ny + 1,); (0, 1) unless a lattice. Column index is ix * ny + iy."""
    face_columns: IntArray
    """The two columns of each face, shape (faces, 2)."""
    face_width: Array
    """Width of each face [m], shape (faces,): its area per metre of depth."""
    face_distances: Array
    """Distance from each of the two column centres to the face [m], shape (faces, 2)."""
    symmetry: float = 1.0
    """How many copies of the columns make the whole target: 4 for a quarter lattice."""

    @property
    def count(self) -> int:
        """Number of columns."""
        return int(self.area.size)

    @property
    def x(self) -> Array:
        """Centre of each ring, or each lattice line along x [m]."""
        return 0.5 * (self.x_edges[1:] + self.x_edges[:-1])

    @property
    def y(self) -> Array:
        """Centre of each lattice line along y [m]."""
        return 0.5 * (self.y_edges[1:] + self.y_edges[:-1])

    def beam_shares(self, beam: Beam, time: float = 0.0) -> Array:
        """Share of the beam's power on each column at `time` [s] [-], shape (columns,).

        Of one copy: with `symmetry` 4 the shares add up to a quarter. A slab takes uniform irradiance.
        """
        if self.geometry is Geometry.SLAB:
            return np.ones(1)
        if self.geometry is Geometry.AXISYMMETRIC:
            return np.diff(beam.encircled(self.x_edges))
        at_x = self.x_edges - beam.centre[0] - beam.scan_speed * time
        at_y = self.y_edges - beam.centre[1]
        low, high = at_x[:-1, None], at_x[1:, None]
        return beam.on_cell_square((low, high), (at_y[None, :-1], at_y[None, 1:])).ravel()


def slab(area: float) -> Columns:
    """One column of `area` [m2]: the 1-D problem under a uniform beam."""
    side = np.sqrt(area)
    return Columns(
        Geometry.SLAB,
        np.array([area]),
        np.array([0.0, side]),
        np.array([0.0, side]),
        np.zeros((0, 2), dtype=np.int64),
        np.zeros(0),
        np.zeros((0, 2)),
    )


def rings(edges: Array) -> Columns:
    """Rings with radii `edges` [m] ascending from 0: the axisymmetric problem."""
    edges = np.asarray(edges, dtype=float)
    n = edges.size - 1
    inner = edges[1:-1]
    centre = 0.5 * (edges[1:] + edges[:-1])
    index = np.arange(n - 1, dtype=np.int64)
    return Columns(
        Geometry.AXISYMMETRIC,
        np.pi * (edges[1:] ** 2 - edges[:-1] ** 2),
        edges,
        np.array([0.0, 1.0]),
        np.stack([index, index + 1], axis=1),
        2.0 * np.pi * inner,
        np.stack([inner - centre[:-1], centre[1:] - inner], axis=1),
    )


def lattice(x_edges: Array, y_edges: Array, symmetry: float = 1.0) -> Columns:
    """Columns on a lattice with `x_edges` and `y_edges` [m]: the 3-D problem.

    With `symmetry` 2 or 4 the planes y = 0, or x = 0 and y = 0, are mirrors and the edges start there.
    """
    x_edges, y_edges = np.asarray(x_edges, dtype=float), np.asarray(y_edges, dtype=float)
    dx, dy = np.diff(x_edges), np.diff(y_edges)
    index = np.arange(dx.size * dy.size, dtype=np.int64).reshape(dx.size, dy.size)
    along_x = np.stack([index[:-1].ravel(), index[1:].ravel()], axis=1)
    along_y = np.stack([index[:, :-1].ravel(), index[:, 1:].ravel()], axis=1)
    half_x, half_y = np.repeat(dx / 2, dy.size), np.tile(dy / 2, dx.size)
    pairs = np.concatenate([along_x, along_y])
    split = along_x.shape[0]
    width = np.concatenate([np.tile(dy, dx.size - 1), np.repeat(dx, dy.size - 1)])
    half = np.concatenate([half_x[pairs[:split]], half_y[pairs[split:]]])
    return Columns(
        Geometry.LATTICE, np.outer(dx, dy).ravel(), x_edges, y_edges, pairs, width, half, float(symmetry)
    )
