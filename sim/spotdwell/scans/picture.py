"""Picture of a scan: section across the lines, depth from above, and the temperature that each line meets."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.output.pictures.style import BEAM, CAUTION, EDGE, FAINT, INK, TONES, draw_file, typeset
from spotdwell.scans.words import LAYERS

if TYPE_CHECKING:
    from spotdwell.scans.measures import Surface
    from spotdwell.scans.record import ScanRecord

Array = NDArray[np.float64]

_BELOW = 1.5
"""Depth shown, in that of the deepest change."""


def draw_scan(result: ScanRecord, path: str | os.PathLike[str]) -> None:
    """Draw to `path`: png, svg or pdf by its suffix. Raises InputError and RunError as other pictures do."""
    draw_file(Path(path), lambda figure: paint(figure, result))


def paint(figure: Any, result: ScanRecord) -> None:
    """Fill `figure`: the section above, the plan and the build-up below."""
    figure.set_size_inches(7.6, 6.4)
    figure.text(0.08, 0.975, typeset(_title(result)), va="top", fontweight="bold", fontsize=9.5)
    figure.text(0.08, 0.945, typeset(_line(result)), va="top", fontsize=7.5)
    paint_parts(figure, result, (0.0, 0.04, 1.0, 0.88))
    figure.text(0.08, 0.012, CAUTION, fontsize=5.5, color=FAINT)


def paint_parts(figure: Any, result: ScanRecord, box: tuple[float, float, float, float]) -> None:
    """Section, plan and build-up in a `box`: left, bottom, width and height as shares of the figure."""

    def place(left: float, bottom: float, width: float, height: float) -> tuple[float, float, float, float]:
        return box[0] + left * box[2], box[1] + bottom * box[3], width * box[2], height * box[3]

    _section(figure.add_axes(place(0.08, 0.645, 0.89, 0.315)), result)
    _plan(figure, place(0.08, 0.068, 0.34, 0.4), result)
    _build_up(figure.add_axes(place(0.62, 0.068, 0.35, 0.4)), result)


def _title(result: ScanRecord) -> str:
    setting = result.record.setting
    named = setting.get("title") or ", ".join(setting.get(key, "") for key in ("power", "spot", "target"))
    return f"{named}: {result.verdict.text}"


def _line(result: ScanRecord) -> str:
    return f"{result.record.setting.get('scan', '')}; computed as a {result.model}"


def _section(axes: Any, result: ScanRecord) -> None:
    """Depth and layers across the lines, half way along them, and what the tones are."""
    from matplotlib.patches import Patch

    paint_layers(axes, result.surface, room_of(result.surface, result.extent[1]), result.places)
    names = ["coagulated", "dried", "charred"]
    patches = [Patch(facecolor=TONES[one].colour, hatch=TONES[one].hatch) for one in names]
    axes.legend(
        patches, names, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3, frameon=False, fontsize=7.5
    )


def room_of(top: Surface, width: float) -> tuple[float, float]:
    """How far from the middle across an area of a `width` [m] is drawn [m], and how deep [um]."""
    half = 0.5 * width
    reach, row = half + max(0.1 * half, 0.3e-3), int(np.abs(top.x).argmin())
    shown = np.abs(top.y) <= reach
    deepest = 1e6 * float(np.max((top.depth + top.layers["coagulation"])[row, shown]))
    return reach, _BELOW * max(deepest, 20.0)


def paint_layers(axes: Any, top: Surface, room: tuple[float, float], places: Array) -> None:
    """Crater and layers across the lines in a `room`; the depths are drawn larger."""
    row = int(np.abs(top.x).argmin())
    y, depth = 1e3 * top.y, 1e6 * top.depth[row]
    below = {name: depth + 1e6 * one[row] for name, one in top.layers.items()}
    shown, lowest = np.abs(top.y) <= room[0], room[1]
    axes.axhspan(0.0, 2.0 * lowest, color=TONES["untouched"].colour, linewidth=0, zorder=0)
    for name in reversed(LAYERS):
        tone = TONES[LAYERS[name]]
        axes.fill_between(
            y, depth, below[name], facecolor=tone.colour, hatch=tone.hatch, linewidth=0.0, zorder=2
        )
    axes.fill_between(y, 0.0, depth, color=TONES["air"].colour, linewidth=0, zorder=3)
    axes.plot(y, depth, color=EDGE, linewidth=0.8, zorder=4)
    marks = 1e3 * np.unique(places.round(9))
    axes.plot(marks, np.full(marks.size, -0.04 * lowest), "|", color=BEAM, markersize=4, clip_on=False)
    axes.set_xlim(y[shown][0], y[shown][-1])
    axes.set_ylim(lowest, -0.08 * lowest)
    axes.set_xlabel("across the lines [mm] (their axes: red ticks)")
    axes.set_ylabel("depth [µm]")
    axes.spines[["top", "right"]].set_visible(False)


def _plan(figure: Any, place: tuple[float, float, float, float], result: ScanRecord) -> None:
    """Depth from above; a slice is taken as equal along the lines."""
    axes = figure.add_axes(place)
    top, (length, width) = result.surface, result.extent
    record = result.record
    depth = 1e6 * top.depth
    x_edges, y_edges = 1e3 * record.x_edges, 1e3 * record.y_edges
    drawn = axes.pcolormesh(
        x_edges, y_edges, depth.T, cmap="Greys", vmin=0.0, vmax=1.25 * max(depth.max(), 1.0), rasterized=True
    )
    reach = 0.5e3 * max(length, width) + max(0.05e3 * max(length, width), 0.3)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(-reach, reach)
    axes.set_aspect("equal")
    axes.set_xlabel("along the lines [mm]")
    axes.set_ylabel("across [mm]")
    note = ", taken as equal along the lines" if result.model == "slice" else ""
    axes.set_title(f"depth from above{note}", fontsize=8, color=INK)
    box = figure.add_axes((place[0] + place[2] + 0.015, place[1] + 0.03, 0.013, place[3] - 0.06))
    figure.colorbar(drawn, cax=box).set_label("depth [µm]", fontsize=7.5)
    box.tick_params(labelsize=7)


def _build_up(axes: Any, result: ScanRecord) -> None:
    """Temperature that each line meets, against time."""
    time, unit = result.times, "s"
    if time.max() < 1.0:
        time, unit = 1e3 * time, "ms"
    axes.plot(time, result.meets - 273.15, color=INK, linewidth=0.9, marker=".", markersize=3.0)
    axes.set_xlabel(f"time [{unit}]")
    axes.set_ylabel("before the beam comes [°C]")
    low, high = float(result.meets.min()) - 273.15, float(result.meets.max()) - 273.15
    axes.set_ylim(low - 2.0, high + max(3.0, 0.1 * (high - low)))
    axes.set_title("temperature that each line meets", fontsize=8)
    axes.spines[["top", "right"]].set_visible(False)
