"""The whole run in one page: scenario, problem, march, measures, verdict, result."""

from __future__ import annotations

import platform
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import RunError
from spotdwell.base.settings import with_settings
from spotdwell.inputs.build import cautions_of, problem_of
from spotdwell.inputs.laser_file import laser_caption
from spotdwell.inputs.read import material_texts, scenario_text
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot, scenario_with
from spotdwell.measure.summary import measures_of
from spotdwell.measure.verdict import Limits, verdict_of
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Stepping
from spotdwell.output.result import Result, result_of
from spotdwell.solve.march import Progress, marched
from spotdwell.solve.outcome import Outcome, Status, check_sound

_DEEP_HOLE = Limits().aspect_ratio
"""Depth over width beyond which wall reflection matters and the run says so."""


def run(scenario: Scenario, progress: Callable[[Progress], None] | None = None) -> Result:
    """Solve `scenario` and return its `Result`; `progress` is called after every step.

    Raises InputError for a scenario that cannot be solved and RunError for a run that failed. Nothing is
    written: an interrupt (KeyboardInterrupt) leaves nothing behind.
    """
    problem = problem_of(scenario)
    outcome = marched(problem, progress)
    _refuse_failure(outcome)
    measures = measures_of(outcome)
    check_sound(outcome, measures)
    return result_of(
        problem,
        outcome,
        measures,
        verdict_of(measures, Limits(**dict(scenario.limits))),
        notes=(*problem.grid.reasons, *cautions_of(scenario), *_doubts(outcome, measures)),
        scenario_text=scenario.origin.text or scenario_text(scenario),
        materials=material_texts(scenario),
        versions=versions(),
        setting=setting_of(scenario),
    )


@with_settings()
def shot(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    dwell: str | None = None,
    progress: Callable[[Progress], None] | None = None,
    **settings: Any,
) -> Result:
    """Solve one shot given by quantities such as "25 W"; see `inputs.shot.scenario_of_shot` for the settings.

    A spot is not needed with a `laser` file, nor a power with a `peak_power`.

    Raises as `run` does.
    """
    return run(scenario_of_shot(material, power, spot, dwell, **settings), progress)


@dataclass(frozen=True)
class GridCheck:
    """The same scenario on ever finer grids."""

    refinements: tuple[float, ...]
    results: tuple[Result, ...]

    def rows(self) -> list[tuple[str, tuple[float | None, ...], float | None, float | None]]:
        """Each measure on each grid, with its change between the last two: SI, and relative to the last."""
        table = []
        for name in self.results[-1].measures:
            values = tuple(result.measures[name] for result in self.results)
            before, after = values[-2], values[-1]
            change = None if before is None or after is None else after - before
            relative = change / after if change is not None and after else None
            table.append((name, values, change, relative))
        return table


def check_grid(
    scenario: Scenario, progress: Callable[[str, Progress], None] | None = None, grids: int = 2
) -> GridCheck:
    """Solve `scenario` on `grids` grids, each with half the cells and half the steps of the one before."""
    refinements, results = [], []
    for level in range(grids):
        factor = scenario.grid.refinement * 2.0**level
        finer = scenario_with(scenario, {"grid.refinement": factor, **_shorter_steps(scenario, 0.5**level)})
        label = f"grid {level + 1} of {grids}"

        def report(state: Progress, label: str = label) -> None:
            if progress is not None:
                progress(label, state)

        refinements.append(factor)
        results.append(run(finer, report))
    return GridCheck(tuple(refinements), tuple(results))


def _shorter_steps(scenario: Scenario, share: float) -> dict[str, str | float]:
    """Step limits scaled by `share`; the solver's own where the scenario has none."""
    chosen = Stepping(**scenario.steps.model_dump(exclude_none=True))
    return {
        "steps.growth": chosen.growth * share,
        "steps.front_share": chosen.front_share * share,
        "steps.largest_rise": f"{chosen.largest_rise * share!r} K",
    }


def _refuse_failure(outcome: Outcome) -> None:
    """Raise RunError where the outcome cannot be trusted."""
    if outcome.status is Status.BOTTOM_REACHED:
        depth = outcome.problem.grid.depth_edges[-1]
        raise RunError(
            f"the crater reached the bottom of the target at {units.written(depth, 'm')}. "
            'Make the last layer thicker, or set target.backing = "open air" for a sheet.'
        )


def _doubts(outcome: Outcome, measures: dict[str, float | None]) -> list[str]:
    """Sentences about what the model leaves out, where this run depends on it."""
    doubts = []
    depth, width = measures["deepest"], measures["crater_width"]
    if depth and width and depth > _DEEP_HOLE * width:
        doubts.append(
            f"The hole is {depth / width:.2g} times as deep as wide: reflection and guiding by its walls, "
            "which the model leaves out, would change its depth and shape."
        )
    if outcome.status is Status.STILL_WARM:
        doubts.append("The target had not cooled when the longest time was reached: damage may go on.")
    return doubts


@cache
def versions() -> dict[str, str]:
    """Versions of what computed a result."""
    names = ("spotdwell", "numpy", "scipy", "numba", "h5py")
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in names}}


def setting_of(scenario: Scenario) -> dict[str, str]:
    """What a caption says of `scenario`: power, spot, exposure, target, wavelength."""
    beam = scenario.beam
    setting = {"title": scenario.title} if scenario.title else {}
    setting["power"] = units.written(scenario.peak_power, "W")
    if scenario.grid.geometry is Geometry.SLAB:
        setting["area"] = units.written(scenario.grid.area or 0.0, "m2")
    elif beam.diameter is not None:
        setting["spot"] = f"{units.written(beam.diameter, 'm')} ({beam.definition}, {beam.profile})"
    setting["exposure"] = _exposure_text(scenario)
    setting["target"] = " over ".join(layer.material for layer in scenario.target.layers)
    setting["wavelength"] = units.written(beam.wavelength, "m")
    if scenario.laser is not None:
        setting["laser"] = laser_caption(scenario.laser)
    return setting


def _exposure_text(scenario: Scenario) -> str:
    """The exposure in words, such as "5 x 20 ms, 480 ms apart"."""
    on, off, count = scenario.exposure.gate
    text = (
        units.written(on, "s")
        if count == 1
        else f"{count} x {units.written(on, 's')}, {units.written(off, 's')} apart"
    )
    carrier = scenario.exposure.carrier
    if carrier is None:
        return text
    return f"{text} of {units.written(carrier.pulse_duration, 's')} pulses at {carrier.repetition_rate:g} Hz"
