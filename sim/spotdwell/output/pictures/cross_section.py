"""Cross section: a result's crater, zones, layers and beam to scale, with the key figures beside them."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from spotdwell.base.units import display
from spotdwell.output.pictures.contours import check_contours, hottest_state, paint_contours
from spotdwell.output.pictures.key import key_size, paint_scale_bars, write_key
from spotdwell.output.pictures.section import Section, at_state, section_of
from spotdwell.output.pictures.sketches import paint_beam
from spotdwell.output.pictures.style import CAUTION, PAGE, Sheet, setting_line, typeset
from spotdwell.output.pictures.view import View, content_of, seen_part, view_of
from spotdwell.output.pictures.zone_drawing import frame_axes, name_layers, paint_zones
from spotdwell.output.record import Record
from spotdwell.solve.outcome import Snapshot

_LEFT, _RIGHT, _BELOW = 5.4, 1.2, 3.6
"""Margins of the drawing, of which the left and the lower hold an axis [em]."""
_LAYER_NAMES = 8.0
"""Room for the names of layers at the right [em]."""
_PAD, _TITLE, _LINE, _GAP, _SMALL = 0.9, 1.6, 1.35, 1.6, 0.72
"""Padding, heights of a title's and of another line [em], gap before the key, size of small print [em]."""
_SKY = 0.17, 4.6, 6.0
"""Height above the surface: share of the drawing's width, least and most [em]."""
_WIDE = 0.62
"""Flatter drawings than this have the key below them."""
_LETTER = 0.52
"""Mean width of a letter [em]."""


@dataclass(frozen=True)
class _Plan:
    """Where everything goes on a sheet, in inches from its lower left."""

    sheet: Sheet
    height: float
    drawing: tuple[float, float]
    """Left and bottom."""
    key: tuple[float, float, float, float]
    """Left, bottom, width and height."""
    title: list[str]
    caption: list[str]
    caution: list[str]


def paint(
    figure: Any,
    result: Record,
    sheet: Sheet = PAGE,
    contours: Sequence[float] = (),
    state: Snapshot | None = None,
) -> None:
    """Fill `figure` with the section through the beam's axis, the key figures, the setting and the cautions.

    `contours` are temperatures [K] of lines to draw; `state` is the moment that is shown: the end, or with
    contours the hottest saved moment. Raises InputError if the moment reaches none of the temperatures.
    """
    if state is None:
        state = hottest_state(result) if contours else result.fields
    if contours:
        check_contours(state, contours)
    section = section_of(at_state(result, state))
    plan, view = _planned(result, section, sheet, state)
    figure.set_size_inches(sheet.width, plan.height)
    axes = _axes(figure, plan, view, section)
    seen = seen_part(section, view)
    paint_zones(axes, seen, view)
    if contours:
        paint_contours(axes, seen, view, contours, sheet)
    if len(section.layers) > 1:
        name_layers(axes, section, view, sheet)
    paint_beam(axes, result, section.beam_at, view)
    paint_scale_bars(axes, view)
    write_key(figure, plan.key, result, section, sheet)
    _write_texts(figure, plan)


def _planned(result: Record, section: Section, sheet: Sheet, state: Snapshot) -> tuple[_Plan, View]:
    """Sizes from the outside inwards: texts, key, and what they leave for the drawing."""
    em = sheet.em
    content = content_of(section, float(result.beam["radius"]))
    below = _BELOW + (0.0 if content.stretch == 1.0 else _LINE)
    title, caption, caution = _texts(result, sheet, state)
    top = (_PAD + _TITLE * len(title) + 0.2) * em
    foot = (_PAD + _LINE * len(caption) + _SMALL * _LINE * len(caution) + 0.5) * em
    narrow = sheet.width < 45.0 * em
    beside = sheet.height is not None or (content.aspect > _WIDE and not narrow)
    key = key_size(result, section, sheet, beside)
    names = _LAYER_NAMES if len(section.layers) > 1 else 0.0
    box = [sheet.width - (_LEFT + _RIGHT + names) * em, sheet.most_height]
    box[0] -= key[0] + _GAP * em if beside else 0.0
    if sheet.height is not None:
        box[1] = sheet.height - top - foot - below * em
    sky = min(max(_SKY[0] * box[0], _SKY[1] * em), _SKY[2] * em)
    view = view_of(section, content, (box[0], box[1]), sky, sheet.height is not None)
    body = view.size[1] + below * em
    body = max(body, key[1]) if beside else body + key[1] + _GAP * em
    height = sheet.height or top + body + foot
    # A drawing narrower or lower than its room stands in the middle of it.
    left = _LEFT * em + 0.5 * (box[0] - view.size[0])
    bottom = height - top - view.size[1]
    if sheet.height is not None:
        bottom -= max(0.0, 0.3 * (box[1] - view.size[1]))
    if beside:
        place = (sheet.width - key[0] - _PAD * em, height - top - key[1], *key)
    else:
        place = (0.5 * (sheet.width - key[0]), bottom - (below + _GAP) * em - key[1], *key)
    return _Plan(sheet, height, (left, bottom), place, title, caption, caution), view


def _texts(result: Record, sheet: Sheet, state: Snapshot) -> tuple[list[str], list[str], list[str]]:
    """Title, caption and cautions in lines that fit the sheet."""
    room = sheet.width / sheet.em - 2.0 * _PAD
    shown = [setting_line(result)] if setting_line(result) else []
    if state is not result.fields:
        end = display(result.fields.time, "s", "s")
        shown.insert(0, f"Shown at {display(state.time, 's', 'ms')}; the figures hold for the end, at {end}.")
    lines = (textwrap.wrap(typeset(text), int(room / _LETTER)) for text in shown)
    title = textwrap.wrap(typeset(result.title), int(room / (1.15 * 1.15 * _LETTER)))
    small = [CAUTION] if result.interval is None else [result.interval.covers, CAUTION]
    return (
        title,
        [line for some in lines for line in some],
        [line for text in small for line in textwrap.wrap(text, int(room / _SMALL / _LETTER))],
    )


def _axes(figure: Any, plan: _Plan, view: View, section: Section) -> Any:
    """Axes of the drawing, named and with their units."""
    total = plan.sheet.width, plan.height
    place = [*(p / t for p, t in zip(plan.drawing, total, strict=True))]
    place += [s / t for s, t in zip(view.size, total, strict=True)]
    axes = figure.add_axes(tuple(place))
    frame_axes(axes, view, plan.sheet)
    note = f"\n{view.stretch_note}" if view.stretch_note else ""
    axes.set_xlabel(f"{section.label} [{view.unit}]{note}", labelpad=2.0)
    axes.set_ylabel(f"depth [{view.unit}]", y=0.5 * view.bottom / view.height)
    return axes


def _write_texts(figure: Any, plan: _Plan) -> None:
    """Title above, caption and cautions at the foot."""
    sheet, em = plan.sheet, plan.sheet.em
    left = _PAD * em / sheet.width

    def write(line: str, y: float, **look: Any) -> None:
        figure.text(left, y / plan.height, line, va="top", **look)

    for number, line in enumerate(plan.title):
        y = plan.height - (_PAD + _TITLE * number) * em
        write(line, y, fontsize=1.15 * sheet.type_size, fontweight="bold")
    y = (_PAD + _SMALL * _LINE * len(plan.caution) + _LINE * len(plan.caption)) * em
    for line in plan.caption:
        write(line, y, fontsize=sheet.type_size)
        y -= _LINE * em
    for line in plan.caution:
        write(line, y, fontsize=_SMALL * sheet.type_size, color="#5a5a5a")
        y -= _SMALL * _LINE * em
