"""Response: what the solver makes of bench shots, each solved once, in the pool if it is long."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from spotdwell import pipeline
from spotdwell.base import units
from spotdwell.console.workers import cores, run_all
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.text import scenario_data

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
class Found:
    """What became of a shot."""

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
        told: Callable[[int], None] = lambda _runs: None,
    ) -> None:
        self._find = partial(found_of, _frame(scenario, refinement))
        self._workers = workers or cores()
        self._told = told
        self._kept: dict[Setting, Found] = {}
        self._seconds: list[float] = []

    @property
    def runs(self) -> int:
        """Made so far."""
        return len(self._kept)

    def __call__(self, settings: Sequence[Setting]) -> list[Found]:
        """What became of each, in their order. Raises SpotdwellError if a run fails."""
        rounded = [one.rounded for one in settings]
        new = [one for one in dict.fromkeys(rounded) if one not in self._kept]
        if self._workers > 1 and self._foreseen(len(new)) > _WORTH_A_POOL:
            before = self.runs
            results = run_all(self._find, new, self._workers, lambda done, _, __: self._told(before + done))
            self._kept |= dict(zip(new, results, strict=True))
        else:
            for one in new:
                self._kept[one] = self._timed(one)
                self._told(self.runs)
        return [self._kept[one] for one in rounded]

    def _timed(self, setting: Setting) -> Found:
        began = time.perf_counter()
        found = self._find(setting)
        self._seconds.append(time.perf_counter() - began)
        return found

    def _foreseen(self, count: int) -> float:
        """Time [s] that `count` runs may take in this process."""
        # The first run may compile, which says nothing of those to come.
        return count * float(np.mean(self._seconds[1:])) if len(self._seconds) > 1 else 0.0


def found_of(frame: Mapping[str, Any], setting: Setting) -> Found:
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
    return Found(depth or 0.0, measures["crater_width"] or 0.0, str(result.verdict.word))


def _frame(scenario: Scenario, refinement: float) -> dict[str, Any]:
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
