"""Card as a document: cautions first, then the set-up, the shots and the comparison, sheet by sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from spotdwell.base.errors import InputError
from spotdwell.cards import words
from spotdwell.cards.card import Card, Shot
from spotdwell.cards.drawings import (
    key_drawing,
    map_drawing,
    map_scale,
    mark_drawing,
    scale_of,
    scale_text,
    shown_zones,
)
from spotdwell.document.model import Beside, Block, Cell, Column, Document, Frame, Picture, Row, Table, Text
from spotdwell.document.paper import HEIGHT, ROOM, fits

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


def document_of(card: Card) -> Document:
    """The card."""
    return _document(card, sheets_of(card))


def sheets_of(card: Card) -> tuple[Sheet, ...]:
    """The card's shots, sheet by sheet, in the order of firing: groups stay together where they can."""
    return tuple(_sheets(card))


def check_size(card: Card) -> None:
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


def _sheets(card: Card) -> Iterator[Sheet]:
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


def _fitting(card: Card, shots: Sequence[Shot]) -> int:
    """How many of `shots`, from the first, fit on a sheet; one at least."""
    low, high = 1, min(len(shots), int(HEIGHT / _ROW))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if _fits(card, shots[:middle]) else (low, middle - 1)
    return low


def _fits(card: Card, shots: Sequence[Shot]) -> bool:
    return fits(_document(card, [shots]))


def _document(card: Card, sheets: Sequence[Sequence[Shot]]) -> Document:
    return Document(
        words.title(card),
        tuple(tuple(_blocks(card, shots)) for shots in sheets),
        _TYPE,
        titled=True,
        blanks=("Date", "By"),
        foot=words.foot(card),
    )


def _blocks(card: Card, shots: Sequence[Shot]) -> Iterator[Block]:
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


def _shots(card: Card, shots: Sequence[Shot]) -> Table:
    heads = (*words.SHOT_HEADS, *words.SEEN_HEADS)
    rules = {5: 0.5, 9: 0.5, 10: 0.15, 11: 0.15, 12: 0.15}
    columns = tuple(
        Column(head, "center", width, rules.get(at, 0.0))
        for at, (head, width) in enumerate(zip(heads, _WIDTHS, strict=True))
    )
    over = tuple(zip(words.PARTS, (5, 4, 4), strict=True))
    return Table(columns, tuple(_rows(card, shots)), over, _ROW, framed=True)


def _rows(card: Card, shots: Sequence[Shot]) -> Iterator[Row]:
    group = None
    for at, shot in enumerate(shots):
        if shot.group != group:
            group = shot.group
            line = card.groups[group]
            more = " (goes on)" if shot.column > 1 else ""
            text = f"{line.letter}{more}   {line.heading}"
            yield Row((Cell(text, bold=True, span=len(_WIDTHS)),), heading=True)
        yield Row((*_set(card, shots, at), *_predicted(card, shot), *([Cell()] * 4)))


def _set(card: Card, shots: Sequence[Shot], at: int) -> Iterator[Cell]:
    bold = words.changed(card, shots, at)
    one = card.settings[shots[at].setting]
    yield Cell(str(shots[at].number), bold=True, large=True)
    yield Cell(card.place(shots[at]), bold=True)
    for name, text in one.texts.items():
        # The dial position is what is set, so it stands under the spot that it makes.
        main, _, dial = text.partition(" (")
        yield Cell(main, dial.removesuffix(")"), bold=name in bold)


def _predicted(card: Card, shot: Shot) -> Iterator[Cell]:
    mark = card.marks[shot.setting]
    if mark.failure:
        yield Cell(words.NO_PREDICTION, words.WHY, bold=True, span=4)
        return
    yield Cell(drawing=mark_drawing(mark, scale_of(card, _MARK), _MARK))
    for at, (main, second) in enumerate(words.mark_cells(mark)):
        yield Cell(main, second, bold=at == 2)


def _compared(card: Card, shots: Sequence[Shot]) -> Table:
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
