"""Least squares over logarithms of values, for a model that is rough and has steps, and what its slopes tell.

Depths are rough by about a percent: where the last cell goes depends on cells and time steps. So the model is
taken through a star of points around each trial: their mean, brought to the middle, and their slopes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

Array = NDArray[np.float64]
Model = Callable[[Array], Array]
"""Computed rows, shape (points, rows), at logarithms of the values, shape (points, values)."""

STEP = 0.08
"""From the middle of a star to its points, in the logarithm of a value."""
_JUMP = 1.0
"""Difference of the slopes on both sides of a point [relative change over relative change] that is a jump."""
_MOST_TRIALS = 10
_SMALL = 0.1
"""Added to rows over their scale, so that those of 0 have a logarithm."""


@dataclass(frozen=True, eq=False)
class Space:
    """Where the logarithms of the values may be."""

    low: Array
    high: Array


@dataclass(frozen=True, eq=False)
class Star:
    """A model around a place."""

    middle: Array
    """Rows in the middle, smoothed [m]."""
    slopes: Array
    """Of the rows, shape (rows, values) [m]; beside a jump, the flatter side's."""
    rough: Array
    """Standard error of the slopes from the model's roughness, shape (rows, values) [m]."""
    jumps: NDArray[np.bool_]
    """Rows beside a jump in any value."""


@dataclass(frozen=True, eq=False)
class Measured:
    """What was measured, with what its error goes with."""

    values: Array
    """[m], shape (rows,)."""
    scale: Array
    """[m]: the error of a row is the relative error times this."""


@dataclass(frozen=True, eq=False)
class Optimum:
    """Where the squares are least."""

    places: Array
    """Logarithms of the values, shape (values,)."""
    computed: Array
    """[m], shape (rows,)."""
    residuals: Array
    """Computed less measured over scale, shape (rows,)."""
    slopes: Array
    """Of the residuals, shape (rows, values)."""
    rough: Array
    """Standard error of the slopes from the model's roughness, shape (rows, values)."""
    jumps: NDArray[np.bool_]
    """Rows beside a jump in any value."""

    @property
    def squares(self) -> float:
        """Sum of the squared residuals."""
        return float(np.sum(self.residuals**2))

    def step_in(self, space: Space) -> Array:
        """How far the slopes would still move the logarithms of the values (Gauss and Newton's step)."""
        step = -np.linalg.lstsq(self.slopes, self.residuals, rcond=None)[0]
        return np.asarray(np.clip(self.places + step, space.low, space.high) - self.places)


def least(model: Model, measured: Measured, start: Array, space: Space) -> Optimum:
    """Least squares from `start` (trust region reflective)."""
    kept: dict[bytes, Star] = {}

    def star(places: Array) -> Star:
        key = places.tobytes()
        if key not in kept:
            kept[key] = star_at(model, measured.scale, places)
        return kept[key]

    def residuals(places: Array) -> Array:
        return np.asarray((star(places).middle - measured.values) / measured.scale)

    def slopes(places: Array) -> Array:
        return np.asarray(star(places).slopes / measured.scale[:, None])

    best = least_squares(
        residuals,
        start,
        slopes,
        (space.low, space.high),
        xtol=3e-3,
        ftol=1e-3,
        gtol=1e-9,
        max_nfev=_MOST_TRIALS,
    )
    places = np.asarray(best.x, dtype=float)
    return optimum_of(star(places), measured, places)


def optimum_of(star: Star, measured: Measured, places: Array) -> Optimum:
    """Residuals and slopes at `places`, from the `star` there."""
    residuals = (star.middle - measured.values) / measured.scale
    scale = measured.scale[:, None]
    return Optimum(places, star.middle, residuals, star.slopes / scale, star.rough / scale, star.jumps)


def star_at(model: Model, scale: Array, places: Array) -> Star:
    """The model around `places`, by points that may lie beyond the bounds.

    Where slopes on both sides differ much, by the `scale` of a row, tissue goes over from one kind of removal
    to another: a slope across that would say that the row tells a value to a hair. The flatter side's counts
    there, or none if the sides have opposite signs.
    """
    count = places.size
    steps = np.diag(np.full(count, STEP))
    points = np.vstack([places, places + steps, places - steps])
    rows = model(points) / scale
    behind = (rows[0] - rows[count + 1 :]) / STEP
    ahead = (rows[1 : count + 1] - rows[0]) / STEP
    central = 0.5 * (ahead + behind)
    jump = np.abs(ahead - behind) > np.maximum(_JUMP, 0.5 * np.abs(central))
    flat = np.where(ahead * behind > 0.0, np.sign(ahead) * np.minimum(np.abs(ahead), np.abs(behind)), 0.0)
    slopes = np.where(jump, flat, central)
    # Where rows scatter, the difference of the two sides has 12 times the variance of their mean.
    # A jump is no scatter: such a row is taken as rough as the largest of the others.
    rough = np.abs(ahead - behind) / np.sqrt(12.0)
    rough = np.where(jump, np.max(rough, axis=1, initial=0.0, where=~jump)[:, None], rough)
    middle = _smoothed(rows, slopes, points - places) * scale
    return Star(middle, (slopes * scale).T, (rough * scale).T, np.asarray(jump.any(axis=0)))


def _smoothed(rows: Array, slopes: Array, off: Array) -> Array:
    """Rows in the middle, as all points have them, each brought there by the slopes.

    In logarithms, where powers are straight: the mean of a curve would lie off it.
    """
    logs = np.log(np.maximum(rows, 0.0) + _SMALL)
    straight = slopes / (np.maximum(rows[0], 0.0) + _SMALL)
    return np.asarray(np.exp((logs - off @ straight).mean(axis=0)) - _SMALL)
