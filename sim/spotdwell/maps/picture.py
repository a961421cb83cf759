"""Picture of a map: regions by verdict, lines of equal depth and coagulation, the cleanest setting marked."""

from __future__ import annotations

import os
import re
import textwrap
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from spotdwell.base.units import significant
from spotdwell.maps.choice import Choice, length_of
from spotdwell.maps.cube import Cube
from spotdwell.maps.curves import paint_curves
from spotdwell.maps.regions import (
    LINES,
    SIGN_NAMES,
    SIGNS,
    TONES,
    draw_contours,
    hatched,
    levels_of,
    paint_regions,
    places_of,
)
from spotdwell.maps.view import View, at_position, caption_of, check_panels, label_of, scale_side, view_of
from spotdwell.output.pictures.style import CAUTION, INK, draw_file, typeset

_COLUMNS = {1: 1, 2: 2, 3: 3, 4: 2, 5: 3, 6: 3, 7: 4, 8: 4, 9: 3, 10: 4, 11: 4, 12: 4}
_WIDTHS = {1: 5.4, 2: 3.7, 3: 2.9, 4: 2.35}
"""Of a panel [in], by the number of columns."""
_TALL = 0.8
"""Height of a panel over its width."""
_LEFT, _RIGHT, _BELOW, _GAP, _TITLE = 0.85, 0.2, 0.5, 0.14, 0.26
"""Margins, gap between panels and height of a panel's title [in]."""
_LINE, _PAD = 0.18, 0.12
"""Height of a line of text, and of free room above and below [in]."""
_KEY_COLUMN, _KEY_LINE, _SMALL_PRINT = 2.1, 0.175, 0.42
"""Width of a column and height of a line of the key, and height of the small print under it [in]."""
_WORD_ROW = 0.8
"""Height of a row of a panel whose rows are words [in]."""
_CHARACTER = 0.073
"""Width of a character of the caption [in], on the wide side."""
_UNIT = re.compile(r"(?<=\d) (?=\S+)")
"""Space between a number and its unit, where no line may end."""
_STAR: dict[str, Any] = {
    "marker": "*",
    "markersize": 13.0,
    "markerfacecolor": "white",
    "markeredgecolor": INK,
}
_DOUBTS: tuple[tuple[float, float, dict[str, Any], str], ...] = (
    (0.55, 0.85, {"markersize": 3.2}, "verdict in 4 of 5 draws or fewer"),
    (-1.0, 0.55, {"markersize": 6.0}, "verdict in 1 of 2 draws or fewer"),
)
"""Shares of the draws with a point's verdict, from and below which it gets a mark, and what that says: the
shares are those between which odds are rounded to the ones named."""
_DOUBT: dict[str, Any] = {
    "marker": "o",
    "markerfacecolor": "white",
    "markeredgecolor": INK,
    "linestyle": "none",
}
_PRINT_LINE = 0.115
"""Height of a line of small print more than the usual two [in]."""
_MOST_NUMBERS = 8
"""Depths written along one row where no lines can be drawn."""


def draw_map(cube: Cube, path: str | os.PathLike[str], choice: Choice | None = None) -> None:
    """Draw `cube`, with the chosen setting marked, to the png, svg or pdf file `path`.

    Raises InputError for an unknown suffix or more than 12 panels and RunError where `path` cannot be
    written.
    """
    check_panels(cube.axes)
    fill = paint_curves if len(cube.axes) == 1 else paint
    draw_file(Path(path), lambda figure: fill(figure, cube, choice))


@dataclass(frozen=True)
class _Plan:
    """Sizes of the figure and its parts [in]."""

    columns: int
    rows: int
    width: float
    height: float
    caption: list[str]
    left: float
    below: float
    titles: float

    @property
    def total(self) -> tuple[float, float]:
        across = self.left + self.columns * self.width + (self.columns - 1) * _GAP + _RIGHT
        up = self.below + self.rows * (self.height + self.titles) + (self.rows - 1) * _GAP
        return across, up + len(self.caption) * _LINE + 2.0 * _PAD

    def box(self, number: int) -> tuple[float, float, float, float]:
        """Place of a panel in parts of the figure; panels run along rows from the upper left."""
        row, column = divmod(number, self.columns)
        total = self.total
        left = self.left + column * (self.width + _GAP)
        bottom = self.below + (self.rows - 1 - row) * (self.height + self.titles + _GAP)
        return left / total[0], bottom / total[1], self.width / total[0], self.height / total[1]


def paint(figure: Any, cube: Cube, choice: Choice | None = None) -> None:
    """Fill `figure` with the panels of the map at one scale, a caption above and a key below."""
    view = view_of(cube.axes)
    handles = _handles(cube, view, choice)
    plan = _plan(cube, view, choice, len(handles))
    figure.set_size_inches(*plan.total)
    levels = {line.measure: levels_of(cube.measures[line.measure]) for line in LINES}
    for number, place in enumerate(view.places):
        axes = figure.add_axes(plan.box(number))
        last_row = number + plan.columns >= len(view.places)
        _dress(axes, view, last_row, number % plan.columns == 0)
        if view.panels:
            axes.set_title(view.title_of(place), fontsize=8.5, pad=3.0)
        star = _star_in(view, place, choice)
        _fill(axes, cube, view, place, levels, star)
        if star is not None:
            axes.plot([star[0]], [star[1]], linestyle="none", zorder=7, **_STAR)
    _write_caption(figure, plan)
    _write_key(figure, cube, plan, handles)


def _plan(cube: Cube, view: View, choice: Choice | None, entries: int) -> _Plan:
    count = len(view.places)
    columns = _COLUMNS[count]
    width = _WIDTHS[columns]
    names = [str(value) for value in cube.axes[view.up].values if isinstance(value, str)]
    left = max(_LEFT, 0.35 + 0.075 * max(map(len, names), default=0))
    total = left + columns * width + (columns - 1) * _GAP + _RIGHT
    across = max(1, int(total / _KEY_COLUMN))
    # Under the panels: label of the axis, the key and two lines of small print.
    below = _BELOW + -(-entries // across) * _KEY_LINE + _SMALL_PRINT + _more_print(cube, total)
    titles = _TITLE if view.panels else 0.0
    caption = [
        part
        for line in caption_of(cube, view, choice)
        for part in textwrap.wrap(
            _UNIT.sub("\N{NO-BREAK SPACE}", typeset(line)), int((total - left) / _CHARACTER)
        )
    ]
    height = _TALL * width if not names else min(_TALL * width, _WORD_ROW * len(names))
    return _Plan(columns, -(-count // columns), width, height, caption, left, below, titles)


def _small_print(cube: Cube, width: float) -> list[str]:
    """Lines of the small print under a picture `width` wide [in]."""
    texts = [CAUTION] if cube.bands is None else [cube.bands.covers, CAUTION]
    return [line for text in texts for line in textwrap.wrap(text, int(width / 0.058))]


def _more_print(cube: Cube, width: float) -> float:
    """Height that the sentence on intervals takes [in]."""
    return 0.0 if cube.bands is None else _PRINT_LINE * (len(_small_print(cube, width)) - 2)


def _dress(axes: Any, view: View, has_label_below: bool, has_label_left: bool) -> None:
    """Scales, limits and labels; inner panels share those of the outer ones."""
    mesh = view.mesh
    across, up = view.axes[view.across], view.axes[view.up]
    scale_side(axes.xaxis, across, axes.set_xscale)
    scale_side(axes.yaxis, up, axes.set_yscale)
    axes.set(xlim=(mesh.x_edges[0], mesh.x_edges[-1]), ylim=(mesh.y_edges[0], mesh.y_edges[-1]))
    axes.tick_params(labelbottom=has_label_below, labelleft=has_label_left)
    axes.tick_params(zorder=6, which="both")
    if has_label_below:
        axes.set_xlabel(label_of(across))
    if has_label_left:
        axes.set_ylabel(label_of(up))


def _fill(
    axes: Any,
    cube: Cube,
    view: View,
    place: tuple[int, ...],
    levels: dict[str, list[float]],
    star: tuple[float, float] | None,
) -> None:
    words, mesh = view.slice_of(place, cube.word), view.mesh
    paint_regions(axes, mesh, words)
    if any(view.axes[one].scale == "list" for one in (view.across, view.up)) and not view.has_words:
        x, y = np.meshgrid(mesh.x, mesh.y)
        axes.plot(x.ravel(), y.ravel(), linestyle="none", marker=".", markersize=2.5, color=INK, zorder=4)
    marks = _mark_doubts(axes, cube, view, place)
    taken = [] if star is None else [tuple(axes.transData.transform(star))]
    for word, row, column in places_of(words):
        size = 8.0 if len(view.places) < 3 else 6.5
        # Where figures are written in the lower half of each row, words go into the upper half.
        up = float(mesh.y[row]) + (0.2 if view.has_words else 0.0)
        spot = _kept_inside(axes, (float(mesh.x[column]), up), len(word) * size)
        taken.append(tuple(axes.transData.transform(spot)))
        patch = {"facecolor": "white", "edgecolor": INK, "linewidth": 0.5, "boxstyle": "round,pad=0.25"}
        look = {"ha": "center", "va": "center", "fontweight": "bold", "bbox": patch, "zorder": 5}
        axes.text(*spot, word, fontsize=size, **look)
    if view.has_words:
        _write_depths(axes, cube, view, place)
        return
    for line in LINES:
        values = view.slice_of(place, cube.measures[line.measure])
        draw_contours(axes, mesh, values, line, levels[line.measure], taken, marks)


def _mark_doubts(axes: Any, cube: Cube, view: View, place: tuple[int, ...]) -> list[tuple[float, float]]:
    """Mark the points whose verdict few draws share; where the marks are [pixel]."""
    if cube.bands is None:
        return []
    mesh, marks = view.mesh, []
    shares = view.slice_of(place, cube.bands.share_of(cube.word))
    for low, high, look, _ in _DOUBTS:
        rows, columns = np.nonzero((shares >= low) & (shares < high))
        x, y = mesh.x[columns], mesh.y[rows]
        axes.plot(x, y, zorder=3.5, **_DOUBT, **look)
        marks += [tuple(axes.transData.transform(spot)) for spot in zip(x, y, strict=True)]
    return marks


def _star_in(view: View, place: tuple[int, ...], choice: Choice | None) -> tuple[float, float] | None:
    """Where the chosen setting lies in the panel at `place`, if it is there."""
    if choice is None or place != tuple(choice.nearest[one] for one in view.panels):
        return None
    x, y = (at_position(view.axes[one], choice.position[one]) for one in (view.across, view.up))
    return x, y


def _kept_inside(axes: Any, spot: tuple[float, float], length: float) -> tuple[float, float]:
    """`spot` moved so far that a text of this length [pt of its letters] stays in the panel."""
    half = (0.36 * length + 4.0) * axes.figure.dpi / 72.0
    x, y = axes.transData.transform(spot)
    x = min(max(x, axes.bbox.x0 + half), axes.bbox.x1 - half)
    moved = axes.transData.inverted().transform((x, y))
    return float(moved[0]), float(moved[1])


def _write_depths(axes: Any, cube: Cube, view: View, place: tuple[int, ...]) -> None:
    """Depth over coagulation in um at some points, where lines would join materials."""
    depth, under = (view.slice_of(place, cube.measures[line.measure]) for line in LINES)
    mesh, words = view.mesh, view.slice_of(place, cube.word)
    step = -(-mesh.x.size // _MOST_NUMBERS)
    patch = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "boxstyle": "square,pad=0.15"}
    for row, column in np.argwhere(np.isfinite(depth)):
        if column % step or words[row, column] in SIGNS:
            continue
        low = mesh.y_edges[row] + 0.2 * (mesh.y_edges[row + 1] - mesh.y_edges[row])
        text = f"{_micro(depth[row, column])}\n{_micro(under[row, column])}"
        look = {"ha": "center", "va": "center", "fontsize": 6.5, "bbox": patch, "zorder": 4}
        axes.text(mesh.x[column], low, text, **look)


def _micro(length: float) -> str:
    return significant(1e6 * length) if np.isfinite(length) else "-"


def _handles(cube: Cube, view: View, choice: Choice | None) -> list[Any]:
    """What the key explains: only what is there."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles: list[Any] = []
    for word, tone in TONES.items():
        if np.any(cube.word == word):
            handles.append(hatched(word, partial(Patch, facecolor=tone.colour, label=word)))
    for word, sign in SIGNS.items():
        if np.any(cube.word == word):
            handles.append(Line2D([], [], linestyle="none", marker=sign, color=INK, label=SIGN_NAMES[word]))
    if not view.has_words:
        handles += [Line2D([], [], color=one.colour, linestyle=one.style, label=one.meaning) for one in LINES]
    if cube.bands is not None:
        handles += [Line2D([], [], label=label, **_DOUBT, **look) for _, _, look, label in _DOUBTS]
    if choice is not None:
        label = f"cleanest for {length_of(choice.depth)}"
        handles.append(Line2D([], [], linestyle="none", label=label, **_STAR))
    return handles


def _write_caption(figure: Any, plan: _Plan) -> None:
    width, height = plan.total
    for number, line in enumerate(plan.caption):
        look = {"fontweight": "bold", "fontsize": 9.5} if number == 0 else {"fontsize": 8.0}
        figure.text(plan.left / width, (height - _PAD - number * _LINE) / height, line, va="top", **look)


def _write_key(figure: Any, cube: Cube, plan: _Plan, handles: list[Any]) -> None:
    width, height = plan.total
    foot = 0.36 + _more_print(cube, width)
    columns = max(1, int(width / _KEY_COLUMN))
    place = {"loc": "lower left", "bbox_to_anchor": (0.25 / width, foot / height), "borderaxespad": 0.0}
    look = {"frameon": False, "fontsize": 8.0, "handlelength": 2.6, "handleheight": 1.2, "columnspacing": 1.2}
    figure.legend(handles=handles, ncols=columns, **place, **look)
    small = "\n".join(_small_print(cube, width))
    figure.text(0.25 / width, 0.06 / height, small, va="bottom", fontsize=6.0, color="#4a4a4a")
