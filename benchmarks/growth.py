"""Growth: what finer cells, more pulses and a wider block cost, each against the case before it, by turns."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import train
from rows import Row, at_most, written
from shot import DWELL, MATERIAL, POWER, SPOT, change_text
from timing import by_turns, keep_to_one_core

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario

TITLE = "Growth of the cost"
ABOUT = (
    f"The shot above ({MATERIAL}, {POWER}, {SPOT}, {DWELL}) and the train above, warm, by turns. Wall time "
    "over wall time; in brackets both, and cell updates over cell updates."
)
FINER, MORE, WIDER = 8.0, 2.2, 1.1


def rows(quick: bool) -> list[Row]:
    """Three pairs of runs."""
    keep_to_one_core()
    from spotdwell.inputs.build import problem_of
    from spotdwell.inputs.shot import scenario_of_shot, scenario_with

    shot = scenario_of_shot(MATERIAL, POWER, SPOT, DWELL)
    finer = scenario_with(shot, {"grid.refinement": 2.0})
    half_width = float(problem_of(shot).grid.columns.x_edges[-1])
    wider = scenario_with(shot, {"grid.half_width": f"{2.0 * half_width!r} m"})
    few, many = (
        train.scenario(n, end_time=f"{n * train.PERIOD:g} s") for n in (train.PULSES, 2 * train.PULSES)
    )
    repeats = 1 if quick else 3
    return [
        _compared("both cell sizes halved", shot, finer, FINER, repeats, same=True),
        _compared(f"{2 * train.PULSES} pulses instead of {train.PULSES}", few, many, MORE, repeats),
        _on_the_same_cells(few, many, repeats),
        _compared("block twice as wide", shot, wider, WIDER, 5 * repeats, same=True),
    ]


def _on_the_same_cells(few: Scenario, many: Scenario, repeats: int) -> Row:
    """Row of what more pulses cost where both trains march on the cells that the longer one asks for."""
    from spotdwell.inputs.build import problem_of
    from spotdwell.solve.march import marched

    after = problem_of(many)
    before = replace(problem_of(few), grid=after.grid)
    timed = by_turns({"before": lambda: marched(before), "after": lambda: marched(after)}, repeats)
    first, second = timed["before"], timed["after"]
    updates = second.value.cell_updates / first.value.cell_updates
    times = f"{first.median:.3g} s to {second.median:.3g} s; updates {updates:.2f}"
    return Row(f"the same on the same cells ({times})", written(second.median / first.median, "times"))


def _compared(
    what: str, before: Scenario, after: Scenario, limit: float, repeats: int, same: bool = False
) -> Row:
    """Row of the cost of one scenario over that of another; of the `same` shot also how they differ."""
    import spotdwell
    from spotdwell.pipeline import GridCheck

    calls = {"before": lambda: spotdwell.run(before), "after": lambda: spotdwell.run(after)}
    timed = by_turns(calls, repeats)
    first, second = timed["before"], timed["after"]
    updates = second.value.cost["cell_updates"] / first.value.cost["cell_updates"]
    differ = change_text(GridCheck((1.0, 1.0), (first.value, second.value)).rows()) if same else ""
    name = f"{what} ({first.median:.3g} s to {second.median:.3g} s; updates {updates:.2f})"
    return at_most(name, second.median / first.median, limit, "times", differ)
