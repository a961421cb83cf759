"""Test-shot card as PDF, one page a sheet: cautions first, then the set-up, the shots and the comparison."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from spotdwell.output.cards import words
from spotdwell.output.cards.card import Card, Shot
from spotdwell.output.cards.compared import compared_table
from spotdwell.output.cards.marks import circles, map_scale, places, scale_of, scale_text, shown_zones
from spotdwell.output.cards.paper import Paper
from spotdwell.output.cards.sheets import GROUP, HEIGHT, MARGIN, ROW, WIDTH, sheets_of
from spotdwell.output.pictures.style import FAINT, type_of
from spotdwell.output.whole_file import whole_bytes

_LEFT, _RIGHT = MARGIN, WIDTH - MARGIN
_BODY, _SMALL = 9.5, 7.5
"""Sizes of the type [pt]."""
_MAP = 64.0, 26.0
"""Room for the map of the places [mm]."""
_DRAWN = ROW - 0.9
"""Room for a mark [mm]."""
_COLUMNS = (9.0, 11.0, 14.5, 16.5, 14.5, 12.5, 20.0, 17.0, 18.5, 17.0, 15.0, 10.0, 14.5)
"""Widths of the table of shots [mm]."""
_HEADS = (*words.SHOT_HEADS, *words.SEEN_HEADS)
_PREDICTED, _SEEN = 5, 9
"""Columns from which the predictions and the blanks begin."""
_EDGES = [_LEFT + sum(_COLUMNS[:at]) for at in range(len(_COLUMNS) + 1)]
_PARTS = _EDGES[_PREDICTED], _EDGES[_SEEN]


def write_pdf(card: Card, path: str | os.PathLike[str]) -> None:
    """Write the sheets of `card` to `path`, whole or not at all. Raises RunError where it cannot be."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    about = {"CreationDate": None, "Creator": "spotdwell", "Title": words.title(card)}
    with (
        rc_context(type_of()),
        whole_bytes(Path(path)) as temporary,
        PdfPages(temporary, metadata=about) as pages,
    ):
        for figure in figures(card):
            pages.savefig(figure)


def figures(card: Card) -> list[Any]:
    """A figure of matplotlib for each sheet."""
    sheets = sheets_of(card)
    return [_page(card, sheets, number) for number in range(len(sheets))]


def _page(card: Card, sheets: Sequence[Sequence[Shot]], number: int) -> Any:
    paper, shots = Paper(), sheets[number]
    y = _title(paper, card, number, len(sheets))
    y = _cautions(paper, card, y)
    y = _set_up(paper, card, shots, y)
    y = _shots(paper, card, shots, y)
    if card.tissue is not None:
        y = compared_table(paper, card, shots, y + 2.5)
    y += 3.5
    for line in words.notes(card, shots):
        y = paper.paragraph(_LEFT, y, _RIGHT - _LEFT, "", line, _SMALL)
    paper.text(_LEFT, HEIGHT - 7.0, words.footer(card), _SMALL, colour="#4a4a4a")
    return paper.figure


def _title(paper: Paper, card: Card, number: int, count: int) -> float:
    text = words.title(card)
    paper.text(_LEFT, 14.5, text, 17.0, bold=True, room=104.0)
    if count > 1:
        paper.text(_RIGHT, 8.5, f"sheet {number + 1} of {count}", _SMALL, align="right")
    for place, name in ((118.0, "Date"), (158.0, "By")):
        paper.text(place, 16.0, name, _BODY)
        paper.line((place + 10.0, place + (37.0 if name == "Date" else 42.0)), (17.5, 17.5))
    return 20.5


def _cautions(paper: Paper, card: Card, y: float) -> float:
    """The cautions in a heavy frame; returns where it ends."""
    top, inner = y, _LEFT + 3.0
    paper.text(inner, y + 4.6, words.HEAD, 13.0, bold=True)
    y += 10.6
    for head, text in words.cautions(card):
        y = paper.paragraph(inner, y, _RIGHT - _LEFT - 6.0, head, text, _BODY)
    paper.box(_LEFT, top, _RIGHT - _LEFT, y - top - 0.6, 0.9)
    return y - 0.6


def _set_up(paper: Paper, card: Card, shots: Sequence[Shot], y: float) -> float:
    """How to set up on the left, the map on the right; returns where both end."""
    bottom = _map(paper, card, shots, y + 3.0)
    width = _RIGHT - _LEFT - max(30.0, 1e3 * map_scale(card, *_MAP) * card.piece[0] + 6.0) - 6.0
    line = y + 5.5
    for head, text in words.set_up(card):
        line = paper.paragraph(_LEFT, line, width, head, text, _BODY) + 0.5
    return max(bottom, line)


def _map(paper: Paper, card: Card, shots: Sequence[Shot], y: float) -> float:
    """The piece seen from above with the number of the shot at each place; returns where it ends."""
    scale = map_scale(card, *_MAP)
    wide, high = (1e3 * scale * one for one in card.piece)
    step = 1e3 * scale * card.pitch
    left, top = _RIGHT - wide, y + 3.0
    paper.box(left, top, wide, high, 0.25)
    here = {shot.number for shot in shots}
    for group, name in enumerate(card.groups):
        paper.text(left - 1.5, top + (group + 0.5) * step, name.letter, _SMALL, bold=True, align="right")
    for column in range(1, max(shot.column for shot in card.shots) + 1):
        x = left + (column - 0.5) * step
        paper.text(x, top - 1.8, str(column), _SMALL, bold=True, align="center", room=0.9 * step)
    for shot, place in zip(card.shots, places(card), strict=True):
        x, at = left + (shot.column - 0.5) * step, top + (shot.group + 0.5) * step
        colour = "#1a1a1a" if place.number in here else FAINT
        paper.text(x, at, str(place.number), _SMALL, align="center", room=0.8 * step, colour=colour)
        paper.box(x - 0.46 * step, at - 0.46 * step, 0.92 * step, 0.92 * step, 0.1)
    caption = f"Places, {scale_text(scale)}"
    paper.text(_RIGHT, top + high + 2.6, caption, _SMALL, align="right")
    return top + high + 5.0


def _shots(paper: Paper, card: Card, shots: Sequence[Shot], y: float) -> float:
    """The table of shots; returns where it ends."""
    top = y
    y = _heads(paper, card, y)
    scale, group = scale_of(card, _DRAWN), None
    for at, shot in enumerate(shots):
        if shot.group != group:
            group = shot.group
            y = _group(paper, card, shot, y)
        _row(paper, card, shots, at, y, scale)
        y += ROW
        paper.line((_LEFT, _RIGHT), (y, y), 0.15)
    paper.box(_LEFT, top, _RIGHT - _LEFT, y - top, 0.5)
    return y


def _heads(paper: Paper, card: Card, y: float) -> float:
    """Heads of the table of shots, and which ring is what; returns where they end."""
    scale = scale_of(card, _DRAWN)
    for start, end, text in (
        (0, _PREDICTED, words.PARTS[0]),
        (_PREDICTED, _SEEN, words.PARTS[1]),
        (_SEEN, len(_COLUMNS), words.PARTS[2]),
    ):
        middle = 0.5 * (_EDGES[start] + _EDGES[end])
        paper.text(middle, y + 2.8, text, _BODY, bold=True, align="center")
    for at, head in enumerate(_HEADS):
        middle = _EDGES[at] + 0.5 * _COLUMNS[at]
        paper.text(middle, y + 8.3, head, _SMALL, align="center", room=_COLUMNS[at] - 1.0)
    for edge in _PARTS:
        paper.line((edge, edge), (y, y + 11.6), 0.5)
    paper.line((_LEFT, _RIGHT), (y + 11.6, y + 11.6), 0.5)
    _key(paper, card, scale, y + 14.4)
    paper.line((_LEFT, _RIGHT), (y + 17.2, y + 17.2), 0.15)
    return y + 17.2


def _key(paper: Paper, card: Card, scale: float, y: float) -> None:
    """Which ring is what, and how large they are drawn."""
    x = _LEFT + 3.5
    if zones := shown_zones(card):
        paper.text(_RIGHT - 1.5, y, f"Marks drawn {scale_text(scale)}", _SMALL, align="right")
    for paint in zones:
        paper.circle(x, y, 3.4, paint)
        paper.text(x + 3.0, y, paint.name, _SMALL)
        x += 9.0 + 1.7 * len(paint.name)


def _group(paper: Paper, card: Card, shot: Shot, y: float) -> float:
    """Heading of a group; returns where it ends."""
    group = card.groups[shot.group]
    paper.box(_LEFT, y, _RIGHT - _LEFT, GROUP, 0.0, "#e6e6e6")
    more = " (goes on)" if shot.column > 1 else ""
    text = f"{group.letter}{more}   {group.heading}"
    paper.text(_LEFT + 2.0, y + 0.5 * GROUP, text, _BODY, bold=True, room=_RIGHT - _LEFT - 4.0)
    paper.line((_LEFT, _RIGHT), (y + GROUP, y + GROUP), 0.15)
    return y + GROUP


def _row(paper: Paper, card: Card, shots: Sequence[Shot], at: int, y: float, scale: float) -> None:
    """A line of the table of shots."""
    shot, middle = shots[at], y + 0.5 * ROW
    bold = {"power", "dwell", "spot"} & words.changed(card, shots, at)
    number, place, power, dwell, spot, dial = words.shot_cells(card, shot)
    _cell(paper, 0, middle, number, 12.0, True)
    _cell(paper, 1, middle, place, 10.5, True)
    _cell(paper, 2, middle, power, 10.0, "power" in bold)
    _cell(paper, 3, middle, dwell, 10.0, "dwell" in bold)
    _two_lines(paper, 4, middle, spot, dial, "spot" in bold)
    mark = card.marks[shot.setting]
    if mark.failure:
        left, room = _EDGES[_PREDICTED], _EDGES[_SEEN] - _EDGES[_PREDICTED]
        paper.text(left + 0.5 * room, middle - 1.4, words.NO_PREDICTION, _BODY, bold=True, align="center")
        paper.text(left + 0.5 * room, middle + 2.2, words.WHY, _SMALL, align="center")
    else:
        for paint, diameter in circles(mark):
            x = _EDGES[_PREDICTED] + 0.5 * _COLUMNS[_PREDICTED]
            paper.circle(x, middle, 1e3 * scale * diameter, paint)
        for column, (main, second) in enumerate(words.mark_cells(mark), start=_PREDICTED + 1):
            _two_lines(paper, column, middle, main, second, column == _SEEN - 1)
    for edge in _EDGES[_PREDICTED:-1]:
        if edge in _PARTS or edge > _EDGES[_SEEN]:
            paper.line((edge, edge), (y, y + ROW), 0.5 if edge in _PARTS else 0.15)


def _cell(paper: Paper, column: int, y: float, text: str, size: float, bold: bool) -> None:
    x = _EDGES[column] + 0.5 * _COLUMNS[column]
    paper.text(x, y, text, size, bold=bold, align="center", room=_COLUMNS[column] - 1.2)


def _two_lines(paper: Paper, column: int, y: float, main: str, second: str, bold: bool) -> None:
    if not second:
        _cell(paper, column, y, main, _BODY, bold)
        return
    _cell(paper, column, y - 1.6, main, _BODY, bold)
    _cell(paper, column, y + 2.2, second, _SMALL, False)
