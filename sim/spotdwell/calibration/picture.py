"""Calibration picture: measured against computed depths, a numbered point for each row of the bench."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from spotdwell.calibration.result import BenchRow, Calibration, shown_value, unit_of
from spotdwell.output.pictures.style import BEAM, CAUTION, FAINT, INK, draw_file, length_unit, typeset

Array = NDArray[np.float64]

_BAND = "#e2e2e2"
_MARKS = ("o", "s", "^", "D", "v", "P", "X", "<", ">")
_OFFSETS = (
    (0.035, 0.0),
    (0.0, 0.035),
    (-0.035, 0.0),
    (0.028, 0.03),
    (0.075, 0.01),
    (0.05, 0.06),
    (0.1, 0.045),
    (0.09, 0.1),
)
"""Of numbers from their points, over the width of the drawing; the first that is free is taken."""
_FACES = (INK, "white", "#9a9a9a")
"""Dial positions differ in shape, and in how dark they are."""


class Point(Protocol):
    """A shot that is drawn; lengths in m."""

    @property
    def row(self) -> int:
        """Of the file."""

    @property
    def spot(self) -> float:
        """Diameter."""

    @property
    def dial(self) -> str:
        """Empty where there is none."""

    @property
    def depth(self) -> float:
        """As measured."""

    @property
    def computed_depth(self) -> float:
        """As computed."""


def draw_calibration(found: Calibration, path: str | os.PathLike[str]) -> None:
    """Draw measured against computed depth: png, svg or pdf by the suffix.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    draw_file(Path(path), lambda figure: paint(figure, found))


def paint(figure: Any, found: Calibration) -> None:
    """Fill `figure` with a point for each row, the line on which both agree, and the values."""
    figure.set_size_inches(7.0, 5.6)
    axes = figure.add_axes((0.1, 0.14, 0.56, 0.7))
    unit, scale = length_unit(max(max(row.depth, row.computed_depth) for row in found.rows))
    top = 1.12 * scale * max(max(row.depth, row.computed_depth) for row in found.rows)
    _draw_agreement(axes, found, scale, top)
    kinds = list(dict.fromkeys(kind_of(row) for row in found.used))
    for row in found.rows:
        _draw_row(axes, row, kinds, scale)
    number_points(axes, found.rows, scale, top)
    # Room for the numbers of marks that removed nothing.
    axes.set_xlim(-0.07 * top, top)
    axes.set_ylim(-0.07 * top, top)
    axes.set_aspect("equal")
    axes.set_xlabel(f"computed depth [{unit}]")
    axes.set_ylabel(f"measured depth [{unit}]")
    axes.grid(color="#ececec", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    _legend(axes, found, kinds)
    _values(figure, found)
    figure.text(
        0.02, 0.975, f"{found.source}: {typeset(found.material)}", va="top", fontweight="bold", fontsize=9.5
    )
    error = (
        f"Error of a depth {100.0 * found.error:.2g} % (from {found.error_from}); numbers: rows of the file"
    )
    figure.text(0.02, 0.93, error, va="top")
    figure.text(0.02, 0.012, CAUTION.replace(": follow", ":\nfollow"), fontsize=6.5, color="#555555")


def _draw_agreement(axes: Any, found: Calibration, scale: float, top: float) -> None:
    """The line of equal depths, and two standard deviations of a measurement on both sides."""
    line = np.linspace(0.0, top, 101)
    half = 2.0 * found.error * np.maximum(line, scale * found.least_depth)
    axes.fill_between(line, line - half, line + half, color=_BAND, linewidth=0, zorder=1)
    axes.plot(line, line, color=BEAM, linewidth=1.2, zorder=2)


def _draw_row(axes: Any, row: BenchRow, kinds: list[str], scale: float) -> None:
    at = scale * row.computed_depth, scale * row.depth
    if row.perforated:
        axes.plot(*at, marker="x", color=INK, markersize=6.0, zorder=4)
    else:
        axes.plot(*at, **look(kind_of(row), kinds), zorder=4)


def number_points(axes: Any, rows: Sequence[Point], scale: float, top: float) -> None:
    """The number of each row beside its point, where there is room, else a little farther off with a line."""
    points = [(scale * row.computed_depth / top, scale * row.depth / top) for row in rows]
    taken = list(points)
    for row, at in zip(rows, points, strict=True):
        # Above the line where the depth was measured larger, so that numbers do not lie on it.
        side = 1.0 if at[1] >= at[0] else -1.0
        tries = [(at[0] - side * x, at[1] + side * y) for x, y in _OFFSETS]
        place = next((one for one in tries if _is_free(one, taken)), tries[-1])
        taken.append(place)
        far = np.hypot(place[0] - at[0], place[1] - at[1]) > 0.05
        if far:
            ends = zip(at, place, strict=True)
            axes.plot(*(top * np.array(one) for one in ends), color=FAINT, linewidth=0.6, zorder=3)
        axes.text(
            *(top * one for one in place),
            str(row.row),
            ha="center",
            va="center",
            fontsize=7.5,
            zorder=5,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4} if far else None,
        )


def _is_free(place: tuple[float, float], taken: list[tuple[float, float]]) -> bool:
    """Whether a number there would touch no other one and no point."""
    return all(abs(place[0] - x) > 0.034 or abs(place[1] - y) > 0.028 for x, y in taken)


def kind_of(row: Point) -> str:
    """What shots of one mark have in common."""
    if row.dial:
        return f"dial {row.dial}"
    return f"spot {1e3 * row.spot:.3g} mm"


def look(kind: str, kinds: list[str]) -> dict[str, Any]:
    """Marker of a kind of shots, one of `kinds`."""
    place = kinds.index(kind)
    return {
        "marker": _MARKS[place % len(_MARKS)],
        "markerfacecolor": _FACES[place % len(_FACES)],
        "markeredgecolor": INK,
        "markersize": 5.5,
        "linestyle": "none",
    }


def _legend(axes: Any, found: Calibration, kinds: list[str]) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    entries: list[tuple[Any, str]] = [(Line2D([], [], **look(kind, kinds)), kind) for kind in kinds]
    if len(found.used) < len(found.rows):
        through = Line2D([], [], marker="x", color=INK, linestyle="none")
        entries.append((through, "cut through, left out"))
    entries += [
        (Line2D([], [], color=BEAM, linewidth=1.2), "equal depths"),
        (Patch(facecolor=_BAND), "± 2 standard deviations"),
    ]
    handles, labels = zip(*entries, strict=True)
    axes.legend(
        handles,
        labels,
        loc="upper left",
        bbox_to_anchor=(1.03, 0.22),
        fontsize=8,
        frameon=False,
        borderpad=0.0,
    )


def _values(figure: Any, found: Calibration) -> None:
    """The fitted values with their intervals, beside the drawing."""
    lines = ["Fitted, with 95 % intervals"]
    for one in found.values:
        low, high = one.shown(one.low), one.shown(one.high)
        bound = " (at its bound)" if one.at_bound else ""
        lines += ["", _name(one.key), f"  {one.shown(one.value)}{bound}", f"  {low} to {high}"]
    if found.known:
        lines += ["", "Taken as known"]
        lines += [f"  {_name(key)} {shown_value(unit_of(key), value)}" for key, value in found.known]
    text = "\n".join(lines).replace(" um", " µm")
    figure.text(0.685, 0.84, text, va="top", fontsize=8, linespacing=1.15, color=INK)


def _name(key: str) -> str:
    kind, _, dial = key.partition(":")
    return f"spot at dial {dial}" if dial else kind.replace("-", " ")
