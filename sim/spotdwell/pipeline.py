"""The whole run in one page: scenario, problem, march, measures, verdict, result."""

from __future__ import annotations

import platform
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from os import PathLike, fspath
from pathlib import Path
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import RunError
from spotdwell.base.settings import with_settings
from spotdwell.inputs.build import cautions_of, problem_of
from spotdwell.inputs.laser_file import laser_caption
from spotdwell.inputs.read import (
    material_texts,
    scenario_from_text,
    scenario_named,
    scenario_text,
    with_materials,
    with_values,
)
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot, scenario_with
from spotdwell.measure.summary import irradiance_peak, measures_of
from spotdwell.measure.verdict import Limits, verdict_of
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Problem, Stepping
from spotdwell.model.throwing import throwing
from spotdwell.output.result import Result, load, result_of
from spotdwell.solve.march import Progress, marched
from spotdwell.solve.outcome import Outcome, Status, check_sound

RESULT_SUFFIX = ".h5"
_DEEP_HOLE = Limits().aspect_ratio
"""Depth over width beyond which wall reflection matters and the run says so."""
_EDGE, _LASTING = (0.5, 1.0), 3.0
"""Shares of the estimate of where throwing out lasts between which it ends, and exposures that count, over
the escape time [-]. At 20 W for 20 ms and 40 W for 50 ms over spots of 0.3 to 2.4 mm it ended between 0.59
and 0.68 and between 0.76 and 0.89."""


def run(
    scenario: Scenario | str | PathLike[str], progress: Callable[[Progress], None] | None = None
) -> Result:
    """Solve `scenario`, or the file or shipped one of that name, and return its `Result`.

    A kept result (".h5") is solved again, with the materials that it holds. `progress` is called after every
    step.

    Raises InputError for a scenario that cannot be solved and RunError for a run that failed. Nothing is
    written: an interrupt (KeyboardInterrupt) leaves nothing behind.
    """
    if not isinstance(scenario, Scenario):
        scenario = scenario_at_path(scenario)
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


def scenario_at_path(place: str | PathLike[str]) -> Scenario:
    """Scenario in the file at `place`, of a result kept there, or the shipped one of that name.

    Raises InputError if there is none.
    """
    if Path(place).suffix != RESULT_SUFFIX:
        return scenario_named(fspath(place))
    kept = load(place)
    scenario = scenario_from_text(kept.scenario_text, fspath(place))
    return with_materials(scenario, kept.materials)


@with_settings()
def shot(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    dwell: str | None = None,
    progress: Callable[[Progress], None] | None = None,
    values: Mapping[str, str | float] | None = None,
    **settings: Any,
) -> Result:
    """Solve one shot given by quantities such as "25 W"; see `inputs.shot.scenario_of_shot` for the settings.

    A spot is not needed with a `laser` file, nor a power with a `peak_power`. `values` are other ones of the
    material, such as {"skin.water_mass_fraction": 0.7}.

    Raises as `run` does.
    """
    return run(
        with_values(scenario_of_shot(material, power, spot, dwell, **settings), values or {}), progress
    )


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
    if (edge := _edge(outcome.problem)) is not None:
        doubts.append(edge)
    if outcome.status is Status.STILL_WARM:
        doubts.append("The target had not cooled when the longest time was reached: damage may go on.")
    return doubts


def _edge(problem: Problem) -> str | None:
    """Says that a setting lies where tissue stops being thrown out and burns instead; None if it does not."""
    medium, exposure = problem.target.layers[0].medium, problem.exposure
    limits = throwing(medium, problem.target.initial_temperature)
    if limits is None or medium.removal is None:
        return None
    lasted = float((exposure.stop - exposure.start).max(initial=0.0))
    absorbed = (1.0 - medium.reflectance) * irradiance_peak(problem)
    share = absorbed * problem.beam.plume_transmittance / limits.lasts
    if lasted < _LASTING * medium.removal.steam_escape_time or not _EDGE[0] < share < _EDGE[1]:
        return None
    return (
        f"The peak irradiance absorbed, {units.display(absorbed, 'W/m2', 'W/mm2')}, lies near the edge (some "
        f"{units.display(limits.lasts, 'W/m2', 'W/mm2')}) at which tissue stops being thrown out and burns: "
        "a few per cent of spot or power may change depth and char far more than elsewhere. A sensitivity "
        "study tells how much."
    )


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
