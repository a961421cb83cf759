"""Sections of several regimes in a row, with details of their floors."""

from __future__ import annotations

import os
import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from spotdwell.base.errors import InputError
from spotdwell.model.exposure import Exposure
from spotdwell.output.pictures.key import paint_scale_bars
from spotdwell.output.pictures.section import ZONES, Section, section_of
from spotdwell.output.pictures.sketches import Span, paint_beam, paint_power, span_of
from spotdwell.output.pictures.style import CAUTION, INK, PAGE, Sheet, draw_file, typeset
from spotdwell.output.pictures.view import Content, View, content_of, view_of
from spotdwell.output.pictures.zone_drawing import frame_axes, name_layers, paint_zones, write_tones
from spotdwell.output.result import Result

_ABOVE = 0.22
"""Of the height, what lies above the floor on the axis."""
_LEAST = 40e-6
"""Least height [m]."""


@dataclass(frozen=True)
class Detail:
    """What is shown of every floor, about the beam's axis."""

    width: float
    """[m]."""
    height: float
    """[m]."""
    size: tuple[float, float]
    """On paper [in]."""

    def top(self, section: Section) -> float:
        """Depth at which the detail of `section` begins [m]."""
        return floor_depth(section) - _ABOVE * self.height

    def frame(self, axes: Any, section: Section, view: View) -> None:
        """Outline on a drawing of the whole what the detail shows."""
        from matplotlib.patches import Rectangle

        at = (section.beam_at - 0.5 * self.width) * view.scale, self.top(section) * view.scale
        size = self.width * view.scale, self.height * view.scale
        axes.add_patch(Rectangle(at, *size, fill=False, edgecolor=INK, linewidth=0.6, zorder=7))


def floor_depth(section: Section) -> float:
    """Depth of the front next to the axis [m]."""
    return float(section.front[np.argmin(np.abs(section.across - section.beam_at))])


def detail_of(sections: Sequence[Section], width: float, height: float) -> Detail:
    """The detail that shows the deepest zone under any floor, in `width` by `height` [in]."""
    reach = max([_reach(section) for section in sections] + [_LEAST])
    shown = 1.15 * reach / (1.0 - _ABOVE)
    return Detail(shown * width / height, shown, (width, height))


def _reach(section: Section) -> float:
    """How far below the floor on the axis any zone goes [m]."""
    front, found = floor_depth(section), 0.0
    for layer in section.layers:
        column = int(np.argmin(np.abs(layer.across - section.beam_at)))
        for zone in ZONES:
            inside = layer.depth[layer.margins[zone][:, column] >= 0.0, column]
            inside = inside[(inside >= layer.top) & (inside <= layer.bottom)]
            found = max(found, float(inside.max(initial=front)) - front)
    return found


def paint_detail(axes: Any, section: Section, detail: Detail, with_bar: bool) -> None:
    """Zones about the floor, at equal scales; a scale bar with the last one of a line."""
    scale, top = 1e6, detail.top(section)
    left = section.beam_at - 0.5 * detail.width
    view = View(
        left * scale,
        (left + detail.width) * scale,
        -top * scale,
        (top + detail.height) * scale,
        section.bottom * scale,
        "µm",
        scale,
        1.0,
        detail.size,
    )
    paint_zones(axes, section, view)
    clip_to(axes)
    if with_bar:
        inside = view.right - 0.06 * view.width
        paint_scale_bars(axes, replace(view, target=max(view.target, view.bottom), right=inside))
    axes.set(xlim=(view.left, view.right), ylim=(view.bottom, -view.sky), xticks=[], yticks=[])
    axes.spines[:].set(color=INK, linewidth=0.6, zorder=8)


def clip_to(axes: Any) -> None:
    """Cut off what zones, which are clipped by their layer only, have beyond the frame of `axes`."""
    from matplotlib.path import Path

    for painted in axes.collections:
        painted.set_clip_path(Path.unit_rectangle(), axes.transAxes)


_LEFT, _RIGHT, _GAP, _PAD = 5.6, 1.0, 1.4, 0.9
"""Margins, gap between two drawings and padding of the texts [em]."""
_NARROWEST = 11.0
"""Least width of a drawing [em]: what does not fit into one line goes into the next."""
_LAYER_NAMES = 7.0
"""Room for names of layers at the right [em]."""
_LINE, _TITLE, _SMALL = 1.35, 1.7, 0.72
"""Heights of a line and of a title's [em], and size of small print [em]."""
_POWER, _UNDER_POWER = 4.0, 2.4
"""Height of a power sketch and of what stands under it [em]."""
_DETAIL, _OVER_DETAIL = 6.5, 1.9
"""Height of an enlarged floor and of what stands over it [em]."""
_SKY = 1.6
"""Height above the surface [em]."""
_POWER_NOTE = "Power on a logarithmic scale; dashed: its average over whole periods."
_UNIT = re.compile(r"(?<=\d) (?=(?:[µmk]?[msJW]|Hz|°C|W/|J/)\b)")
"""The space between a number and its unit."""
_LETTER = 0.54
"""Mean width of a letter [em]."""
_KEY = 2.2
"""Height of the key to the tones [em]."""


@dataclass(frozen=True, eq=False)
class Panel:
    """One result of a row."""

    result: Result
    caption: tuple[str, ...]
    """Lines over its drawing; the first stands out."""
    found: tuple[str, ...] = ()
    """Lines under its drawing."""
    exposure: Exposure | None = None
    """To sketch its power over the drawing; all panels or none."""


def draw_row(
    panels: Sequence[Panel],
    path: str | os.PathLike[str],
    title: str = "",
    note: str = "",
    sheet: Sheet = PAGE,
    enlarge_floor: bool = False,
) -> None:
    """Draw the sections of `panels` side by side at one scale to `path`, png, svg or pdf by its suffix.

    `title` stands over them and `note` under them; with `enlarge_floor` each floor follows once more, larger.
    Raises InputError without panels or for an unknown suffix, and RunError where `path` cannot be written.
    """
    if not panels:
        raise InputError("row of results", "at least one result", "none")
    draw_file(
        Path(path), lambda figure: paint(figure, panels, title, note, sheet, enlarge_floor), sheet=sheet
    )


def paint(
    figure: Any,
    panels: Sequence[Panel],
    title: str = "",
    note: str = "",
    sheet: Sheet = PAGE,
    enlarge_floor: bool = False,
) -> None:
    """Fill `figure` with the row; see `draw_row`."""
    _Row(figure, panels, title, note, sheet, enlarge_floor).paint()


class _Row:
    """Sizes that all panels share [in], and the painting from the top down."""

    def __init__(
        self, figure: Any, panels: Sequence[Panel], title: str, note: str, sheet: Sheet, enlarge_floor: bool
    ) -> None:
        self.figure, self.panels, self.sheet, self.em = figure, panels, sheet, sheet.em
        self.sections = [section_of(one.result) for one in panels]
        self.layered = any(len(section.layers) > 1 for section in self.sections)
        self.fit, self.slot = self._slots()
        self.title = _wrapped([title], (sheet.width / self.em - 2.0 * _PAD) / 1.2) if title else []
        # A sheet of fixed height has room for the drawings only.
        free = sheet.height is None
        self.note = _wrapped([note], sheet.width / self.em - 2.0 * _PAD) if note and free else []
        exposures = [one.exposure for one in panels if one.exposure is not None]
        self.span: Span | None = span_of(exposures) if len(exposures) == len(panels) else None
        small = f"{_POWER_NOTE} {CAUTION}" if self.span else CAUTION
        self.caution = _wrapped([small], (sheet.width / self.em - 2.0 * _PAD) / _SMALL)
        self.detail: Detail | None = None
        self.view = self._view(sheet.most_height)
        if enlarge_floor and free:
            self.detail = detail_of(self.sections, self.slot, _DETAIL * self.em)
        if sheet.height is not None:
            over = (self._height() - sheet.height) / len(list(self._lines()))
            self.view = self._view(max(self.view.size[1] - over, 5.0 * self.em))

    def _slots(self) -> tuple[int, float]:
        """Drawings in a line, and the width of each [in]."""
        names = _LAYER_NAMES if self.layered else 0.0
        room = self.sheet.width / self.em - _LEFT - _RIGHT - names
        fit = min(len(self.panels), max(1, int((room + _GAP) / (_NARROWEST + _GAP))))
        lines = -(-len(self.panels) // fit)
        fit = -(-len(self.panels) // lines)
        return fit, ((room + _GAP) / fit - _GAP) * self.em

    def _view(self, height: float) -> View:
        """The one view for all: where they reach farthest, on the deepest grid."""
        contents = [
            content_of(section, float(one.result.beam["radius"]))
            for section, one in zip(self.sections, self.panels, strict=True)
        ]
        aside, deep = max(one.aside for one in contents), max(one.deep for one in contents)
        stretch = max(contents, key=lambda one: one.deep).stretch
        half = max(1.1 * aside, 0.3 * deep * stretch) or max(one.half for one in contents)
        deepest = max(self.sections, key=lambda section: section.bottom)
        sky = _SKY * self.em
        view = view_of(deepest, Content(aside, deep, half, stretch), (self.slot, height), sky, fill=False)
        centre = deepest.beam_at * view.scale
        return replace(view, left=view.left - centre, right=view.right - centre)

    def _lines(self) -> Iterator[list[int]]:
        """Indices of the panels in each line."""
        count = len(self.panels)
        for first in range(0, count, self.fit):
            yield list(range(first, min(first + self.fit, count)))

    def _texts(self, line: list[int]) -> tuple[list[list[str]], list[list[str]]]:
        """Captions and findings of a line's panels, wrapped."""
        room = self.slot / self.em
        captions = [_wrapped(self.panels[index].caption, room) for index in line]
        return captions, [_wrapped(self.panels[index].found, room) for index in line]

    def _line_height(self, line: list[int]) -> float:
        captions, found = self._texts(line)
        texts = (max(map(len, captions)) + max(map(len, found))) * _LINE + 0.6
        sketch = _POWER + _UNDER_POWER if self.span else 0.0
        detail = _DETAIL + _OVER_DETAIL if self.detail else 0.0
        return (texts + sketch + detail + 1.0) * self.em + self.view.size[1]

    def _height(self) -> float:
        lines = sum(self._line_height(line) for line in self._lines())
        above = _PAD + _TITLE * len(self.title)
        below = _KEY + _LINE * len(self.note) + _SMALL * _LINE * len(self.caution) + _PAD
        return lines + (above + below) * self.em

    def paint(self) -> None:
        """Fill the figure."""
        self.height = max(self._height(), self.sheet.height or 0.0)
        self.figure.set_size_inches(self.sheet.width, self.height)
        top = self.height - _PAD * self.em
        for text in self.title:
            self._write(text, top, fontsize=1.15 * self.sheet.type_size, fontweight="bold")
            top -= _TITLE * self.em
        for line in self._lines():
            self._paint_line(line, top)
            top -= self._line_height(line)
        self._paint_key(top)
        top -= _KEY * self.em
        for text in self.note:
            self._write(text, top)
            top -= _LINE * self.em
        for text in self.caution:
            self._write(text, top, fontsize=_SMALL * self.sheet.type_size, color="#5a5a5a")
            top -= _SMALL * _LINE * self.em

    def _paint_line(self, line: list[int], top: float) -> None:
        captions, found = self._texts(line)
        below = top - max(map(len, captions)) * _LINE * self.em
        for place, index in enumerate(line):
            left = _LEFT * self.em + place * (self.slot + _GAP * self.em)
            self._write_lines(captions[place], left, top, bold=1)
            at = self._paint_power(index, left, below, place == 0)
            at = self._paint_section(index, left, at, place == 0, place == len(line) - 1)
            at = self._paint_detail(index, left, at, place == len(line) - 1)
            self._write_lines(found[place], left, at - 0.6 * self.em, bold=1)

    def _paint_power(self, index: int, left: float, top: float, first: bool) -> float:
        exposure = self.panels[index].exposure
        if self.span is None or exposure is None:
            return top
        top -= 0.4 * self.em
        axes = self._axes(left, top - _POWER * self.em, self.slot, _POWER * self.em)
        paint_power(axes, exposure, self.span, first)
        if first:
            axes.set_ylabel("power", fontsize="small", labelpad=2.0)
        return top - (_POWER + _UNDER_POWER - 0.4) * self.em

    def _paint_section(self, index: int, left: float, top: float, first: bool, last: bool) -> float:
        section, (width, height) = self.sections[index], self.view.size
        axes = self._axes(left + 0.5 * (self.slot - width), top - height, width, height)
        shift = section.beam_at * self.view.scale
        view = replace(self.view, left=self.view.left + shift, right=self.view.right + shift)
        frame_axes(axes, view, self.sheet)
        axes.tick_params(labelleft=first, bottom=False, labelbottom=False, labelsize="small", length=2.0)
        paint_zones(axes, section, view)
        clip_to(axes)
        paint_beam(axes, self.panels[index].result, section.beam_at, view, label=False)
        if first:
            note = f"\n{view.stretch_note}" if view.stretch_note else ""
            axes.set_ylabel(f"depth [{view.unit}]{note}", fontsize="small", labelpad=2.0)
        if last:
            paint_scale_bars(axes, replace(view, right=view.right - 0.06 * view.width))
            if len(section.layers) > 1:
                name_layers(axes, section, view, self.sheet)
        if self.detail is not None:
            self.detail.frame(axes, section, view)
        return top - height

    def _paint_detail(self, index: int, left: float, top: float, last: bool) -> float:
        if self.detail is None:
            return top
        top -= _OVER_DETAIL * self.em
        axes = self._axes(left, top - _DETAIL * self.em, self.slot, _DETAIL * self.em)
        axes.set_title("its floor, enlarged", loc="left", fontsize="small", pad=2.5)
        paint_detail(axes, self.sections[index], self.detail, last)
        return top - _DETAIL * self.em

    def _paint_key(self, top: float) -> None:
        place = 0.5, (top - 0.1 * self.em) / self.height
        write_tones(self.figure, self.sections, loc="upper center", bbox_to_anchor=place)

    def _axes(self, left: float, bottom: float, width: float, height: float) -> Any:
        """New axes at a place in inches."""
        total = self.sheet.width, self.height
        place = left / total[0], bottom / total[1], width / total[0], height / total[1]
        return self.figure.add_axes(place)

    def _write_lines(self, lines: list[str], left: float, top: float, bold: int) -> None:
        for number, text in enumerate(lines):
            weight = "bold" if number < bold else "normal"
            self._write(text, top - number * _LINE * self.em, left, fontweight=weight)

    def _write(self, text: str, top: float, left: float | None = None, **look: Any) -> None:
        x = _PAD * self.em if left is None else left
        self.figure.text(x / self.sheet.width, top / self.height, text, va="top", **look)


def _wrapped(lines: Sequence[str], room: float) -> list[str]:
    """`lines` broken to `room` [em]."""
    width = max(int(room / _LETTER), 8)
    return [piece for text in lines for piece in textwrap.wrap(_joined(text), width)]


def _joined(text: str) -> str:
    """`text` typeset, its numbers tied to their units by a space that no line is broken at."""
    return _UNIT.sub("\u00a0", typeset(text).replace(" us", " µs"))
