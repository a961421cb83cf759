"""Calibration: what bench shots say of a laser and a material, with intervals, against each shot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.base import units

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FittedValue:
    """A value that was fitted, SI."""

    key: str
    """As options call it: "delivered-share", "debris-heat", or "spot:2" for the spot at dial 2."""
    unit: str
    """SI unit; "1" for a share."""
    start: float
    """Where the fit began."""
    value: float
    low: float
    """Of the 95 % interval."""
    high: float
    at_bound: bool = False
    """Whether it ended where it could go no farther: no interval is right then."""

    def shown(self, value: float) -> str:
        """`value` as a reader wants it, such as "0.853" or "412 um"."""
        return shown_value(self.unit, value)


@dataclass(frozen=True)
class BenchRow:
    """A shot as measured, and as computed with the fitted values; SI."""

    row: int
    """Of the file."""
    power: float
    """That was set [W]."""
    dwell: float
    spot: float
    """Fitted, or as given [m]."""
    dial: str
    """Empty where there is none."""
    depth: float
    computed_depth: float
    error: float
    """Standard deviation of the measured depth [m]."""
    width: float | None
    """None: not measured."""
    computed_width: float
    char_seen: bool | None
    """None: not told."""
    word: str
    """Verdict of the run."""
    perforated: bool
    """Whether it was cut through, and so left out of the fit."""
    near_jump: bool = False
    """Whether a small change of a value makes the computed shot another kind of shot."""
    off_others: float = 0.0
    """Measured less computed depth over the scatter of the others, as if the row were left out."""
    outlier: bool = False
    """Whether that is too much for chance."""

    @property
    def misfit(self) -> float:
        """Measured less computed depth, in standard deviations."""
        return (self.depth - self.computed_depth) / self.error

    @property
    def char_agrees(self) -> bool | None:
        """Whether char was seen where the verdict says charred; None where one of them does not say."""
        if self.char_seen is None or self.word == "perforated":
            return None
        return self.char_seen == (self.word in ("charred", "scorched"))


@dataclass(frozen=True, eq=False)
class Calibration:
    """Values fitted to bench shots."""

    source: str
    """Name of the file."""
    material: str
    values: tuple[FittedValue, ...]
    known: tuple[tuple[str, float], ...]
    """Values that were not fitted, by key [SI]."""
    rows: tuple[BenchRow, ...]
    error: float
    """Relative standard deviation of a depth [-]."""
    least_depth: float
    """Shallower craters are taken as no more certain, in length, than one of this depth [m]."""
    error_from: str
    """"repeats" or "residuals"."""
    freedom: int
    """Degrees of freedom of `error`."""
    scatter: float
    """Relative scatter of the residuals [-]; the same as `error` if that is from them."""
    correlation: Array
    """Of the values' logarithms, shape (values, values)."""
    runs: int
    """How many runs it took."""
    unsettled: float
    """Largest change that a value would still make in the finer cells, over half its interval [-]."""
    warnings: tuple[str, ...] = ()

    @property
    def used(self) -> tuple[BenchRow, ...]:
        """Rows that the values were fitted to."""
        return tuple(row for row in self.rows if not row.perforated)

    def value(self, key: str) -> FittedValue | None:
        """The fitted value of that key; None if it was not fitted."""
        return next((one for one in self.values if one.key == key), None)


_UNITS = {"delivered-share": "1", "debris-heat": "J/m3", "rupture-temperature": "K", "spot": "m"}
_SHOWN = {"J/m3": "kJ/cm3", "K": "degC"}


def unit_of(key: str) -> str:
    """SI unit of the value called `key`; "1" for a share."""
    return _UNITS[key.partition(":")[0]]


def shown_value(unit: str, value: float) -> str:
    """A value as a reader wants it, such as "0.853", "412 um", "3.20 kJ/cm3" or "240 degC"."""
    if unit == "1":
        return units.significant(value)
    usual = "mm" if value >= 1e-3 else "um"
    return units.display(value, unit, _SHOWN.get(unit, usual))
