"""Second table of a card's page: the same settings on the bench target and on tissue."""

from __future__ import annotations

from collections.abc import Sequence

from spotdwell.output.cards import words
from spotdwell.output.cards.card import Card, Shot
from spotdwell.output.cards.paper import Paper, width_of
from spotdwell.output.cards.sheets import COMPARED, MARGIN, WIDTH

_LEFT, _RIGHT = MARGIN, WIDTH - MARGIN
_TYPE, _SMALL = 8.5, 7.5
_SETTING, _CELL, _RATIO = 44.0, 16.6, 13.2
"""Widths of the columns [mm]."""


def compared_table(paper: Paper, card: Card, shots: Sequence[Shot], y: float) -> float:
    """Write the table for the settings of `shots` from height `y` [mm] on; returns where it ends."""
    paper.text(_LEFT, y + 2.2, words.compare_title(card), 10.0, bold=True, room=_RIGHT - _LEFT)
    top = y + 5.2
    edges, y = _heads(paper, card, top)
    for setting in dict.fromkeys(shot.setting for shot in shots):
        middle = y + 0.5 * COMPARED
        for at, text in enumerate(words.compare_cells(card, setting)):
            wide = edges[at + 1] - edges[at]
            if at == 0:
                paper.text(edges[0] + 1.5, middle, text, _TYPE, room=wide - 2.0)
            else:
                x = 0.5 * (edges[at] + edges[at + 1])
                paper.text(x, middle, text, _TYPE, bold=at == 2, align="center", room=wide - 1.0)
        y += COMPARED
        paper.line((_LEFT, _RIGHT), (y, y), 0.15)
    paper.box(_LEFT, top, _RIGHT - _LEFT, y - top, 0.5)
    return y


def _heads(paper: Paper, card: Card, y: float) -> tuple[list[float], float]:
    """Edges of the columns [mm], and where their heads end."""
    edges = [_LEFT]
    for head, names in words.compare_heads(card):
        start = edges[-1]
        for name in names:
            wide = _SETTING if not name else _RATIO if name == "ratio" else _CELL
            edges.append(edges[-1] + wide)
            text = _in_two(name) if width_of(name, _SMALL) > wide - 1.0 else name
            paper.text(edges[-1] - 0.5 * wide, y + 6.7, text, _SMALL, align="center", room=wide - 1.0)
        paper.text(0.5 * (start + edges[-1]), y + 2.4, head, _TYPE, bold=True, align="center")
    paper.line((_LEFT, _RIGHT), (y + 10.0, y + 10.0), 0.4)
    return edges, y + 10.0


def _in_two(name: str) -> str:
    """A name of several words, the last of them on a second line."""
    return "\n".join(name.rsplit(" ", 1))
