"""Canvas: a sheet or a drawing on which texts, lines, boxes and circles are put by mm from its upper left."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from spotdwell.output.pictures.style import INK, type_of
from spotdwell.output.whole_file import MAKER, whole_bytes

INCH = 25.4
"""[mm]."""
_POINT = INCH / 72.0
"""[mm]."""
_RISE = 0.36
"""From the baseline to half the height of capitals, in sizes of the type [-]."""
_NAMES = re.compile(r'\sid="([^"]*)"')

Place = tuple[float, float, float, float]
"""Left, bottom, width and height in a figure [in]."""
Paint = Callable[[Any, Place], None]
"""Paints a place of a figure of matplotlib."""


class Canvas:
    """A `place` [in] of `figure`, all of it if left out, measured in mm from its upper left."""

    def __init__(self, figure: Any, place: Place | None = None) -> None:
        total = figure.get_size_inches()
        left, bottom, width, height = place or (0.0, 0.0, *total)
        self.axes = figure.add_axes((left / total[0], bottom / total[1], width / total[0], height / total[1]))
        self.axes.set(xlim=(0.0, width * INCH), ylim=(height * INCH, 0.0))
        self.axes.set_axis_off()

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: str = "left",
        colour: str = INK,
    ) -> None:
        """Write one line of `size` [pt] with the middle of its capitals at height `y`."""
        look = {"size": size, "weight": "bold" if bold else "normal", "color": colour}
        self.axes.text(x, y + _RISE * size * _POINT, text, ha=align, va="baseline", parse_math=False, **look)

    def line(self, x: Sequence[float], y: Sequence[float], width: float = 0.25, colour: str = INK) -> None:
        """Draw a line of `width` through points."""
        self.axes.plot(x, y, color=colour, linewidth=width / _POINT, solid_capstyle="butt", clip_on=False)

    def box(
        self, x: float, y: float, wide: float, high: float, width: float = 0.3, fill: str = "none"
    ) -> None:
        """Draw a frame of lines of `width`, none for 0; its upper left corner is at `x`, `y`."""
        corners = (x, x + wide, x + wide, x), (y, y, y + high, y + high)
        look = {"facecolor": fill, "edgecolor": INK if width else "none", "clip_on": False, "zorder": 1}
        self.axes.fill(*corners, linewidth=width / _POINT, **look)

    def circle(self, x: float, y: float, diameter: float, **look: Any) -> None:
        """Draw a circle around a point, with the properties of a patch of matplotlib."""
        from matplotlib.patches import Circle

        self.axes.add_patch(Circle((x, y), 0.5 * diameter, **look))


@lru_cache(maxsize=20_000)
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width of `text` [mm] in type of `size` [pt]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")
    width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width) * _POINT


def wrapped(text: str, room: float, size: float, bold: bool = False, first: float = 0.0) -> list[str]:
    """`text` in lines no wider than `room` [mm], broken at spaces, and inside a word only if it must be.

    The first line begins `first` [mm] later.
    """
    lines: list[str] = []
    line, free = "", room - first
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if width_of(longer, size, bold) <= free:
            line = longer
            continue
        if line or (first and not lines):
            lines.append(line)
            free = room
        *whole, line = _pieces(word, room, size, bold)
        lines += whole
    return [*lines, line]


def _pieces(word: str, room: float, size: float, bold: bool) -> list[str]:
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_of(pieces[-1] + letter, size, bold) > room:
            pieces.append("")
        pieces[-1] += letter
    return pieces


def blank(width: float, height: float) -> Any:
    """An empty figure of matplotlib of a size in mm."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width / INCH, height / INCH), facecolor="white")
    FigureCanvasAgg(figure)
    return figure


def svg_of(width: float, height: float, paint: Paint, type_size: float) -> str:
    """A drawing of a size in mm as SVG text, the same for the same drawing."""
    from matplotlib import rc_context

    text = io.StringIO()
    with rc_context(type_of() | {"font.size": type_size}):
        figure = blank(width, height)
        paint(figure, (0.0, 0.0, width / INCH, height / INCH))
        figure.savefig(text, format="svg", metadata={"Date": None})
    # Two drawings on a page would share the names of parts that nothing refers to.
    svg = text.getvalue()
    return _NAMES.sub(lambda found: found[0] if f"#{found[1]}" in svg else "", svg)


def write_pages(path: Path, make: Callable[[], Sequence[Any]], title: str, type_size: float) -> None:
    """Write the figures that `make` gives as PDF, whole or not at all, the same to the byte every time.

    Raises RunError where it cannot be written.
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    look = type_of() | {"font.size": type_size}
    about = {"CreationDate": None, "Creator": MAKER, "Title": title}
    with rc_context(look), whole_bytes(path) as temporary, PdfPages(temporary, metadata=about) as file:
        for figure in make():
            file.savefig(figure)
