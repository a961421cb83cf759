"""Counts: steps, stages and cell updates of every shipped scenario, the same on every machine."""

from __future__ import annotations

from pathlib import Path

from rows import Row

TITLE = "Shipped scenarios"
ABOUT = (
    "Cost without a clock. `tests/regression/test_cost.py` holds the first and the last to a recorded table."
)
RECORD = Path(__file__).parents[1] / "tests" / "regression" / "cost.toml"
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

    outcome = marched(problem_of(read_scenario(library.find(library.Shelf.SCENARIOS, name))))
    return outcome.steps, outcome.stages, outcome.cell_updates


def record() -> Path:
    """Count all anew into the table that the tests read; returns where it is."""
    lines = [HEAD.rstrip()]
    for name, values in counts().items():
        lines += ["", f"[{name}]", *(f"{key} = {value}" for key, value in zip(KEYS, values, strict=True))]
    RECORD.parent.mkdir(exist_ok=True)
    RECORD.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return RECORD
