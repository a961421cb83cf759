"""Fits the closure, the few values that no one has measured, to many published rows at once."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from spotdwell.evidence.published import Row, evaluate
from spotdwell.evidence.published_runs import Changes

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Free:
    """A value that the fit may move between its bounds."""

    key: str
    """As in `published_runs.Changes`."""
    unit: str
    """Empty for a number without dimension."""
    start: float
    low: float
    high: float

    def written(self, value: float) -> str | float:
        """As a material file has it."""
        return f"{value!r} {self.unit}" if self.unit else value


TISSUE = (
    Free("oral_mucosa.rupture_temperature", "degC", 200.0, 150.0, 300.0),
    Free("tissue.rupture_water_share", "", 0.63, 0.3, 0.9),
    Free("tissue.steam_escape_time", "ms", 1.8, 0.3, 10.0),
    Free("tissue.film_thickness", "um", 33.0, 5.0, 80.0),
    Free("tissue.film_growth", "", 0.2, 0.05, 0.8),
    Free("tissue.debris.10.6 um", "kJ/cm3", 3.0, 0.5, 8.0),
    Free("tissue.debris.2.94 um", "kJ/cm3", 0.8, 0.1, 4.0),
    Free("tissue.absorption.10.6 um", "1/m", 6e3, 1e3, 3e4),
    Free("tissue.slope.10.6 um", "1/K", 1.5e-3, 1e-4, 3e-3),
    Free("tissue.slope.2.94 um", "1/K", 4.6e-3, 1e-3, 8e-3),
)
"""Closure of tissue. Char kinetics are left to thermogravimetry: see THEORY.md, Published rows."""
ACRYLIC = (Free("pmma.pyrolysis.heat", "MJ/kg", 1.5, 0.5, 3.0),)


@dataclass(frozen=True)
class Fit:
    """Where a fit ended."""

    values: dict[str, str | float]
    """Best value of each key, as `Changes`."""
    cost: float
    runs: int
    """Times that all rows were computed."""


def misfit(row: Row, computed: float) -> float:
    """Logarithm of computed over measured, in units of the row's relative spread; 0 counts as a hundredth."""
    ratio = max(computed / row.measured, 0.01)
    return math.log(ratio) / math.log1p(row.spread / row.measured)


def cost(rows: tuple[Row, ...], changes: Changes) -> float:
    """Sum of 2 (sqrt(1 + misfit^2) - 1), which grows only linearly with a row that nothing fits."""
    each = np.array([misfit(row, evaluate(row, changes)) for row in rows])
    return float(np.sum(2.0 * (np.sqrt(1.0 + each**2) - 1.0)))


def fit(
    rows: tuple[Row, ...],
    free: tuple[Free, ...],
    most_runs: int = 80,
    progress: Callable[[Changes, float], None] = lambda changes, cost: None,
) -> Fit:
    """Least `cost` over `free`, by Nelder and Mead on their logarithms.

    Rows jump where tissue changes from being thrown out to burning off, so derivatives would mislead.
    `progress` hears of each trial.
    """

    def changes(logs: Array) -> dict[str, str | float]:
        return {one.key: one.written(float(np.exp(value))) for one, value in zip(free, logs, strict=True)}

    def trial(logs: Array) -> float:
        found = cost(rows, changes(logs))
        progress(changes(logs), found)
        return found

    start = np.log([one.start for one in free])
    corners = np.vstack([start, start + np.diag(np.full(start.size, 0.2))])
    best = minimize(
        trial,
        start,
        method="Nelder-Mead",
        bounds=[(math.log(one.low), math.log(one.high)) for one in free],
        options={"maxfev": most_runs, "initial_simplex": corners, "xatol": 0.01, "fatol": 0.01},
    )
    return Fit(changes(best.x), float(best.fun), int(best.nfev))
