"""Before a calibration is fitted: what its shots cannot tell, and how long it will take."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from spotdwell.calibration.parameters import DEBRIS, DELIVERED
from spotdwell.calibration.response import FitProblem, cell_height, coarse_refinement, found_of, frame_of
from spotdwell.calibration.run import TRIED
from spotdwell.calibration.warnings import about_cells, about_perforated, advice_for
from spotdwell.inputs.schema import Scenario

ALIKE = 3.0
"""Longest over shortest dwell at one spot below which all shots remove in the same way, as a rule."""
TRIALS = 4
"""Places that a fit in coarse cells tries, as a rule; it may be up to 10."""
STEPS = 2
"""Likewise in fine cells."""


@dataclass(frozen=True)
class Forecast:
    """How much work a fit is."""

    runs: int
    """As a rule."""
    seconds: float
    """With the workers at hand."""


def cannot_tell(problem: FitProblem, scenario: Scenario) -> Iterator[str]:
    """Sentences on what the shots leave open, which no fit is needed to see."""
    shots = problem.shots
    yield from about_perforated([int(row) for row in shots.rows[shots.perforated]])
    free = {one.key for one in problem.values.free}
    if {DELIVERED, DEBRIS} <= free and _dwells_alike(problem):
        yield (
            f"Dwells at each spot differ by less than {ALIKE:g} times, so that {DELIVERED} and {DEBRIS} may "
            f"not be told apart: add {advice_for([DELIVERED, DEBRIS])}; or fix one."
        )
    if not problem.repeats():
        yield "No shot was repeated: what scatters and what the model misses cannot be told apart."
    if shots.depth_error is not None:
        yield "The column depth error is not used: the fit takes the error from repeats or residuals."
    yield from about_cells(cell_height(scenario), problem.median_depth)


def forecast(problem: FitProblem, scenario: Scenario, workers: int) -> Forecast:
    """Runs and time of a fit, by a shot in the middle of the bench solved in coarse and in fine cells.

    Raises SpotdwellError if that run fails.
    """
    coarse, fine = coarse_refinement(scenario, problem.median_depth), scenario.grid.refinement
    first, second = runs_of(problem)
    kinds = [(coarse, first + second)] if coarse == fine else [(coarse, first), (fine, second)]
    seconds = sum(runs * _time_of(problem, scenario, cells) for cells, runs in kinds)
    return Forecast(first + second, seconds / workers)


def runs_of(problem: FitProblem) -> tuple[int, int]:
    """Runs in coarse and in fine cells, as a rule."""
    settings = problem.settings(problem.values.start)
    different = len({settings[index].rounded for index in problem.used})
    starts = math.prod(1 + len(TRIED.get(one.kind, ())) for one in problem.values.free)
    star = 2 * len(problem.values.free) + 1
    return different * (starts + TRIALS * star), different * STEPS * star


def _time_of(problem: FitProblem, scenario: Scenario, refinement: float) -> float:
    """Of a shot of middle energy [s]; the first of two runs may compile."""
    energy = (problem.shots.power * problem.shots.dwell)[problem.used]
    index = problem.used[np.argsort(energy)[energy.size // 2]]
    setting, frame = problem.settings(problem.values.start)[index], frame_of(scenario, refinement)
    times = []
    for _ in range(2):
        began = time.perf_counter()
        found_of(frame, setting)
        times.append(time.perf_counter() - began)
    return min(times)


def _dwells_alike(problem: FitProblem) -> bool:
    shots = problem.shots
    dwells: dict[str | float, list[float]] = {}
    for index in problem.used:
        spot = problem.dials[index] if shots.spot is None else float(shots.spot[index])
        dwells.setdefault(spot, []).append(float(shots.dwell[index]))
    return all(max(one) < ALIKE * min(one) for one in dwells.values())
