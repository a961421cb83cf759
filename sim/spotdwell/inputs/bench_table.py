"""Tables of bench measurements: their headers, units and rows."""

from __future__ import annotations

import csv
import difflib
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from spotdwell.base import foreign, units
from spotdwell.base.errors import InputError, together
from spotdwell.inputs.toml import text_in

CELL = re.compile(rf"\s*{units.NUMBER_PATTERN}\s*(.*?)\s*", re.DOTALL)
"""A number, and what stands behind it."""
_HEADER = re.compile(r"\s*(.*?)\s*(?:\[([^\]]*)\]|\(([^)]*)\))?\s*")
"""Name, and a unit in brackets behind it."""
_OTHER_SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}


@dataclass(frozen=True)
class Column:
    """A column that a table should have."""

    name: str
    """In the header, such as "pulse energy"; capitals, underscores and spaces do not matter."""
    unit: str
    """SI unit in which the values are kept; "1" for numbers without one."""
    example: str
    """A value with its unit, such as "5 mJ"."""
    aliases: tuple[str, ...] = ()
    """Other names of it."""
    required: bool = True
    zero: bool = False
    """Whether 0 is allowed; less than 0 never is."""
    blank: bool = False
    """Whether cells may be empty: not measured."""
    words: bool = False
    """Whether it holds words, which are kept as they are."""

    @property
    def heading(self) -> str:
        """How its header may be written, such as "pulse energy [mJ]"."""
        example_unit = "" if self.unit == "1" or self.words else self.example.split(" ", 1)[1]
        return f"{self.name} [{example_unit}]" if example_unit else self.name


@dataclass
class Header:
    """The header line against the columns that it should name."""

    file: str
    row: int
    cells: list[str]
    columns: Sequence[Column]

    @property
    def places(self) -> dict[str, tuple[int, str]]:
        """Index and written unit of each wanted column. Raises InputError."""
        self._check_separator()
        named = [_HEADER.fullmatch(cell) for cell in self.cells]
        names = [plain_name(match[1]) if match else "" for match in named]
        self._check_twice(names)
        written = [(match[2] or match[3] or "").strip() if match else "" for match in named]
        found = {}
        for column in self.columns:
            known = {plain_name(one) for one in (column.name, *column.aliases)}
            places = [index for index, one in enumerate(names) if one in known]
            if len(places) > 1:
                got = " and ".join(f'"{self.cells[index]}"' for index in places)
                raise InputError(self._where, f"one column {column.name}", got, "Leave one of them out.")
            if places:
                found[column.name] = places[0], self._checked_unit(column, written[places[0]])
            elif column.required:
                raise self._missing(column, names)
        return found

    @property
    def _where(self) -> str:
        return f"{self.file}: row {self.row} (the header)"

    def _check_separator(self) -> None:
        line = ",".join(self.cells)
        for sign, word in _OTHER_SEPARATORS.items():
            if len(self.cells) <= 1 + line.count(sign) and sign in line:
                advice = "Save it as CSV with commas between the cells and points in the numbers."
                raise InputError(self._where, "cells between commas", f"{word} between them", advice)
        if self.cells and all(CELL.fullmatch(cell) for cell in self.cells):
            got = f'the values "{line}"'
            raise InputError(
                self._where, f"names of columns, such as {example_line(self.columns)}", got, "Add them."
            )

    def _check_twice(self, names: list[str]) -> None:
        for index, name in enumerate(names):
            if name and name in names[:index]:
                where = f'{self._where}, column "{self.cells[index]}"'
                got = "the same name twice"
                raise InputError(where, "each name once", got, "Rename one of the columns, or leave it out.")

    def _missing(self, column: Column, names: list[str]) -> InputError:
        got = ", ".join(f'"{cell}"' for cell in self.cells)
        near = difflib.get_close_matches(plain_name(column.name), names, n=1, cutoff=0.6)
        meant = f'Is "{self.cells[names.index(near[0])]}" meant? ' if near else ""
        advice = f'{meant}Name it "{column.heading}".'
        return InputError(self._where, f'a column "{column.heading}"', got, advice)

    def _checked_unit(self, column: Column, unit: str) -> str:
        """`unit`, if it is one of the column's dimension, or empty."""
        if unit and column.unit != "1" and not column.words:
            where = f'{self._where}, column "{column.name}"'
            try:
                units.parse(f"1 {unit}", column.unit, where=where, example=column.example)
            except InputError as error:
                expected = f'a unit of {column.name}, such as "{column.heading}"'
                raise InputError(where, expected, f'"{unit}"', error.advice) from None
        return unit if column.unit != "1" and not column.words else ""


def plain_name(name: str) -> str:
    """`name` without what does not matter in it: capitals, underscores, spaces."""
    return " ".join(name.lower().replace("_", " ").split())


def example_line(columns: Sequence[Column]) -> str:
    """A header line that would do, in quotes."""
    return f'"{",".join(column.heading for column in columns if column.required)}"'


__all__ = ["Column", "Table", "read_table"]

Array = NDArray[np.float64]

_MOST_COMPLAINTS = 8
_MOST_ROWS = 10_000
_MOST_BYTES = 4_000_000


@dataclass(frozen=True, eq=False)
class Table:
    """What a file holds, in SI."""

    name: str
    """Of the file."""
    rows: tuple[int, ...]
    """Row of the file of each measurement; the first line of the file is row 1."""
    values: dict[str, Array]
    """By the name of the column, one a row; optional columns that are absent are not in it.

    NaN stands for an empty cell, where it may be empty."""
    units: dict[str, str]
    """Unit of each column as the file writes it."""
    ignored: tuple[str, ...]
    """Headers of columns that nobody asked for."""
    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Cells of columns of words, by the name of the column."""
    header_row: int = 1

    def where(self, row: int, column: str) -> str:
        """What an error calls a cell."""
        return _where(self.name, row, column)


def read_table(path: str | Path, columns: Sequence[Column], fewest: int = 2) -> Table:
    """Table in the CSV file at `path`: a header, then at least `fewest` rows of measurements.

    Units stand in the header ("pulse energy [mJ]") or in every cell ("5 mJ"), one unit a column. Blank lines
    and lines that begin with # are skipped; columns that are not in `columns` are ignored, and named.
    Raises one InputError for all that is wrong.
    """
    name = str(path)
    lines = _lines_of(Path(path), name)
    if not lines:
        advice = "Write it first, then a row for each measurement."
        raise InputError(name, f"a header line, such as {example_line(columns)}", "an empty file", advice)
    (header_row, header), *body = lines
    places = Header(name, header_row, header, columns).places
    reader = _Body(name, len(header), body)
    if len(body) < fewest:
        got = str(len(body)) if body else "none"
        raise InputError(name, f"at least {fewest} rows of measurements", got, "Measure and add more.")
    there = [column for column in columns if column.name in places]
    found = {column.name: reader.read(column, *places[column.name]) for column in there if not column.words}
    words = {
        column.name: reader.read_words(column, places[column.name][0]) for column in there if column.words
    }
    reader.finish()
    return Table(
        name,
        tuple(row for row, _ in body),
        {key: values for key, (values, _) in found.items()},
        {key: unit for key, (_, unit) in found.items()},
        tuple(one for index, one in enumerate(header) if index not in {at for at, _ in places.values()}),
        words,
        header_row,
    )


def _lines_of(path: Path, name: str) -> list[tuple[int, list[str]]]:
    """Row number and cells of every line that says something."""
    text = text_in(path, "a CSV file of measurements", advice="Save it as CSV (UTF-8).", most=_MOST_BYTES)
    if not foreign.is_clean(text):
        advice = "Take them out."
        raise InputError(name, "cells that can be shown", "control characters", advice)
    found = []
    for row, line in enumerate(text.splitlines(), start=1):
        if line.strip(" ,\t") and not line.lstrip().startswith("#"):
            try:
                cells = next(csv.reader([line], strict=True))
                found.append((row, [foreign.from_cell(cell.strip()) for cell in cells]))
            except csv.Error as error:
                where = f"{name}: row {row}"
                raise InputError(where, "cells between commas", f"{error}", "Correct the quotes.") from None
        if len(found) > _MOST_ROWS:
            got = "more, which no bench measured"
            raise InputError(name, f"at most {_MOST_ROWS} rows of measurements", got, "Take means.")
    return found


@dataclass
class _Body:
    """The rows of measurements, and what is wrong with them."""

    file: str
    width: int
    rows: list[tuple[int, list[str]]]
    problems: list[InputError] = field(default_factory=list)

    def __post_init__(self) -> None:
        for row, cells in self.rows:
            if len(cells) != self.width:
                advice = "Numbers have decimal points, not commas; cells with a comma stand in quotes."
                where, expected = f"{self.file}: row {row}", f"{self.width} cells, as in the header"
                self.problems.append(InputError(where, expected, str(len(cells)), advice))
        self.finish()

    def finish(self) -> None:
        """Raise what has been found."""
        if self.problems:
            more = len(self.problems) - _MOST_COMPLAINTS
            shown = self.problems[:_MOST_COMPLAINTS]
            if more > 0:
                shown.append(InputError(self.file, "no more of these", f"{more} others", "Correct them too."))
            raise together(shown, self.file)

    def read(self, column: Column, place: int, unit: str) -> tuple[Array, str]:
        """Values [SI] of a column, and its unit as the file writes it."""
        values = []
        of_column = unit
        if self._lacks_unit(column, place, unit):
            return np.array([]), unit
        for row, cells in self.rows:
            cell = cells[place]
            if column.blank and not cell:
                values.append(math.nan)
                continue
            own = _unit_of(cell) if column.unit != "1" else ""
            of_column = of_column or own
            try:
                _check_unit(column, own, unit, of_column, _where(self.file, row, column.name))
                values.append(_value(column, cell if own or not unit else f"{cell} {unit}", self.file, row))
            except InputError as error:
                self.problems.append(error)
        return np.array(values, dtype=float), of_column

    def read_words(self, column: Column, place: int) -> tuple[str, ...]:
        """Cells of a column of words."""
        if not column.blank:
            for row, cells in self.rows:
                if not cells[place]:
                    where, expected = (
                        _where(self.file, row, column.name),
                        f'a word, such as "{column.example}"',
                    )
                    self.problems.append(
                        InputError(where, expected, "an empty cell", "Add it, or leave the row out.")
                    )
        return tuple(cells[place] for _, cells in self.rows)

    def _lacks_unit(self, column: Column, place: int, unit: str) -> bool:
        """Whether no cell nor the header has a unit, which is told once."""
        cells = [cells[place] for _, cells in self.rows if cells[place] or not column.blank]
        if (
            unit
            or not cells
            or column.unit == "1"
            or any(_unit_of(cell) or not CELL.fullmatch(cell) for cell in cells)
        ):
            return False
        where = _where(self.file, self.rows[0][0], column.name)
        expected = f'a quantity in {column.unit}, such as "{column.example}"'
        advice = f'The unit is missing: name the column "{column.heading}".'
        self.problems.append(InputError(where, expected, f'"{cells[0]}"', advice))
        return True


def _unit_of(cell: str) -> str:
    """What stands behind the number; nothing if that is the rest of a number with a comma."""
    match = CELL.fullmatch(cell)
    return match[1] if match and not match[1].startswith(",") else ""


def _check_unit(column: Column, own: str, in_header: str, of_column: str, where: str) -> None:
    """Raise InputError for a unit that is there twice, or is not the one of the cells above."""
    if own and in_header:
        got = f'"{own}" behind the number, and "{in_header}" in the header'
        raise InputError(where, "the unit once", got, "Write it in the header alone.")
    if own and own != of_column:
        advice = f'Write all of the column in one unit, best in its header: "{column.name} [{of_column}]".'
        raise InputError(where, f"{of_column}, as in the rows above", f"{own}, a mixture of units", advice)


def _value(column: Column, cell: str, file: str, row: int) -> float:
    where = _where(file, row, column.name)
    if not cell[:1].strip():
        expected, advice = f'a value, such as "{column.example}"', "Measure it, or leave the row out."
        raise InputError(where, expected, "an empty cell", advice)
    try:
        value = units.parse(cell, column.unit, where=where, example=column.example)
    except InputError as error:
        advice = error.advice
        if "missing" in advice:
            advice = f'The unit is missing: name the column "{column.heading}".'
        raise InputError(where, error.expected, error.got, advice) from None
    limit = "0 or more" if column.zero else "more than 0"
    if not math.isfinite(value) or value < 0.0 or (value == 0.0 and not column.zero):
        raise InputError(where, f"{limit}", f'"{cell}"', "Correct it, or leave the row out.")
    if limit := units.beyond(value, column.unit):
        raise InputError(where, limit, f'"{cell}"', "Correct it, or leave the row out.")
    return value


def _where(file: str, row: int, column: str) -> str:
    return f'{file}: row {row}, column "{column}"'
