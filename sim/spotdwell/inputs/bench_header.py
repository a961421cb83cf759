"""The header line of a file of bench measurements: which column is which, and in what unit."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass

from spotdwell.base import units
from spotdwell.base.errors import InputError

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
