"""Brief intervals: a few joint draws for one shot, at no more than its own cost (THEORY.md, Posterior)."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from spotdwell.base.errors import InputError
from spotdwell.console.workers import shared
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.inputs.toml import table_of
from spotdwell.measure.verdict import Limits, Measures
from spotdwell.spread.posterior import draws_of, posterior
from spotdwell.spread.run import Sample, Uncertainty, changed, sample_of
from spotdwell.spread.sampling import unknowns_of

if TYPE_CHECKING:
    from spotdwell.output.result import Result

FEW = 8
"""Draws of material values."""
CHEAP = 3e7
"""Most cell updates of a shot whose draws cost no more than the shot itself."""
COARSE, SMALL = 0.5, 6e6
"""Refinement of the grid of the draws over that of the shot, of which nine runs take some two of the shot's,
and cell updates below which draws take the shot's own: a shallow crater needs its cells."""


def scenario_in(result: Result) -> Scenario | None:
    """The scenario that `result` keeps, with its materials; None if this version cannot read it."""
    try:
        data = table_of(result.scenario_text, "the stored scenario")
        data["materials"] = {name: table_of(text, name) for name, text in result.materials.items()}
        return scenario_from_dict(data, "the stored scenario")
    except InputError:
        return None


def brief(result: Result, most: float = CHEAP) -> Uncertainty | None:
    """Intervals of the shot that gave `result`; None also where this version cannot read its scenario."""
    whole = scenario_in(result)
    if whole is None:
        return None
    return brief_of(whole, result.measures, result.cost["cell_updates"], result.verdict.limits, most)


def brief_of(
    scenario: Scenario, measures: Measures, updates: float, limits: Limits, most: float = CHEAP
) -> Uncertainty | None:
    """Intervals of `scenario`, of which a run found `measures` in so many cell `updates`.

    Draws and a run with the stated values are solved on cells twice as large, unless the shot is a small one.
    What a draw changes there, as a ratio, is what it changes of the result, so that no error of the larger
    cells is mixed in.

    None where it took more than `most` cell updates, where no published row saw its materials, or where a
    draw fails, which `uncertainty` tells of.
    """
    if updates > most:
        return None
    whole = with_own_materials(scenario)
    try:
        unknowns = unknowns_of(whole)
    except InputError:
        return None
    draws = draws_of(unknowns, FEW, seed=0)
    if not any(draws.joint):
        return None
    share = COARSE if updates > SMALL else 1.0
    coarse = scenario_with(whole, {"grid.refinement": share * whole.grid.refinement})
    grid, base = problem_of(coarse).grid, scenario_data(coarse)
    tasks = [base, *(changed(base, unknowns, row) for row in draws.inputs)]
    own, *found = (one.measures for one in shared(partial(sample_of, grid=grid), tasks))
    if own is None or any(one is None for one in found):
        return None
    samples = tuple(Sample(_carried(measures, own, one)) for one in found if one is not None)
    return Uncertainty(unknowns, draws, dict(measures), samples, 0, limits)


def is_drawn(scenario: Scenario) -> bool:
    """Whether published rows saw a material of `scenario`, so that `brief_of` may find its intervals."""
    try:
        return any(one is not None for one in posterior().matching(unknowns_of(with_own_materials(scenario))))
    except InputError:
        return False


def _carried(fine: Measures, own: Measures, drawn: Measures) -> dict[str, float | None]:
    """Measures that a draw would have on the fine grid, changed as from `own` to `drawn` on the coarse.

    A rim is read to a column, which is wide on the coarse grid: it changes as the wall does.
    """
    found = {name: _ratio(fine[name], own[name], value) for name, value in drawn.items()}
    for zone in ("char", "dried", "coagulation"):
        rim, wall = f"{zone}_thickness_rim", f"{zone}_thickness_wall"
        if fine[rim] and fine[wall] and own[wall]:
            found[rim] = _ratio(fine[rim], own[wall], drawn[wall])
    return found


def _ratio(fine: float | None, own: float | None, value: float | None) -> float | None:
    return fine * (value / own) if fine and own and value is not None else value
