"""How the shots of a card lie on sheets of A4: groups stay together where they can."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from spotdwell.base.errors import InputError
from spotdwell.output.cards.card import Card, Shot

WIDTH, HEIGHT = 210.0, 297.0
"""Of a sheet [mm]."""
MARGIN = 10.0
"""On every side [mm]: what printers leave white."""
ROW = 8.5
"""Height of a shot's line [mm]: room to write by hand."""
GROUP = 5.8
"""Height of a group's heading [mm]."""
COMPARED = 4.9
"""Height of a line of the second table [mm]."""
NOTES = 10.4
"""Height of a reason under the tables [mm]: three lines."""
FREE = 140.0
"""Height [mm] left for these on a sheet by title, cautions, set-up, heads of the tables and two notes."""
MOST_SHEETS = 6
"""More are no card but a campaign. Our choice, no source."""

Sheet = tuple[Shot, ...]


def sheets_of(card: Card) -> tuple[Sheet, ...]:
    """The card's shots, sheet by sheet, in the order of firing."""
    sheets: list[list[Shot]] = [[]]
    for group in _grouped(card.shots):
        if sheets[-1] and _height(card, [*sheets[-1], *group]) > FREE >= _height(card, group):
            sheets.append([])
        for shot in group:
            if _height(card, [*sheets[-1], shot]) > FREE and sheets[-1]:
                sheets.append([])
            sheets[-1].append(shot)
    return tuple(tuple(sheet) for sheet in sheets)


def check_size(card: Card) -> None:
    """Raise InputError for a card of too many sheets, saying how many shots fit."""
    sheets = sheets_of(card)
    if len(sheets) > MOST_SHEETS:
        fit, count = sum(len(one) for one in sheets[:MOST_SHEETS]), len(card.shots)
        got = f"{count} shots, of which {len(sheets[0])} fit on the first sheet and {fit} on {MOST_SHEETS}"
        advice = "Give fewer values or repeats, or make several cards."
        raise InputError("settings", f"at most {MOST_SHEETS} sheets", got, advice)


def _grouped(shots: Sequence[Shot]) -> Iterator[list[Shot]]:
    last = shots[-1].group if shots else -1
    for number in range(last + 1):
        yield [shot for shot in shots if shot.group == number]


def _height(card: Card, shots: Sequence[Shot]) -> float:
    """What the lines of `shots` take on a sheet of their own [mm]."""
    groups, settings = {shot.group for shot in shots}, {shot.setting for shot in shots}
    compared = COMPARED * len(settings) if card.tissue else 0.0
    marks = [*card.marks, *card.on_tissue]
    reasons = {
        (at >= len(card.marks), mark.failure)
        for at, mark in enumerate(marks)
        if mark.failure and at % len(card.settings) in settings
    }
    return ROW * len(shots) + GROUP * len(groups) + compared + NOTES * len(reasons)
