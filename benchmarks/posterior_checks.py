"""Checks of the posterior: rows left out one by one, and values found again from rows that the model made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from posterior_chains import DOUBT, FREEDOM, Chains, Likelihood, Rows, chains_of
from posterior_values import Value
from spotdwell.console.workers import run_all

Array = NDArray[np.float64]

ENOUGH = 400.0
"""Effective draws below which a row is left out by new chains rather than by weights."""
LEVELS = (0.5, 0.9)
_SLICES = 19


@dataclass(frozen=True)
class Prediction:
    """A row as the others predict it."""

    rank: float
    """Share of the prediction below what was measured."""
    rank_of_values: float
    """The same without what the model leaves out."""
    low: float
    """5 % of the prediction lie below, over what was measured [-]."""
    median: float
    high: float
    size: float
    """Effective draws behind it."""

    def covered(self, level: float, of_values: bool = False) -> bool:
        """Whether the middle `level` of the prediction holds what was measured."""
        rank = self.rank_of_values if of_values else self.rank
        return abs(rank - 0.5) <= 0.5 * level


def left_out(
    away: Sequence[int],
    flat: Array,
    found: Rows,
    likelihood: Likelihood,
    again: Callable[[Sequence[int]], Array],
) -> list[Prediction]:
    """Predictions of the rows `away` from chains `flat` of all rows, freed of these by weights.

    `again` makes new draws from the rows given; it is asked where few draws would carry all the weight.
    """
    doubt, tie = np.exp(flat[:, -2]), flat[:, -1]
    kept = [one for one in range(likelihood.scatter.size) if one not in away]
    logs = likelihood.log_density(found, doubt, tie, kept) - likelihood.log_density(found, doubt, tie)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    size = float(1.0 / np.sum(weights**2))
    if size < ENOUGH:
        flat = again(kept)
        found, doubt = likelihood.computed(flat[:, :-2]), np.exp(flat[:, -2])
        weights, size = np.full(len(flat), 1.0 / len(flat)), float(len(flat))
    return [_prediction(place, found, doubt, weights, likelihood, size) for place in away]


def _prediction(
    place: int, found: Rows, doubt: Array, weights: Array, likelihood: Likelihood, size: float
) -> Prediction:
    mean, variance = found.means[:, place], found.variances[:, place]
    whole = np.sqrt(variance + doubt**2)
    measured = likelihood.measured[place]
    rank = float(weights @ student.cdf((measured - mean) / whole, FREEDOM))
    narrow = float(weights @ student.cdf((measured - mean) / np.sqrt(variance), FREEDOM))
    middle = (np.arange(_SLICES) + 0.5) / _SLICES
    outcomes = (mean[:, None] + whole[:, None] * student.ppf(middle, FREEDOM)).ravel()
    order = np.argsort(outcomes)
    shares = np.cumsum(np.repeat(weights / _SLICES, _SLICES)[order])
    low, median, high = (
        float(np.exp(outcomes[order][np.searchsorted(shares, at)])) for at in (0.05, 0.5, 0.95)
    )
    return Prediction(rank, narrow, low, median, high, size)


@dataclass(frozen=True)
class Recovery:
    """Values found again."""

    hits: Array
    """How often the 90 % interval of each parameter held the true one."""
    runs: int


def recovered(
    values: Sequence[Value],
    likelihood: Likelihood,
    runs: int,
    steps: int,
    workers: int | None,
    told: Callable[[int, int, float], None],
) -> Recovery:
    """Make rows from values out of the prior, `runs` times, and look whether the chains hold these values."""
    work = partial(_recovery, tuple(values), likelihood, steps)
    found = run_all(work, list(range(runs)), workers, told)
    return Recovery(np.sum(found, axis=0), runs)


def _recovery(values: tuple[Value, ...], likelihood: Likelihood, steps: int, seed: int) -> Array:
    rng = np.random.default_rng([3, seed])
    shares = np.array([float(one.from_uniform(rng.random(1))[0]) for one in values])
    doubt, tie = DOUBT * abs(rng.normal()), rng.random()
    made = replace(likelihood, measured=_made(likelihood, shares, doubt, tie, rng))
    chains = chains_of(values, made, steps, seed, ensembles=1)
    low, high = np.quantile(chains.flat, (0.05, 0.95), axis=0)
    true = np.array([*shares, np.log(doubt), tie])
    return np.asarray((true >= low) & (true <= high), dtype=float)


def _made(likelihood: Likelihood, shares: Array, doubt: float, tie: float, rng: np.random.Generator) -> Array:
    """Rows as the model with its likelihood would have them: Student's t of one scale in each experiment."""
    found = likelihood.computed(shares[None, :])
    rows = np.empty(likelihood.scatter.size)
    for group in np.unique(likelihood.groups):
        inside = np.flatnonzero(likelihood.groups == group)
        own = np.sqrt(found.variances[0, inside] + doubt**2 * (1.0 - tie)) * rng.normal(size=inside.size)
        shared = doubt * np.sqrt(tie) * rng.normal()
        stretch = np.sqrt(FREEDOM / rng.chisquare(FREEDOM))
        rows[inside] = found.means[0, inside] + stretch * (own + shared)
    return rows


def summary(chains: Chains) -> tuple[float, float, float]:
    """Longest autocorrelation time [kept steps], largest R-hat, smallest effective sample size."""
    return float(chains.times.max()), float(chains.ratios.max()), float(chains.sizes.min())
