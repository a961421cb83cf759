"""Traces: power, hottest temperature and depth against time in a film, with marks that move."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.constants import ZERO_CELSIUS
from spotdwell.output.pictures.history import cools_long, last_lit, make_logarithmic
from spotdwell.output.pictures.style import BEAM, INK, Sheet, length_unit
from spotdwell.output.result import Result

Array = NDArray[np.float64]
Place = tuple[float, float, float, float]
"""Left, bottom, width and height [in]."""


_MARK: dict[str, Any] = {"color": BEAM, "animated": True, "clip_on": False}
"""Marks are left out when the figure is drawn, and drawn onto it where they belong."""


class Traces:
    """Three panels over time: the exposure, and long cooling on a logarithmic axis at its right."""

    def __init__(self, figure: Any, place: Place, result: Result, sheet: Sheet) -> None:
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
        _label(self._grid, ("W", "°C", length), float(history.power.max(initial=0.0)))
        self._marks = [
            (axes.axvline(-1.0, **_MARK, linewidth=0.9), axes.plot([], [], "o", **_MARK, markersize=4)[0])
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


def _label(grid: Any, units: tuple[str, str, str], peak: float) -> None:
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
