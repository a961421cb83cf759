"""Samples of what is not known run through the model: intervals and sensitivities."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError, SpotdwellError, check_workers
from spotdwell.base.names import MEASURES
from spotdwell.console.workers import Progress, run_all
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario
from spotdwell.measure.interval import OF_THE_RUN, Interval, odds_of
from spotdwell.measure.verdict import Limits, verdict_of
from spotdwell.model.problem import Grid
from spotdwell.pipeline import solved
from spotdwell.spread.posterior import Draws, draws_of, missed
from spotdwell.spread.sampling import Unknown, unknowns_of
from spotdwell.spread.words import COVERS, RANGES

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
    from scipy.stats import spearmanr

    influences = [
        Influence(title, float(spearmanr(rows[:, index], found).statistic))
        for index, title in enumerate(titles)
        if np.ptp(rows[:, index]) > 0.0
    ]
    ordered = sorted(influences, key=lambda one: -abs(one.correlation))
    return Sensitivity(measure, count, threshold(count), tuple(ordered))


Measures = dict[str, float | None]

SAMPLES = 128
"""Samples unless said: see THEORY.md, Uncertainty, for what twice as many change."""
MOST = 100_000
QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True)
class Sample:
    """One run with sampled values."""

    measures: Measures | None = None
    """None if it failed."""
    failure: str = ""
    """Why it failed."""


@dataclass(frozen=True)
class Spread:
    """A measure over the samples [SI]; the quantiles are None where it applied to fewer than 8 samples."""

    nominal: float | None
    """With the values as the materials state them."""
    low: float | None
    """5 % of the distribution lie below."""
    median: float | None
    high: float | None
    """5 % of it lie above."""
    applied: int
    """Samples in which the measure applied."""
    absent: int
    """Solved samples in which it did not."""


@dataclass(frozen=True, eq=False)
class Uncertainty:
    """What became of the measures over all samples."""

    unknowns: tuple[Unknown, ...]
    draws: Draws
    nominal: Measures
    samples: tuple[Sample, ...]
    seed: int
    limits: Limits = field(default_factory=Limits)

    @property
    def inputs(self) -> Array:
        """Sampled values [SI], shape (samples, unknowns)."""
        return self.draws.inputs

    @cached_property
    def outcomes(self) -> tuple[Measures, ...]:
        """Measures of every sample that did not fail, each as often as the model may miss it differently."""
        return tuple(
            missed(one.measures, float(removal), float(layers))
            for one, row, other in zip(self.samples, self.draws.removal, self.draws.layers, strict=True)
            if one.measures is not None
            for removal, layers in zip(row, other, strict=True)
        )

    @property
    def word(self) -> str:
        """Verdict with the values as the materials state them."""
        return str(verdict_of(self.nominal, self.limits).word)

    @property
    def covers(self) -> str:
        """What the intervals hold and what they do not, in a sentence."""
        return COVERS if any(self.draws.joint) else RANGES

    @property
    def odds(self) -> str:
        """How many of the samples have the same verdict, such as "4 in 5"; "" if all do."""
        return odds_of(self.words.get(self.word, 0.0)) if self.outcomes else ""

    @property
    def failures(self) -> tuple[str, ...]:
        """Why samples failed, one text for each that did."""
        return tuple(one.failure for one in self.samples if one.measures is None)

    @cached_property
    def words(self) -> dict[str, float]:
        """Share of each verdict, the most frequent first."""
        counts = Counter(str(verdict_of(one, self.limits).word) for one in self.outcomes)
        return {word: count / len(self.outcomes) for word, count in counts.most_common()}

    def share(self, holds: Callable[[Measures], bool]) -> float:
        """Share of the outcomes of which `holds` is true."""
        return sum(map(holds, self.outcomes)) / len(self.outcomes)

    @cached_property
    def spreads(self) -> dict[str, Spread]:
        """Median and 90 % interval of every measure."""
        solved = [one.measures for one in self.samples if one.measures is not None]
        return {
            name: _spread(
                self.nominal[name], [one[name] for one in self.outcomes], [one[name] for one in solved]
            )
            for name in MEASURES
        }

    @cached_property
    def interval(self) -> Interval:
        """What of it is kept with a result, and shown beside it."""
        ends = {
            name: None if one.low is None or one.high is None else (one.low, one.high)
            for name, one in self.spreads.items()
            if name not in OF_THE_RUN
        }
        return Interval(ends, self.words, len(self.samples), self.covers)

    @property
    def sensitivities(self) -> tuple[Sensitivity, ...]:
        """Which values depth, char and coagulation at the floor follow."""
        solved = np.array([one.measures is not None for one in self.samples], dtype=bool)
        titles = [one.title for one in self.unknowns]
        found = [one.measures for one in self.samples if one.measures is not None]
        return tuple(
            sensitivity_of(name, titles, self.inputs[solved], [one[name] for one in found])
            for name in SENSITIVE
        )


def uncertainty(
    scenario: Scenario,
    samples: int = SAMPLES,
    seed: int = 0,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Uncertainty:
    """Solve `scenario` with `samples` sets of material values, `workers` at a time.

    Values that published rows saw are drawn together, as these allow, and others from their ranges; what the
    model leaves out of the rows widens depths and layers (THEORY.md, Posterior). All samples use
    the grid of the nominal run, so that cells add no scatter. `workers` None is one a core;
    `progress` is told how many samples are done, of how many, and the seconds left. A sample that fails is
    kept with its reason. Raises InputError for fewer than 8 samples, a negative seed, fewer than 1 worker or
    materials without ranges, and RunError if the nominal run fails.
    """
    unknowns = check_request(scenario, samples, seed, workers)
    whole = with_own_materials(scenario)
    grid = problem_of(whole).grid
    # This run comes first: it compiles the kernels, which the workers then load.
    nominal = solved(whole, grid=grid).measures
    draws = draws_of(unknowns, samples, seed)
    base = scenario_data(whole)
    tasks = [changed(base, unknowns, row) for row in draws.inputs]
    found = run_all(partial(sample_of, grid=grid), tasks, workers, progress)
    return Uncertainty(unknowns, draws, nominal, tuple(found), seed, Limits(**dict(whole.limits)))


def check_request(scenario: Scenario, samples: int, seed: int, workers: int | None) -> tuple[Unknown, ...]:
    """Values that would be sampled. Raises InputError where `uncertainty` would, without running anything."""
    _check_numbers(samples, seed, workers)
    return unknowns_of(scenario)


def changed(base: Mapping[str, Any], unknowns: Sequence[Unknown], values: Array) -> dict[str, Any]:
    """Tables of a scenario that holds its materials, with other values of the `unknowns`."""
    data = deepcopy(dict(base))
    for unknown, value in zip(unknowns, values, strict=True):
        table: Any = data["materials"][unknown.material]
        for step in unknown.path:
            table = table[step]
        table[unknown.key] = unknown.written(value)
    return data


def sample_of(data: Mapping[str, Any], grid: Grid) -> Sample:
    """Sample of the scenario in the tables `data`, solved on `grid`; whatever goes wrong is its failure."""
    try:
        return Sample(solved(scenario_from_dict(data, "sample"), grid=grid).measures)
    except (SpotdwellError, ArithmeticError, ValueError) as error:
        return Sample(failure=str(error) or type(error).__name__)


def _spread(
    nominal: float | None, outcomes: Sequence[float | None], solved: Sequence[float | None]
) -> Spread:
    apt = [value for value in outcomes if value is not None]
    applied = sum(value is not None for value in solved)
    low, median, high = (
        (float(one) for one in np.quantile(apt, QUANTILES)) if applied >= FEWEST else (None, None, None)
    )
    return Spread(nominal, low, median, high, applied, len(solved) - applied)


def _check_numbers(samples: int, seed: int, workers: int | None) -> None:
    """Raise InputError for a number that is too small or too large."""
    if not FEWEST <= samples <= MOST:
        advice = f"{SAMPLES} give stable intervals."
        raise InputError("samples", f"{FEWEST} to {MOST} samples", str(samples), advice)
    if seed < 0:
        raise InputError("seed", "a whole number from 0", str(seed))
    check_workers(workers)
