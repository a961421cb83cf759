"""A beam measured by its craters: what was measured, the line through it, and what follows (Liu 1982)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

Array = NDArray[np.float64]

CONFIDENCE = 0.95
"""Of every interval and band."""


@dataclass(frozen=True)
class Estimate:
    """A value with its 95 % confidence interval, SI."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Craters:
    """Craters of single pulses, one a row of the file that they come from."""

    source: str
    """Name of the file."""
    rows: NDArray[np.int64]
    """Row of the file of each."""
    energy: Array
    """Of the pulse [J]."""
    diameter: Array
    """Of the crater [m]; 0 where there was none."""
    pulses: Array | None = None
    """On each spot; None: not told."""

    def only(self, which: NDArray[np.bool_]) -> Craters:
        """Those chosen."""
        pulses = None if self.pulses is None else self.pulses[which]
        return Craters(self.source, self.rows[which], self.energy[which], self.diameter[which], pulses)

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.rows)


@dataclass(frozen=True, eq=False)
class ThresholdFit:
    """The line D^2 = level + slope (ln E - centre) through craters, and the beam that it says."""

    used: Craters
    """Craters that the line was fitted to."""
    outliers: Craters
    """Craters that were left out, as too far off the line."""
    unmarked: Craters
    """Pulses that left no crater."""
    level: float
    """D^2 at the centre [m2]."""
    slope: float
    """2 w^2, with w the 1/e2 radius [m2]."""
    centre: float
    """Mean of ln (E / 1 J), where the line is least uncertain."""
    covariance: Array
    """Of level and slope [m4], shape (2, 2)."""
    scatter: float
    """Standard deviation of a diameter about the line [m]."""
    curvature: float
    """Coefficient of (ln E - centre)^2 if it is fitted too [m2]; 0 for fewer than 5 craters."""
    curvature_chance: float
    """Chance of a curvature at least so large with a gaussian beam (two-sided t test)."""
    suspects: Craters
    """Craters that would have been left out but for the user."""
    warnings: tuple[str, ...] = ()

    @property
    def freedom(self) -> int:
        """Degrees of freedom of the line."""
        return self.used.count - 2

    @property
    def quantile(self) -> float:
        """Of Student's t for the intervals."""
        return float(stdtrit(self.freedom, 0.5 + CONFIDENCE / 2.0))

    @property
    def slope_doubt(self) -> float:
        """Half the slope's interval over the slope [-]; from 1 on no interval here is bounded."""
        return self.quantile * math.sqrt(self.covariance[1, 1]) / self.slope

    @property
    def beam_diameter(self) -> Estimate:
        """1/e2 diameter [m], sqrt(2 slope), by Student's interval of the slope; low is 0 below that."""
        doubt = self.slope_doubt
        ends = (1.0, max(0.0, 1.0 - doubt), 1.0 + doubt)
        return Estimate(*(math.sqrt(2.0 * self.slope * one) for one in ends))

    @property
    def threshold_energy(self) -> Estimate:
        """Pulse energy at which D is 0 [J]; the interval is symmetrical in ln E (delta method)."""
        gradient = np.array([-1.0, self.level / self.slope]) / self.slope
        return self._logarithmic(self.centre - self.level / self.slope, gradient)

    @property
    def threshold_exposure(self) -> Estimate:
        """Peak radiant exposure at that energy [J/m2], 2 E / (pi w^2); interval as of the energy."""
        gradient = np.array([-1.0, self.level / self.slope - 1.0]) / self.slope
        at = self.centre - self.level / self.slope + math.log(4.0 / (math.pi * self.slope))
        return self._logarithmic(at, gradient)

    def squared_diameter(self, energy: Array) -> Array:
        """D^2 on the line at each `energy` [J]; [m2], below 0 under the threshold."""
        return self.level + self.slope * (np.log(energy) - self.centre)

    def band(self, energy: Array) -> Array:
        """Half the width of the line's pointwise 95 % confidence band at each `energy` [m2]."""
        off = np.log(energy) - self.centre
        (level, both), (_, slope) = self.covariance
        return np.asarray(self.quantile * np.sqrt(np.maximum(level + 2.0 * off * both + off**2 * slope, 0.0)))

    def _logarithmic(self, at: float, gradient: Array) -> Estimate:
        if self.slope_doubt >= 1.0:
            return Estimate(_exp(at), 0.0, math.inf)
        half = self.quantile * math.sqrt(max(0.0, float(gradient @ self.covariance @ gradient)))
        return Estimate(_exp(at), _exp(at - half), _exp(at + half))


def _exp(power: float) -> float:
    """exp, which is infinite where it would overflow."""
    return math.exp(power) if power < 700.0 else math.inf
