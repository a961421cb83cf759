"""Histories in time: curves of temperature, depth and power."""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.constants import WATER_BOILING_TEMPERATURE, ZERO_CELSIUS
from spotdwell.output.pictures.style import BEAM, FAINT, INK, PAGE, Sheet, length_unit, setting_line, typeset
from spotdwell.output.record import Record

Array = NDArray[np.float64]

_HEIGHT = 0.72
"""Of a picture over its width, where the sheet sets none."""
_MARGINS = {"left": 7.4, "right": -2.2, "bottom": 3.8}
"""Of the panels [em]; negative from the far side."""
_LONG_COOLING = 3.0
"""Cooling that lasts more times the exposure stands beside it on a logarithmic axis, so that both show."""
_FIRST: dict[str, Any] = {"color": INK, "linewidth": 1.3}
_SECOND: dict[str, Any] = {"color": FAINT, "linewidth": 1.1, "linestyle": (0, (5, 1.5))}
_MARK: dict[str, Any] = {"color": FAINT, "linewidth": 0.8, "linestyle": ":"}
_LEGEND: dict[str, Any] = {"frameon": False, "fontsize": "small", "borderpad": 0.2}
_SHORTEST = 1e-5
"""Least share of the cooling time on that axis."""


def paint(figure: Any, result: Record, sheet: Sheet = PAGE) -> None:
    """Fill `figure` with three panels over time, in two columns where cooling is long."""
    height = sheet.height or max(_HEIGHT * sheet.width, 38.0 * sheet.em)
    figure.set_size_inches(sheet.width, height)
    texts = _texts(result, sheet)
    history = result.history
    off = last_lit(history.time, history.power)
    split = cools_long(history.time, off)
    grid = figure.subplots(
        3,
        2 if split else 1,
        sharex="col",
        sharey="row",
        squeeze=False,
        gridspec_kw={
            "height_ratios": [0.9, 2.0, 2.0],
            "width_ratios": [3, 2] if split else [1],
            "hspace": 0.1,
            "wspace": 0.11,
            "left": _MARGINS["left"] * sheet.em / sheet.width,
            "right": 1.0 + _MARGINS["right"] * sheet.em / sheet.width,
            "bottom": _MARGINS["bottom"] * sheet.em / height,
            "top": 1.0 - (3.0 + 1.4 * len(texts)) * sheet.em / height,
        },
    )
    if split:
        _paint_column(grid[:, 0], result, history.time <= off, 0.0, off)
        _paint_column(grid[:, 1], result, history.time > off, off, 1.0)
        make_logarithmic(grid[:, 1], history.time[history.time > off] - off)
    else:
        _paint_column(grid[:, 0], result, history.time >= 0.0, 0.0, float(history.time[-1]))
    _label(figure, grid, result)
    _write_texts(figure, texts, sheet, height)


def _texts(result: Record, sheet: Sheet) -> list[str]:
    """Title and setting in lines that fit the sheet."""
    room = (sheet.width / sheet.em - _MARGINS["left"]) / 0.52
    title = textwrap.wrap(typeset(result.title), int(room / 1.3))[:1]
    return [*title, *textwrap.wrap(typeset(setting_line(result)), int(room))]


def _write_texts(figure: Any, texts: list[str], sheet: Sheet, height: float) -> None:
    for number, text in enumerate(texts):
        y = 1.0 - (0.9 + 1.4 * number + (0.2 if number else 0.0)) * sheet.em / height
        look: dict[str, Any] = {} if number else {"fontweight": "bold", "fontsize": 1.15 * sheet.type_size}
        figure.text(_MARGINS["left"] * sheet.em / sheet.width, y, text, va="top", **look)


def cools_long(time: Array, off: float) -> bool:
    """Whether cooling after the beam went `off` [s] is so long that it needs an axis of its own."""
    return off > 0.0 and float(time[-1]) > (1.0 + _LONG_COOLING) * off


def make_logarithmic(column: Any, since: Array) -> None:
    """Time `since` the beam went off [s] by decades, named in words: 1 ms, 10 ms."""
    from matplotlib.ticker import EngFormatter, NullFormatter

    for axes in column:
        axes.set_xscale("log")
        axes.set_xlim(max(float(since[0]), _SHORTEST * float(since[-1])), float(since[-1]))
        axes.tick_params(axis="y", which="both", left=False)
    column[-1].xaxis.set_major_formatter(EngFormatter(unit="s"))
    column[-1].xaxis.set_minor_formatter(NullFormatter())
    column[-1].set_xlabel("time since the beam went off")


def last_lit(time: Array, power: Array) -> float:
    """When the beam last went off [s]; 0 if it was never on."""
    lit = np.flatnonzero(power > 0.0)
    return float(time[lit[-1]]) if lit.size else 0.0


def _paint_column(column: Any, result: Record, rows: NDArray[np.bool_], origin: float, span: float) -> None:
    """Curves of the history's `rows`, time counted from `origin` [s] in a unit that suits `span` [s]."""
    history = result.history
    unit, factor = ("s", 1.0) if span >= 1.0 else ("ms", 1e3) if span >= 1e-3 else ("µs", 1e6)
    time = factor * (history.time[rows] - origin)
    power, temperatures, depths = column
    power.fill_between(time, history.power[rows], step="pre", color=BEAM, alpha=0.45, linewidth=0.0)
    power.plot(time, history.power[rows], drawstyle="steps-pre", color=BEAM, linewidth=0.8)
    # Once perforated, the axis has no surface.
    through = history.crater_depth >= result.depth_edges[-1]
    surface = np.where(through, np.nan, history.surface_temperature)
    temperatures.plot(time, history.peak_temperature[rows] - ZERO_CELSIUS, **_FIRST, label="hottest")
    temperatures.plot(time, surface[rows] - ZERO_CELSIUS, **_SECOND, label="surface on the axis")
    temperatures.axhline(WATER_BOILING_TEMPERATURE - ZERO_CELSIUS, **_MARK, label="boiling point")
    _, scale = length_unit(float(history.deepest.max(initial=0.0)))
    depths.plot(time, scale * history.crater_depth[rows], **_FIRST, label="on the axis")
    apart = np.max(history.deepest - history.crater_depth, initial=0.0)
    if apart > 0.02 * history.deepest.max(initial=0.0):
        depths.plot(time, scale * history.deepest[rows], **_SECOND, label="deepest")
    depths.set_xlabel(f"time [{unit}]")
    depths.set_xlim(0.0, 1.01 * factor * span)


def _label(figure: Any, grid: Any, result: Record) -> None:
    unit, _ = length_unit(float(result.history.deepest.max(initial=0.0)))
    labels = "power\n[W]", "temperature\n[°C]", f"crater depth\n[{unit}]"
    for axes, label in zip(grid[:, 0], labels, strict=True):
        axes.set_ylabel(label)
    figure.align_ylabels(grid[:, 0])
    for axes in grid.ravel():
        axes.grid(color="#dddddd", linewidth=0.5)
        axes.set_axisbelow(True)
        axes.spines[["top", "right"]].set_visible(False)
    peak = float(result.history.power.max(initial=0.0))
    grid[0, 0].set_ylim(0.0, 1.08 * peak or 1.0)
    grid[0, 0].set_yticks([0.0, peak], labels=["0", f"{peak:.3g}"])
    grid[2, 0].set_ylim(bottom=0.0)
    grid[2, 0].invert_yaxis()
    lines, names = grid[1, 0].get_legend_handles_labels()
    place = grid[0, 0].get_position()
    figure.legend(lines, names, loc="lower left", bbox_to_anchor=(place.x0, place.y1), ncols=3, **_LEGEND)
    if len(grid[2, 0].lines) > 1:
        # Depth only grows, so the upper right is free.
        grid[2, -1].legend(loc="upper right", **_LEGEND)


Place = tuple[float, float, float, float]
"""Left, bottom, width and height [in]."""
_MOVING: dict[str, Any] = {"color": BEAM, "animated": True, "clip_on": False}
"""Marks are left out when the figure is drawn, and drawn onto it where they belong."""


class Traces:
    """Three panels over time: the exposure, and long cooling on a logarithmic axis at its right."""

    def __init__(self, figure: Any, place: Place, result: Record, sheet: Sheet) -> None:
        history = self._history = result.history
        self._off = last_lit(history.time, history.power)
        split = cools_long(history.time, self._off)
        self._end = self._off if split else float(history.time[-1])
        self._factor, unit = _unit(self._end)
        length, scale = length_unit(float(history.deepest.max(initial=0.0)))
        self._curves: tuple[Array, ...] = (
            history.power,
            history.peak_temperature - ZERO_CELSIUS,
            scale * history.crater_depth,
        )
        self._grid = _add_axes(figure, place, 2 if split else 1)
        self._draw(history.time, unit)
        _name_panels(self._grid, ("W", "°C", length), float(history.power.max(initial=0.0)))
        self._marks = [
            (axes.axvline(-1.0, **_MOVING, linewidth=0.9), axes.plot([], [], "o", **_MOVING, markersize=4)[0])
            for axes in self._grid.ravel()
        ]

    def _draw(self, time: Array, unit: str) -> None:
        exposed = time <= self._end
        self._draw_column(0, self._factor * time, exposed)
        self._grid[-1, 0].set_xlim(0.0, 1.01 * self._factor * self._end)
        self._grid[-1, 0].set_xlabel(f"time [{unit}]", fontsize="small")
        if self._grid.shape[1] > 1:
            since = time - self._off
            self._draw_column(1, since, ~exposed)
            make_logarithmic(self._grid[:, 1], since[~exposed])
            self._grid[-1, 1].set_xlabel("beam off for", fontsize="small")

    def _draw_column(self, column: int, time: Array, rows: NDArray[np.bool_]) -> None:
        """Curves against `time` [as the column shows it]; the power as steps."""
        power, *others = (curve[rows] for curve in self._curves)
        axes = self._grid[:, column]
        axes[0].fill_between(time[rows], power, step="pre", color=BEAM, alpha=0.3, linewidth=0.0)
        axes[0].plot(time[rows], power, drawstyle="steps-pre", color=BEAM, linewidth=0.7)
        for place, curve in zip(axes[1:], others, strict=True):
            place.plot(time[rows], curve, color=INK, linewidth=1.0)

    def _row(self, time: float) -> int:
        """The step that ended at `time` [s], or the first after it."""
        return min(int(np.searchsorted(self._history.time, time * (1.0 - 1e-9))), self._history.time.size - 1)

    def is_lit(self, time: float) -> bool:
        """Whether the beam was on in the step that ended at `time` [s]."""
        return bool(self._history.power[self._row(time)] > 0.0)

    def mark(self, time: float) -> None:
        """Draw the marks at `time` [s] onto the figure."""
        row = self._row(time)
        columns = self._grid.shape[1]
        here = 0 if columns == 1 or time <= self._end else 1
        at = self._factor * time if here == 0 else time - self._off
        for axes, marks, curve in zip(
            self._grid[:, here], self._marks[here::columns], self._curves, strict=True
        ):
            line, dot = marks
            line.set_xdata([at, at])
            dot.set_data([at], [curve[row]])
            for mark in marks:
                axes.draw_artist(mark)


def _unit(span: float) -> tuple[float, str]:
    return (1.0, "s") if span >= 1.0 else (1e3, "ms") if span >= 1e-3 else (1e6, "µs")


def _add_axes(figure: Any, place: Place, columns: int) -> Any:
    total = figure.get_size_inches()
    left, bottom, width, height = place
    spacing = {
        "left": left / total[0],
        "right": (left + width) / total[0],
        "bottom": bottom / total[1],
        "top": (bottom + height) / total[1],
        "hspace": 0.2,
        "wspace": 0.12,
        "height_ratios": [0.8, 2.0, 2.0],
        "width_ratios": [3, 2] if columns == 2 else [1],
    }
    return figure.subplots(3, columns, sharex="col", sharey="row", squeeze=False, gridspec_kw=spacing)


def _name_panels(grid: Any, units: tuple[str, str, str], peak: float) -> None:
    """What each panel shows, above it, and limits that suit it."""
    for row, name, unit in zip(grid, ("power", "hottest", "depth"), units, strict=True):
        row[0].set_title(f"{name} [{unit}]", loc="left", fontsize="small", pad=2.0)
        for axes in row:
            axes.grid(color="#dddddd", linewidth=0.5)
            axes.set_axisbelow(True)
            axes.spines[["top", "right"]].set_visible(False)
            axes.tick_params(labelsize="small", pad=1.5)
    grid[0, 0].set_ylim(0.0, 1.12 * peak or 1.0)
    grid[0, 0].set_yticks([0.0, peak] if peak else [0.0], labels=["0", f"{peak:.3g}"] if peak else ["0"])
    grid[2, 0].set_ylim(bottom=0.0)
    grid[2, 0].invert_yaxis()
    grid[2, 0].locator_params(axis="x", nbins=4)
