"""Surface: what of a result can be seen from above, at any place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.model.columns import Geometry
from spotdwell.output.result import Result

Array = NDArray[np.float64]

VISIBLE = {"coagulated": 1.0 - float(np.exp(-1.0)), "dried": 0.5, "charred": 0.5}
"""Shares from which a place counts as such: Omega of 1, half the water gone, half the solids converted."""
_FARTHEST = 2000
"""Places looked at along a ray."""


@dataclass(frozen=True, eq=False)
class Surface:
    """The exposed cells from above. A film of liquid is clear: what lies under it is seen."""

    x: Array
    """Centres of columns along x, or radii [m], ascending."""
    y: Array
    """Centres along y [m]; one place on rings."""
    values: dict[str, Array]
    """depth [m], through and liquid (0 or 1), and the share of each zone [-]; shape (x, y)."""
    ring: bool
    mirrored: tuple[bool, bool]
    """Whether the columns are a half of the target, in x and in y."""
    beam_at: tuple[float, float]
    """Where the beam stands, or stood half way of a scan [m]."""
    scanned: bool
    reach: tuple[float, float, float, float]
    """Left, right, lower and upper edges of the target [m]."""

    def seen(self, name: str, x: Array, y: Array) -> Array:
        """`name` of `values` at places `x`, `y` [m], linear between columns' centres."""
        field = self.values[name]
        if self.ring:
            return np.asarray(np.interp(np.hypot(x, y), self.x, field[:, 0]))
        from scipy.ndimage import map_coordinates

        x, y = (np.abs(p) if half else p for p, half in zip((x, y), self.mirrored, strict=True))
        at = np.stack(
            [np.interp(x, self.x, np.arange(self.x.size)), np.interp(y, self.y, np.arange(self.y.size))]
        )
        return np.asarray(map_coordinates(field, at, order=1, mode="nearest"))

    def reach_of(self, name: str, threshold: float, direction: float) -> float | None:
        """Farthest distance from the beam at which `name` exceeds `threshold` [m], or None.

        Along a ray from where the beam stands, in `direction` [rad].
        """
        far = np.linspace(0.0, max(map(abs, self.reach)), _FARTHEST)
        x, y = self.beam_at
        values = self.seen(name, x + far * np.cos(direction), y + far * np.sin(direction))
        inside = np.flatnonzero(values > threshold)
        if inside.size == 0 or inside[-1] + 1 == far.size:
            return float(far[-1]) if inside.size else None
        last = inside[-1]
        share = (values[last] - threshold) / (values[last] - values[last + 1])
        return float(far[last] + share * (far[last + 1] - far[last]))


def surface_of(result: Result) -> Surface:
    """The surface of the final state. Raises InputError for a slab, which looks the same everywhere."""
    if result.geometry is Geometry.SLAB:
        raise InputError(
            "the result", "rings or a lattice, to be seen from above", "a slab", "Draw its section."
        )
    ring = result.geometry is Geometry.AXISYMMETRIC
    x, y = (0.5 * (edges[1:] + edges[:-1]) for edges in (result.x_edges, result.y_edges))
    mirrored = (result.symmetry >= 4.0, result.symmetry >= 2.0)
    right, upper = float(result.x_edges[-1]), float(result.y_edges[-1])
    left, lower = (
        -end if half else float(edges[0])
        for end, half, edges in ((right, mirrored[0], result.x_edges), (upper, mirrored[1], result.y_edges))
    )
    speed = float(result.beam["scan_speed"])
    lit = result.history.time[result.history.power > 0.0]
    middle = float(result.beam["x"]) + speed * (0.5 * float(lit[0] + lit[-1]) if lit.size else 0.0)
    values = {name: seen.reshape(x.size, -1) for name, seen in _exposed(result).items()}
    return Surface(
        x,
        np.zeros(1) if ring else y,
        values,
        ring,
        mirrored,
        (middle, float(result.beam["y"])),
        speed != 0.0,
        (-right, right, -right, right) if ring else (left, right, lower, upper),
    )


def _exposed(result: Result) -> dict[str, Array]:
    """State of each column's exposed cell, or of the first below a film of liquid, shape (columns,)."""
    fields, cells = result.fields, result.liquid.size
    column = np.arange(fields.floor.size)
    solid = np.append(np.flatnonzero(~result.liquid), cells - 1)
    exposed = np.minimum(fields.floor, cells - 1)
    cell = solid[np.minimum(np.searchsorted(solid, exposed), solid.size - 1)]
    first = result.initial_water[cell]
    omega = fields.damage[0][column, cell] if fields.damage.shape[0] else np.zeros(column.size)
    water = np.divide(fields.water[column, cell], first, out=np.ones(column.size), where=first > 0.0)
    return {
        "depth": fields.crater_depth,
        "through": (fields.floor >= cells).astype(float),
        "liquid": (result.liquid[exposed]).astype(float),
        "coagulated": 1.0 - np.exp(-omega),
        "dried": np.clip(1.0 - water, 0.0, 1.0),
        "charred": np.where(result.leaves_char[cell], fields.conversion[column, cell], 0.0),
    }
