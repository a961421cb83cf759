"""Validation: measured against computed depths of bench shots, with nothing fitted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from os import PathLike
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from spotdwell.base.errors import InputError
from spotdwell.calibration.parameters import dial_of
from spotdwell.calibration.request import BenchShots
from spotdwell.calibration.response import ComputedCrater, Respond, Response, Setting
from spotdwell.calibration.run import read_bench
from spotdwell.craters.result import CONFIDENCE
from spotdwell.inputs.build import target_of
from spotdwell.inputs.laser_file import Laser
from spotdwell.inputs.schema import Scenario

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]
"""Told how many runs are done, and how many there are."""

FEWEST = 3
"""Craters from which a bias has an interval worth its name."""
BARS = {1.0: 0.683, 2.0: 0.954}
"""Share of a normal error within so many standard deviations."""


@dataclass(frozen=True)
class ComparedShot:
    """A shot as measured and as computed; SI."""

    row: int
    """Of the file."""
    power: float
    """That was set [W]."""
    dwell: float
    spot: float
    dial: str
    """Empty where there is none."""
    depth: float
    depth_error: float | None
    """Stated standard deviation; None: not stated."""
    computed_depth: float
    word: str
    """Verdict of the run, whatever the depth over width."""
    perforated: bool
    """Whether it was cut through, and so is not counted."""

    @property
    def deviation(self) -> float | None:
        """Computed over measured depth, less 1; None where nothing was removed or all was cut through."""
        return None if self.perforated or self.depth == 0.0 else self.computed_depth / self.depth - 1.0

    @property
    def off(self) -> float | None:
        """Computed less measured depth over the stated standard deviation; None where none is stated."""
        if self.perforated or self.depth_error is None:
            return None
        return (self.computed_depth - self.depth) / self.depth_error


@dataclass(frozen=True)
class Coverage:
    """How many computed depths lie within so many stated standard deviations of the measured ones."""

    deviations: float
    within: int
    of: int
    expected: float
    """Share, if the stated errors were normal and the model had none."""


@dataclass(frozen=True, eq=False)
class Validation:
    """Bench shots against the model, with nothing fitted."""

    source: str
    """Name of the file."""
    material: str
    delivered_share: float
    """Of the set power, from the laser file; 1 without one."""
    shots: tuple[ComparedShot, ...]
    bias: float
    """Mean of computed over measured depth, less 1, each setting counted once [-]."""
    bias_low: float
    """Of its 95 % interval."""
    bias_high: float
    spread: float
    """Standard deviation of the shots' computed over measured depths [-]."""
    settings: int
    """Different ones, among shots with a crater."""
    coverage: tuple[Coverage, ...]
    """Empty where no error is stated."""
    runs: int

    @property
    def used(self) -> tuple[ComparedShot, ...]:
        """Shots with a crater that was not cut through."""
        return tuple(one for one in self.shots if one.deviation is not None)


def validate(
    path: str | PathLike[str],
    material: str,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
    **options: Any,
) -> Validation:
    """Compare the depths in the CSV file at `path` with computed ones; nothing is fitted.

    Columns are those of `calibrate` (`calibration.request.read_shots`); `depth error`, one standard
    deviation, gives the coverage. Power and spot are as the file says, or as a `laser` file among the
    `options` does; other options are those of a shot, without what the file says. Raises InputError for what
    is wrong and for fewer than 3 settings with a crater, RunError if a run fails.
    """
    shots, scenario, laser = read_bench(path, material, options)
    return validate_shots(shots, scenario, laser, workers, progress)


def validate_shots(
    shots: BenchShots,
    scenario: Scenario,
    laser: Laser | None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Validation:
    """`validate` of shots that were read. Raises InputError before anything is solved."""
    settings = settings_of(shots, scenario, laser)
    total = len(set(settings))
    tell = progress or (lambda _done, _total: None)
    respond = Response(scenario, scenario.grid.refinement, workers, lambda done: tell(done, total))
    return compared(shots, settings, respond, scenario, laser)


def settings_of(shots: BenchShots, scenario: Scenario, laser: Laser | None) -> list[Setting]:
    """What decides each shot. Raises InputError for a spot that nobody says, and for too few craters."""
    share = _share(laser)
    spots = {} if laser is None else {one.dial: one for one in laser.diameter}
    found = []
    for index in range(len(shots.rows)):
        power, dwell = float(shots.power[index] * share), float(shots.dwell[index])
        if shots.spot is not None:
            spot, definition = float(shots.spot[index]), str(scenario.beam.definition)
        else:
            dial = _dial(shots, index, laser, tuple(spots))
            spot, definition = spots[dial].value, str(spots[dial].definition)
        found.append(Setting(power, dwell, spot, definition))
    used = _is_crater(shots, scenario)
    count = len({one for one, use in zip(found, used, strict=True) if use})
    if count < FEWEST:
        expected = f"at least {FEWEST} different settings with a crater that is not cut through"
        raise InputError(shots.file, expected, str(count), "Add shots of other powers, dwells or spots.")
    return found


def compared(
    shots: BenchShots, settings: list[Setting], respond: Respond, scenario: Scenario, laser: Laser | None
) -> Validation:
    """Bias, spread and coverage by what the model `respond`s."""
    thick = _thickness(scenario)
    found = respond(settings)
    rows = tuple(
        _row(shots, index, settings[index], found[index], thick, laser) for index in range(len(settings))
    )
    deviations: dict[Setting, list[float]] = {}
    for row, setting in zip(rows, settings, strict=True):
        if row.deviation is not None:
            deviations.setdefault(setting, []).append(row.deviation)
    means = np.array([np.mean(one) for one in deviations.values()])
    every = np.concatenate([np.array(one) for one in deviations.values()])
    bias, count = float(means.mean()), means.size
    half = float(stdtrit(count - 1, 0.5 + CONFIDENCE / 2.0) * means.std(ddof=1) / np.sqrt(count))
    return Validation(
        shots.source,
        scenario.target.layers[-1].material,
        _share(laser),
        rows,
        bias,
        bias - half,
        bias + half,
        float(every.std(ddof=1)),
        count,
        coverage_of(rows),
        len(set(settings)),
    )


def coverage_of(rows: tuple[ComparedShot, ...]) -> tuple[Coverage, ...]:
    """Of the stated errors, craters that were not removed included; empty where none is stated."""
    off = [abs(row.off) for row in rows if row.off is not None]
    if not off:
        return ()
    return tuple(
        Coverage(size, sum(one <= size for one in off), len(off), share) for size, share in BARS.items()
    )


def _row(
    shots: BenchShots,
    index: int,
    setting: Setting,
    found: ComputedCrater,
    thickness: float,
    laser: Laser | None,
) -> ComparedShot:
    depth = float(shots.depth[index])
    error = float("nan") if shots.depth_error is None else float(shots.depth_error[index])
    return ComparedShot(
        int(shots.rows[index]),
        float(shots.power[index]),
        setting.dwell,
        setting.spot,
        dial_of(shots, index, laser),
        depth,
        error if np.isfinite(error) else None,
        found.depth,
        found.word,
        bool(shots.perforated[index]) or depth >= thickness,
    )


def _is_crater(shots: BenchShots, scenario: Scenario) -> NDArray[np.bool_]:
    return np.asarray(~shots.perforated & (shots.depth > 0.0) & (shots.depth < _thickness(scenario)))


def _thickness(scenario: Scenario) -> float:
    return float(sum(layer.thickness for layer in target_of(scenario).layers))


def _share(laser: Laser | None) -> float:
    return 1.0 if laser is None or laser.delivered_share is None else laser.delivered_share.value


def _dial(shots: BenchShots, index: int, laser: Laser | None, known: tuple[str, ...]) -> str:
    """Dial position of a shot whose spot the laser file says."""
    if laser is None or (shots.dial is None and len(known) != 1):
        where = f"{shots.file}: row 1 (the header)"
        got = "neither" if laser is None else "neither, and a laser file with several dial positions"
        if shots.dial is not None:
            got = "a column dial alone, which only a laser file can say the spots of"
        expected = "a column spot, or a laser file that says the spots"
        raise InputError(where, expected, got, 'Add a column, such as "spot [mm]", or name a laser file.')
    dial = dial_of(shots, index, laser)
    if dial not in known:
        where = shots.where(index, "dial")
        advice = "Calibrate the laser at it first, or leave the row out."
        raise InputError(where, f"one of the laser file's positions: {', '.join(known)}", f'"{dial}"', advice)
    return dial
