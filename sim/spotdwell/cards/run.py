"""Test-shot card: every setting solved on the bench target and on tissue, to be printed and shot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Unpack

from spotdwell.base import units
from spotdwell.base.errors import InputError, SpotdwellError, check_workers
from spotdwell.cards.card import Mark, Target
from spotdwell.cards.document import Card, check_size
from spotdwell.cards.request import (
    AGAINST,
    Beams,
    CardOptions,
    beams_of,
    groups_of,
    repeat_of,
    scenario_of,
    settings_of,
)
from spotdwell.console.workers import Progress, run_all
from spotdwell.inputs.build import problem_of, target_of
from spotdwell.inputs.read import materials_of, scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario
from spotdwell.measure.summary import measures_of
from spotdwell.measure.verdict import Limits, verdict_of
from spotdwell.model.problem import Problem
from spotdwell.pipeline import versions
from spotdwell.solve.march import marched
from spotdwell.solve.outcome import Status, check_sound

__all__ = ["CardOptions", "card", "mark_of"]

_NO_TISSUE = "none"
"""Word that leaves the comparison out."""


def card(
    material: str,
    power: str,
    dwell: str,
    workers: int | None = None,
    progress: Progress | None = None,
    **options: Unpack[CardOptions],
) -> Card:
    """Card of test shots at every power and dwell, such as "5 W, 10 W" and "10 ms, 50 ms", on `material`.

    The `spot` is one diameter or a list; or else a `laser` file gives spots, wavelength and delivered share
    at the positions `dial`, a list (all if left out). Each setting is solved on the bench target, at
    `initial_temperature` (its material's own if left out), and on the tissue `against` (soft_tissue if left
    out; "none" for no comparison), and printed `repeat` times. A setting that cannot be solved stays on the
    card with its reason. `progress` is told how many runs are done, of how many, and the seconds left.
    Raises InputError that names the option for what cannot be read, contradicts itself or does not fit.
    """
    beams, repeat = beams_of(options), repeat_of(options)
    settings = settings_of(power, dwell, beams)
    bench = [
        scenario_of(material, one, beams, options, options.get("initial_temperature"), "material")
        for one in settings
    ]
    against = _against(material, options.get("against"))
    tissue = [scenario_of(against, one, beams, options, None, "against") for one in settings if against]
    blank = Card(
        options.get("title") or "",
        _target(bench[0]),
        _target(tissue[0]) if tissue else None,
        _beam_text(bench[0]),
        bench[0].beam.wavelength,
        str(bench[0].beam.definition),
        _laser_text(beams, options),
        settings,
        (Mark({}, ""),) * len(bench),
        (Mark({}, ""),) * len(tissue),
        groups_of(settings),
        repeat,
        bench[0].limits.char_thickness,
        versions(),
    )
    check_size(blank)
    check_workers(workers)
    marks = _marks([*bench, *tissue], workers, progress)
    return replace(blank, marks=tuple(marks[: len(bench)]), on_tissue=tuple(marks[len(bench) :]))


def mark_of(data: dict[str, Any]) -> Mark:
    """Mark of the scenario in the tables `data`; whatever goes wrong is its failure."""
    spread = 0.0
    try:
        scenario = scenario_from_dict(data, "shot")
        problem = problem_of(scenario)
        spread = _spread(problem)
        outcome = marched(problem)
        if outcome.status is Status.BOTTOM_REACHED:
            depth = units.display(problem.grid.depth_edges[-1], "m", "mm")
            return Mark({}, "", f"the crater reached the bottom of the target at {depth}", spread)
        measures = measures_of(outcome)
        check_sound(outcome, measures)
    except (SpotdwellError, ArithmeticError, ValueError, MemoryError) as error:
        return Mark({}, "", str(error) or type(error).__name__, spread)
    verdict = verdict_of(measures, Limits(**dict(scenario.limits)))
    return Mark(measures, verdict.text, "", spread)


def _spread(problem: Problem) -> float:
    """How far heat diffuses during the exposure [m]."""
    medium = problem.target.layers[0].medium
    return 2.0 * math.sqrt(medium.conductivity / medium.heat_capacity * problem.exposure.end)


def _marks(scenarios: Sequence[Scenario], workers: int | None, progress: Progress | None) -> list[Mark]:
    """Marks of the scenarios; those of most energy are solved first, so that no worker ends far behind."""
    order = sorted(range(len(scenarios)), key=lambda at: -_energy(scenarios[at]))
    tasks = [scenario_data(with_own_materials(scenarios[at])) for at in order]
    found = dict(zip(order, run_all(mark_of, tasks, workers, progress), strict=True))
    return [found[at] for at in range(len(scenarios))]


def _energy(scenario: Scenario) -> float:
    return scenario.peak_power * scenario.exposure.gate[0]


def _against(material: str, against: str | None) -> str:
    """Name of the tissue to compare with; empty for none."""
    if against is None:
        return "" if material == AGAINST else AGAINST
    if against == material:
        advice = "Name another, or none."
        raise InputError("against", "another material than the target", f'"{against}"', advice)
    return "" if against == _NO_TISSUE else against


def _target(scenario: Scenario) -> Target:
    """What a scenario shoots at. Raises InputError for a wavelength that its material does not know."""
    name = scenario.target.layers[0].material
    target = target_of(scenario)  # refuses such a wavelength
    title = materials_of(scenario)[name].title or name
    return Target(name, title, target.initial_temperature)


def _beam_text(scenario: Scenario) -> str:
    beam = scenario.beam
    return f"{units.written(beam.wavelength, 'm')}, {beam.profile}, spot by {beam.definition}"


def _laser_text(beams: Beams, options: CardOptions) -> str:
    return "" if beams.laser is None else beams.laser.title or str(options.get("laser"))
