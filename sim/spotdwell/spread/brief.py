"""Brief intervals: a few joint draws for one shot, at no more than its own cost (THEORY.md, Posterior)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spotdwell.base.errors import InputError
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_data, scenario_from_dict
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.toml import table_of
from spotdwell.spread.posterior import draws_of
from spotdwell.spread.run import Uncertainty, changed, sample_of
from spotdwell.spread.sampling import unknowns_of

if TYPE_CHECKING:
    from spotdwell.output.result import Result

FEW = 8
"""Draws of material values."""
CHEAP = 3e7
"""Most cell updates of a shot whose draws cost no more than the shot from the shell does: 8 times 0.16 s
against the 1.9 s that Python, its imports and the shot take together, on one core."""


def scenario_in(result: Result) -> Scenario | None:
    """The scenario that `result` keeps, with its materials; None if this version cannot read it."""
    try:
        data = table_of(result.scenario_text, "the stored scenario")
        data["materials"] = {name: table_of(text, name) for name, text in result.materials.items()}
        return scenario_from_dict(data, "the stored scenario")
    except InputError:
        return None


def brief(result: Result, most: float = CHEAP) -> Uncertainty | None:
    """Intervals of the shot that gave `result`.

    None where it took more than `most` cell updates, where no published row saw its materials, or where a
    draw fails, which `uncertainty` tells of.
    """
    whole = scenario_in(result)
    if whole is None or result.cost["cell_updates"] > most:
        return None
    try:
        unknowns = unknowns_of(whole)
    except InputError:
        return None
    draws = draws_of(unknowns, FEW, seed=0)
    if not any(draws.joint):
        return None
    grid, base = problem_of(whole).grid, scenario_data(whole)
    samples = tuple(sample_of(changed(base, unknowns, row), grid) for row in draws.inputs)
    if any(one.measures is None for one in samples):
        return None
    return Uncertainty(unknowns, draws, dict(result.measures), samples, 0, result.verdict.limits)
