"""Paper: a sheet of A4 on which texts, lines and circles are put by millimetres from its upper left."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from spotdwell.output.cards.marks import Paint
from spotdwell.output.cards.sheets import HEIGHT, WIDTH
from spotdwell.output.pictures.style import INK

_INCH = 25.4
_POINT = _INCH / 72.0
"""[mm]."""
LEADING = 1.28
"""From line to line, in sizes of the type [-]."""
_RISE = 0.36
"""From the baseline to half the height of capitals, in sizes of the type [-]."""
_LEAST = 5.5
"""Size below which no text is shrunk to fit [pt]."""


class Paper:
    """A blank sheet in a new `figure` of matplotlib."""

    def __init__(self) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.figure: Any = Figure(figsize=(WIDTH / _INCH, HEIGHT / _INCH), facecolor="white")
        FigureCanvasAgg(self.figure)
        self._axes = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self._axes.set(xlim=(0.0, WIDTH), ylim=(HEIGHT, 0.0))
        self._axes.set_axis_off()

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        align: str = "left",
        room: float | None = None,
        colour: str = INK,
    ) -> None:
        """Write `text` with its middle at height `y`; in type smaller than `size` [pt] to fit into `room`."""
        if room is not None and (wide := width_of(text, size, bold)) > room:
            size = max(_LEAST, size * room / wide)
        several = "\n" in text
        self._axes.text(
            x,
            y if several else y + _RISE * size * _POINT,
            text,
            size=size,
            weight="bold" if bold else "normal",
            ha=align,
            va="center" if several else "baseline",
            color=colour,
            linespacing=1.1,
            parse_math=False,
        )

    def paragraph(self, x: float, y: float, width: float, head: str, text: str, size: float) -> float:
        """Write a bold `head` and `text` in lines of `width`; returns the height of the next line."""
        step, start = LEADING * size * _POINT, width_of(f"{head}  ", size, True) if head else 0.0
        self.text(x, y, head, size, bold=True)
        for number, line in enumerate(broken(text, width, size, start)):
            self.text(x + (start if number == 0 else 0.0), y, line, size)
            y += step
        return y

    def line(self, x: tuple[float, float], y: tuple[float, float], width: float = 0.25) -> None:
        """Draw a line of `width` between two points."""
        self._axes.plot(x, y, color=INK, linewidth=width / _POINT, solid_capstyle="butt")

    def box(
        self, x: float, y: float, wide: float, high: float, width: float = 0.3, fill: str = "none"
    ) -> None:
        """Draw a frame with lines of `width`; its upper left corner is at `x`, `y`."""
        from matplotlib.patches import Rectangle

        line = width / _POINT
        edge = INK if width else "none"
        self._axes.add_patch(Rectangle((x, y), wide, high, facecolor=fill, edgecolor=edge, linewidth=line))

    def circle(self, x: float, y: float, diameter: float, paint: Paint) -> None:
        """Draw a zone around a point."""
        from matplotlib.patches import Circle

        self._axes.add_patch(
            Circle(
                (x, y),
                0.5 * diameter,
                facecolor=paint.fill,
                edgecolor=paint.line,
                linewidth=paint.width / _POINT,
                linestyle=(0.0, (3.0, 2.0)) if paint.dashed else "solid",
            )
        )


def broken(text: str, width: float, size: float, first: float = 0.0) -> list[str]:
    """Lines of `text` that fit into `width` [mm]; the first begins `first` later."""
    lines, room = [""], width - first
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer, size) > room:
            lines.append(word)
            room = width
        else:
            lines[-1] = longer
    return lines


@lru_cache(maxsize=4096)
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width of the widest line of `text` [mm] at `size` [pt]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")
    widths = (
        text_to_path.get_text_width_height_descent(line, font, ismath=False)[0] for line in text.split("\n")
    )
    return float(max(widths)) * _POINT
