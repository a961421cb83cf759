"""Paper: a document set on sheets of A4, block under block, by one typesetter for all documents.

Every block is cut into pieces that stay whole. A piece knows how to write itself, and without a page only
how high it is: what is measured is what is written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from spotdwell.document.model import (
    Beside,
    Block,
    Document,
    Files,
    Frame,
    Picture,
    Points,
    Section,
    Table,
    Text,
)
from spotdwell.document.paper_table import table_pieces
from spotdwell.output.pictures.canvas import INCH, Canvas, blank, width_of, wrapped, write_pages
from spotdwell.output.pictures.style import INK

WIDTH, HEIGHT, MARGIN = 210.0, 297.0, 11.0
"""Of a sheet, and on every side of it [mm]."""
ROOM = WIDTH - 2.0 * MARGIN
"""Width of the text [mm]."""
END = HEIGHT - MARGIN - 1.0
"""Where a page is full [mm from its top]; the foot stands below."""
LEADING = 1.3
"""Height of a line over the size of its type."""
GREY = "#4a4a4a"
_HEADINGS = {2: 1.25, 3: 1.1, 4: 1.05}
"""Size of a heading over that of the text, by its level."""
_TITLE, _SMALL, _GAP = 1.8, 0.85, 5.0
"""Size of title and small print over that of the text; gap between blocks side by side [mm]."""
_POINT = INCH / 72.0


@dataclass(frozen=True)
class Piece:
    """What stays on one page."""

    write: Callable[[Canvas | None, float], float]
    """Writes it from a height on, on no canvas not at all, and returns where it ends [mm]."""
    keep: bool = False
    """Whether it stays with the piece after it."""
    again: Piece | None = None
    """What is written before it where it begins a page."""

    @property
    def height(self) -> float:
        """What it takes [mm]."""
        return self.write(None, 0.0)


def write_pdf(document: Document, path: Path) -> None:
    """Write `document` as PDF, whole or not at all, the same to the byte for the same document.

    Raises RunError where it cannot be written.
    """
    write_pages(path, lambda: pages(document), document.title, document.type_size)


def pages(document: Document) -> list[Any]:
    """Pages of `document` as figures of matplotlib."""
    sets = [_sheet_pages(document, number) for number in range(len(document.sheets))]
    figures = []
    for canvas, figure in (page for sheet in sets for page in sheet):
        figures.append(figure)
        size, count = _SMALL * document.type_size, sum(map(len, sets))
        number = f"page {len(figures)} of {count}" if count > 1 else ""
        for text, x, align in ((document.foot, MARGIN, "left"), (number, WIDTH - MARGIN, "right")):
            if text:
                canvas.text(x, HEIGHT - 7.0, text, size, align=align, colour=GREY)
    return figures


def fits(document: Document) -> bool:
    """Whether every sheet of `document` takes one page."""
    return all(
        sum(piece.height for piece in _sheet(document, at)) <= END - MARGIN
        for at in range(len(document.sheets))
    )


def _sheet_pages(document: Document, number: int) -> list[tuple[Canvas, Any]]:
    pieces = _sheet(document, number)
    made: list[tuple[Canvas, Any]] = []
    y = END
    while pieces:
        stay = next((at for at, piece in enumerate(pieces) if not piece.keep), len(pieces) - 1) + 1
        whole, pieces = pieces[:stay], pieces[stay:]
        if y + sum(piece.height for piece in whole) > END and y > MARGIN:
            figure = blank(WIDTH, HEIGHT)
            made.append((Canvas(figure), figure))
            y = MARGIN
            if len(made) > 1 and whole[0].again:
                y = whole[0].again.write(made[-1][0], y)
        for piece in whole:
            y = piece.write(made[-1][0], y)
    return made


def _sheet(document: Document, number: int) -> list[Piece]:
    """Pieces of a sheet; pictures that may be lower or higher take the room that the rest leaves."""
    blocks = document.sheets[number]
    titled = [_title(document)] if number == 0 or document.titled else []
    pieces = [*titled, *_pieces(blocks, MARGIN, ROOM, document.type_size)]
    # A little less than all: sums are rounded.
    free = END - MARGIN - sum(piece.height for piece in pieces) - 0.1
    stretched = [_stretched(block, free) for block in blocks]
    return [*titled, *_pieces(stretched, MARGIN, ROOM, document.type_size)]


def _stretched(block: Block, free: float) -> Block:
    if isinstance(block, Section):
        return replace(block, blocks=tuple(_stretched(one, free) for one in block.blocks))
    if not isinstance(block, Picture) or block.least is None:
        return block
    high = block.drawing.height
    height = min(max(high + free, block.least), 2.0 * high - block.least)
    return replace(block, drawing=replace(block.drawing, height=height))


def _pieces(blocks: Sequence[Block], x: float, width: float, size: float) -> Iterator[Piece]:
    for block in blocks:
        match block:
            case Text():
                yield Piece(partial(_text, block, x, width, size))
            case Points(lines):
                yield from (Piece(partial(_point, line, x, width, size)) for line in lines)
                yield _space(0.2 * size)
            case Picture():
                yield Piece(partial(_picture, block, x, width, size))
            case Table():
                for write, keep, again in table_pieces(block, x, width, size):
                    yield Piece(write, keep, Piece(again) if again else None)
                yield _space(0.25 * size)
            case Section(title, inner, level):
                yield Piece(partial(_heading, title, x, width, _HEADINGS[level] * size), keep=True)
                yield from _pieces(inner, x, width, size)
            case Beside(left, right, share):
                yield from _beside(left, right, share, x, width, size)
            case Frame(title, inner):
                yield _frame(title, inner, x, width, size)
            case Files(files):
                yield from _pieces([Text(name, words) for name, words in files], x, width, size)


def _together(pieces: Sequence[Piece]) -> Piece:
    def write(canvas: Canvas | None, y: float) -> float:
        for piece in pieces:
            y = piece.write(canvas, y)
        return y

    return Piece(write)


def _beside(
    left: Sequence[Block], right: Sequence[Block], share: float, x: float, width: float, size: float
) -> list[Piece]:
    """Both sides as one piece, or one under the other where that is higher than a page."""
    first = share * (width - _GAP)
    sides = [
        _together(list(_pieces(left, x, first, size))),
        _together(list(_pieces(right, x + first + _GAP, width - first - _GAP, size))),
    ]
    if max(side.height for side in sides) > END - MARGIN:
        return list(_pieces([*left, *right], x, width, size))
    return [Piece(lambda canvas, y: max(side.write(canvas, y) for side in sides))]


def _frame(title: str, blocks: Sequence[Block], x: float, width: float, size: float) -> Piece:
    inner = _together(list(_pieces(blocks, x + 3.0, width - 6.0, size)))

    def write(canvas: Canvas | None, y: float) -> float:
        end = inner.write(canvas, _lines(canvas, [title], x + 3.0, y + 1.2, 1.3 * size, True)) + 1.0
        if canvas is not None:
            canvas.box(x, y, width, end - y, 0.8)
        return end + 2.0

    return Piece(write)


def _space(points: float) -> Piece:
    return Piece(lambda canvas, y: y + points * _POINT)


def _lines(
    canvas: Canvas | None,
    lines: Sequence[str],
    x: float,
    y: float,
    size: float,
    bold: bool = False,
    colour: str = INK,
) -> float:
    step = LEADING * size * _POINT
    for line in lines:
        if canvas is not None and line:
            canvas.text(x, y + 0.5 * step, line, size, bold=bold, colour=colour)
        y += step
    return y


def _title(document: Document) -> Piece:
    size = _TITLE * document.type_size
    taken = sum(42.0 for _ in document.blanks)

    def write(canvas: Canvas | None, y: float) -> float:
        end = _lines(canvas, wrapped(document.title, ROOM - taken, size, True), MARGIN, y, size, True)
        for at, name in enumerate(document.blanks):
            left, level = (
                WIDTH - MARGIN - 42.0 * (len(document.blanks) - at) + 3.0,
                y + LEADING * size * _POINT,
            )
            if canvas is not None:
                canvas.text(left, level - 1.5, name, document.type_size)
                canvas.line((left + 10.0, left + 39.0), (level, level))
        return end + 1.5

    return Piece(write)


def _heading(title: str, x: float, width: float, size: float, canvas: Canvas | None, y: float) -> float:
    y += 0.45 * size * _POINT
    if canvas is not None:
        canvas.line((x, x + width), (y, y), 0.3)
    y = _lines(canvas, wrapped(title, width, size, True), x, y + 0.2 * size * _POINT, size, True)
    return y + 0.1 * size * _POINT


def _text(block: Text, x: float, width: float, size: float, canvas: Canvas | None, y: float) -> float:
    if block.strong:
        lines = wrapped(block.text, width - 4.0, size, True)
        end = _lines(canvas, lines, x + 2.0, y + 0.8, size, True) + 0.8
        if canvas is not None:
            canvas.box(x, y, width, end - y, 0.5)
        return end + 1.0
    size, colour = (_SMALL * size, GREY) if block.small else (size, INK)
    head = f"{block.head}  " if block.head else ""
    start = width_of(head, size, True) if head else 0.0
    _lines(canvas, [head], x, y, size, True)
    first, *rest = wrapped(block.text, width, size, False, start)
    _lines(canvas, [first], x + start, y, size, colour=colour)
    end = _lines(canvas, rest, x, y + LEADING * size * _POINT, size, colour=colour)
    return end + 0.12 * size * _POINT


def _point(line: str, x: float, width: float, size: float, canvas: Canvas | None, y: float) -> float:
    indent = 1.1 * size * _POINT
    _lines(canvas, ["–"], x, y, size)
    return _lines(canvas, wrapped(line, width - indent, size), x + indent, y, size)


def _picture(block: Picture, x: float, width: float, size: float, canvas: Canvas | None, y: float) -> float:
    drawing = block.drawing
    wide = min(drawing.width, width) if block.own_size else width
    left = x + width - wide if block.own_size else x
    if canvas is not None:
        place = left / INCH, (HEIGHT - y - drawing.height) / INCH, wide / INCH, drawing.height / INCH
        drawing.paint(canvas.axes.figure, place)
    y += drawing.height
    for line in wrapped(block.caption, width, _SMALL * size) if block.caption else []:
        align, at = ("right", x + width) if block.own_size else ("left", x)
        step = LEADING * _SMALL * size * _POINT
        if canvas is not None:
            canvas.text(at, y + 0.5 * step, line, _SMALL * size, align=align, colour=GREY)
        y += step
    return y + 0.3 * size * _POINT
