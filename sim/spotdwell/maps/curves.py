"""A map over one range as curves: depth and layers against the setting, over bands of verdicts."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from functools import partial
from itertools import groupby
from typing import Any

import numpy as np

from spotdwell.maps.choice import Choice
from spotdwell.maps.cube import Cube
from spotdwell.maps.regions import TONES, hatched
from spotdwell.maps.view import at_position, caption_of, label_of, scale_side, sides_of, spacing
from spotdwell.output.pictures.style import CAUTION, INK, typeset

CURVES = (
    "deepest",
    "char_thickness_floor",
    "char_thickness_wall",
    "coagulation_thickness_floor",
    "coagulation_thickness_wall",
)
_LOOKS: dict[str, dict[str, Any]] = {
    "deepest": {"color": INK, "linewidth": 1.8, "marker": "o"},
    "char_thickness_floor": {"color": INK, "linestyle": (0, (1, 1.2)), "marker": "v"},
    "char_thickness_wall": {"color": "#5a5a5a", "linestyle": (0, (1, 1.2)), "marker": "^"},
    "coagulation_thickness_floor": {"color": "#7a1552", "linestyle": (0, (4, 1.6)), "marker": "s"},
    "coagulation_thickness_wall": {"color": "#b0578c", "linestyle": (0, (4, 1.6)), "marker": "D"},
}
_USUAL = {"linewidth": 1.3, "markersize": 4.0}
_NAMES = ("deepest point", "char, floor", "char, wall", "coagulated, floor", "coagulated, wall")
_SIZE, _MARGINS = (7.0, 5.8), {"left": 0.11, "right": 0.98, "bottom": 0.255, "hspace": 0.12}
"""Width and height of the figure [in], and its margins over them."""
_HEAD, _LINE = 0.985, 0.034
"""Where the caption begins, and the height of its lines, over the figure's height."""


def paint_curves(figure: Any, cube: Cube, choice: Choice | None = None) -> None:
    """Fill `figure` with the curves of a map over one axis: depth above, layers below, verdicts behind."""
    axis = cube.axes[0]
    x, edges = sides_of(axis)
    figure.set_size_inches(*_SIZE)
    lines = [part for line in caption_of(cube, None, choice) for part in textwrap.wrap(typeset(line), 95)]
    shape = _MARGINS | {"top": _HEAD - _LINE * (len(lines) + 0.7), "height_ratios": [1.0, 1.1]}
    above, below = figure.subplots(2, 1, sharex=True, gridspec_kw=shape)
    for axes in (above, below):
        _paint_bands(axes, cube, edges)
        axes.grid(color="#00000022", linewidth=0.5)
        axes.spines[["top", "right"]].set_visible(False)
    joining = {"linestyle": "none"} if spacing(axis) == "words" else {}
    for name, label in zip(CURVES, _NAMES, strict=True):
        values = 1e6 * cube.measures[name]
        if np.any(np.isfinite(values)):
            axes = above if name == "deepest" else below
            axes.plot(x, values, label=label, **(_USUAL | _LOOKS[name] | joining))
    limit = 1e6 * cube.limits.char_thickness
    below.axhline(limit, color=INK, linewidth=0.7)
    place = {"xycoords": ("axes fraction", "data"), "ha": "right", "va": "bottom", "fontsize": 7.0}
    below.annotate("limit of char", (0.995, limit), **place)
    if choice is not None:
        at = at_position(axis, choice.position[0])
        above.axvline(at, color=INK, linewidth=0.9, linestyle=(0, (6, 3)))
    above.set(xlim=(edges[0], edges[-1]), ylabel="depth [µm]")
    below.set(ylabel="reach [µm]", xlabel=label_of(axis))
    for axes in (above, below):
        axes.set_ylim(bottom=0.0)
    figure.align_ylabels((above, below))
    scale_side(below.xaxis, axis, below.set_xscale)
    _write(figure, cube, lines, (above, below))


def _paint_bands(axes: Any, cube: Cube, edges: Any) -> None:
    """A band behind the curves for each run of points with the same verdict."""
    at = 0
    for word, run in groupby(str(one) for one in cube.word):
        end = at + len(list(run))
        if word in TONES:
            band = partial(axes.axvspan, edges[at], edges[end])
            band(facecolor=TONES[word].colour, alpha=0.55, linewidth=0.0, zorder=0)
            hatched(word, partial(band, facecolor="none", alpha=0.3, zorder=0.1))
        at = end


def _write(figure: Any, cube: Cube, lines: Sequence[str], panels: tuple[Any, Any]) -> None:
    from matplotlib.patches import Patch

    left = _MARGINS["left"]
    for number, line in enumerate(lines):
        look = {"fontweight": "bold", "fontsize": 9.5} if number == 0 else {"fontsize": 8.0}
        figure.text(left, _HEAD - _LINE * number, line, va="top", **look)
    bands = [
        hatched(word, partial(Patch, facecolor=tone.colour, label=word, alpha=0.7))
        for word, tone in TONES.items()
        if np.any(cube.word == word)
    ]
    handles = [*(line for axes in panels for line in axes.get_legend_handles_labels()[0]), *bands]
    place = {"loc": "lower left", "bbox_to_anchor": (left - 0.02, 0.045), "ncols": 4}
    figure.legend(handles=handles, frameon=False, fontsize=8.0, handlelength=2.6, **place)
    small = "\n".join(textwrap.wrap(CAUTION, 125))
    figure.text(left, 0.008, small, fontsize=6.0, color="#4a4a4a")
