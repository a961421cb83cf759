"""Train: pulses with pauses between them against the same power without one, by simulated seconds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from rows import Row, at_most, written
from shot import change_text
from timing import by_turns, keep_to_one_core

if TYPE_CHECKING:
    from spotdwell.inputs.schema import Scenario
    from spotdwell.solve.march import _Run

MATERIAL, POWER, SPOT = "soft_tissue", "20 W", "1.6 mm"
ON, OFF, PULSES, PERIOD = "20 ms", "480 ms", 20, 0.5
TITLE = "A train of pulses"
ABOUT = (
    f"{MATERIAL}, {POWER}, {SPOT}, {PULSES} pulses of {ON} at 2 Hz for 10 s, against 1 s without a pause; "
    "both warm, by turns, and ended on the second. Cells at rest are those within 0.01 K of where they began."
)
BAR = 3.0
AT_REST = 1e-2
"""[K]."""


@dataclass
class Work:
    """What the steps with the beam on, or off, did."""

    steps: int = 0
    stages: int = 0
    updates: int = 0
    at_rest: float = 0.0
    """Updates of cells that were at rest after the step."""
    cells: int = 0
    """Cells of the grid."""

    @property
    def window(self) -> float:
        """Cells marched over all cells, averaged over stages [-]."""
        return self.updates / (self.stages * self.cells)


@dataclass
class Counted:
    """Work with the beam on and off."""

    on: Work = field(default_factory=Work)
    off: Work = field(default_factory=Work)


def rows(quick: bool) -> list[Row]:
    """Cost of a simulated second of both, and where the steps of the train go."""
    keep_to_one_core()
    import spotdwell

    train, steady = scenario(PULSES, end_time="10 s"), scenario(None, end_time="1 s")
    calls = {"train": lambda: spotdwell.run(train), "steady": lambda: spotdwell.run(steady)}
    timed = by_turns(calls, 1 if quick else 3)
    paused, continuous = timed["train"].median / (PULSES * PERIOD), timed["steady"].median
    accuracy = "" if quick else change_text(spotdwell.check_grid(train).rows())
    return [
        Row("a simulated second of the train", written(paused, "s"), accuracy),
        Row("a simulated second without a pause", written(continuous, "s")),
        at_most("the first over the second", paused / continuous, BAR, "times"),
        *_work_rows(counted(train)),
    ]


def scenario(pulses: int | None, **options: str) -> Scenario:
    """A train of `pulses`, or a second without a pause."""
    from spotdwell.inputs.shot import scenario_of_shot

    if pulses is None:
        return scenario_of_shot(MATERIAL, POWER, SPOT, "1 s", **options)
    return scenario_of_shot(MATERIAL, POWER, SPOT, ON, pause=OFF, count=pulses, **options)


def counted(train: Scenario) -> Counted:
    """The work of one march of `train`, step by step as `solve.march.march` does it."""
    from spotdwell.inputs.build import problem_of
    from spotdwell.solve.march import _Run

    run, found = _Run(problem_of(train)), Counted()
    run.most_updates = 0  # one step at a time
    while not run.done():
        steps, stages, updates = run.steps, run.stages, run.updates
        run.advance()
        work = found.on if run.power > 0.0 else found.off
        work.steps += run.steps - steps
        work.stages += run.stages - stages
        work.updates += run.updates - updates
        work.cells = run.state.temperature.size
        work.at_rest += _share_at_rest(run) * (run.updates - updates)
    return found


def _share_at_rest(run: _Run) -> float:
    """Share of the marched cells that are at rest."""
    depth = np.arange(run.state.temperature.shape[1])
    marched = (depth >= run.state.floor[:, None]) & (depth < run.last[:, None])
    return float(np.mean(np.abs(run.state.temperature[marched]) < AT_REST))


def _work_rows(found: Counted) -> list[Row]:
    total = found.on.updates + found.off.updates
    rows = []
    for name, work in (("beam on", found.on), ("pauses", found.off)):
        steps = f"{work.steps / PULSES:.0f} steps, {work.stages / PULSES:.0f} stages a pulse"
        share = f"{100.0 * work.updates / total:.0f} % of the cell updates"
        rows.append(Row(f"{name}: steps", f"{steps}; {share}"))
        rest = f"{100.0 * work.at_rest / work.updates:.0f} % of them at rest"
        rows.append(Row(f"{name}: cells marched", f"{100.0 * work.window:.0f} % of the grid, {rest}"))
    return rows
