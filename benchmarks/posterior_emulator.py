"""Emulators of the rows: a Gaussian process on the logarithm of each, over the values that it sees."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.special import log_ndtr, ndtr
from sklearn.exceptions import ConvergenceWarning
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, DotProduct, WhiteKernel

Array = NDArray[np.float64]

LEAST = 0.01
"""A row that comes to less than this share of what was measured counts as this share."""
SEED = 2


@dataclass(frozen=True, eq=False)
class Emulator:
    """Logarithm of a row over what was measured, from shares of the values that it sees."""

    seen: NDArray[np.intp]
    """Places of those values among all."""
    points: Array
    """Scaled by their lengths, shape (points, seen)."""
    lengths: Array
    slopes: Array
    offset: float
    height: float
    weights: Array
    """Of the kernel at each point."""
    left_out: Array
    """Logarithms that it gives for each point without that point."""
    known: Array
    """Logarithms that were computed at the points."""

    @property
    def error(self) -> float:
        """Root mean square of leave-one-out errors [log]."""
        return float(np.sqrt(np.mean((self.left_out - self.known) ** 2)))

    def __call__(self, shares: Array) -> tuple[Array, Array]:
        """Mean and variance at `shares` of all values, shape (n, values) to (n,) each."""
        mean = self.mean(shares)
        return mean, np.full(len(mean), self.error**2)

    def mean(self, shares: Array) -> Array:
        """Mean at `shares` of all values, shape (n, values) to (n,)."""
        seen = shares[:, self.seen]
        scaled = seen / self.lengths
        square = (
            np.sum(scaled**2, axis=1)[:, None]
            + np.sum(self.points**2, axis=1)[None, :]
            - 2.0 * scaled @ self.points.T
        )
        bumps = self.height * np.exp(-0.5 * np.maximum(square, 0.0)) @ self.weights
        return np.asarray(self.offset + seen @ self.slopes + bumps)


def logs(computed: Array, measured: float) -> Array:
    """Logarithm of computed over measured, of LEAST at least."""
    return np.asarray(np.log(np.maximum(computed / measured, LEAST)))


def fitted(shares: Array, known: Array, seen: Sequence[int], restarts: int = 1) -> Emulator:
    """Emulator of `known` logarithms at `shares`, whose lengths have the largest marginal likelihood."""
    places = np.array(seen, dtype=np.intp)
    points = shares[:, places]
    centre, size = float(known.mean()), float(known.std()) or 1.0
    target = (known - centre) / size
    kernel = (
        ConstantKernel(0.5, (1e-4, 1e2)) * RBF(np.full(places.size, 1.0), (0.1, 30.0))
        + ConstantKernel(1.0, (1e-4, 1e2)) * DotProduct(1.0, (1e-2, 1e2))
        + WhiteKernel(0.05, (1e-6, 2.0))
    )
    process = GaussianProcessRegressor(kernel, n_restarts_optimizer=restarts, random_state=SEED)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ConvergenceWarning)  # lengths at their bounds: a value without effect
        process.fit(points, target)
    best = process.kernel_
    bump, line = best.k1.k1, best.k1.k2
    lengths = np.broadcast_to(np.asarray(bump.k2.length_scale), places.size)
    covariance = best(points)
    factor = cho_factor(covariance + 1e-10 * np.eye(len(points)))
    weights = cho_solve(factor, target)
    inverse = cho_solve(factor, np.eye(len(points)))
    left_out = target - weights / np.diag(inverse)
    scale = line.k1.constant_value
    return Emulator(
        places,
        points / lengths,
        lengths,
        size * scale * points.T @ weights,
        centre + size * scale * line.k2.sigma_0**2 * float(weights.sum()),
        size * bump.k1.constant_value,
        weights,
        centre + size * left_out,
        known,
    )


@dataclass(frozen=True, eq=False)
class Branches:
    """A row that jumps: one emulator on either side, and the chance of the side.

    The mean weighs both sides; their distance enters the variance where the side is in doubt.
    """

    side: Emulator
    """Of +1 where the tissue dries and stays, and -1 where it is thrown out at every pulse."""
    width: float
    """Of the normal law that turns it into a chance."""
    dry: Emulator
    wet: Emulator

    def __call__(self, shares: Array) -> tuple[Array, Array]:
        return self._mixed(self.side.mean(shares), self.dry.mean(shares), self.wet.mean(shares))

    @property
    def error(self) -> float:
        """Root mean square of leave-one-out errors where the tissue dries [log]."""
        return self.dry.error

    @property
    def wrong(self) -> float:
        """Share of points that are put on the wrong side when left out."""
        return float(np.mean(self.side.left_out * self.side.known < 0.0))

    def _mixed(self, side: Array, dry: Array, wet: Array) -> tuple[Array, Array]:
        chance = ndtr(side / self.width)
        variance = chance * self.dry.error**2 + (1.0 - chance) * self.wet.error**2
        return chance * dry + (1.0 - chance) * wet, variance + chance * (1.0 - chance) * (dry - wet) ** 2


def branched(shares: Array, known: Array, dries: NDArray[np.bool_], seen: Sequence[int]) -> Branches:
    """Emulator of a row that takes one of two courses, which `dries` tells at each point."""
    side = fitted(shares, np.where(dries, 1.0, -1.0), seen)
    widths = np.geomspace(0.02, 2.0, 60)
    margins = side.left_out * side.known
    width = widths[np.argmax([np.sum(log_ndtr(margins / one)) for one in widths])]
    parts = [fitted(shares[one], known[one], seen) for one in (dries, ~dries)]
    return Branches(side, float(width), parts[0], parts[1])
