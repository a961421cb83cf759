"""Bench shots: power, dwell, spot or dial position, and what each left, from a CSV file."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError, together
from spotdwell.inputs.bench_table import Column, Table, plain_name, read_table

Array = NDArray[np.float64]

POWER = Column("power", "W", "25 W")
DWELL = Column("dwell", "s", "80 ms", ("dwell time",))
SPOT = Column("spot", "m", "1.6 mm", ("spot diameter", "beam diameter"), required=False)
DIAL = Column("dial", "1", "2", ("dial position",), required=False, words=True)
DEPTH = Column("depth", "m", "320 um", ("crater depth",), zero=True)
WIDTH = Column("width", "m", "450 um", ("crater width",), required=False, blank=True)
CHAR = Column("char seen", "1", "yes", ("char",), required=False, blank=True, words=True)
THROUGH = Column("perforated", "1", "no", ("cut through",), required=False, blank=True, words=True)
COUNT = Column("count", "1", "3", ("shots",), required=False)
ERROR = Column("depth error", "m", "15 um", ("error", "standard deviation"), required=False, blank=True)
REPEAT = Column("repeat", "1", "1", ("replicate",), required=False, words=True, blank=True)
COLUMNS = (POWER, DWELL, SPOT, DIAL, DEPTH, WIDTH, CHAR, THROUGH, COUNT, ERROR, REPEAT)

_ANSWERS = {"yes": True, "no": False}


@dataclass(frozen=True, eq=False)
class BenchShots:
    """Shots of one laser into one material, one a row of the file, in SI."""

    source: str
    """Name of the file, without its folder."""
    file: str
    """As errors call it."""
    rows: NDArray[np.int64]
    """Row of the file of each shot; the first line is row 1."""
    power: Array
    """That was set [W]."""
    dwell: Array
    """[s]."""
    spot: Array | None
    """Beam diameter [m]; None where the dial says it."""
    dial: tuple[str, ...] | None
    """Dial position; None where the spot is given, or there is but one."""
    depth: Array
    """Of the crater [m]; 0 where there was none."""
    width: Array
    """Of the crater at the surface [m]; NaN where not measured."""
    char_seen: tuple[bool | None, ...]
    """None: not told."""
    perforated: NDArray[np.bool_]
    """Whether the target was cut through, so that the depth is no measurement."""
    count: Array
    """Shots of which the row gives the mean."""
    depth_error: Array | None = None
    """Stated standard deviation of each depth [m]; NaN where none is. None: nowhere."""

    def where(self, index: int, column: str) -> str:
        """What an error calls a cell."""
        return f'{self.file}: row {self.rows[index]}, column "{column}"'


def read_shots(path: str | Path) -> BenchShots:
    """Bench shots in the CSV file at `path`.

    Columns with their units: power, dwell, depth, and spot or dial; besides, if they are there, width, char
    seen and perforated (yes or no), count (shots of which the row is the mean), depth error (one standard
    deviation of the row's depth, for a validation alone) and repeat (a name, not used: rows of one setting
    are repeats anyway). Raises one InputError for all that is wrong.
    """
    table = read_table(path, COLUMNS, fewest=2)
    _refuse_unknown(table)
    _check_spots(table)
    problems: list[InputError] = []
    char, through = (list(_answers(table, column, problems)) for column in (CHAR, THROUGH))
    if problems:
        raise together(problems, table.name)
    size = len(table.rows)
    values = table.values
    return BenchShots(
        Path(path).name,
        table.name,
        np.array(table.rows, dtype=np.int64),
        values[POWER.name],
        values[DWELL.name],
        values.get(SPOT.name),
        table.words.get(DIAL.name),
        values[DEPTH.name],
        values.get(WIDTH.name, np.full(size, np.nan)),
        tuple(char),
        np.array([one is True for one in through], dtype=bool),
        values.get(COUNT.name, np.ones(size)),
        values.get(ERROR.name),
    )


def _refuse_unknown(table: Table) -> None:
    """Raise InputError for a column that means nothing here: it may be a known one, misspelt."""
    for header in table.ignored:
        names = [column.name for column in COLUMNS]
        near = difflib.get_close_matches(plain_name(re.split(r"[\[(]", header)[0]), names, n=1, cutoff=0.6)
        advice = f'Is "{near[0]}" meant? ' if near else ""
        where = f'{table.name}: row {table.header_row} (the header), column "{header}"'
        raise InputError(
            where,
            f"one of the columns {', '.join(names)}",
            f'"{header}"',
            f"{advice}Rename it, or leave it out.",
        )


def _check_spots(table: Table) -> None:
    if SPOT.name in table.values and DIAL.name in table.words:
        where = f"{table.name}: row {table.header_row} (the header)"
        advice = "Leave the spots out to find them, or the dial positions to take them as measured."
        raise InputError(where, "a column spot or a column dial", "both", advice)


def _answers(table: Table, column: Column, problems: list[InputError]) -> Iterator[bool | None]:
    """Yes and no as truth values, None for an empty cell."""
    cells = table.words.get(column.name, ("",) * len(table.rows))
    for row, cell in zip(table.rows, cells, strict=True):
        if cell and cell.lower() not in _ANSWERS:
            where = table.where(row, column.name)
            problems.append(InputError(where, "yes or no", f'"{cell}"', "Leave it empty if it is not known."))
        yield _ANSWERS.get(cell.lower())
