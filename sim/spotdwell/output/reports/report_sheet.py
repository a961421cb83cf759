"""Sheet of a report: an A4 page of matplotlib, its margins, type and columns of text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from spotdwell.output.reports.text_column import TextColumn

WIDTH, HEIGHT = 210.0 / 25.4, 297.0 / 25.4
MARGIN, TOP = 14.0 / 25.4, 11.0 / 25.4
TEXT = WIDTH - 2.0 * MARGIN
"""Width of the text [in]."""
END = HEIGHT - 10.0 / 25.4
"""Lowest edge of what is written [in from the top]."""
SIZE, SMALL = 7.4, 7.0
"""Of the type on the first page, and of sources and small print [pt]."""
GREY = "#5a5a5a"


def blank_page() -> Any:
    """An empty page as a figure of matplotlib."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.figure import Figure

    page = Figure(figsize=(WIDTH, HEIGHT), facecolor="white")
    FigureCanvasPdf(page)
    return page


def text_column(figure: Any, top: float, size: float = SIZE) -> TextColumn:
    """A column as wide as the text that begins at `top` [in]; without a figure it only measures."""
    return TextColumn(figure, MARGIN, top, TEXT, size)


def number_page(page: Any, text: str) -> None:
    """Write the page's number at its foot."""
    place = 1.0 - MARGIN / WIDTH, 5.5 / 25.4 / HEIGHT
    page.text(*place, text, ha="right", fontsize=SMALL, color=GREY)


def write_list(column: TextColumn, title: str, lines: Sequence[str]) -> None:
    """A heading and its points; nothing without any."""
    if lines:
        column.heading(title)
        column.points(lines)
