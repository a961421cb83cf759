"""What the model answers to each bench shot, as a function of the values that are fitted."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell import pipeline
from spotdwell.base import units
from spotdwell.calibration.least_squares import Space
from spotdwell.calibration.parameters import DEBRIS, DELIVERED, RUPTURE, Values, spot_key
from spotdwell.calibration.request import BenchShots
from spotdwell.console.workers import cores, run_all
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario

COARSEST = 0.3
"""Least refinement, over the scenario's own, of the cells in which a fit begins."""
CELLS = 40.0
"""Cells of those down to the median depth: a depth ends with a cell, so that fewer would hide the slopes."""
COOL = "105 degC"
"""Runs end once all is colder: nothing boils, chars or leaves any more, and depth and char stay."""
_WORTH_A_POOL = 5.0
"""Seconds of runs from which starting other processes (2 s) pays."""


@dataclass(frozen=True)
class Setting:
    """What decides a shot, all else being equal; SI."""

    power: float
    """On the target [W]."""
    dwell: float
    spot: float
    definition: str
    debris: float | None = None
    """Heat that debris takes [J/m3]; None: nothing is thrown out of the material."""
    rupture: float | None = None
    """Rupture temperature [K]; None likewise."""

    @property
    def rounded(self) -> Setting:
        """To nine digits, so that equal settings are the same."""
        numbers = (self.power, self.dwell, self.spot, self.debris, self.rupture)
        power, dwell, spot, debris, rupture = (
            None if one is None else float(f"{one:.9g}") for one in numbers
        )
        return Setting(power or 0.0, dwell or 0.0, spot or 0.0, self.definition, debris, rupture)


@dataclass(frozen=True)
class ComputedCrater:
    """What the model makes of a shot."""

    depth: float
    """On the axis, or the deepest under an annular beam [m]."""
    width: float
    """At the surface [m]."""
    word: str
    """Of the verdict, whatever the depth over width."""


class Response:
    """What the solver makes of settings: `scenario` with their beam and what they say of the material."""

    def __init__(
        self,
        scenario: Scenario,
        refinement: float,
        workers: int | None = None,
        progress: Callable[[int], None] = lambda _runs: None,
    ) -> None:
        self._find = partial(found_of, frame_of(scenario, refinement))
        self._workers = workers or cores()
        self._progress = progress
        self._kept: dict[Setting, ComputedCrater] = {}
        self._seconds: list[float] = []

    @property
    def runs(self) -> int:
        """Made so far."""
        return len(self._kept)

    def __call__(self, settings: Sequence[Setting]) -> list[ComputedCrater]:
        """What became of each, in their order. Raises SpotdwellError if a run fails."""
        rounded = [one.rounded for one in settings]
        new = [one for one in dict.fromkeys(rounded) if one not in self._kept]
        if self._workers > 1 and self._foreseen(len(new)) > _WORTH_A_POOL:
            before = self.runs
            results = run_all(
                self._find, new, self._workers, lambda done, _, __: self._progress(before + done)
            )
            self._kept |= dict(zip(new, results, strict=True))
        else:
            for one in new:
                self._kept[one] = self._timed(one)
                self._progress(self.runs)
        return [self._kept[one] for one in rounded]

    def _timed(self, setting: Setting) -> ComputedCrater:
        began = time.perf_counter()
        found = self._find(setting)
        self._seconds.append(time.perf_counter() - began)
        return found

    def _foreseen(self, count: int) -> float:
        """Time [s] that `count` runs may take in this process."""
        # The first run may compile, which says nothing of those to come.
        return count * float(np.mean(self._seconds[1:])) if len(self._seconds) > 1 else 0.0


def found_of(frame: Mapping[str, Any], setting: Setting) -> ComputedCrater:
    """Solve the scenario `frame` with the beam of `setting` and what it says of the material."""
    data = deepcopy(dict(frame))
    data["beam"]["power"] = units.written(setting.power, "W")
    data["beam"]["diameter"] = units.written(setting.spot, "m")
    data["beam"]["definition"] = setting.definition
    data["exposure"] = {"dwell_time": units.written(setting.dwell, "s")}
    material = data["materials"][data["target"]["layers"][-1]["material"]]
    if setting.debris is not None:
        line = {"wavelength": data["beam"]["wavelength"], "value": units.written(setting.debris, "J/m3")}
        material["debris"] = [line]
    if setting.rupture is not None:
        material["rupture_temperature"] = {"value": units.written(setting.rupture, "K")}
    result = pipeline.run(scenario_from_dict(data, "bench"))
    measures = result.measures
    depth = measures["deepest" if data["beam"]["profile"] == "annular" else "crater_depth"]
    return ComputedCrater(depth or 0.0, measures["crater_width"] or 0.0, str(result.verdict.word))


def frame_of(scenario: Scenario, refinement: float) -> dict[str, Any]:
    """Scenario as nested tables, with its materials inside, and without the laser."""
    data = scenario_data(with_own_materials(scenario))
    data.pop("laser", None)
    data["grid"]["refinement"] = refinement
    data["run"]["end_temperature"] = COOL
    # A verdict of too deep would hide whether there is char.
    data["limits"] = {"char_thickness": data["limits"]["char_thickness"], "aspect_ratio": 1e6}
    return data


def coarse_refinement(scenario: Scenario, depth: float) -> float:
    """Refinement of the cells in which a fit to craters of some `depth` [m] begins, at most the own."""
    share = cell_height(scenario) * CELLS / depth
    return scenario.grid.refinement * min(max(share, COARSEST), 1.0)


def cell_height(scenario: Scenario) -> float:
    """Of the fine cells [m]."""
    return float(problem_of(scenario).grid.depth_edges[1])


Array = NDArray[np.float64]
Respond = Callable[[Sequence[Setting]], list[ComputedCrater]]
"""What becomes of settings."""

_LEAST = 0.25
"""Of the median depth: shallower craters are measured no better, in length, than one of that depth."""


@dataclass(frozen=True, eq=False)
class FitProblem:
    """A least-squares problem: shots with the values that they depend on."""

    shots: BenchShots
    values: Values
    dials: tuple[str, ...]
    """Dial position of each shot; empty where its spot is given."""
    definitions: tuple[str, ...]
    """Of the diameter of each shot's spot."""

    @property
    def used(self) -> NDArray[np.intp]:
        """Shots that are fitted: those that were not cut through."""
        return np.flatnonzero(~self.shots.perforated)

    @property
    def wide(self) -> NDArray[np.intp]:
        """Of the used shots, those with a width."""
        return self.used[np.isfinite(self.shots.width[self.used])]

    @property
    def start(self) -> Array:
        """Logarithms of the free values, where the fit begins."""
        return np.log([one.start for one in self.values.free])

    @property
    def space(self) -> Space:
        """Where the logarithms of the free values may be."""
        low, high = np.log(np.array([one.bounds for one in self.values.free])).T
        return Space(low, high)

    @property
    def measured(self) -> Array:
        """Measured depths, then widths [m]."""
        return np.concatenate([self.shots.depth[self.used], self.shots.width[self.wide]])

    @property
    def is_width(self) -> NDArray[np.bool_]:
        """Which rows are widths."""
        return np.repeat([False, True], [self.used.size, self.wide.size])

    @property
    def median_depth(self) -> float:
        """Of the craters [m]."""
        depth = self.shots.depth[self.used]
        return float(np.median(depth[depth > 0.0]))

    @property
    def least_depth(self) -> float:
        """Depth [m] below which a depth is measured no better in length."""
        return _LEAST * self.median_depth

    def at(self, places: Array) -> dict[str, float]:
        """All values [SI] by key, with logarithms of the free ones."""
        free = {one.key: float(np.exp(place)) for one, place in zip(self.values.free, places, strict=True)}
        return {**self.values.known, **free}

    def settings(self, values: Mapping[str, float]) -> list[Setting]:
        """What decides each shot, with these `values` [SI] by key."""
        shots = self.shots
        return [
            Setting(
                float(shots.power[index] * values[DELIVERED]),
                float(shots.dwell[index]),
                float(shots.spot[index]) if shots.spot is not None else values[spot_key(dial)],
                definition,
                values.get(DEBRIS),
                values.get(RUPTURE),
            )
            for index, (dial, definition) in enumerate(zip(self.dials, self.definitions, strict=True))
        ]

    def rows(self, respond: Respond, points: Array) -> Array:
        """Depths, then widths, that should have been measured, shape (points, rows)."""
        settings_of_points = [self.settings(self.at(places)) for places in points]
        # Shots that were cut through are not asked for: they say nothing and may take long.
        flat = respond([settings[index] for settings in settings_of_points for index in self.used])
        found = np.array([(one.depth, one.width) for one in flat]).reshape(len(points), self.used.size, 2)
        wide = np.isin(self.used, self.wide)
        return np.concatenate([found[:, :, 0], found[:, wide, 1]], axis=1)

    def scale(self, reference: Array, width_ratio: float = 1.0) -> Array:
        """What the relative error of each row is relative to [m], by `reference` depths and widths [m].

        `width_ratio` is the relative error of a width over that of a depth.
        """
        count = np.concatenate([self.shots.count[self.used], self.shots.count[self.wide]])
        size = np.maximum(reference, self.least_depth) * np.where(self.is_width, width_ratio, 1.0)
        return np.asarray(size / np.sqrt(count))

    def repeats(self) -> list[NDArray[np.intp]]:
        """Places among the used shots of each setting that was repeated."""
        shots = self.shots
        groups: dict[tuple[float, float, str | float], list[int]] = {}
        for place, index in enumerate(self.used):
            spot = self.dials[index] if shots.spot is None else float(shots.spot[index])
            groups.setdefault((float(shots.power[index]), float(shots.dwell[index]), spot), []).append(place)
        return [np.array(one) for one in groups.values() if len(one) > 1]
