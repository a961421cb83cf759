"""Chains: the posterior of values and of what the model leaves out, given rows and their emulators."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import emcee
import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from posterior_values import Value

Array = NDArray[np.float64]

FREEDOM = 4.0
"""Degrees of freedom of Student's t: rows that nothing fits pull less than under a normal law."""
DOUBT = 0.3
"""Scale of the half-normal prior of what the model leaves out, as a logarithm."""
ENSEMBLES = 4


class Rows(NamedTuple):
    """Rows at n points, as logarithms over what was measured, shape (n, rows) each."""

    means: Array
    variances: Array


@dataclass(frozen=True, eq=False)
class Likelihood:
    """Measured rows, as logarithms over what was measured: 0 by definition, or made for a test."""

    emulators: tuple[Callable[[Array], tuple[Array, Array]], ...]
    """From shares of all values to mean and variance of the logarithm of a row."""
    scatter: Array
    """Variance of each row as measured."""
    groups: Array
    """Number of the experiment that each row belongs to."""
    measured: Array

    def computed(self, shares: Array) -> Rows:
        """Every row at `shares`, shape (n, values) to (n, rows), with all of its variance but the model's."""
        parts = [one(shares) for one in self.emulators]
        means, variances = (np.column_stack(one) for one in zip(*parts, strict=True))
        return Rows(means, variances + self.scatter)

    def log_density(self, found: Rows, doubt: Array, tie: Array, rows: Sequence[int] | None = None) -> Array:
        """Of the rows, or of some of them, given what was computed: Student's t in each experiment.

        Rows of one experiment share the part `tie` of the variance `doubt`^2 of what the model leaves out.
        """
        kept = np.arange(self.scatter.size) if rows is None else np.asarray(rows)
        total = np.zeros(len(found.means))
        for group in np.unique(self.groups[kept]):
            inside = kept[self.groups[kept] == group]
            miss = self.measured[inside] - found.means[:, inside]
            total += _of_group(miss, found.variances[:, inside], doubt**2, tie)
        return total


def _of_group(miss: Array, variances: Array, left_out: Array, tie: Array) -> Array:
    """A shared part makes the covariance diagonal plus a rank of one, which inverts in closed form."""
    own = variances + (left_out * (1.0 - tie))[:, None]
    shared = left_out * tie
    bound = 1.0 + shared * np.sum(1.0 / own, axis=1)
    square = np.sum(miss**2 / own, axis=1) - shared * np.sum(miss / own, axis=1) ** 2 / bound
    size = np.sum(np.log(own), axis=1) + np.log(bound)
    count = miss.shape[1]
    constant = (
        gammaln(0.5 * (FREEDOM + count)) - gammaln(0.5 * FREEDOM) - 0.5 * count * np.log(FREEDOM * np.pi)
    )
    return np.asarray(constant - 0.5 * size - 0.5 * (FREEDOM + count) * np.log1p(square / FREEDOM))


@dataclass(frozen=True, eq=False)
class Chains:
    """Draws of the values' shares, then of ln doubt and of tie; with diagnostics."""

    draws: Array
    """Shape (ensembles, steps, walkers, parameters)."""

    @property
    def flat(self) -> Array:
        return self.draws.reshape(-1, self.draws.shape[-1])

    @property
    def times(self) -> Array:
        """Autocorrelation time of each parameter, the mean over ensembles, in kept steps."""
        each = [emcee.autocorr.integrated_time(one, tol=0) for one in self.draws]
        return np.asarray(np.mean(each, axis=0))

    @property
    def sizes(self) -> Array:
        """Effective sample size of each parameter."""
        return np.asarray(np.prod(self.draws.shape[:3]) / np.maximum(self.times, 1.0))

    @property
    def ratios(self) -> Array:
        """R-hat of each parameter between halves of independent ensembles."""
        halves = np.concatenate(np.split(self.draws[:, : self.draws.shape[1] // 2 * 2], 2, axis=1))
        groups = halves.reshape(len(halves), -1, halves.shape[-1])
        within = groups.var(axis=1, ddof=1).mean(axis=0)
        between = groups.mean(axis=1).var(axis=0, ddof=1)
        return np.asarray(np.sqrt(1.0 + between / within))


def chains_of(
    values: Sequence[Value],
    likelihood: Likelihood,
    steps: int,
    seed: int,
    told: Callable[[int, int], None] = lambda done, total: None,
    ensembles: int = ENSEMBLES,
    rows: Sequence[int] | None = None,
    thin: int = 5,
) -> Chains:
    """Independent ensembles of walkers by differential evolution; a first third of their steps is dropped."""
    kept = []
    for one in range(ensembles):
        rng = np.random.default_rng([seed, one])
        before, total = one * steps, ensembles * steps
        kept.append(
            _ensemble(values, likelihood, steps, rng, rows, thin, partial(_tell, told, before, total))
        )
    return Chains(np.array(kept))


def _tell(told: Callable[[int, int], None], before: int, total: int, done: int) -> None:
    told(before + done, total)


def _ensemble(
    values: Sequence[Value],
    likelihood: Likelihood,
    steps: int,
    rng: np.random.Generator,
    rows: Sequence[int] | None,
    thin: int,
    told: Callable[[int], None],
) -> Array:
    size = len(values) + 2
    walkers = 4 * size
    uniform = rng.random((walkers, size))
    start = np.column_stack(
        [
            *(one.from_uniform(uniform[:, place]) for place, one in enumerate(values)),
            np.log(0.1 + DOUBT * uniform[:, -2]),
            uniform[:, -1],
        ]
    )
    sampler = emcee.EnsembleSampler(
        walkers,
        size,
        lambda at: log_posterior(values, likelihood, at, rows),
        vectorize=True,
        # No snooker updates: with a tenth of them chains of a prior alone hold 88 % of it in their middle 90.
        moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.StretchMove(), 0.2)],
    )
    sampler.random_state = np.random.RandomState(int(rng.integers(2**31))).get_state()
    for done, _ in enumerate(sampler.sample(start, iterations=steps), 1):
        told(done)
    return np.asarray(sampler.get_chain(discard=steps // 3, thin=thin))


def log_posterior(
    values: Sequence[Value], likelihood: Likelihood, at: Array, rows: Sequence[int] | None = None
) -> Array:
    """Logarithm of prior times likelihood at `at`, shape (n, values + 2) to (n,)."""
    shares, log_doubt, tie = at[:, :-2], at[:, -2], at[:, -1]
    doubt = np.exp(log_doubt)
    prior = sum(one.log_prior(shares[:, place]) for place, one in enumerate(values))
    prior = prior - 0.5 * (doubt / DOUBT) ** 2 + log_doubt
    found = np.where((tie >= 0.0) & (tie <= 1.0) & (log_doubt > -7.0), prior, -np.inf)
    inside = np.isfinite(found)
    if inside.any():
        computed = likelihood.computed(shares[inside])
        found[inside] += likelihood.log_density(computed, doubt[inside], tie[inside], rows)
    return found
