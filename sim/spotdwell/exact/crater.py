"""Closed forms of craters: what sizing starts from, and the depth of logarithmic ablation."""

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


def exposure_for_depth(depth: float, threshold: float, h: float) -> float:
    """Peak radiant exposure [J/m2] that reaches `depth` at constant heat of ablation (inverse of eq. I4)."""
    return threshold + depth * h


def gaussian_line_ripple(spacing: float, w: float) -> float:
    """Highest less lowest over mean exposure across many lines of a gaussian beam [-].

    By Poisson's sum the lines of 1/e2 radius `w`, a `spacing` apart, add up to a mean and cosines of
    amplitude 2 exp(-(pi k w / spacing)^2 / 2); the odd ones count twice between highest and lowest.
    """
    orders = range(1, 200, 2)
    return 4.0 * sum(math.exp(-0.5 * (math.pi * k * w / spacing) ** 2) for k in orders)


def gaussian_pass_share() -> float:
    """Exposure of the middle of a line over that of a resting beam [-]: sqrt(pi / 8).

    The moving gaussian beam has the speed at which it takes the resting beam's dwell for its 1/e2 diameter.
    """
    return math.sqrt(math.pi / 8.0)
