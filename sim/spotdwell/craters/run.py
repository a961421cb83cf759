"""Beam diameter and ablation threshold from craters: the D-squared method with weights and an outlier rule.

A gaussian pulse of energy E leaves a crater of diameter D, D^2 = 2 w^2 ln(E / E_th) (Liu 1982; eq. I1). The
error of a measured D is taken as normal and the same for all craters, so that of D^2 grows as 4 D^2 s^2.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.craters.result import Craters, ThresholdFit
from spotdwell.craters.warnings import Conditions, warnings_of
from spotdwell.inputs.bench_table import Column, read_table

Array = NDArray[np.float64]

FEWEST = 3
"""Craters without which there is a line but no interval."""
OUTLIER_CHANCE = 0.05
"""Chance that the outlier rule finds one among all craters where there is none (Bonferroni)."""
MOST_OUTLIERS = 0.25
"""Share of the craters that the rule may leave out."""
SMALLEST = 0.1
"""A fitted diameter is weighted as if at least this share of the largest: weights at 0 would be infinite."""
EXACT = 1e-9
"""Scatter over the largest diameter below which the craters lie on the line."""

ENERGY = Column("pulse energy", "J", "5 mJ", ("energy",))
DIAMETER = Column("crater diameter", "m", "320 um", ("diameter",), zero=True)
PULSES = Column("pulses", "1", "1", ("pulses per spot",), required=False)


def spot_from_craters(
    path: str | Path,
    pulses: int | None = None,
    pulse_duration: str | None = None,
    diffusivity: str | None = None,
    keep_all: bool = False,
) -> ThresholdFit:
    """Beam diameter and threshold from the CSV file at `path`, of "pulse energy" and "crater diameter".

    An optional column "pulses", or `pulses`, tells how many hit each spot; `pulse_duration` and the
    target's `diffusivity` are quantity strings that only serve the warning of heat that spreads. Outliers
    are left out, and told, unless `keep_all`. Raises InputError for a file or an option that is wrong.
    """
    conditions = Conditions.typed(pulses, pulse_duration, diffusivity)
    return fit_craters(read_craters(path), conditions, keep_all)


def read_craters(path: str | Path) -> Craters:
    """Craters in a CSV file. Raises InputError."""
    table = read_table(path, (ENERGY, DIAMETER, PULSES), FEWEST)
    rows = np.array(table.rows, dtype=np.int64)
    columns = table.values[ENERGY.name], table.values[DIAMETER.name], table.values.get(PULSES.name)
    return Craters(Path(path).name, rows, *columns)


def fit_craters(
    craters: Craters, conditions: Conditions | None = None, keep_all: bool = False
) -> ThresholdFit:
    """Line through `craters` by their weights, with outliers left out unless `keep_all`, and warnings.

    Raises InputError for fewer than 3 craters, one energy only, or diameters that do not grow with energy.
    """
    cut = craters.diameter > 0.0
    marked = craters.only(cut)
    _check(marked)
    line, wrong = _without_outliers(marked)
    if keep_all:
        line = _line(marked)
    right = np.ones(marked.count, dtype=bool) if keep_all else ~wrong
    used = marked.only(right)
    _check_slope(line, used.source)
    curvature, chance = _curvature(used)
    none = np.zeros(marked.count, dtype=bool)
    level, slope = (float(one) for one in line.coefficients)
    fit = ThresholdFit(
        used,
        marked.only(~right),
        craters.only(~cut),
        level,
        slope,
        line.centre,
        line.covariance,
        line.scatter,
        curvature,
        chance,
        marked.only(wrong if keep_all else none),
    )
    return replace(fit, warnings=warnings_of(fit, conditions or Conditions()))


@dataclass(frozen=True, eq=False)
class _Line:
    """A polynomial in ln E - centre for D^2, fitted to craters."""

    coefficients: Array
    centre: float
    covariance: Array
    scatter: float
    residuals: Array
    """Of the diameters [m]."""
    leverages: Array

    @property
    def studentised(self) -> Array:
        """Residuals over their standard deviation, each estimated without its own crater."""
        count, terms = len(self.residuals), len(self.coefficients)
        rest = float(np.sum(self.residuals**2)) - self.residuals**2 / np.maximum(1.0 - self.leverages, 1e-12)
        spread = np.sqrt(np.maximum(rest, np.finfo(float).tiny) / (count - terms - 1))
        own = np.sqrt(np.maximum(1.0 - self.leverages, 1e-12))
        return np.asarray(self.residuals / (spread * own))


def _line(craters: Craters, terms: int = 2) -> _Line:
    """Least squares in D of a curve that is linear in D^2: Fisher scoring, weights 1 / (4 D^2) at the fit."""
    x = np.log(craters.energy)
    centre = float(x.mean())
    design = np.vander(x - centre, terms, increasing=True)
    least = (SMALLEST * float(craters.diameter.max())) ** 2
    fitted: Array = craters.diameter**2
    coefficients: Array = np.zeros(terms)
    for step in range(100):
        fitted = np.maximum(fitted, least)
        root = np.sqrt(fitted)
        # D^2 as the fit's tangent in D sees it, so that the square of the noise does not lift small craters.
        working = fitted + 2.0 * root * (craters.diameter - root)
        scaled = design / (2.0 * root)[:, None]
        new: Array = np.asarray(np.linalg.lstsq(scaled, working / (2.0 * root), rcond=None)[0], dtype=float)
        change = float(np.abs(design @ (new - coefficients)).max())
        # Halved steps later on: at the least diameter a crater may hop to and fro.
        coefficients = new if step < 20 else 0.5 * (new + coefficients)
        fitted = design @ coefficients
        if change <= 1e-12 * float(np.abs(fitted).max()):
            break
    return _described(craters, design, coefficients, centre, least)


def _described(craters: Craters, design: Array, coefficients: Array, centre: float, least: float) -> _Line:
    root = np.sqrt(np.maximum(design @ coefficients, least))
    scaled = design / (2.0 * root)[:, None]
    inverse: Array = np.asarray(np.linalg.inv(scaled.T @ scaled), dtype=float)
    fitted = np.sqrt(np.maximum(design @ coefficients, 0.0))
    residuals = craters.diameter - fitted
    freedom = max(1, craters.count - len(coefficients))
    variance = float(np.sum(residuals**2)) / freedom
    leverages = np.einsum("ij,jk,ik->i", scaled, inverse, scaled)
    return _Line(coefficients, centre, variance * inverse, float(np.sqrt(variance)), residuals, leverages)


def _without_outliers(craters: Craters) -> tuple[_Line, NDArray[np.bool_]]:
    """Line without outliers, and which those are: the farthest off, one at a time (Bonferroni)."""
    wrong = np.zeros(craters.count, dtype=bool)
    line = _line(craters)
    while wrong.sum() < int(MOST_OUTLIERS * craters.count):
        worst = _outlier(line, float(craters.diameter.max()))
        if worst is None:
            break
        left_in = np.flatnonzero(~wrong)
        kept = np.delete(left_in, worst)
        if len(np.unique(craters.energy[kept])) < 2:
            break
        wrong[left_in[worst]] = True
        line = _line(craters.only(~wrong))
    return line, wrong


def _outlier(line: _Line, largest: float) -> int | None:
    """Index of the crater that lies farthest off, if it lies too far for chance."""
    freedom = len(line.residuals) - len(line.coefficients) - 1
    if freedom < 1 or line.scatter <= EXACT * largest:
        return None
    off = np.abs(line.studentised)
    worst = int(off.argmax())
    chance = 2.0 * float(stdtr(freedom, -off[worst])) * len(off)
    return worst if chance < OUTLIER_CHANCE else None


def _curvature(craters: Craters) -> tuple[float, float]:
    """Quadratic coefficient [m2], and the chance of one as large on a straight line; 0 and 1 if not known."""
    if craters.count < 5 or len(np.unique(craters.energy)) < 3:
        return 0.0, 1.0
    curve = _line(craters, 3)
    if curve.scatter <= EXACT * float(craters.diameter.max()):
        exact = abs(curve.coefficients[2]) <= 1e-6 * float(craters.diameter.max()) ** 2
        return float(curve.coefficients[2]), 1.0 if exact else 0.0
    ratio = float(curve.coefficients[2]) / float(np.sqrt(curve.covariance[2, 2]))
    return float(curve.coefficients[2]), float(2.0 * stdtr(craters.count - 3, -abs(ratio)))


def _check(marked: Craters) -> None:
    """Raise InputError for craters that give no line with an interval."""
    if marked.count < FEWEST:
        expected = f"at least {FEWEST} craters with a diameter above 0"
        raise InputError(marked.source, expected, str(marked.count), "Measure and add more.")
    if len(np.unique(marked.energy)) < 2:
        got = f"{units.display(float(marked.energy[0]), 'J', 'mJ')} alone"
        advice = "Add craters of other energies, best over a factor 3 and more."
        raise InputError(marked.source, "craters of several pulse energies", got, advice)


def _check_slope(line: _Line, source: str) -> None:
    if not line.coefficients[1] > 0.0:
        raise InputError(
            source,
            "crater diameters that grow with the pulse energy",
            "a fitted line that does not rise",
            "Check that energies and diameters stand in the right rows, or add craters over more energies.",
        )
