"""Drawings of a run's report: the section and the history side by side, and the energy split as a bar."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from spotdwell.base.names import LEDGER
from spotdwell.document.model import Drawing
from spotdwell.output.pictures.canvas import INCH, Place
from spotdwell.output.pictures.history import Traces
from spotdwell.output.pictures.key import paint_scale_bars
from spotdwell.output.pictures.section import Section, section_of
from spotdwell.output.pictures.sketches import paint_beam
from spotdwell.output.pictures.style import FAINT, INK, Sheet
from spotdwell.output.pictures.view import View, content_of, seen_part, view_of
from spotdwell.output.pictures.zone_drawing import frame_axes, name_layers, paint_zones, write_tones
from spotdwell.output.result import Result

TYPE = 7.4
"""Size of the type in the report [pt]."""
SHEET = Sheet(182.0 / INCH, None, 3.0, TYPE, 300.0)
"""As wide as the text of an A4 page."""
_PICTURE, _BAR = (186.0, 60.0), (84.0, 9.0)
"""Width and height of the drawings [mm]."""

_EM = TYPE / 72.0
_TRACES = 0.35
"""Share of the width that the history takes."""
_GAP, _LEFT, _BELOW, _SKY, _NAMES, _KEY = 3.4, 4.4, 2.7, 4.4, 8.0, 1.9
"""Gap, axis at the left and below, sky, names of layers and key of the tones [em]."""
_OVER, _UNDER = 1.2, 2.9
"""Title over the history's panels and axis under them [em]."""
_FILLS = ("#4a4a4a", "#c9c9c9", "#8a8a8a", "#e6e6e6", "#6a6a6a", "#d8d8d8")
"""Greys: neighbours in the bar differ in lightness."""
_LIGHT_TEXT = {"#4a4a4a", "#6a6a6a"}
_ROOM = 0.2
"""Least distance of two numbers in the bar [in]."""


@dataclass(frozen=True)
class EnergyLine:
    """One term of the energy split."""

    number: str
    """By which the bar names it; empty for what the bar does not show."""
    meaning: str
    energy: float
    """[J]."""
    share: float
    """Of the incident energy [-]."""


def energy_lines(result: Result) -> list[EnergyLine]:
    """Terms that are not 0, the largest first and numbered for the bar, then what is not accounted for."""
    incident = result.ledger["incident"]
    terms = {name: value for name, value in result.ledger.items() if name != "incident" and value != 0.0}
    ordered = sorted(terms.items(), key=lambda item: -item[1])
    lines = [
        EnergyLine(str(place) if value > 0.0 else "", LEDGER[name].meaning, value, _over(value, incident))
        for place, (name, value) in enumerate(ordered, 1)
    ]
    rest = incident - sum(terms.values())
    return [*lines, EnergyLine("", "not accounted for (round-off)", rest, _over(rest, incident))]


def _over(value: float, whole: float) -> float:
    return value / whole if whole else 0.0


def pictures_of(result: Result) -> Drawing:
    """The section of the final state at the left and the history at the right."""
    return Drawing(*_PICTURE, lambda figure, place: _paint_pictures(figure, result, place))


def energy_bar(result: Result) -> Drawing:
    """The terms of the energy split above 0 as one bar, numbered as in the table."""
    return Drawing(*_BAR, lambda figure, place: _paint_energy(figure, result, place))


def _paint_pictures(figure: Any, result: Result, place: Place) -> None:
    left, bottom, width, height = place
    aside = _TRACES * width
    section = section_of(result)
    _paint_section(figure, result, section, (left, bottom, width - aside - _GAP * _EM, height))
    under, over = _UNDER * _EM, _OVER * _EM
    # A little room at the right: the last label of a time axis reaches beyond it.
    room = (left + width - aside, bottom + under, aside - 0.8 * _EM, height - under - over)
    before = len(figure.axes)
    Traces(figure, room, result, SHEET)
    for axes in figure.axes[before:]:
        _settle(axes, 0.5 * _EM / figure.get_size_inches()[1])


def _paint_energy(figure: Any, result: Result, place: Place) -> None:
    lines = [line for line in energy_lines(result) if line.number]
    axes = _axes(figure, place)
    axes.set(xlim=(0.0, 1.0), ylim=(0.0, 1.0))
    axes.set_axis_off()
    total = sum(line.energy for line in lines)
    if total <= 0.0:
        return
    start = 0.0
    narrow: list[tuple[float, str]] = []
    for number, line in enumerate(lines):
        share, fill = line.energy / total, _FILLS[number % len(_FILLS)]
        axes.barh(0.3, share, 0.6, left=start, color=fill, edgecolor="white", linewidth=0.6)
        middle = start + 0.5 * share
        if share * place[2] >= 1.1 * _ROOM:
            colour = "white" if fill in _LIGHT_TEXT else INK
            axes.text(middle, 0.29, line.number, ha="center", va="center", color=colour, fontsize="small")
        else:
            narrow.append((middle, line.number))
        start += share
    axes.plot([0.0, 1.0, 1.0, 0.0, 0.0], [0.0, 0.0, 0.6, 0.6, 0.0], color=INK, linewidth=0.6, clip_on=False)
    _point_out(axes, narrow, _ROOM / place[2])


def _paint_section(figure: Any, result: Result, section: Section, place: Place) -> None:
    left, bottom, width, height = place
    note = _EM
    names = _NAMES * _EM if len(section.layers) > 1 else 0.0
    content = content_of(section, float(result.beam["radius"]))
    low = (_BELOW + _KEY) * _EM + (0.0 if content.stretch == 1.0 else note)
    box = width - _LEFT * _EM - names, height - low
    view = view_of(section, content, box, _SKY * _EM, True)
    at = (left + _LEFT * _EM + 0.5 * (box[0] - view.size[0]), bottom + low + box[1] - view.size[1])
    axes = _axes(figure, (*at, *view.size))
    frame_axes(axes, view, SHEET)
    axes.tick_params(labelsize="small", pad=1.5)
    paint_zones(axes, seen_part(section, view), view)
    if len(section.layers) > 1:
        name_layers(axes, section, view, SHEET)
    paint_beam(axes, result, section.beam_at, view)
    paint_scale_bars(axes, view)
    _name_axes(axes, section, view)
    key = _axes(figure, (left + _LEFT * _EM, bottom, box[0] + names, _KEY * _EM))
    key.set_axis_off()
    write_tones(key, [section], loc="lower center", fontsize="small")


def _settle(axes: Any, lower: float) -> None:
    """A panel of a film at rest: without the marks that move, and so much `lower` that its title is clear."""
    for mark in [one for one in axes.get_children() if one.get_animated()]:
        mark.remove()
    box = axes.get_position()
    axes.set_position((box.x0, box.y0, box.width, box.height - lower))


def _name_axes(axes: Any, section: Section, view: View) -> None:
    note = f"\n{view.stretch_note}" if view.stretch_note else ""
    axes.set_xlabel(f"{section.label} [{view.unit}]{note}", fontsize="small", labelpad=1.0)
    middle = 0.5 * view.bottom / view.height
    axes.set_ylabel(f"depth [{view.unit}]", fontsize="small", labelpad=1.0, y=middle)


def _point_out(axes: Any, narrow: list[tuple[float, str]], apart: float) -> None:
    """Numbers of narrow parts over the bar, moved apart so that they can be read."""
    places: list[float] = []
    for middle, _ in narrow:
        places.append(max(middle, places[-1] + apart) if places else middle)
    # What the last was pushed beyond the end, all before it give way.
    limit = 1.0 - 0.3 * apart
    for number in reversed(range(len(places))):
        places[number] = min(places[number], limit)
        limit = places[number] - apart
    for (middle, text), at in zip(narrow, places, strict=True):
        axes.plot([middle, at], [0.6, 0.74], color=FAINT, linewidth=0.5, clip_on=False)
        axes.text(at, 0.75, text, ha="center", va="bottom", fontsize="small")


def _axes(figure: Any, place: Place) -> Any:
    """New axes at a place in inches."""
    total = figure.get_size_inches()
    left, bottom, width, height = place
    return figure.add_axes((left / total[0], bottom / total[1], width / total[0], height / total[1]))
