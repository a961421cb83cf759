"""Tables on paper: columns as wide as their texts ask, a piece for each row."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from spotdwell.document.model import Cell, Row, Table
from spotdwell.output.pictures.canvas import INCH, Canvas, width_of, wrapped

Write = Callable[[Canvas | None, float], float]

_POINT = INCH / 72.0
_LINE, _SMALL, _LARGE = 1.25, 0.8, 1.2
"""Height of a line over the size of its type, and sizes of second lines and large texts over the text's."""
_PAD, _RULE = 0.7, "#c4c4c4"
"""At either side of a text [mm], and colour of the line under a row."""
_SHRUNK = 0.8
"""To which a text that nearly fits, or a word that is too long, is made smaller rather than broken."""


def table_pieces(
    table: Table, x: float, width: float, size: float
) -> Iterator[tuple[Write, bool, Write | None]]:
    """For the heads and each row: how it is written, whether it stays with the next, what it repeats."""
    edges = [x]
    for one in _widths(table, width, size):
        edges.append(edges[-1] + one)
    bare = not any(column.heading for column in table.columns) and not table.over

    def head(canvas: Canvas | None, y: float) -> float:
        return y if bare else _heads(canvas, table, edges, y, size)

    yield head, True, None
    for row in table.rows:

        def write(canvas: Canvas | None, y: float, row: Row = row) -> float:
            return _row(canvas, table, row, edges, y, size)

        yield write, row.heading, head


def _widths(table: Table, width: float, size: float) -> list[float]:
    """Widths of the columns [mm], which fill `width`: none takes more than its texts ask while another lacks.

    Beyond its longest word, or its longest number, a column gets room by how long its texts are on average.
    """
    if all(column.width for column in table.columns):
        total = sum(column.width for column in table.columns)
        return [column.width * width / total for column in table.columns]
    asked, least, weight = zip(*(_asked(table, at, size) for at in range(len(table.columns))), strict=True)
    if sum(asked) <= width:
        return [one * width / sum(asked) for one in asked]
    found = list(least)
    open_ = set(range(len(found)))
    while open_ and (free := width - sum(found)) > 1e-6:
        total = sum(weight[at] for at in open_)
        for at in open_:
            found[at] = min(asked[at], found[at] + free * weight[at] / total)
        open_ = {at for at in open_ if found[at] < asked[at] - 1e-9}
    return [one * width / sum(found) for one in found]


def _asked(table: Table, at: int, size: float) -> tuple[float, float, float]:
    """What a column asks [mm]: to break no text, to break no word, and on average."""
    column = table.columns[at]
    cells = [row.cells[at] for row in table.rows if all(cell.span == 1 for cell in row.cells)]
    texts = [(column.heading, size, True)]
    texts += [(cell.text, size, cell.bold) for cell in cells]
    texts += [(cell.small, _SMALL * size, False) for cell in cells]
    whole = [width_of(*one) for one in texts]
    words = [width_of(word, one, bold) for text, one, bold in texts for word in text.split(" ")]
    most = max(whole)
    least = most if column.align == "right" else max(words)
    room = 2.0 * _PAD + 0.01
    return most + room, least + room, sum(whole) / len(cells or [1]) + 1.0


def _heads(canvas: Canvas | None, table: Table, edges: Sequence[float], y: float, size: float) -> float:
    top, at = y, 0
    for text, span in table.over:
        if canvas is not None:
            middle = 0.5 * (edges[at] + edges[at + span])
            canvas.text(middle, y + 0.6 * _LINE * size * _POINT, text, size, bold=True, align="center")
        at += span
    y += 1.2 * _LINE * size * _POINT if table.over else 0.0
    small = table.framed
    cells = [Cell(column.heading, bold=not small) for column in table.columns]
    end = _cells(canvas, table, cells, edges, y, _SMALL * size if small else size)
    if canvas is not None:
        canvas.line((edges[0], edges[-1]), (end, end), 0.4 if table.framed else 0.25)
        _borders(canvas, table, edges, top, end)
        if table.framed:
            canvas.line((edges[0], edges[-1]), (top, top), 0.5)
    return end


def _row(
    canvas: Canvas | None, table: Table, row: Row, edges: Sequence[float], y: float, size: float
) -> float:
    height = 0.0 if row.heading else table.height
    end = _cells(None, table, row.cells, edges, y, size, height)
    if canvas is None:
        return end
    if row.heading and table.framed:
        canvas.box(edges[0], y, edges[-1] - edges[0], end - y, 0.0, "#e6e6e6")
    if row.flagged:
        canvas.line((edges[0] - 1.2,) * 2, (y + 0.4, end - 0.4), 0.7)
    _cells(canvas, table, row.cells, edges, y, size, height)
    if table.framed:
        canvas.line((edges[0], edges[-1]), (end, end), 0.5 if row is table.rows[-1] else 0.15)
        _borders(canvas, table, edges, y, end, row)
    else:
        canvas.line((edges[0], edges[-1]), (end, end), 0.15, _RULE)
    return end


def _borders(
    canvas: Canvas, table: Table, edges: Sequence[float], top: float, end: float, row: Row | None = None
) -> None:
    """Lines at both sides of a framed row, and those that its columns ask for, but not through a cell."""
    if not table.framed:
        return
    spans = [span for _, span in table.over] if row is None else [cell.span for cell in row.cells]
    starts = {sum(spans[:at]) for at in range(len(spans) + 1)}
    rules = [0.5, *(column.rule for column in table.columns[1:]), 0.5]
    for at, (edge, rule) in enumerate(zip(edges, rules, strict=True)):
        if rule and at in starts:
            canvas.line((edge, edge), (top, end), rule)


def _cells(
    canvas: Canvas | None,
    table: Table,
    cells: Sequence[Cell],
    edges: Sequence[float],
    y: float,
    size: float,
    height: float | None = None,
) -> float:
    """Write cells side by side; returns where the highest ends.

    In rows of a least `height` they are centred and made to fit; headings, which have none, are broken.
    """
    set_, at = [], 0
    for cell in cells:
        room = edges[at + cell.span] - edges[at] - 2.0 * _PAD
        set_.append((cell, at, _broken(cell, room, size, table.framed and height is not None)))
        at += cell.span
    high = max((sum(_LINE * one * _POINT for _, one, _ in lines) for _, _, lines in set_), default=0.0)
    high = max(high + 0.2 * size * _POINT, height or 0.0)
    if canvas is None:
        return y + high
    for cell, at, lines in set_:
        left, right = edges[at] + _PAD, edges[at + cell.span] - _PAD
        left += 0.8 if table.framed and table.columns[at].align == "left" else 0.0
        align = table.columns[at].align if cell.span == 1 or height else "left"
        x = {"left": left, "right": right, "center": 0.5 * (left + right)}[align]
        level = y + 0.1 * size * _POINT
        if height:
            level = y + 0.5 * (high - sum(_LINE * one * _POINT for _, one, _ in lines))
        for text, one, bold in lines:
            if text:
                canvas.text(x, level + 0.5 * _LINE * one * _POINT, text, one, bold=bold, align=align)
            level += _LINE * one * _POINT
        if cell.drawing is not None:
            wide, deep = cell.drawing.width, cell.drawing.height
            figure = canvas.axes.figure
            bottom = figure.get_size_inches()[1] - (y + 0.5 * (high + deep)) / INCH
            start = 0.5 * (left + right - wide) if not cell.text else left
            cell.drawing.paint(figure, (start / INCH, bottom, wide / INCH, deep / INCH))
    return y + high


def _broken(cell: Cell, room: float, size: float, fits: bool) -> list[tuple[str, float, bool]]:
    """Lines of a cell, each with its size [pt] and whether it is bold."""
    large = (_LARGE if cell.large else 1.0) * size
    texts = [(cell.text, large, cell.bold), *([(cell.small, _SMALL * size, False)] if cell.small else [])]
    lines = []
    for text, one, bold in texts:
        fitted = _fitted(text, room, one, bold, fits)
        lines += [(line, fitted, bold) for line in wrapped(text, room, fitted, bold)]
    return lines


def _fitted(text: str, room: float, size: float, bold: bool, whole: bool) -> float:
    """Size of the type in which the `whole` text, or else its longest word, fits into `room` [mm]."""
    longest = max(width_of(word, size, bold) for word in text.split(" "))
    for wide in (width_of(text, size, bold), longest) if whole else (longest,):
        if _SHRUNK * wide <= room:
            return size * min(1.0, room / (wide + 0.01))
    return size
