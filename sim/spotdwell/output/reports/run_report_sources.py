"""Pages of a run's report that list the material values with their sources."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from spotdwell.output.pictures.style import typeset
from spotdwell.output.reports.report_sheet import END, SMALL, TEXT, TOP, blank_page, text_column, write_list
from spotdwell.output.reports.run_report import MaterialValue, RunReport
from spotdwell.output.reports.run_report_rows import lists_of, quantity_text, source_text
from spotdwell.output.reports.text_column import Field, TextColumn


class SourcePages:
    """The pages of material values; a row that does not fit begins the next page.

    Before them stand the lists that were `moved` here from the first page, by their names in `lists_of`.
    """

    _PROPERTY, _VALUE = 1.3, 1.42
    """Widths of the first two columns [in]."""

    def __init__(self, report: RunReport, moved: Sequence[str] = ()) -> None:
        self._fields = [
            Field("property", self._PROPERTY),
            Field("value, basis and range", self._VALUE),
            Field("source", TEXT - self._PROPERTY - self._VALUE),
        ]
        self.pages: list[Any] = []
        self._column = self._next()
        for name in moved:
            write_list(self._column, *lists_of(report)[name])
        for material in report.materials:
            self._add(material.title, material.values)

    def _next(self) -> TextColumn:
        self.pages.append(blank_page())
        return text_column(self.pages[-1], TOP, SMALL)

    def _add(self, title: str, values: Sequence[MaterialValue]) -> None:
        if self._column.at > END - 1.0:
            self._column = self._next()
        self._head(f"{typeset(title)}: the values that this run used, and where they come from")
        for value in values:
            if self._column.at + self._height(value) > END:
                self._column = self._next()
                self._head(f"{typeset(title)}, continued")
            self._column.table_row(self._fields, _cells(value))

    def _head(self, title: str) -> None:
        self._column.heading(title)
        self._column.table_head(self._fields)

    def _height(self, value: MaterialValue) -> float:
        trial = text_column(None, 0.0, SMALL)
        trial.table_row(self._fields, _cells(value))
        return trial.at


def _cells(value: MaterialValue) -> tuple[str, str, str]:
    span = f"\n{value.range}" if value.range else ""
    figures = quantity_text(f"{value.value}, {value.basis}{span}")
    return typeset(value.property), figures, source_text(value.source)
