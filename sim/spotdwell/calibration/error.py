"""Error of bench measurements, from repeats or from what the fit leaves, and intervals from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc, stdtr, stdtrit

from spotdwell.calibration.least_squares import Optimum
from spotdwell.calibration.response import FitProblem
from spotdwell.calibration.result import FittedValue, unit_of
from spotdwell.craters.result import CONFIDENCE

Array = NDArray[np.float64]

FEWEST_REPEATS = 5
"""Degrees of freedom from which repeats say the error; with fewer, Student's t makes intervals very wide."""
LACK = 0.01
"""Residuals larger than repeats allow are told if they have a smaller chance."""
SMALLEST = 1e-6
"""Relative error of measurements that agree to the last digit."""
_WIDEST_RATIO = 3.0
"""Most, and one over it the least, error of widths over that of depths."""


@dataclass(frozen=True)
class MeasurementError:
    """Relative standard deviation of a depth, and how well it is known."""

    relative: float
    freedom: int
    source: str
    """"repeats" or "residuals"."""
    scatter: float
    """Relative, of the residuals."""
    lacks_fit: bool
    """Whether the residuals are larger than repeats allow."""

    @property
    def quantile(self) -> float:
        """Of Student's t for the intervals."""
        return float(stdtrit(self.freedom, 0.5 + CONFIDENCE / 2.0))


def error_of(problem: FitProblem, best: Optimum, scale: Array) -> MeasurementError:
    """Error of a depth: from repeats if there are enough and the fit is no worse, else from residuals."""
    freedom = best.residuals.size - best.places.size
    scatter = float(np.sqrt(best.squares / freedom))
    squares, repeats = _pure(problem, scale)
    lacks = False
    if repeats >= 1 and freedom > repeats and squares > 0.0:
        rest = max(best.squares - squares, 0.0) / (freedom - repeats)
        lacks = bool(fdtrc(freedom - repeats, repeats, rest / (squares / repeats)) < LACK)
    if repeats >= FEWEST_REPEATS and not lacks:
        return MeasurementError(
            max(float(np.sqrt(squares / repeats)), SMALLEST), repeats, "repeats", scatter, False
        )
    return MeasurementError(max(scatter, SMALLEST), freedom, "residuals", scatter, lacks)


def _pure(problem: FitProblem, scale: Array) -> tuple[float, int]:
    """Sum of squares of repeated depths about their means, over their scale, and its degrees of freedom."""
    depth, squares, freedom = problem.shots.depth[problem.used], 0.0, 0
    for group in problem.repeats():
        weight = 1.0 / scale[group] ** 2
        mean = float(np.sum(weight * depth[group]) / np.sum(weight))
        squares += float(np.sum(weight * (depth[group] - mean) ** 2))
        freedom += len(group) - 1
    return squares, freedom


def width_ratio(problem: FitProblem, best: Optimum) -> float:
    """Relative error of a width over that of a depth, by the residuals, within bounds; 1 for few widths."""
    widths = best.residuals[problem.is_width]
    depths = best.residuals[~problem.is_width]
    if widths.size < 4 or not np.any(depths):
        return 1.0
    ratio = float(np.sqrt(np.mean(widths**2) / np.mean(depths**2)))
    return min(max(ratio, 1.0 / _WIDEST_RATIO), _WIDEST_RATIO)


def left_out(best: Optimum) -> tuple[Array, NDArray[np.bool_]]:
    """Residuals over the scatter of the other rows, as if each were left out, and which are outliers.

    Externally studentized residuals of the linearised fit (Cook & Weisberg 1982, from memory): a row that
    misses cannot hide in the scatter that it makes. Outliers have a chance below `LACK` among all rows.
    """
    count, values = best.slopes.shape
    freedom = count - values - 1
    if freedom < 1:
        return np.zeros(count), np.zeros(count, dtype=bool)
    room = np.maximum(1.0 - np.sum(np.linalg.qr(best.slopes)[0] ** 2, axis=1), SMALLEST)
    rest = np.maximum(best.squares - best.residuals**2 / room, 0.0) / freedom
    size = np.maximum(np.sqrt(rest), SMALLEST)
    found = -best.residuals / (size * np.sqrt(room))
    chance = 2.0 * stdtr(freedom, -np.abs(found))
    real = np.abs(best.residuals) > SMALLEST * 100.0
    return np.asarray(found), np.asarray((chance * count < LACK) & real)


def covariance_of(best: Optimum) -> Array:
    """Of the values' logarithms over the square of the relative error."""
    return np.asarray(np.linalg.inv(best.slopes.T @ best.slopes))


def correlation_of(best: Optimum) -> Array:
    """Of the values' logarithms."""
    covariance = covariance_of(best)
    size = np.sqrt(np.diag(covariance))
    return np.asarray(covariance / np.outer(size, size))


def half_widths(best: Optimum, error: MeasurementError) -> Array:
    """Half the intervals of the values' logarithms."""
    return np.asarray(error.quantile * error.relative * np.sqrt(np.diag(covariance_of(best))))


def fitted_values(problem: FitProblem, best: Optimum, error: MeasurementError) -> tuple[FittedValue, ...]:
    """Values with their intervals, which are symmetrical in the logarithm and end at the bounds."""
    low, high = problem.space.low, problem.space.high
    half = half_widths(best, error)
    found = []
    for index, one in enumerate(problem.values.free):
        place = float(best.places[index])
        room = 1e-3 * float(high[index] - low[index])
        ends = np.exp(np.clip([place - half[index], place + half[index]], low[index], high[index]))
        at_bound = not low[index] + room < place < high[index] - room
        found.append(
            FittedValue(
                one.key,
                unit_of(one.key),
                one.start,
                float(np.exp(place)),
                float(ends[0]),
                float(ends[1]),
                at_bound,
            )
        )
    return tuple(found)
