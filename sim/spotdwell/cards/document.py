"""A card as a document, with its drawings."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from spotdwell.base.errors import InputError
from spotdwell.cards import words
from spotdwell.cards.card import Mark, Plan, Shot, write_csv
from spotdwell.document.model import (
    Beside,
    Block,
    Cell,
    Column,
    Document,
    Drawing,
    Frame,
    Picture,
    Row,
    Table,
    Text,
)
from spotdwell.document.paper import HEIGHT, ROOM, fits, write_pdf
from spotdwell.document.printed import write_html
from spotdwell.output.pictures.canvas import INCH, Canvas, Place, width_of
from spotdwell.output.pictures.style import FAINT, INK

_ENLARGED = (20.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""Scales that a ruler on the paper still tells."""
_REDUCED = (2.0, 1.0, 0.5, 0.2, 0.1, 0.05)
_MAP = 60.0, 26.0
"""Room for the map [mm]."""
_EDGE, _TOP, _TYPE = 6.0, 5.0, 7.5
"""Room for its letters on the left and its numbers above [mm], and their size [pt]."""


@dataclass(frozen=True)
class Paint:
    """How a zone is drawn."""

    name: str
    fill: str
    width: float
    """Of its line [mm]."""
    dashed: bool = False


ZONES = {
    "coagulation": Paint("coagulated", "#e3e3e3", 0.18, dashed=True),
    "dried": Paint("dried", "#b5b5b5", 0.15),
    "char": Paint("char", INK, 0.15),
    "crater": Paint("crater", "#ffffff", 0.4),
}
"""From the outermost to the innermost."""


def circles(mark: Mark) -> Iterator[tuple[Paint, float]]:
    """Paint and diameter [m] of each zone that the mark shows, from the outermost."""
    if mark.failure:
        return
    for zone, paint in ZONES.items():
        diameter = mark.width if zone == "crater" else mark.diameter(zone)
        if diameter > 0.0:
            yield paint, diameter


def shown_zones(card: Plan) -> list[Paint]:
    """Paints of the zones that some mark of the card shows, from the innermost."""
    shown = {paint.name for mark in card.marks for paint, _ in circles(mark)}
    return [paint for paint in reversed(ZONES.values()) if paint.name in shown]


def scale_of(card: Plan, room: float) -> float:
    """By how much the marks are drawn larger than life so that the widest fits into `room` [mm]."""
    widest = max((mark.seen for mark in card.marks if not mark.failure), default=0.0) * 1e3
    return next((one for one in _ENLARGED if widest * one <= room), _ENLARGED[-1])


def map_scale(card: Plan) -> float:
    """By how much the map is drawn larger than life so that the piece fits its room."""
    wide, high = (1e3 * one for one in card.piece)
    return next((one for one in _REDUCED if wide * one <= _MAP[0] and high * one <= _MAP[1]), _REDUCED[-1])


def scale_text(scale: float) -> str:
    """In words, such as "5 times life size"."""
    if scale == 1.0:
        return "life size"
    return f"{scale:g} times life size" if scale > 1.0 else f"1 : {1.0 / scale:g}"


def mark_drawing(mark: Mark, scale: float, room: float) -> Drawing:
    """The mark `scale` times life size, in a square of `room` [mm]."""
    shown = list(circles(mark))
    words = ", ".join(f"{paint.name} {1e3 * diameter:.2f} mm" for paint, diameter in shown)
    return _rings([(paint, 1e3 * scale * diameter) for paint, diameter in shown], room, words or "no mark")


def key_drawing(card: Plan, scale: float) -> Drawing:
    """A sample of each zone that some mark shows, with its name, and how large the marks are drawn."""
    zones, text = shown_zones(card), f"Marks drawn {scale_text(scale)}"
    starts, end = [], 0.0
    for paint in zones:
        starts.append(end)
        end += 9.0 + width_of(paint.name, _TYPE)

    def paint_all(figure: Any, place: Place) -> None:
        canvas = Canvas(figure, place)
        for start, paint in zip(starts, zones, strict=True):
            _ring(canvas, start + 2.5, 2.2, 3.4, paint)
            canvas.text(start + 5.2, 2.2, paint.name, _TYPE)
        canvas.text(end, 2.2, text, _TYPE)

    return Drawing(end + width_of(text, _TYPE), 4.4, paint_all, ", ".join(paint.name for paint in zones))


def map_drawing(card: Plan, shots: Sequence[Shot]) -> Drawing:
    """The piece seen from above with the number of the shot at each place; those of `shots` in black."""
    scale = map_scale(card)
    wide, high = (1e3 * scale * one for one in card.piece)
    step = 1e3 * scale * card.pitch
    here = {shot.number for shot in shots}

    def paint(figure: Any, place: Place) -> None:
        canvas = Canvas(figure, place)
        canvas.box(_EDGE, _TOP, wide, high, 0.25)
        for row, group in enumerate(card.groups):
            _fitted(canvas, _EDGE - 2.4, _TOP + (row + 0.5) * step, group.letter, 4.0, bold=True)
        for column in range(max(shot.column for shot in card.shots)):
            _fitted(canvas, _EDGE + (column + 0.5) * step, _TOP - 1.8, str(column + 1), 0.9 * step, bold=True)
        for shot in card.shots:
            x, y = _EDGE + (shot.column - 0.5) * step, _TOP + (shot.group + 0.5) * step
            colour = INK if shot.number in here else FAINT
            _fitted(canvas, x, y, str(shot.number), 0.8 * step, colour=colour)
            canvas.box(x - 0.46 * step, y - 0.46 * step, 0.92 * step, 0.92 * step, 0.1)

    return Drawing(wide + _EDGE + 0.5, high + _TOP + 0.5, paint, "places on the piece")


def _fitted(canvas: Canvas, x: float, y: float, text: str, room: float, **look: Any) -> None:
    """A text around a point, smaller where its `room` [mm] asks for it."""
    size = _TYPE * min(1.0, room / width_of(text, _TYPE))
    canvas.text(x, y, text, size, align="center", **look)


def _rings(rings: Sequence[tuple[Paint, float]], room: float, words: str) -> Drawing:
    def paint(figure: Any, place: Place) -> None:
        canvas = Canvas(figure, place)
        for one, diameter in rings:
            _ring(canvas, 0.5 * room, 0.5 * room, diameter, one)

    return Drawing(room, room, paint, words)


def _ring(canvas: Canvas, x: float, y: float, diameter: float, paint: Paint) -> None:
    dashes = (0.0, (3.0, 2.0)) if paint.dashed else "solid"
    look = {"linewidth": paint.width / INCH * 72.0, "linestyle": dashes}
    canvas.circle(x, y, diameter, facecolor=paint.fill, edgecolor=INK, **look)


MOST_SHEETS = 6
"""More are no card but a campaign. Our choice, no source."""
_ROW, _COMPARED, _MARK = 8.5, 4.6, 7.6
"""Least heights of a shot's line, which leaves room to write, and of a compared one; room for a mark [mm]."""
_TYPE = 9.0
"""[pt]."""
_WIDTHS = (8.0, 10.0, 13.5, 16.0, 15.5, 14.0, 20.0, 17.0, 19.5, 15.0, 14.0, 12.0, 14.0)
"""Of the columns of the table of shots."""
_SETTING, _CELL, _RATIO = 41.0, 16.4, 13.5
"""Widths of the columns of the second table [mm]."""

Sheet = tuple[Shot, ...]


def document_of(card: Plan) -> Document:
    """The card."""
    return _document(card, sheets_of(card))


def sheets_of(card: Plan) -> tuple[Sheet, ...]:
    """The card's shots, sheet by sheet, in the order of firing: groups stay together where they can."""
    return tuple(_sheets(card))


def check_size(card: Plan) -> None:
    """Raise InputError for a card of too many sheets, saying how many shots fit."""
    fit, first = 0, 0
    for number, sheet in enumerate(_sheets(card)):
        first = first or len(sheet)
        if number == MOST_SHEETS:
            got = (
                f"{len(card.shots)} shots, of which {first} fit on the first sheet and {fit} on {MOST_SHEETS}"
            )
            advice = "Give fewer values or repeats, or make several cards."
            raise InputError("settings", f"at most {MOST_SHEETS} sheets", got, advice)
        fit += len(sheet)


def _sheets(card: Plan) -> Iterator[Sheet]:
    left = list(card.shots)
    while left:
        count = _fitting(card, left)
        if count < len(left):
            # A group that does not fit goes to the next sheet whole, if it fits there.
            group = [at for at, shot in enumerate(left) if shot.group == left[count].group]
            if 0 < group[0] < count and _fits(card, [left[at] for at in group]):
                count = group[0]
        yield tuple(left[:count])
        left = left[count:]


def _fitting(card: Plan, shots: Sequence[Shot]) -> int:
    """How many of `shots`, from the first, fit on a sheet; one at least."""
    low, high = 1, min(len(shots), int(HEIGHT / _ROW))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if _fits(card, shots[:middle]) else (low, middle - 1)
    return low


def _fits(card: Plan, shots: Sequence[Shot]) -> bool:
    return fits(_document(card, [shots]))


def _document(card: Plan, sheets: Sequence[Sequence[Shot]]) -> Document:
    return Document(
        words.title(card),
        tuple(tuple(_blocks(card, shots)) for shots in sheets),
        _TYPE,
        titled=True,
        blanks=("Date", "By"),
        foot=words.foot(card),
    )


def _blocks(card: Plan, shots: Sequence[Shot]) -> Iterator[Block]:
    yield Frame(words.HEAD, tuple(Text(text, head) for head, text in words.cautions(card)))
    plan = map_drawing(card, shots)
    places = Picture(plan, f"Places, {scale_text(map_scale(card))}", own_size=True)
    set_up = tuple(Text(text, head) for head, text in words.set_up(card))
    yield Beside(set_up, (places,), 1.0 - (max(40.0, plan.width) + 5.0) / ROOM)
    if shown_zones(card):
        yield Picture(key_drawing(card, scale_of(card, _MARK)), own_size=True)
    yield _shots(card, shots)
    if card.tissue is not None:
        yield Text("", words.compare_title(card))
        yield _compared(card, shots)
    yield from (Text(line, small=True) for line in words.notes(card, shots))


def _shots(card: Plan, shots: Sequence[Shot]) -> Table:
    heads = (*words.SHOT_HEADS, *words.SEEN_HEADS)
    rules = {5: 0.5, 9: 0.5, 10: 0.15, 11: 0.15, 12: 0.15}
    columns = tuple(
        Column(head, "center", width, rules.get(at, 0.0))
        for at, (head, width) in enumerate(zip(heads, _WIDTHS, strict=True))
    )
    over = tuple(zip(words.PARTS, (5, 4, 4), strict=True))
    return Table(columns, tuple(_rows(card, shots)), over, _ROW, framed=True)


def _rows(card: Plan, shots: Sequence[Shot]) -> Iterator[Row]:
    group = None
    for at, shot in enumerate(shots):
        if shot.group != group:
            group = shot.group
            line = card.groups[group]
            more = " (goes on)" if shot.column > 1 else ""
            text = f"{line.letter}{more}   {line.heading}"
            yield Row((Cell(text, bold=True, span=len(_WIDTHS)),), heading=True)
        yield Row((*_set(card, shots, at), *_predicted(card, shot), *([Cell()] * 4)))


def _set(card: Plan, shots: Sequence[Shot], at: int) -> Iterator[Cell]:
    bold = words.changed(card, shots, at)
    one = card.settings[shots[at].setting]
    yield Cell(str(shots[at].number), bold=True, large=True)
    yield Cell(card.place(shots[at]), bold=True)
    for name, text in one.texts.items():
        # The dial position is what is set, so it stands under the spot that it makes.
        main, _, dial = text.partition(" (")
        yield Cell(main, dial.removesuffix(")"), bold=name in bold)


def _predicted(card: Plan, shot: Shot) -> Iterator[Cell]:
    mark = card.marks[shot.setting]
    if mark.failure:
        yield Cell(words.NO_PREDICTION, words.WHY, bold=True, span=4)
        return
    yield Cell(drawing=mark_drawing(mark, scale_of(card, _MARK), _MARK))
    for at, (main, second) in enumerate(words.mark_cells(mark)):
        yield Cell(main, second, bold=at == 2)


def _compared(card: Plan, shots: Sequence[Shot]) -> Table:
    heads = words.compare_heads(card)
    columns, start = [], 0
    for _, names in heads:
        for at, name in enumerate(names):
            width = _SETTING if not name else _RATIO if name == "ratio" else _CELL
            columns.append(
                Column(name, "center" if start else "left", width, 0.15 if start and not at else 0.0)
            )
        start += len(names)
    rows = tuple(
        Row(tuple(Cell(text, bold=at == 2) for at, text in enumerate(words.compare_cells(card, setting))))
        for setting in dict.fromkeys(shot.setting for shot in shots)
    )
    over = tuple((head, len(names)) for head, names in heads)
    return Table(tuple(columns), rows, over, _COMPARED, framed=True)


class Card(Plan):
    """A card of test shots that can be printed."""

    def __repr__(self) -> str:
        return f"<Card: {len(self.shots)} shots at {len(self.settings)} settings on {self.bench.title}>"

    def write_pdf(self, path: str | os.PathLike[str]) -> None:
        """Write the sheets to `path`, whole or not at all. Raises RunError where it cannot be written."""
        write_pdf(document_of(self), Path(path))

    def write_html(self, path: str | os.PathLike[str]) -> None:
        """Write the sheets as one page to `path`. Raises RunError where it cannot be written."""
        write_html(document_of(self), Path(path))

    def write_csv(self, path: str | os.PathLike[str]) -> None:
        """Write the table to be filled in to `path`. Raises RunError where it cannot be written."""
        write_csv(self, Path(path))
