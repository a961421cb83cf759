"""Drawings of a card as inline SVG: marks seen from above, their key, and the map of the places."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from spotdwell.output.cards.card import Card, Mark, Shot
from spotdwell.output.cards.marks import Paint, circles, map_scale, places, scale_text

_MAP = 60.0, 26.0
"""Room for the map [mm]."""
_EDGE, _TOP = 6.0, 5.0
"""Room for its letters on the left and its numbers above [mm]."""


def mark_svg(mark: Mark, scale: float, room: float) -> str:
    """The mark `scale` times life size, in a square of `room` [mm]."""
    rings = "".join(_circle(paint, 1e3 * scale * diameter) for paint, diameter in circles(mark))
    half = 0.5 * room
    names = (
        ", ".join(f"{paint.name} {1e3 * diameter:.2f} mm" for paint, diameter in circles(mark)) or "no mark"
    )
    return (
        f'<svg role="img" aria-label="{names}" width="{room:g}mm" height="{room:g}mm" '
        f'viewBox="{-half:g} {-half:g} {room:g} {room:g}">{rings}</svg>'
    )


def key_svg(paint: Paint) -> str:
    """A sample of a zone."""
    return f'<svg width="4mm" height="4mm" viewBox="-2 -2 4 4" aria-hidden="true">{_circle(paint, 3.4)}</svg>'


def _circle(paint: Paint, diameter: float) -> str:
    dashes = ' stroke-dasharray="0.5 0.35"' if paint.dashed else ""
    return (
        f'<circle r="{0.5 * diameter:.3f}" fill="{paint.fill}" stroke="{paint.line}" '
        f'stroke-width="{paint.width:g}"{dashes}/>'
    )


def map_svg(card: Card, shots: Sequence[Shot]) -> str:
    """The piece seen from above with the number of the shot at each place; those of `shots` in black."""
    scale = map_scale(card, *_MAP)
    wide, high = (1e3 * scale * one for one in card.piece)
    step = 1e3 * scale * card.pitch
    size = min(2.6, 0.62 * step)
    here = {shot.number for shot in shots}
    parts = [
        f'<rect width="{wide:.2f}" height="{high:.2f}" fill="none" stroke="#1a1a1a" stroke-width="0.3"/>'
    ]
    for row, group in enumerate(card.groups):
        parts.append(_text(-1.2, (row + 0.5) * step, group.letter, size, "end", "#1a1a1a", True))
    for column in range(1, max(shot.column for shot in card.shots) + 1):
        parts.append(_text((column - 0.5) * step, -2.2, str(column), size, "middle", "#1a1a1a", True))
    for shot, place in zip(card.shots, places(card), strict=True):
        x, y = (shot.column - 0.5) * step, (shot.group + 0.5) * step
        parts.append(
            f'<rect x="{x - 0.46 * step:.2f}" y="{y - 0.46 * step:.2f}" width="{0.92 * step:.2f}" '
            f'height="{0.92 * step:.2f}" fill="none" stroke="#1a1a1a" stroke-width="0.1"/>'
        )
        colour = "#1a1a1a" if place.number in here else "#8a8a8a"
        parts.append(_text(x, y, str(place.number), size, "middle", colour, False))
    across, down = wide + _EDGE + 0.5, high + _TOP + 0.5
    return (
        f'<figure><svg role="img" aria-label="places on the piece" width="{across:.2f}mm" '
        f'height="{down:.2f}mm" viewBox="{-_EDGE:g} {-_TOP:g} {across:.2f} {down:.2f}">{"".join(parts)}</svg>'
        f"<figcaption>Places, {scale_text(scale)}</figcaption></figure>"
    )


def _text(x: float, y: float, text: str, size: float, anchor: str, colour: str, bold: bool) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.2f}" y="{y + 0.36 * size:.2f}" font-size="{size:.2f}" text-anchor="{anchor}" '
        f'fill="{colour}"{weight}>{escape(text)}</text>'
    )
