"""Marks of a card as they are drawn: circles seen from above and the map of the places, all to scale."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from spotdwell.output.cards.card import Card, Mark

_ENLARGED = (20.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.5, 0.2, 0.1)
"""Scales that a ruler on the paper still tells."""
_REDUCED = (2.0, 1.0, 0.5, 0.2, 0.1, 0.05)


@dataclass(frozen=True)
class Paint:
    """How a zone is drawn in ink alone."""

    name: str
    fill: str
    line: str
    width: float
    """Of its line [mm]."""
    dashed: bool = False


ZONES = {
    "coagulation": Paint("coagulated", "#e3e3e3", "#1a1a1a", 0.18, dashed=True),
    "dried": Paint("dried", "#b5b5b5", "#1a1a1a", 0.15),
    "char": Paint("char", "#1a1a1a", "#1a1a1a", 0.15),
    "crater": Paint("crater", "#ffffff", "#1a1a1a", 0.4),
}
"""From the outermost to the innermost."""


@dataclass(frozen=True)
class Place:
    """A place on the map of the piece."""

    letter: str
    column: int
    number: int
    """Of its shot."""


def circles(mark: Mark) -> Iterator[tuple[Paint, float]]:
    """Paint and diameter [m] of each zone that the mark shows, from the outermost."""
    if mark.failure:
        return
    for zone, paint in ZONES.items():
        diameter = mark.width if zone == "crater" else mark.diameter(zone)
        if diameter > 0.0:
            yield paint, diameter


def shown_zones(card: Card) -> list[Paint]:
    """Paints of the zones that some mark of the card shows, from the innermost."""
    shown = {paint.name for mark in card.marks for paint, _ in circles(mark)}
    return [paint for paint in reversed(ZONES.values()) if paint.name in shown]


def scale_of(card: Card, room: float) -> float:
    """By how much the marks are drawn larger than life so that the widest fits into `room` [mm]."""
    widest = max((mark.seen for mark in card.marks if not mark.failure), default=0.0) * 1e3
    return next((one for one in _ENLARGED if widest * one <= room), _ENLARGED[-1])


def map_scale(card: Card, width: float, height: float) -> float:
    """By how much the map is drawn larger than life so that the piece fits into `width` and `height` [mm]."""
    wide, high = (1e3 * one for one in card.piece)
    return next((one for one in _REDUCED if wide * one <= width and high * one <= height), _REDUCED[-1])


def places(card: Card) -> list[Place]:
    """Places on the piece, in the order of firing."""
    return [Place(card.groups[one.group].letter, one.column, one.number) for one in card.shots]


def scale_text(scale: float) -> str:
    """In words: "drawn 5 times life size"."""
    if scale == 1.0:
        return "life size"
    return f"{scale:g} times life size" if scale > 1.0 else f"1 : {1.0 / scale:g}"
