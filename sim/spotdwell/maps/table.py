"""The table of a map: a line for each point, units in the header."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from spotdwell.base.cautions import CSV_LINE
from spotdwell.base.foreign import cell
from spotdwell.base.names import AXES, MEASURES
from spotdwell.base.units import chosen, convert, showing
from spotdwell.maps.bands import BANDED, HIGH, LOW, SHARES
from spotdwell.maps.cube import Cube
from spotdwell.output.whole_file import whole_file


def write_table(cube: Cube, path: str | os.PathLike[str]) -> None:
    """Write `cube` as CSV to `path`, whole or not at all. Raises RunError where it cannot be written.

    Units stand in the header. A measure that does not apply, and every one of a point that failed or was
    not computed, is empty; a point that was not computed has no verdict either. With intervals both ends of
    each measure follow, and the share of the draws that have the point's own verdict.
    """
    with (
        whole_file(Path(path)) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as file,
    ):
        file.write(CSV_LINE)
        if cube.bands is not None:
            file.write(f"# {cube.bands.covers}\n")
        with showing():
            csv.writer(file, lineterminator="\n").writerows(_lines(cube))


def _lines(cube: Cube) -> Iterator[list[str]]:
    axes = [_headed(axis.name, AXES[axis.name].unit) for axis in cube.axes]
    columns = [(name, cube.measures[name], one.unit) for name, one in MEASURES.items()]
    if cube.bands is not None:
        for title, ends in ((LOW, cube.bands.low), (HIGH, cube.bands.high)):
            columns += [(title.format(name), ends[name], MEASURES[name].unit) for name in BANDED]
        columns.append((SHARES, cube.bands.share_of(cube.word), "1"))
    yield [*axes, "verdict", "failure", *(_headed(name, unit) for name, _, unit in columns)]
    for index in np.ndindex(*cube.shape):
        values = (axis.values[one] for axis, one in zip(cube.axes, index, strict=True))
        settings = [
            cell(value) if isinstance(value, str) else f"{_in_chosen(value, AXES[axis.name].unit):.12g}"
            for value, axis in zip(values, cube.axes, strict=True)
        ]
        numbers = (_in_chosen(float(found[index]), unit) for _, found, unit in columns)
        texts = ("" if np.isnan(value) else repr(value) for value in numbers)
        yield [*settings, str(cube.word[index]), cell(str(cube.failure[index])), *texts]


def _headed(name: str, unit: str) -> str:
    return f"{name} [{chosen(unit, unit)}]" if unit else name


def _in_chosen(value: float, unit: str) -> float:
    """`value` [`unit`] in the unit that was asked for, else as it is."""
    to = chosen(unit, unit)
    return value if to == unit else float(convert(value, unit, to))
