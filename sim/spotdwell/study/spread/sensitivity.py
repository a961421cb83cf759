"""Sensitivity: which sampled values a measure follows, by rank correlation (THEORY.md, Uncertainty)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import spearmanr

Array = NDArray[np.float64]

SENSITIVE = ("crater_depth", "char_thickness_floor", "coagulation_thickness_floor")
"""Measures whose sensitivities are listed."""
FEWEST = 8
"""Fewest samples from which anything is concluded."""
_ROUND_OFF = 1e-9
"""Relative spread below which a measure counts as constant."""


@dataclass(frozen=True)
class Influence:
    """How a measure follows one sampled value."""

    title: str
    """Material and value."""
    correlation: float
    """Spearman's rank correlation: the sign says whether the measure rises or falls with the value."""


@dataclass(frozen=True)
class Sensitivity:
    """What a measure follows."""

    measure: str
    count: int
    """Samples in which the measure applied."""
    threshold: float
    """Correlation that chance exceeds in 5 % of cases, 1.96 / sqrt(count - 1)."""
    influences: tuple[Influence, ...]
    """Strongest first; empty where the measure did not vary or applied too rarely."""

    @property
    def clear(self) -> tuple[Influence, ...]:
        """Those above the threshold. Of twenty values without any influence one gets there by chance."""
        return tuple(one for one in self.influences if abs(one.correlation) > self.threshold)

    @property
    def noise(self) -> tuple[Influence, ...]:
        """Those not distinguishable from noise."""
        return tuple(one for one in self.influences if abs(one.correlation) <= self.threshold)


def threshold(count: int) -> float:
    """Rank correlation that `count` samples of independent values exceed in 5 % of cases (large counts)."""
    return 1.96 / math.sqrt(count - 1) if count > 1 else math.inf


def sensitivity_of(
    measure: str, titles: Sequence[str], inputs: Array, values: Sequence[float | None]
) -> Sensitivity:
    """Sensitivity of `measure`, whose `values` belong to the rows of `inputs` (samples, unknowns).

    Samples in which it did not apply (None) are left out.
    """
    apt = np.array([value is not None for value in values], dtype=bool)
    found = np.array([value for value in values if value is not None], dtype=float)
    count = int(found.size)
    if count < FEWEST or np.ptp(found) <= _ROUND_OFF * np.abs(found).max():
        return Sensitivity(measure, count, threshold(count), ())
    rows = inputs[apt]
    influences = [
        Influence(title, float(spearmanr(rows[:, index], found).statistic))
        for index, title in enumerate(titles)
        if np.ptp(rows[:, index]) > 0.0
    ]
    ordered = sorted(influences, key=lambda one: -abs(one.correlation))
    return Sensitivity(measure, count, threshold(count), tuple(ordered))
