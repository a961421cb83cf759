"""Outcome: what a march leaves behind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import RunError
from spotdwell.base.units import significant
from spotdwell.kernels.slots import Term
from spotdwell.model.problem import Problem

Array = NDArray[np.float64]

MOST_IMBALANCE = 1e-9
"""Of the ledger over its largest term [-]; round-off leaves some 1e-13."""

LEDGER_TERMS = tuple(term.name.lower() for term in Term)
"""Terms of the energy ledger [J]: `incident` equals the sum of the others (eq. 16). Index is position."""


class Status(StrEnum):
    """How a march ended."""

    COOLED = "cooled below the harmless temperature"
    TIME_REACHED = "stated time reached"
    STILL_WARM = "longest time reached while still warm"
    BOTTOM_REACHED = "crater reached the bottom of the grid"


@dataclass(frozen=True, eq=False)
class Snapshot:
    """Fields at one time. Arrays are (columns, cells), depth contiguous; cells above the floor are gone."""

    time: float
    """[s]."""
    temperature: Array
    """[K]; of gone cells the last value they had."""
    water: Array
    """Free water [kg/m3]."""
    conversion: Array
    """Char conversion x [-]."""
    damage: Array
    """Omega [-], shape (processes, columns, cells)."""
    floor: NDArray[np.int64]
    """Index of each column's exposed cell, shape (columns,); the cell count where perforated."""
    crater_depth: Array
    """Depth of each column's front, finer than a cell [m], shape (columns,)."""
    thermal_dose: Array | None = None
    """CEM43 [s], or None."""

    def gone(self) -> NDArray[np.bool_]:
        """Mask of removed cells, shape (columns, cells)."""
        cells = np.arange(self.temperature.shape[1])
        return np.asarray(cells[None, :] < self.floor[:, None])


@dataclass(frozen=True, eq=False)
class History:
    """What changed with time, one row a recorded step."""

    time: Array
    """[s], shape (rows,)."""
    power: Array
    """Power during the step that ended at `time` [W]."""
    crater_depth: Array
    """Depth of the column on the beam's axis [m]."""
    deepest: Array
    """Deepest crater depth anywhere [m]."""
    peak_temperature: Array
    """Highest temperature of what is left [K]."""
    surface_temperature: Array
    """Temperature of the exposed cell on the axis [K]; NaN once it is perforated."""
    ledger: Array
    """Running sums of `LEDGER_TERMS` [J], shape (rows, terms)."""


@dataclass(frozen=True, eq=False)
class Outcome:
    """Fields, histories, ledger and cost of one march."""

    problem: Problem
    status: Status
    snapshots: tuple[Snapshot, ...]
    """Fields at the asked times; the last is the final state."""
    history: History
    ledger: dict[str, float]
    """Final sums [J] by `LEDGER_TERMS`, of the whole target (all symmetric copies)."""
    removed_mass: float
    """Mass of removed cells as they were before the shot [kg]."""
    peak_temperature: float
    """Highest temperature reached anywhere at any time [K]."""
    perforation_time: float | None
    """When the first column was through [s], or None."""
    steps: int
    stages: int
    cell_updates: int
    """Cells updated, summed over stages: the machine-independent cost."""
    wall_time: float
    """[s]."""

    @property
    def final(self) -> Snapshot:
        """The last state."""
        return self.snapshots[-1]

    @property
    def ledger_error(self) -> float:
        """Imbalance of the ledger over the incident energy, or over the stored energy without a beam [-]."""
        total = sum(value for name, value in self.ledger.items() if name != "incident")
        scale = self.ledger["incident"] or abs(self.ledger["stored"]) or 1.0
        return abs(self.ledger["incident"] - total) / abs(scale)


def check_sound(outcome: Outcome, measures: Mapping[str, float | None]) -> None:
    """Raise RunError if a field, history, measure or term is not finite, or the ledger does not close."""
    faulty = list(dict.fromkeys(_not_finite(outcome, measures)))
    if faulty:
        more = f" and {len(faulty) - 4} more" if len(faulty) > 4 else ""
        raise RunError(
            f"the run gave numbers that are not finite ({', '.join(faulty[:4])}{more}): nothing of it can be "
            "believed. Look for a material value or a setting far from any real one"
        )
    if (error := _imbalance(outcome.ledger)) > MOST_IMBALANCE:
        raise RunError(
            f"the energy ledger does not close: {significant(error, 2)} of its largest term is missing, more "
            f"than {MOST_IMBALANCE:g}. Nothing of the run can be believed. Look for a material value or a "
            "setting far from any real one"
        )


def _not_finite(outcome: Outcome, measures: Mapping[str, float | None]) -> Iterator[str]:
    """Names of what is not finite, where it must be."""
    for snapshot in outcome.snapshots:
        for item in fields(snapshot):
            values = getattr(snapshot, item.name)
            if values is not None and not np.all(np.isfinite(values)):
                yield item.name
    for item in fields(outcome.history):
        values = getattr(outcome.history, item.name)
        # No cell is left on the axis once it is perforated.
        allowed = item.name == "surface_temperature" and outcome.perforation_time is not None
        if not np.all(np.isfinite(values) | (allowed and np.isnan(values))):
            yield f"history of {item.name.replace('_', ' ')}"
    yield from (name for name, value in outcome.ledger.items() if not np.isfinite(value))
    yield from (name for name, value in measures.items() if value is not None and not np.isfinite(value))


def _imbalance(ledger: Mapping[str, float]) -> float:
    """What is missing in the ledger over its largest term [-] (eq. 16)."""
    total = sum(value for name, value in ledger.items() if name != "incident")
    return abs(ledger["incident"] - total) / (max(map(abs, ledger.values())) or 1.0)
