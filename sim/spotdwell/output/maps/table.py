"""Table of a map: every point as a line of CSV, with its settings, verdict and measures in SI."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from spotdwell.base.foreign import cell
from spotdwell.base.names import AXES, MEASURES
from spotdwell.output.maps.cube import Cube
from spotdwell.output.whole_file import whole_file


def write_table(cube: Cube, path: str | os.PathLike[str]) -> None:
    """Write `cube` as CSV to `path`, whole or not at all. Raises RunError where it cannot be written.

    Units stand in the header. A measure that does not apply, and every one of a point that failed or was
    not computed, is empty; a point that was not computed has no verdict either.
    """
    with (
        whole_file(Path(path)) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as file,
    ):
        csv.writer(file, lineterminator="\n").writerows(_lines(cube))


def _lines(cube: Cube) -> Iterator[list[str]]:
    axes = [_headed(axis.name, AXES[axis.name].unit) for axis in cube.axes]
    yield [*axes, "verdict", "failure", *(_headed(name, one.unit) for name, one in MEASURES.items())]
    for index in np.ndindex(*cube.shape):
        values = (axis.values[one] for axis, one in zip(cube.axes, index, strict=True))
        settings = [cell(value) if isinstance(value, str) else f"{value:.12g}" for value in values]
        measures = (float(cube.measures[name][index]) for name in MEASURES)
        texts = ("" if np.isnan(value) else repr(value) for value in measures)
        yield [*settings, str(cube.word[index]), cell(str(cube.failure[index])), *texts]


def _headed(name: str, unit: str) -> str:
    return f"{name} [{unit}]" if unit else name
