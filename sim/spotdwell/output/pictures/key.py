"""What explains a drawing: its key and its scale bar."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.base.names import MEASURES
from spotdwell.base.units import display
from spotdwell.measure.interval import LEVEL_WORDS, varies
from spotdwell.output.pictures.section import Section
from spotdwell.output.pictures.style import FAINT, INK, TONES, Sheet, length_text, typeset
from spotdwell.output.pictures.view import View
from spotdwell.output.pictures.zone_drawing import tones_of
from spotdwell.output.record import Record
from spotdwell.output.tables import ends_text

_PATCH = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "boxstyle": "square,pad=0.25"}
_TEXT: dict[str, Any] = {"fontsize": "small", "bbox": _PATCH, "zorder": 6}
_LINE: dict[str, Any] = {"color": INK, "linewidth": 2.2, "solid_capstyle": "butt", "zorder": 7}


def round_length(room: float) -> float:
    """The longest of 1, 2, 5, 10, 20 ... that fits into `room`."""
    decade = 10.0 ** np.floor(np.log10(room))
    return float(max(step * decade for step in (1.0, 2.0, 5.0) if step * decade <= room * (1.0 + 1e-9)))


def paint_scale_bars(axes: Any, view: View) -> None:
    """A bar along the surface, and one down where depths have a scale of their own."""
    least = min(view.size)
    length = round_length(0.3 * least / view.size[0] * view.width)
    end, level = view.right - 0.03 * view.width, view.shown - 0.05 * least / view.size[1] * view.height
    lift = 0.02 * least / view.size[1] * view.height
    text = f"{length:g} {view.unit}"
    axes.text(end - 0.5 * length, level - lift, text, ha="center", va="bottom", **_TEXT)
    axes.plot([end - length, end], [level, level], **_LINE)
    if view.stretch != 1.0:
        down = round_length(0.3 * view.shown)
        x = end - length - 0.03 * view.width
        place = x - 0.012 * view.width, level - 0.5 * down
        axes.text(*place, f"{down:g} {view.unit}", ha="right", va="center", **_TEXT)
        axes.plot([x, x], [level - down, level], **_LINE)


_LINE_HEIGHT = 1.5
"""Height of a line of text [em]."""
_VERDICT, _HEAD, _APART = 1.7, 1.25, 0.8
"""Heights of the verdict and of a table's head [lines], and space between the blocks [em]."""
_DOUBT = (LEVEL_WORDS, "verdict holds")
"""Words of the rows that say how sure the others are."""
_MEASURE = {"charred": "char", "dried": "dried", "coagulated": "coagulation"}
"""What each zone's measures are called."""
_ZONES_WIDTH, _FOUND_WIDTH = 16.5, 15.5
"""Widths of the two blocks [em]."""


def key_size(result: Record, section: Section, sheet: Sheet, beside: bool) -> tuple[float, float]:
    """Width and height [in] of the key: two blocks, one over the other if it stands `beside` the drawing."""
    found = (_VERDICT + len(_found(result))) * _LINE_HEIGHT * sheet.em
    zones = (_HEAD + len(tones_of([section]))) * _LINE_HEIGHT * sheet.em
    if beside:
        return _ZONES_WIDTH * sheet.em, found + _APART * sheet.em + zones
    return (_ZONES_WIDTH + _FOUND_WIDTH + 2.0) * sheet.em, max(found, zones)


def write_key(
    figure: Any, place: tuple[float, float, float, float], result: Record, section: Section, sheet: Sheet
) -> None:
    """Write the key into `place` of `figure`: left, bottom, width and height [in]."""
    left, bottom, width, height = place
    total = figure.get_size_inches()
    axes = figure.add_axes((left / total[0], bottom / total[1], width / total[0], height / total[1]))
    # One unit is one em, downwards.
    axes.set(xlim=(0.0, width / sheet.em), ylim=(height / sheet.em, 0.0))
    axes.set_axis_off()
    beside = width < (_ZONES_WIDTH + _FOUND_WIDTH) * sheet.em
    end = _write_found(axes, result, sheet)
    if beside:
        _write_zones(axes, result, section, sheet, 0.0, end + _APART)
    else:
        _write_zones(axes, result, section, sheet, width / sheet.em - _ZONES_WIDTH, 0.0)


def _write_found(axes: Any, result: Record, sheet: Sheet) -> float:
    """The verdict and the main figures; returns where they end [em]."""
    axes.text(0.0, 0.0, result.verdict.text, va="top", fontsize=1.5 * sheet.type_size, fontweight="bold")
    at = _VERDICT * _LINE_HEIGHT
    for words, value in _found(result):
        weight = "normal" if words in _DOUBT else "bold"
        axes.text(0.0, at, words, va="top")
        axes.text(15.0, at, value, va="top", ha="right", fontweight=weight)
        at += _LINE_HEIGHT
    return at


def _found(result: Record) -> list[tuple[str, str]]:
    """The main figures, in words and values with units."""
    found = result.measures
    rows = [
        (words, length_text(value))
        for words, name in (("depth", "crater_depth"), ("width", "crater_width"))
        if (value := found.get(name)) is not None
    ]
    rows[1:1] = _depths(result)
    if (char := _char_text(result)) is not None:
        rows.append(("char, of its limit", char))
    for words, name, unit, shown in (
        ("energy", "incident_energy", "J", "J"),
        ("through after", "perforation_time", "s", "ms"),
    ):
        if (value := found.get(name)) is not None:
            rows.append((words, display(value, unit, shown)))
    if result.odds:
        rows.append((_DOUBT[1], f"{result.odds} draws"))
    return rows


def _depths(result: Record) -> list[tuple[str, str]]:
    """A row with the interval of the depth, if there is one."""
    quantity = MEASURES["crater_depth"]
    ends = None if result.interval is None else result.interval.measures.get(quantity.name)
    if not varies(ends) or result.measures.get(quantity.name) is None:
        return []
    return [(_DOUBT[0], typeset(f"{ends_text(quantity, ends)} {quantity.shown_unit}"))]


def _char_text(result: Record) -> str | None:
    """Thickest char at floor and wall beside what is allowed; None where there is no char or no crater."""
    cell, names = result.measures.get("cell_depth"), ("char_thickness_floor", "char_thickness_wall")
    name = max(names, key=lambda one: result.measures.get(one) or 0.0)
    value = result.measures.get(name) or 0.0
    if value == 0.0 or not result.measures.get("solid_volume"):
        return None
    return f"{MEASURES[name].text(value, cell)} of {1e6 * result.verdict.limits.char_thickness:.3g} µm"


def _write_zones(axes: Any, result: Record, section: Section, sheet: Sheet, left: float, top: float) -> None:
    """A swatch, a name and two thicknesses for each tone."""
    from matplotlib.patches import Rectangle

    small = 0.85 * sheet.type_size
    columns = left + 12.0, left + 16.3
    level = top + _HEAD * _LINE_HEIGHT
    if any(name in _MEASURE for name in tones_of([section])):
        heads = (left, "left", "reach [µm]"), (columns[0], "right", "floor"), (columns[1], "right", "wall")
        for at, side, text in heads:
            axes.text(at, top + 0.1, text, va="top", ha=side, fontsize=small)
        axes.plot([left, left + 16.3], [level - 0.35] * 2, color=FAINT, linewidth=0.6)
    for name in tones_of([section]):
        tone = TONES[name]
        swatch = Rectangle((left, level), 2.0, 1.05, facecolor=tone.colour, hatch=tone.hatch or None)
        swatch.set(edgecolor=INK, linewidth=0.5)
        axes.add_patch(swatch)
        axes.text(left + 2.6, level + 0.52, name, va="center")
        for place, at in zip(("floor", "wall"), columns, strict=True):
            value = _thickness(result, name, place)
            axes.text(at, level + 0.52, value, va="center", ha="right", fontweight="bold")
        level += _LINE_HEIGHT


def _thickness(result: Record, name: str, place: str) -> str:
    """Reach of a zone from the crater's face at a `place` [um]; empty for a tone that has none."""
    if name not in _MEASURE:
        return ""
    measure = f"{_MEASURE[name]}_thickness_{place}"
    value = result.measures.get(measure)
    return "–" if value is None else MEASURES[measure].text(value, result.measures.get("cell_depth"))
