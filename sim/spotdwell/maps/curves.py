"""A map over one range as curves: depth and layers against the setting, over the verdicts.

With intervals each curve has its band, and char a panel of its own.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from functools import partial
from itertools import groupby
from typing import Any

import numpy as np

from spotdwell.maps.bands import Bands
from spotdwell.maps.choice import Choice
from spotdwell.maps.cube import Cube
from spotdwell.maps.regions import TONES, hatched
from spotdwell.maps.view import at_position, caption_of, label_of, scale_side, sides_of, spacing
from spotdwell.measure.interval import LEVEL_WORDS
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
_BANDS: dict[str, dict[str, Any]] = {
    "": {"facecolor": "#00000047", "edgecolor": INK, "linewidth": 0.6},
    "wall": {"facecolor": "none", "edgecolor": INK, "linewidth": 0.6, "hatch": "||||"},
}
"""Looks of a band, and of one of a wall, which may lie over the floor's; told apart in grey."""
_BAND_NAMES = {"": LEVEL_WORDS, "wall": f"{LEVEL_WORDS}, wall"}
_NAMES = ("deepest point", "char, floor", "char, wall", "coagulated, floor", "coagulated, wall")
_WIDTH, _HEIGHTS = 7.0, {2: 5.8, 3: 7.9}
"""Width of the figure [in], and its height by the number of panels."""
_LEFT, _RIGHT, _BELOW, _SMALL, _USUAL_PRINT = 0.77, 0.14, 1.48, 0.11, 2
"""Room beside the panels, and below them with so many lines of small print of such a height [in]."""
_HEAD, _LINE = 0.09, 0.197
"""Room above the caption, and the height of its lines [in]."""


def paint_curves(figure: Any, cube: Cube, choice: Choice | None = None) -> None:
    """Fill `figure` with the curves of a map over one axis: depth above, layers below, verdicts behind."""
    axis = cube.axes[0]
    x, edges = sides_of(axis)
    lines = [part for line in caption_of(cube, None, choice) for part in textwrap.wrap(typeset(line), 95)]
    panels = _panels(figure, cube, len(lines))
    above, below = panels[0], panels[-1]
    for axes in panels:
        _paint_bands(axes, cube, edges)
        axes.grid(color="#00000022", linewidth=0.5)
        axes.spines[["top", "right"]].set_visible(False)
    joining = {"linestyle": "none"} if spacing(axis) == "words" else {}
    for name, label in zip(CURVES, _NAMES, strict=True):
        values = 1e6 * cube.measures[name]
        if np.any(np.isfinite(values)):
            axes = above if name == "deepest" else below if name.startswith("char") else panels[1]
            if cube.bands is not None:
                _paint_interval(axes, x, cube.bands, name, bool(joining))
            axes.plot(x, values, label=label, **(_USUAL | _LOOKS[name] | joining))
    limit = 1e6 * cube.limits.char_thickness
    below.axhline(limit, color=INK, linewidth=0.7)
    place = {"xycoords": ("axes fraction", "data"), "ha": "right", "va": "bottom", "fontsize": 7.0}
    below.annotate("limit of char", (0.995, limit), **place)
    if choice is not None:
        at = at_position(axis, choice.position[0])
        above.axvline(at, color=INK, linewidth=0.9, linestyle=(0, (6, 3)))
    above.set(xlim=(edges[0], edges[-1]), ylabel="depth [µm]")
    panels[1].set(ylabel="reach [µm]" if below is panels[1] else "coagulated [µm]")
    below.set(xlabel=label_of(axis), **({} if below is panels[1] else {"ylabel": "charred [µm]"}))
    for axes in panels:
        axes.set_ylim(bottom=0.0)
    figure.align_ylabels(panels)
    scale_side(below.xaxis, axis, below.set_xscale)
    _write(figure, cube, lines, panels)


def _panels(figure: Any, cube: Cube, lines: int) -> Sequence[Any]:
    """Depth above and layers below; with intervals coagulation and char apart, or bands hide one another."""
    count = 2 if cube.bands is None else 3
    more = _SMALL * (len(_small_print(cube)) - _USUAL_PRINT)
    height = _HEIGHTS[count] + more
    figure.set_size_inches(_WIDTH, height)
    shape = {
        "left": _LEFT / _WIDTH,
        "right": 1.0 - _RIGHT / _WIDTH,
        "bottom": (_BELOW + more) / height,
        "top": 1.0 - (_HEAD + _LINE * (lines + 0.7)) / height,
        "hspace": 0.12,
        "height_ratios": [1.0, 1.1, 0.9][:count],
    }
    panels: Sequence[Any] = figure.subplots(count, 1, sharex=True, gridspec_kw=shape)
    return panels


def _thin_hatch() -> Any:
    """Context in which hatches are thin and in ink."""
    from matplotlib import rc_context

    return rc_context({"hatch.color": INK, "hatch.linewidth": 0.4})


def _paint_interval(axes: Any, x: Any, bands: Bands, name: str, apart: bool) -> None:
    """The band of a curve; where nothing joins its points, a line at each."""
    low, high = 1e6 * bands.low[name], 1e6 * bands.high[name]
    side = "wall" if name.endswith("wall") else ""
    if apart:
        shift = 0.06 if side else 0.0 if name == "deepest" else -0.06
        axes.errorbar(x + shift, 0.5 * (low + high), 0.5 * (high - low), fmt="none", ecolor=INK, capsize=3.0)
        return
    with _thin_hatch():
        axes.fill_between(x, low, high, zorder=1.5, **_BANDS[side])


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


def _interval_handles(apart: bool) -> list[Any]:
    """What the key says of the bands, or of the lines at points that nothing joins."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    if apart:
        mark: dict[str, Any] = {"marker": "|", "linestyle": "none", "markersize": 9.0, "markeredgewidth": 1.5}
        return [Line2D([], [], color=INK, label=f"{LEVEL_WORDS} (wall: right)", **mark)]
    with _thin_hatch():
        return [Patch(label=_BAND_NAMES[side], **look) for side, look in _BANDS.items()]


def _small_print(cube: Cube) -> list[str]:
    texts = [CAUTION] if cube.bands is None else [cube.bands.covers, CAUTION]
    return [line for text in texts for line in textwrap.wrap(text, 125)]


def _write(figure: Any, cube: Cube, lines: Sequence[str], panels: Sequence[Any]) -> None:
    from matplotlib.patches import Patch

    height = figure.get_size_inches()[1]
    left = _LEFT / _WIDTH
    for number, line in enumerate(lines):
        look = {"fontweight": "bold", "fontsize": 9.5} if number == 0 else {"fontsize": 8.0}
        figure.text(left, 1.0 - (_HEAD + _LINE * number) / height, line, va="top", **look)
    bands = [
        hatched(word, partial(Patch, facecolor=tone.colour, label=word, alpha=0.7))
        for word, tone in TONES.items()
        if np.any(cube.word == word)
    ]
    if cube.bands is not None:
        bands = [*_interval_handles(spacing(cube.axes[0]) == "words"), *bands]
    handles = [*(line for axes in panels for line in axes.get_legend_handles_labels()[0]), *bands]
    small = _small_print(cube)
    place = {
        "loc": "lower left",
        "bbox_to_anchor": (left - 0.02, (0.04 + _SMALL * len(small)) / height),
        "ncols": 4,
    }
    figure.legend(handles=handles, frameon=False, fontsize=8.0, handlelength=2.6, **place)
    figure.text(left, 0.046 / height, "\n".join(small), fontsize=6.0, color="#4a4a4a")
