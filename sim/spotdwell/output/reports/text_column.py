"""Text column: headings, paragraphs, points and tables set one under another on a page of matplotlib."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from spotdwell.output.pictures.style import INK

LEADING = 1.32
"""Height of a line over the size of its type."""
_RULE = "#c4c4c4"
_SIDES = {"left": 0.0, "right": 1.0}


@lru_cache(maxsize=20_000)
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Width of `text` [in] in type of `size` [pt]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    prop = FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")
    width, _, _ = text_to_path.get_text_width_height_descent(text, prop, ismath=False)
    return float(width) / 72.0


def wrapped(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """`text` in lines no wider than `room` [in], broken at spaces, and inside a word only if it must be."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if width_of(longer, size, bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
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


@dataclass(frozen=True)
class Field:
    """A column of a table."""

    heading: str
    width: float
    """[in]."""
    side: str = "left"


class TextColumn:
    """A column of a page, filled from its top down; without a figure it only measures.

    Lengths are in inches, heights counted down from the page's upper edge.
    """

    def __init__(self, figure: Any, left: float, top: float, width: float, size: float) -> None:
        self.figure, self.left, self.width, self.size = figure, left, width, size
        self.at = top
        """Where the next line begins."""

    @property
    def line(self) -> float:
        """Height of a line."""
        return self.size * LEADING / 72.0

    def skip(self, lines: float) -> None:
        """Leave room for some lines."""
        self.at += lines * self.line

    def heading(self, text: str, size: float | None = None) -> None:
        """A title over what follows, with a rule above it."""
        self.skip(0.55)
        self._rule(self.at, INK, 0.8)
        self.skip(0.3)
        self.write(text, size or 1.12 * self.size, bold=True)
        self.skip(0.15)

    def write(
        self, text: str, size: float | None = None, bold: bool = False, colour: str = INK, indent: float = 0.0
    ) -> None:
        """A paragraph."""
        size = size or self.size
        for line in wrapped(text, self.width - indent, size, bold):
            self._put(line, indent, size, bold, colour)
            self.at += size * LEADING / 72.0

    def points(self, lines: Sequence[str]) -> None:
        """A list."""
        indent = 1.1 * self.size / 72.0
        for text in lines:
            self._put("–", 0.0, self.size, False, INK)
            self.write(text, indent=indent)

    def table_head(self, fields: Sequence[Field]) -> None:
        """Headings of a table, with a rule under them."""
        self._cells(fields, [one.heading for one in fields], bold=True)
        self._rule(self.at, INK, 0.6)
        self.skip(0.12)

    def table_row(self, fields: Sequence[Field], cells: Sequence[str], bold: bool = False) -> None:
        """A row of a table, whose cells wrap, with a faint rule under it."""
        self._cells(fields, cells, bold)
        self._rule(self.at + 0.006, _RULE, 0.4)
        self.skip(0.07)

    def _cells(self, fields: Sequence[Field], cells: Sequence[str], bold: bool) -> None:
        left, top, deepest = 0.0, self.at, self.at
        for one, text in zip(fields, cells, strict=True):
            at = top
            for part in text.split("\n"):
                for line in wrapped(part, one.width - 0.05, self.size, bold):
                    side = _SIDES[one.side]
                    self._put(line, left + side * (one.width - 0.05), self.size, bold, INK, one.side, at)
                    at += self.line
            deepest = max(deepest, at)
            left += one.width
        self.at = deepest

    def _put(
        self,
        text: str,
        indent: float,
        size: float,
        bold: bool,
        colour: str,
        side: str = "left",
        at: float | None = None,
    ) -> None:
        if self.figure is None:
            return
        width, height = self.figure.get_size_inches()
        top = self.at if at is None else at
        look: dict[str, Any] = {"fontsize": size, "fontweight": "bold" if bold else "normal", "color": colour}
        # All lines stand on one baseline, whatever letters they hold.
        baseline = 1.0 - (top + 0.98 * size / 72.0) / height
        x = (self.left + indent) / width
        self.figure.text(x, baseline, text, ha=side, va="baseline", parse_math=False, **look)

    def _rule(self, at: float, colour: str, weight: float) -> None:
        if self.figure is None:
            return
        from matplotlib.lines import Line2D

        width, height = self.figure.get_size_inches()
        across = [self.left / width, (self.left + self.width) / width]
        level = 1.0 - at / height
        self.figure.add_artist(Line2D(across, [level, level], color=colour, linewidth=weight))
