"""The problem on which solvers meet: a gaussian spot heats a block for 0.1 s, on rings, without ablation.

Its answer on the same cells, exact in time, comes from eigenvectors: the operator is a sum of one along the
radius and one along depth, and the absorbed power is a product of the two. It shares no code
with any contestant.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CONDUCTIVITY = 0.5
HEAT_CAPACITY = 3.7e6
ABSORPTION = 6e4
SPOT_RADIUS = 0.5e-3
"""1/e2 [m]."""
PEAK_IRRADIANCE = 3e5
"""Absorbed, on the axis [W/m2]."""
HEATING = 0.1
"""[s]."""
RADIUS, DEPTH = 4e-3, 3e-3
TOLERANCE = 5e-3
"""Largest error over the largest rise that every contestant must stay below."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The problem on square cells: rates per second, kelvin per second, (rings, depths)."""

    size: float
    """Width and height of a cell [m]."""
    inward: Array
    """Share of the difference to the ring inside that flows in each second [1/s], (rings,); 0 on the axis."""
    outward: Array
    """The same for the ring outside; 0 at the outer wall."""
    up: Array
    """The same for the cell above, (depths,); 0 at the surface."""
    down: Array
    """The same for the cell below; 0 at the bottom."""
    heating: Array
    """Rise by absorbed light [K/s], (rings, depths)."""
    volume: Array
    """Of a ring, up to a factor, (rings,)."""

    @property
    def shape(self) -> tuple[int, int]:
        """Rings and depths."""
        return self.inward.size, self.up.size


def cells_of(size: float) -> Cells:
    """The problem on cells of `size` [m]."""
    rings, depths = round(RADIUS / size), round(DEPTH / size)
    spread = CONDUCTIVITY / HEAT_CAPACITY / size**2
    ring, edge = np.arange(rings), np.arange(rings + 1) * size
    inward, outward = spread * ring / (ring + 0.5), spread * (ring + 1) / (ring + 0.5)
    outward[-1] = 0.0
    up, down = np.full(depths, spread), np.full(depths, spread)
    up[0], down[-1] = 0.0, 0.0
    enclosed = -np.expm1(-2.0 * (edge / SPOT_RADIUS) ** 2)
    irradiance = PEAK_IRRADIANCE * SPOT_RADIUS**2 / 2.0 * np.diff(enclosed) / np.diff(edge**2)
    absorbed = -np.diff(np.exp(-ABSORPTION * np.arange(depths + 1) * size)) / size
    heating = np.outer(irradiance, absorbed) / HEAT_CAPACITY
    return Cells(size, inward, outward, up, down, heating, ring + 0.5)


class Exact:
    """Solutions in the basis of eigenvectors."""

    def __init__(self, cells: Cells) -> None:
        self._root = np.sqrt(cells.volume)[:, None]
        along, self._rings = np.linalg.eigh(_symmetric(cells.inward, cells.outward))
        down, self._depths = np.linalg.eigh(_symmetric(cells.up, cells.down))
        # The mean has eigenvalue 0: round-off must not make it grow.
        self._rate = np.minimum(along[:, None] + down, -1e-9)
        self._heating = self._rings.T @ (self._root * cells.heating) @ self._depths

    @property
    def stiffest(self) -> float:
        """Highest rate of decay [1/s]: an explicit step is stable up to 2 over it."""
        return float(-self._rate.min())

    def rise(self) -> Array:
        """Rise at the end [K], (rings, depths), exact in time."""
        return self._of(np.expm1(self._rate * HEATING) / self._rate)

    def crank_nicolson_rise(self, steps: int) -> Array:
        """What even steps of the Crank-Nicolson method would give, without doing them [K]."""
        half = 0.5 * HEATING / steps * self._rate
        return self._of((((1.0 + half) / (1.0 - half)) ** steps - 1.0) / self._rate)

    def _of(self, grown: Array) -> Array:
        return np.asarray(self._rings @ (grown * self._heating) @ self._depths.T / self._root)


def error(rise: Array, exact: Array) -> float:
    """Largest error over the largest rise [-]."""
    return float(np.abs(rise - exact).max() / exact.max())


def fewest_crank_nicolson_steps(exact: Exact) -> int:
    """Fewest even steps with which the Crank-Nicolson method stays below the tolerance."""
    true, steps = exact.rise(), 2
    while error(exact.crank_nicolson_rise(steps), true) >= TOLERANCE:
        steps += 1
    return steps


def _symmetric(before: Array, after: Array) -> Array:
    """The operator, made symmetric: both ways through a face, the geometric mean of the two rates."""
    across = np.sqrt(after[:-1] * before[1:])
    return np.diag(-(before + after)) + np.diag(across, 1) + np.diag(across, -1)
