"""Direct runs of the published rows at the points of a design, kept line by line so that they can go on."""

from __future__ import annotations

import csv
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from posterior_emulator import LEAST
from posterior_values import FAMILY, Value, changes_of
from spotdwell.console.progress import Watch
from spotdwell.console.workers import stream
from spotdwell.evidence.published import Row, evaluate, rows

Array = NDArray[np.float64]

SEED = 1
BLIND = ("Narrow hole, 2 um, 0.8 W",)
"""Rows that come to nothing at every point: no choice of values is better than another."""
FEWER = {"Short pulses over gated beam, 9.3 um": 64, BLIND[0]: 16}
"""Points at which these rows are computed: the first takes a third of all time and sees few values."""


UNSEEN = 0.5
"""A value that moves every row by less than this share of its spread, from end to end of its range, is
left to that range; its effect is part of the emulators' error."""
FAINT = 0.05
"""A row's emulator sees the values that move that row by more than this share of its spread."""
_LINES = {
    "2.94 um": "2.94 um", "2.79 um": "2.79 um", "Er:YAG": "2.94 um", "9.3 um": "9.3 um",
    "Ho ": "2.1 um", "Tm ": "2.01 um", "Narrow": "2.01 um",
}  # fmt: skip
"""Line of a row by what its name holds; else 10.6 um."""
_DEBRIS = {"9.3 um": "10.6 um", "2.79 um": "2.94 um", "2.01 um": "2.1 um"}
"""Lines whose debris another one stands for."""
_MATERIALS = {"skin": "skin", "muco": "oral_mucosa", "live": "liver", "musc": "muscle", "a sl": "pmma"}


def screened(values: Sequence[Value], kept: Path) -> Array:
    """How far each value moves each row, from one end of its range to the other, over the row's spread.

    One value at a time, the others as shipped; shape (values, rows). Found in the file `kept`, or put there.
    """
    head = ["value", *(row.name for row in rows())]
    if kept.exists():
        with kept.open(newline="") as file:
            lines = list(csv.reader(file))
        if lines[0] == head and [line[0] for line in lines[1:]] == [one.name for one in values]:
            return np.array([line[1:] for line in lines[1:]], dtype=float)
    with Watch(False, "values", solves=False) as watch:
        found = []
        for done, one in enumerate(values, 1):
            found.append([_moved(one, row) for row in rows()])
            watch.count(done, len(values), 0.0)
    with kept.open("w", newline="") as file:
        csv.writer(file).writerows(
            [head, *([one.name, *moved] for one, moved in zip(values, found, strict=True))]
        )
    return np.array(found)


def _moved(value: Value, row: Row) -> float:
    if not _concerns(value, row):
        return 0.0
    low, high = (
        max(evaluate(row, value.changes(float(value.at(np.array(end))))) / row.measured, LEAST)
        for end in (0.0, 1.0)
    )
    return abs(math.log(high / low)) / math.log1p(row.spread / row.measured)


def _concerns(value: Value, row: Row) -> bool:
    """Whether the row's material has the value, and its line too; the narrow hole is the same everywhere."""
    material = _MATERIALS[row.setting[:4]]
    table, _, line = value.entry.partition(".")
    if row.name in BLIND or (value.file == "pmma") != (material == "pmma"):
        return False
    if value.file in _MATERIALS.values() and value.file != material:
        return False
    if (value.file, value.entry) == (FAMILY, "rupture_temperature"):
        return material in ("liver", "muscle")
    if table == "damage":
        return row.name.startswith("V13 char")
    if table not in ("absorption", "slope", "debris"):
        return True
    at = next((one for part, one in _LINES.items() if part in row.name), "10.6 um")
    return at == line or (table == "debris" and _DEBRIS.get(at) == line)


@dataclass(frozen=True)
class Runs:
    """What rows came to at the points."""

    shares: Array
    """Points, each value from 0 to 1 over its range, shape (points, values)."""
    computed: Array
    """Of each row in its own unit, shape (points, rows); nan where it was not computed."""


def design(values: Sequence[Value], count: int) -> Array:
    """First `count` points of a scrambled Sobol sequence, which more points only add to."""
    most = 2 ** (count - 1).bit_length()
    return np.asarray(qmc.Sobol(len(values), rng=SEED).random(most)[:count])


def runs_of(values: Sequence[Value], points: Array, kept: Path, workers: int | None = None) -> Runs:
    """All rows at `points`, those in the file `kept` from there and the rest added to it as they come."""
    head = ["point", *(one.name for one in values), *(row.name for row in rows())]
    found = _read(kept, head, points)
    missing = [index for index in range(len(points)) if index not in found]
    new = not kept.exists()
    tasks = [(index, points[index]) for index in missing]
    with kept.open("a", newline="") as file, Watch(False, "points", solves=False) as watch:
        lines = csv.writer(file)
        if new:
            lines.writerow(head)
        began = time.monotonic()
        work = stream(partial(_at, values=tuple(values)), tasks, workers)
        for done, (place, computed) in enumerate(work, 1):
            index = missing[place]
            lines.writerow([index, *(repr(float(one)) for one in (*points[index], *computed))])
            file.flush()
            found[index] = np.array(computed)
            each = (time.monotonic() - began) / done
            watch.count(done, len(missing), each * (len(missing) - done))
    return Runs(points, np.array([found[index] for index in range(len(points))]))


def _at(task: tuple[int, Array], values: tuple[Value, ...]) -> list[float]:
    """Every row with the values at one point."""
    index, shares = task
    changes = changes_of(values, shares)
    return [evaluate(row, changes) if index < FEWER.get(row.name, index + 1) else math.nan for row in rows()]


def _read(kept: Path, head: list[str], points: Array) -> dict[int, Array]:
    """What is kept of these points. Raises ValueError for a file of other values or rows."""
    if not kept.exists():
        return {}
    with kept.open(newline="") as file:
        lines = csv.reader(file)
        if next(lines, []) != head:
            raise ValueError(f"{kept}: it holds other values or rows: move it away to begin anew")
        found = {}
        for line in lines:
            if len(line) != len(head):
                continue  # cut off while it was written
            index, numbers = int(line[0]), np.array(line[1:], dtype=float)
            shares, computed = np.split(numbers, [points.shape[1]])
            if index < len(points):
                if not np.allclose(shares, points[index], atol=1e-12):
                    raise ValueError(
                        f"{kept}: point {index} is of another design: move it away to begin anew"
                    )
                found[index] = computed
    return found
