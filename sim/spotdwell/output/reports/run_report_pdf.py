"""The report of a run as PDF: one A4 page, and the sources of the material values on the pages after it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from spotdwell.output.pictures.style import SHEETS, type_of, typeset
from spotdwell.output.reports.report_sheet import (
    END,
    GREY,
    HEIGHT,
    MARGIN,
    SIZE,
    SMALL,
    TEXT,
    TOP,
    blank_page,
    number_page,
    text_column,
    write_list,
)
from spotdwell.output.reports.run_report import RunReport
from spotdwell.output.reports.run_report_drawing import (
    BAR_HEIGHT,
    PICTURE_HEIGHT,
    TYPE,
    bar_caption,
    paint_energy,
    paint_pictures,
)
from spotdwell.output.reports.run_report_rows import (
    ABSENT,
    LAYER_HEADINGS,
    cost_text,
    energy_cells,
    energy_lines,
    interval_note,
    layer_cells,
    lists_of,
    measure_lines,
    sentence,
    setting_cells,
    verdict_sentences,
    versions_text,
)
from spotdwell.output.reports.run_report_sources import SourcePages
from spotdwell.output.reports.text_column import Field, TextColumn, width_of
from spotdwell.output.whole_file import whole_bytes

_LEFT, _LEFT_WITH_INTERVALS, _GAP = 0.56, 0.61, 0.25
"""Widths of the left column over the text's, and gap between the columns [in]."""
_LEAST_PICTURE, _MOST_PICTURE = 1.85, 1.25 * PICTURE_HEIGHT
"""Height below which the picture would be hard to read, and above which it would gain nothing [in]."""
_MOVED = ((), ("grid",), ("assumptions",), ("grid", "assumptions"), ("grid", "cautions", "assumptions"))
"""Lists that go to the second page where the first is full, the first choice first."""


def write_pdf(report: RunReport, path: Path) -> None:
    """Write the report to `path`, whole or not at all, the same to the byte for the same report.

    Raises RunError where it cannot be written.
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    look = type_of(SHEETS["page"]) | {"font.size": TYPE}
    about = {
        "CreationDate": None,
        "Creator": "spotdwell",
        "Title": typeset(report.result.title),
        "Subject": "report of a run",
    }
    with rc_context(look), whole_bytes(path) as temporary, PdfPages(temporary, metadata=about) as file:
        pages = list(_pages(report))
        for number, page in enumerate(pages, 1):
            number_page(page, f"page {number} of {len(pages)}")
            file.savefig(page)


def _pages(report: RunReport) -> Iterator[Any]:
    """The pages as figures of matplotlib."""
    first = next((one for moved in _MOVED if (one := _FirstPage(report, moved)).fits), None)
    first = first or _FirstPage(report, _MOVED[-1])
    yield first.drawn()
    yield from SourcePages(report, first.moved).pages


class _FirstPage:
    """The first page without the lists `moved` to the next; the picture takes the room that texts leave."""

    def __init__(self, report: RunReport, moved: tuple[str, ...]) -> None:
        self._report = report
        self.moved = moved
        self._lists = {name: one for name, one in lists_of(report).items() if name not in moved}
        self._room = END - self._written(None, 0.0)

    @property
    def fits(self) -> bool:
        """Whether the picture is large enough to be read."""
        return self._room >= _LEAST_PICTURE

    def drawn(self) -> Any:
        """The page as a figure."""
        page = blank_page()
        self._written(page, min(max(self._room, _LEAST_PICTURE), _MOST_PICTURE))
        return page

    def _written(self, page: Any, height: float) -> float:
        """Write all, with a picture of `height` [in], and return where it ends; measure it without a page."""
        column = text_column(page, TOP)
        _opening(column, self._report)
        if page is not None:
            place = MARGIN, HEIGHT - column.at - height, TEXT, height
            paint_pictures(page, self._report.result, place)
        column.at += height
        column.skip(0.4)
        top = column.at
        left = (_LEFT_WITH_INTERVALS if self._report.intervals else _LEFT) * (TEXT - _GAP)
        measures = TextColumn(page, MARGIN, top, left, SIZE)
        _measures(measures, self._report)
        aside = TextColumn(page, MARGIN + left + _GAP, top, TEXT - _GAP - left, SIZE)
        _energies(aside, self._report)
        for name in ("grid", "cautions"):
            self._list(aside, name)
        column.at = max(measures.at, aside.at)
        self._list(column, "assumptions")
        _closing(column, self._report)
        return column.at

    def _list(self, column: TextColumn, name: str) -> None:
        if name in self._lists:
            write_list(column, *self._lists[name])


def _opening(column: TextColumn, report: RunReport) -> None:
    """Title, what it is about, the setting in cells, and the verdict with its reasons."""
    column.write(typeset(report.result.title), 13.0, bold=True)
    if report.about:
        column.write(sentence(report.about), colour=GREY)
    column.skip(0.35)
    _setting(column, report)
    column.heading(f"Verdict: {report.result.verdict.word}", 11.0)
    column.points(verdict_sentences(report))
    column.skip(0.5)


def _setting(column: TextColumn, report: RunReport) -> None:
    """The setting as one row of a table, its columns as wide as their texts ask."""
    cells = setting_cells(report.result)
    if not cells:
        return
    wanted = [max(width_of(name, SIZE, True), width_of(text, SIZE)) + 0.2 for name, text in cells]
    scale = column.width / sum(wanted)
    fields = [Field(name, scale * width) for (name, _), width in zip(cells, wanted, strict=True)]
    column.table_head(fields)
    column.table_row(fields, [text for _, text in cells])


def _measures(column: TextColumn, report: RunReport) -> None:
    column.heading("Measures")
    spans = report.intervals is not None
    widths = (0.97 if spans else 0.0), 0.5, 0.54
    fields = [
        Field("", column.width - sum(widths)),
        Field("value", widths[1], "right"),
        Field("unit", widths[2]),
        *([Field("5 % to 95 %", widths[0], "right")] if spans else []),
    ]
    column.table_head(fields)
    for line in measure_lines(report):
        cells = [line.meaning, line.value, line.unit, *([line.interval] if spans else [])]
        column.table_row(fields, cells)
    column.skip(0.4)
    share = 0.26 if spans else 0.2
    fields = [Field(LAYER_HEADINGS[0], (1.0 - 3.0 * share) * column.width)]
    fields += [Field(name, share * column.width, "right") for name in LAYER_HEADINGS[1:]]
    column.table_head(fields)
    for row in layer_cells(report):
        column.table_row(fields, row)
    column.skip(0.2)
    column.write(f"{ABSENT} {interval_note(report)}", SMALL, colour=GREY)


def _energies(column: TextColumn, report: RunReport) -> None:
    column.heading("Where the energy went")
    if column.figure is not None:
        place = (column.left, HEIGHT - column.at - BAR_HEIGHT, column.width, BAR_HEIGHT)
        paint_energy(column.figure, report.result, place)
    column.at += BAR_HEIGHT
    column.skip(0.3)
    fields = [
        Field("", 0.18),
        Field("", column.width - 1.22),
        Field("J", 0.54, "right"),
        Field("%", 0.5, "right"),
    ]
    column.table_head(fields)
    cells = energy_cells(report.result)
    for number, row in enumerate(cells, 1):
        column.table_row(fields, row, bold=number == len(cells))
    if caption := bar_caption(energy_lines(report.result)):
        column.write(caption, SMALL, colour=GREY)


def _closing(column: TextColumn, report: RunReport) -> None:
    """Safety and versions, over the whole width."""
    column.heading("Safety")
    column.write(report.danger, bold=True)
    column.write(" ".join(report.safety))
    column.skip(0.4)
    run = f"Computed by {versions_text(report.result)}. {cost_text(report.result)}"
    column.write(run, SMALL, colour=GREY)
