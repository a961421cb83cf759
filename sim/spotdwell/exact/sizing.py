"""Exposure for a wanted depth, and evenness of lines side by side, in closed form."""

from __future__ import annotations

import math


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
