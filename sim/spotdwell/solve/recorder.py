"""Recorder: histories and saved fields, kept as the march goes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spotdwell.kernels.layout import State
from spotdwell.kernels.slots import Row
from spotdwell.model.problem import Problem
from spotdwell.solve.outcome import History, Snapshot

_MOST_ROWS = 8192


class Recorder:
    """Keeps a row a step; when there are too many, every second one goes and the spacing doubles."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._rows: list[NDArray[np.float64]] = []
        self._last: NDArray[np.float64] | None = None
        self._every = 1
        self._count = 0
        self._due = sorted(problem.save_times)
        self.snapshots: list[Snapshot] = []

    def record(self, rows: NDArray[np.float64], state: State) -> None:
        """Keep `rows` (`slots.Row`), and the fields if they were asked for at the time of the last."""
        time = float(rows[-1, Row.TIME])
        while self._due and time >= self._due[0] * (1.0 - 1e-12):
            self._due.pop(0)
            self.snapshots.append(self.snapshot(time, state))
        for row in rows.copy():
            self._last = row
            self._count += 1
            if (self._count - 1) % self._every == 0:
                self._rows.append(row)
                if len(self._rows) > _MOST_ROWS:
                    self._rows = self._rows[::2]
                    self._every *= 2

    def snapshot(self, time: float, state: State) -> Snapshot:
        """Copies of the fields at `time`."""
        return Snapshot(
            time=time,
            temperature=state.temperature + self._problem.target.initial_temperature,
            water=state.water.copy(),
            conversion=state.conversion.copy(),
            damage=state.damage.copy(),
            floor=state.floor.copy(),
            crater_depth=state.front.copy(),
            thermal_dose=state.dose.copy() if self._problem.thermal_dose else None,
        )

    def history(self) -> History:
        """All rows, ending with the last whether or not it was due."""
        assert self._last is not None
        if self._rows[-1][Row.TIME] < self._last[Row.TIME]:
            self._rows.append(self._last)
        table = np.array(self._rows)
        columns = table[:, : len(Row)].T.copy()
        return History(
            time=columns[Row.TIME],
            power=columns[Row.POWER],
            crater_depth=columns[Row.DEPTH],
            deepest=columns[Row.DEEPEST],
            peak_temperature=columns[Row.PEAK],
            surface_temperature=columns[Row.SURFACE],
            ledger=table[:, len(Row) :].copy(),
        )
