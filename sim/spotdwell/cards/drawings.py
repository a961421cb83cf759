"""Drawings of a card: the marks seen from above and the map of the places, in ink alone and to scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from spotdwell.cards.card import Card, Mark, Shot
from spotdwell.document.model import Drawing
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


def shown_zones(card: Card) -> list[Paint]:
    """Paints of the zones that some mark of the card shows, from the innermost."""
    shown = {paint.name for mark in card.marks for paint, _ in circles(mark)}
    return [paint for paint in reversed(ZONES.values()) if paint.name in shown]


def scale_of(card: Card, room: float) -> float:
    """By how much the marks are drawn larger than life so that the widest fits into `room` [mm]."""
    widest = max((mark.seen for mark in card.marks if not mark.failure), default=0.0) * 1e3
    return next((one for one in _ENLARGED if widest * one <= room), _ENLARGED[-1])


def map_scale(card: Card) -> float:
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


def key_drawing(card: Card, scale: float) -> Drawing:
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


def map_drawing(card: Card, shots: Sequence[Shot]) -> Drawing:
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
