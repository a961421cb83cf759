"""Crater of one pulse of a gaussian beam without conduction, at a constant heat of ablation."""

from __future__ import annotations

import math


def crater_diameter(F0: float, threshold: float, w: float) -> float:
    """Diameter [m] within which the radiant exposure exceeds `threshold` [J/m2] (eq. I1). Liu 1982.

    `F0` is the peak radiant exposure [J/m2], 2 E / (pi w^2). 0 at or below the threshold.
    """
    return 2.0 * w * math.sqrt(_excess(F0, threshold) / 2.0)


def steady_depth(F0: float, threshold: float, h: float) -> float:
    """Depth [m] at constant heat of ablation `h` [J/m3] for all above the threshold (eq. I4)."""
    return max(0.0, F0 - threshold) / h


def steady_volume(F0: float, threshold: float, h: float, w: float) -> float:
    """Volume [m3] of the crater of `steady_depth` under a gaussian beam (eq. I5)."""
    return math.pi * w**2 / (2.0 * h) * (max(0.0, F0 - threshold) - threshold * _excess(F0, threshold))


def _excess(F0: float, threshold: float) -> float:
    """Logarithm of peak over threshold, not below 0 [-]."""
    return max(0.0, math.log(F0 / threshold))
