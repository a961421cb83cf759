"""Film: frames of a run, each with the zones, the temperatures, and where it is in power and depth."""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.units import display
from spotdwell.output.pictures.contours import hottest_state, paint_temperatures, write_scale
from spotdwell.output.pictures.history import Traces
from spotdwell.output.pictures.key import paint_scale_bars
from spotdwell.output.pictures.section import ZONES, Section, at_state, section_of
from spotdwell.output.pictures.sketches import paint_beam
from spotdwell.output.pictures.style import CAUTION, INK, TONES, Sheet, setting_line, type_of, typeset
from spotdwell.output.pictures.view import View, content_of, seen_part, view_of
from spotdwell.output.pictures.zone_drawing import frame_axes, paint_zones
from spotdwell.output.result import Result
from spotdwell.solve.outcome import Snapshot

_SIZE = 9.6, 5.4
SHEET = Sheet(*_SIZE, _SIZE[1], 9.0, 100.0)
"""Frames of 960 x 540 pixels."""

_ROOM = (0.62, 0.85, 5.35, 3.95)
"""Left, bottom, width and height of the room for both drawings [in]."""
_APART = 0.75, 0.62
"""Between drawings beside and over each other [in]."""
_SKY = 0.5
_TRACES = (7.3, 0.85, 2.15, 3.75)
"""Left, bottom, width and height of the room for power and depth against time [in]."""
_SCALE = 6.12, 0.13
"""Left edge and width of the scale of temperatures [in]."""


def frames(result: Result) -> Iterator[Any]:
    """Frames of `result` as images of Pillow in RGB; one is held at a time.

    The first is the last moment with the beam on, for its colours; then comes one for each snapshot.
    """
    from matplotlib import rc_context

    with rc_context(type_of(SHEET)):
        stage = _Stage(result)
    for state in (stage.most_colourful(), *result.snapshots):
        # Between frames the caller's own settings hold.
        with rc_context(type_of(SHEET)):
            picture = stage.frame(state)
        yield picture


class _Stage:
    """A figure whose still parts are drawn once; zones, marks and clock are drawn onto them in each frame."""

    def __init__(self, result: Result) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self._result = result
        self._figure = Figure(figsize=_SIZE, dpi=SHEET.resolution, facecolor="white")
        self._canvas = cast(Any, FigureCanvasAgg(self._figure))
        section = section_of(result)
        self._view, stacked = _view(section, float(result.beam["radius"]))
        self._zones, self._heat = self._add_drawings(section.label, stacked)
        self._traces = Traces(self._figure, _TRACES, result, SHEET)
        write_scale(self._figure, (_SCALE[0], _ROOM[1] + 0.1, _SCALE[1], _ROOM[3] - 0.5), SHEET)
        self._write_texts()
        self._write_legend(section, section_of(at_state(result, hottest_state(result))))
        look: dict[str, Any] = {"ha": "right", "fontsize": 15, "fontweight": "bold", "animated": True}
        self._clock = self._text(SHEET.width - 0.2, 5.28, "", **look)
        self._canvas.draw()
        self._still = self._canvas.copy_from_bbox(self._figure.bbox)

    def _add_drawings(self, label: str, stacked: bool) -> list[Any]:
        """Axes of the zones and of the temperatures, of which the second show no beam."""
        view, (left, bottom, wide, high) = self._view, _ROOM
        low = dataclasses.replace(view, sky=0.0, size=(view.size[0], view.size[1] - _SKY))
        middle = left + 0.5 * (wide - view.size[0])
        if stacked:
            places = [(middle, bottom + high - view.size[1]), (middle, bottom)]
        else:
            top = bottom + high - view.size[1]
            places = [(left, top), (left + 0.5 * (wide + _APART[0]), top)]
        drawn = []
        for (x, y), shown, name in zip(places, (view, low), ("zones", "temperature"), strict=True):
            width, height = shown.size
            place = x / _SIZE[0], y / _SIZE[1], width / _SIZE[0], height / _SIZE[1]
            axes = self._figure.add_axes(place)
            frame_axes(axes, shown, SHEET)
            axes.tick_params(labelsize="small", pad=1.5)
            note = f", {view.stretch_note}" if view.stretch_note and name == "zones" else ""
            axes.set_xlabel(f"{name}; {label} [{view.unit}]{note}", fontsize="small", labelpad=1.0)
            axes.set_ylabel(f"depth [{view.unit}]", fontsize="small", labelpad=1.0, y=_middle(shown))
            drawn.append(axes)
        return drawn

    def _text(self, x: float, y: float, text: str, **look: Any) -> Any:
        """A text at a place [in]."""
        return self._figure.text(x / _SIZE[0], y / _SIZE[1], text, va="top", **look)

    def _write_texts(self) -> None:
        title = textwrap.shorten(typeset(self._result.title), 70, placeholder=" …")
        setting = textwrap.shorten(typeset(setting_line(self._result)), 105, placeholder=" …")
        self._text(0.14, 5.28, title, fontweight="bold", fontsize=11)
        self._text(0.14, 5.06, setting)
        self._text(0.14, 0.19, CAUTION, fontsize=6.5, color="#5a5a5a")

    def _write_legend(self, *sections: Section) -> None:
        """The tones that appear in one of the `sections`, below the drawings."""
        names = [zone for zone in reversed(ZONES) if any(one.extent_of(zone) for one in sections)]
        liquid = any(layer.liquid for one in sections for layer in one.layers)
        at = _ROOM[0]
        for name in [*names, "untouched", *(["liquid"] if liquid else [])]:
            self._write_swatch(name, at)
            at += 0.55 + 0.075 * len(name)

    def _write_swatch(self, name: str, left: float) -> None:
        from matplotlib.patches import Rectangle

        tone = TONES[name]
        place = left / _SIZE[0], 0.26 / _SIZE[1]
        swatch = Rectangle(
            place, 0.24 / _SIZE[0], 0.13 / _SIZE[1], facecolor=tone.colour, hatch=tone.hatch or None
        )
        swatch.set(edgecolor=INK, linewidth=0.5, transform=self._figure.transFigure)
        self._figure.add_artist(swatch)
        self._text(left + 0.3, 0.395, name, fontsize=8)

    def most_colourful(self) -> Snapshot:
        """The last moment with the beam on; where none was kept, the hottest."""
        lit = [state for state in self._result.snapshots if self._traces.is_lit(state.time)]
        return lit[-1] if lit else hottest_state(self._result)

    def frame(self, state: Snapshot) -> Any:
        """The frame of `state`, as an image of Pillow."""
        from PIL import Image

        result = at_state(self._result, state)
        section = seen_part(section_of(result), self._view)
        lit = self._traces.is_lit(state.time)
        self._canvas.restore_region(self._still)
        with _passing(self._zones) as axes:
            paint_zones(axes, section, self._view)
            paint_scale_bars(axes, self._view)
            if lit:
                paint_beam(axes, result, section.beam_at, self._view)
        with _passing(self._heat) as axes:
            paint_temperatures(axes, section, self._view)
        self._traces.mark(state.time)
        self._clock.set_text(f"{_clock_text(state.time)}   beam {'on' if lit else 'off'}")
        self._figure.draw_artist(self._clock)
        picture: NDArray[np.uint8] = np.asarray(self._canvas.buffer_rgba())
        return Image.fromarray(picture[:, :, :3].copy())


@contextmanager
def _passing(axes: Any) -> Iterator[Any]:
    """What is painted on `axes` in the block is drawn at its end, under the frame, and forgotten."""
    before = set(axes.get_children())
    limits = axes.get_xlim(), axes.get_ylim()
    yield axes
    axes.set(xlim=limits[0], ylim=limits[1])
    added = sorted(
        (one for one in axes.get_children() if one not in before), key=lambda one: one.get_zorder()
    )
    for artist in [*added, *axes.spines.values()]:
        axes.draw_artist(artist)
    for artist in added:
        artist.remove()


def _middle(view: View) -> float:
    """Where on the axis the middle of the depths is."""
    return 0.5 * view.bottom / view.height


def _view(section: Section, beam_radius: float) -> tuple[View, bool]:
    """The view of all frames, and whether the drawings stand over each other: what is larger."""
    content = content_of(section, beam_radius)
    _, _, wide, high = _ROOM
    over = view_of(section, content, (wide, 0.5 * (high - _APART[1] + _SKY)), _SKY, True)
    beside = view_of(section, content, (0.5 * (wide - _APART[0]), high), _SKY, True)
    stacked = over.size[0] / over.width > beside.size[0] / beside.width
    return (over if stacked else beside), stacked


def _clock_text(time: float) -> str:
    """A time in the unit that suits it."""
    return display(time, "s", "s" if time >= 1.0 else "ms", 4 if time >= 1.0 else 3)
