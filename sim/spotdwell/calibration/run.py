"""Calibration from bench shots: delivered share, debris heat and spots by least squares on the solver.

The squares are made least in coarse cells first, and from there in the scenario's own. Intervals are those
of the linearised problem in the logarithms of the values, with Student's t.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.calibration.error import (
    MeasurementError,
    correlation_of,
    error_of,
    fitted_values,
    half_widths,
    left_out,
    width_ratio,
)
from spotdwell.calibration.least_squares import Measured, Model, Optimum, least, optimum_of, star_at
from spotdwell.calibration.parameters import DEBRIS, DELIVERED, RUPTURE, dial_of, values_of
from spotdwell.calibration.request import BenchShots, read_shots
from spotdwell.calibration.response import (
    ComputedCrater,
    FitProblem,
    Respond,
    Response,
    cell_height,
    coarse_refinement,
)
from spotdwell.calibration.result import BenchRow, Calibration
from spotdwell.calibration.warnings import about_cells, check_shots, check_told_apart, warnings_of
from spotdwell.inputs.build import target_of
from spotdwell.inputs.laser_file import Laser, read_laser
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.model.target import Backing

Array = NDArray[np.float64]
Progress = Callable[[str, int], None]
"""Told what is being done and how many runs have been made."""

TRIED = {DELIVERED: (0.6, 0.8, 0.95), DEBRIS: (1.5e9, 6e9), RUPTURE: (453.15, 513.15)}
"""Where a fit may begin besides its start: depths have steps in them, and so several least squares."""
_MOST_STEPS = 4
"""In fine cells; one is the rule."""
_SETTLED = 0.2
"""Change of a value, over half its interval, from which a further step is not worth its runs."""


def calibrate(
    path: str | PathLike[str],
    material: str,
    *,
    fit: str | None = None,
    fix: Sequence[str] = (),
    workers: int | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Calibration:
    """Fit delivered share, debris heat and spots to the bench shots in the CSV file at `path`.

    `fit` names what is fitted, such as "delivered-share,spot"; unless said, all that neither a `laser` file
    among the `options` nor `fix` ("delivered-share=0.9") says, but for the rupture temperature, which is the
    material's then. Other options are those of a shot, without
    what the file says. For columns see `inputs.bench_shots.read_shots`. Raises InputError for what is wrong
    and for shots that do not tell the values, RunError if a run fails.
    """
    shots, scenario, laser = read_bench(path, material, options)
    return fit_bench(bench_of(shots, scenario, laser, fit, fix), scenario, workers, progress)


def read_bench(
    path: str | PathLike[str], material: str, options: dict[str, Any]
) -> tuple[BenchShots, Scenario, Laser | None]:
    """Shots of a file, the scenario of the first, and the laser. Raises InputError."""
    shots = read_shots(str(path))
    rest = options.copy()
    if (dial := rest.pop("dial", None)) is not None:
        raise InputError("dial", "a column dial in the file", f'"{dial}"', "Leave it out.")
    file = rest.pop("laser", None)
    laser = None if file is None else read_laser(Path(file))
    if laser is not None and rest.get("wavelength") is None:
        rest["wavelength"] = f"{laser.wavelength.value!r} m"
    if rest.get("thickness") is not None and rest.get("backing") is None:
        rest["backing"] = str(Backing.OPEN_AIR)
    return shots, scenario_of_shot(material, "1 W", "1 mm", "1 ms", **rest), laser


def bench_of(
    shots: BenchShots, scenario: Scenario, laser: Laser | None, fit: str | None, fix: Sequence[str]
) -> FitProblem:
    """Shots with what is to be fitted to them. Raises InputError for shots that are too few."""
    target = target_of(scenario)
    thickness = sum(layer.thickness for layer in target.layers)
    shots = replace(shots, perforated=shots.perforated | (shots.depth >= thickness))
    values = values_of(shots, target.layers[-1].medium, target.initial_temperature, laser, fit, fix)
    dials = [dial_of(shots, index, laser) for index in range(len(shots.rows))]
    check_shots(shots, values, dials)
    known = {} if laser is None else {spot.dial: str(spot.definition) for spot in laser.diameter}
    usual = str(scenario.beam.definition)
    return FitProblem(shots, values, tuple(dials), tuple(known.get(dial, usual) for dial in dials))


def fit_bench(
    problem: FitProblem, scenario: Scenario, workers: int | None = None, progress: Progress | None = None
) -> Calibration:
    """Fit the free values of `problem` on the solver. Raises InputError for shots that do not tell them."""
    tell = progress or (lambda _what, _runs: None)
    coarse_cells = coarse_refinement(scenario, problem.median_depth)
    coarse = Response(scenario, coarse_cells, workers, lambda runs: tell("fitting in coarse cells", runs))
    own = scenario.grid.refinement
    fine = coarse
    if own != coarse_cells:
        fine = Response(scenario, own, workers, lambda runs: tell("fitting in fine cells", runs))
    found = fitted(problem, coarse, fine)
    runs = coarse.runs + (fine.runs if fine is not coarse else 0)
    warnings = (*found.warnings, *about_cells(cell_height(scenario), problem.median_depth))
    return replace(found, material=scenario.target.layers[-1].material, runs=runs, warnings=warnings)


def fitted(problem: FitProblem, coarse: Respond, fine: Respond) -> Calibration:
    """Fit by the responses in `coarse` cells, then in `fine` ones, which may be the same."""
    stage = _first(problem, coarse)
    check_told_apart(stage.best.slopes, stage.best.rough, problem.values, problem.shots.source)
    stage = _second(problem, fine, stage)
    check_told_apart(stage.best.slopes, stage.best.rough, problem.values, problem.shots.source)
    error = error_of(problem, stage.best, stage.scale)
    found = Calibration(
        problem.shots.source,
        "",
        fitted_values(problem, stage.best, error),
        tuple(problem.values.known.items()),
        tuple(_rows(problem, stage, fine, error)),
        error.relative,
        problem.least_depth,
        error.source,
        error.freedom,
        error.scatter,
        correlation_of(stage.best),
        0,
        _unsettled(problem, stage.best, stage.scale),
    )
    return replace(found, warnings=warnings_of(found, error.lacks_fit))


@dataclass(frozen=True, eq=False)
class _Stage:
    """Where a fit has come to."""

    best: Optimum
    scale: Array


def _first(problem: FitProblem, coarse: Respond) -> _Stage:
    """In coarse cells, with errors relative to what was measured."""
    model = partial(problem.rows, coarse)
    measured = Measured(problem.measured, problem.scale(problem.measured))
    return _Stage(
        least(model, measured, _best_start(problem, model, measured), problem.space), measured.scale
    )


def _second(problem: FitProblem, fine: Respond, before: _Stage) -> _Stage:
    """In fine cells, with errors relative to what was computed: Gauss and Newton's steps from there."""
    model, space = partial(problem.rows, fine), problem.space
    star = star_at(model, before.scale, before.best.places)
    scale = problem.scale(star.middle, width_ratio(problem, before.best))
    measured = Measured(problem.measured, scale)

    def at(places: Array) -> Optimum:
        return optimum_of(star_at(model, scale, places), measured, places)

    best = at(before.best.places)
    for _ in range(_MOST_STEPS):
        if _unsettled(problem, best, scale) < _SETTLED:
            break
        trials = (at(best.places + share * best.step_in(space)) for share in (1.0, 0.5))
        better = next((one for one in trials if one.squares < best.squares), None)
        if better is None:
            break
        best = better
    return _Stage(best, scale)


def _unsettled(problem: FitProblem, best: Optimum, scale: Array) -> float:
    """Largest change that a value would still make, over half its interval."""
    halves = half_widths(best, error_of(problem, best, scale))
    return float(np.max(np.abs(best.step_in(problem.space)) / halves))


def _best_start(problem: FitProblem, model: Model, measured: Measured) -> Array:
    """Of the start and a few others, the one with the least squares."""
    kinds = [one.kind for one in problem.values.free]
    choices = [
        (place, *(np.log(TRIED[kind]) if kind in TRIED else ()))
        for kind, place in zip(kinds, problem.start, strict=True)
    ]
    points = np.array(list(product(*choices)))
    if DELIVERED in kinds:
        # Spots start from the depths, at the start's power: with less of it they are smaller.
        share = points[:, kinds.index(DELIVERED)] - problem.start[kinds.index(DELIVERED)]
        points += 0.5 * share[:, None] * np.array([kind == "spot" for kind in kinds])
    low, high = problem.space.low, problem.space.high
    points = np.clip(points, low, high)
    squares = np.sum(((model(points) - measured.values) / measured.scale) ** 2, axis=1)
    room = 0.01 * (high - low)
    return np.asarray(np.clip(points[int(np.argmin(squares))], low + room, high - room))


def _rows(problem: FitProblem, stage: _Stage, fine: Respond, error: MeasurementError) -> list[BenchRow]:
    shots, settings = problem.shots, problem.settings(problem.at(stage.best.places))
    found = dict(enumerate(fine(settings)))
    scale = dict(zip(problem.used.tolist(), stage.scale, strict=False))
    jumps = dict(zip(problem.used.tolist(), stage.best.jumps, strict=False))
    errors = [error.relative * scale.get(index, depth) for index, depth in enumerate(shots.depth)]
    rows = [
        _row(problem, index, settings[index].spot, found[index], errors[index], bool(jumps.get(index, False)))
        for index in range(len(shots.rows))
    ]
    off, outlying = left_out(stage.best)
    for place, index in enumerate(problem.used):
        rows[index] = replace(rows[index], off_others=float(off[place]), outlier=bool(outlying[place]))
    return rows


def _row(
    problem: FitProblem, index: int, spot: float, found: ComputedCrater, error: float, jump: bool
) -> BenchRow:
    shots = problem.shots
    width = float(shots.width[index])
    return BenchRow(
        int(shots.rows[index]),
        float(shots.power[index]),
        float(shots.dwell[index]),
        spot,
        problem.dials[index],
        float(shots.depth[index]),
        found.depth,
        float(error),
        width if np.isfinite(width) else None,
        found.width,
        shots.char_seen[index],
        found.word,
        bool(shots.perforated[index]),
        jump,
    )
