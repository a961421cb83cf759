"""Counts: steps, stages and cell updates of every shipped scenario, as good as the same on every machine.

Where char burns, the last bit of a number decides how many cells leave in a step: cell updates move by up
to 8 % with its rounding. A count is therefore the median of runs whose power differs in its seventh digit.
"""

from __future__ import annotations

import statistics
from dataclasses import replace
from pathlib import Path

from rows import Row

TITLE = "Shipped scenarios"
ABOUT = (
    "Cost without a clock. `tests/regression/test_cost.py` holds the first and the last to a recorded table."
)
RECORD = Path(__file__).parents[1] / "tests" / "regression" / "cost.toml"
RUNS, NUDGE = 15, 1e-7
"""Runs of a scenario, and the share by which their powers differ."""
KEYS = ("steps", "stages", "cell_updates")
HEAD = """\
# Cost of each shipped scenario, by counting: rewritten by `python benchmarks/run.py --record-counts`.
# It changes only in a commit that says why.
"""


def rows(quick: bool) -> list[Row]:
    """One row a scenario."""
    del quick
    return [
        Row(name, f"{steps:,} steps, {stages:,} stages, {updates / 1e6:,.1f} million cell updates")
        for name, (steps, stages, updates) in counts().items()
    ]


def counts() -> dict[str, tuple[int, int, int]]:
    """Steps, stages and cell updates by the name of every shipped scenario."""
    from spotdwell import library

    return {name: counts_of(name) for name in library.names(library.Shelf.SCENARIOS)}


def counts_of(name: str) -> tuple[int, int, int]:
    """Steps, stages and cell updates of the shipped scenario `name`."""
    from spotdwell import library
    from spotdwell.inputs.build import problem_of
    from spotdwell.inputs.read import read_scenario
    from spotdwell.solve.march import marched

    problem = problem_of(read_scenario(library.find(library.Shelf.SCENARIOS, name)))
    found = []
    for run in range(RUNS):
        power = problem.exposure.power * (1.0 + (run - RUNS // 2) * NUDGE)
        outcome = marched(replace(problem, exposure=replace(problem.exposure, power=power)))
        found.append((outcome.steps, outcome.stages, outcome.cell_updates))
    steps, stages, updates = map(statistics.median, zip(*found, strict=True))
    return round(steps), round(stages), round(updates)


def record() -> Path:
    """Count all anew into the table that the tests read; returns where it is."""
    lines = [HEAD.rstrip()]
    for name, values in counts().items():
        lines += ["", f"[{name}]", *(f"{key} = {value}" for key, value in zip(KEYS, values, strict=True))]
    RECORD.parent.mkdir(exist_ok=True)
    RECORD.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return RECORD
