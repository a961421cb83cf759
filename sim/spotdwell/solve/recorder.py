"""Recorder: histories and saved fields, kept as the march goes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spotdwell.kernels.layout import State
from spotdwell.model.problem import Problem
from spotdwell.solve.outcome import History, Snapshot

_MOST_ROWS = 8192


class Recorder:
    """Keeps a row a step; when there are too many, every second one goes and the spacing doubles."""

    def __init__(self, problem: Problem, axis: int) -> None:
        self._problem = problem
        self._axis = axis
        self._rows: list[NDArray[np.float64]] = []
        self._every = 1
        self._count = 0
        self._due = sorted(problem.save_times)
        self.snapshots: list[Snapshot] = []

    def record(
        self, time: float, power: float, peak: float, state: State, ledger: NDArray[np.float64]
    ) -> None:
        """Keep the histories at `time`, and the fields if they were asked for at this time."""
        while self._due and time >= self._due[0] * (1.0 - 1e-12):
            self._due.pop(0)
            self.snapshots.append(self.snapshot(time, state))
        self._count += 1
        if (self._count - 1) % self._every == 0:
            self._rows.append(self._row(time, power, peak, state, ledger))
            if len(self._rows) > _MOST_ROWS:
                self._rows = self._rows[::2]
                self._every *= 2

    def _row(
        self, time: float, power: float, peak: float, state: State, ledger: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        initial = self._problem.target.initial_temperature
        floor = int(state.floor[self._axis])
        through = floor >= state.temperature.shape[1]
        surface = np.nan if through else initial + state.temperature[self._axis, floor]
        depth = state.front[self._axis]
        return np.concatenate([[time, power, depth, state.front.max(), initial + peak, surface], ledger])

    def snapshot(self, time: float, state: State) -> Snapshot:
        """Copies of the fields at `time`."""
        return Snapshot(
            time,
            state.temperature + self._problem.target.initial_temperature,
            state.water.copy(),
            state.conversion.copy(),
            state.damage.copy(),
            state.floor.copy(),
            state.front.copy(),
            state.dose.copy() if self._problem.thermal_dose else None,
        )

    def history(
        self, time: float, power: float, peak: float, state: State, ledger: NDArray[np.float64]
    ) -> History:
        """All rows, ending with the last state whether or not its row was due."""
        if not self._rows or self._rows[-1][0] < time:
            self._rows.append(self._row(time, power, peak, state, ledger))
        table = np.array(self._rows)
        time_, power_, depth, deepest, highest, surface = table[:, :6].T.copy()
        return History(time_, power_, depth, deepest, highest, surface, table[:, 6:].copy())
