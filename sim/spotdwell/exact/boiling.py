"""Steady front of a liquid, which boils where light is absorbed and is gone when its water is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.exact.fronts import ablation_speed, exponential_difference

Array = NDArray[np.float64]
Values = float | Array


@dataclass(frozen=True)
class BoilingFront:
    """Steady front of a liquid with a boiling zone under its surface (eq. G13 to G15).

    Nothing holds its steam back: down to `zone` it sits at its boiling point and all light goes into
    evaporation; below, it warms. At the surface the last of it evaporates.
    """

    q: float
    mu: float
    k: float
    C: float
    rise: float
    L: float
    """Of all its water [J/m3]."""

    @property
    def v(self) -> float:
        """Speed [m/s]."""
        return ablation_speed(self.rise, self.q, self.C, self.L)

    @property
    def zone(self) -> float:
        """Thickness of the boiling zone [m]."""
        return math.log1p(self.L / (self.C * self.rise)) / self.mu

    def evaporated_at(self, z: Values) -> Array:
        """Share of its water that has evaporated [-] at depth `z`; 0 below the zone."""
        left = np.exp(-self.mu * np.minimum(np.asarray(z, dtype=float), self.zone))
        return np.asarray(self.q / (self.v * self.L) * (left - math.exp(-self.mu * self.zone)))

    def rise_at(self, z: Values) -> Array:
        """Rise [K] at depth `z` below the surface."""
        below = np.maximum(np.asarray(z, dtype=float) - self.zone, 0.0)
        difference = exponential_difference(below, self.mu, self.v * self.C / self.k)
        return np.asarray(self.rise * (np.exp(-self.mu * below) + self.mu * difference))

    @property
    def warm_heat(self) -> float:
        """Heat of warming (without evaporation) that travels with the front [J/m2]."""
        return self.C * self.rise * (self.zone + 1.0 / self.mu) + self.k * self.rise / self.v
