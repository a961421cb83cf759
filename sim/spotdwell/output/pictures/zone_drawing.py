"""Zone drawing: crater, zones and layers of a section, painted on axes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from spotdwell.output.pictures.section import ZONES, LayerCut, Section
from spotdwell.output.pictures.style import EDGE, FAINT, INK, PAGE, TONES, Sheet, typeset
from spotdwell.output.pictures.view import View

_FAR = 1e6
"""Stands for infinity in a contour's upper level."""


def paint_zones(axes: Any, section: Section, view: View) -> None:
    """Layers, zones and the crater of `section`, to the scales of `view`."""
    for layer in section.layers:
        _paint_layer(axes, layer, view)
    paint_crater(axes, section, view)


def frame_axes(axes: Any, view: View, sheet: Sheet = PAGE) -> None:
    """Limits, ticks and spines of axes that show `view`."""
    axes.set(xlim=(view.left, view.right), ylim=(view.bottom, -view.sky))
    axes.locator_params(axis="y", nbins=max(3, int(view.size[1] / (3.5 * sheet.em))))
    axes.locator_params(axis="x", nbins=max(3, int(view.size[0] / (5.0 * sheet.em))))
    axes.set_yticks([tick for tick in axes.get_yticks() if 0.0 <= tick <= view.bottom])
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines["left"].set_bounds(0.0, view.bottom)
    axes.spines[["left", "bottom"]].set_zorder(8)


def fill_layer(axes: Any, layer: LayerCut, view: View, colour: str, hatch: str = "") -> Any:
    """Paint what `view` shows of a layer in one `colour`; the patch also clips what is painted on it."""
    from matplotlib.patches import Rectangle

    left, right = max(layer.across[0] * view.scale, view.left), min(layer.across[-1] * view.scale, view.right)
    top, bottom = layer.top * view.scale, min(layer.bottom * view.scale, view.bottom)
    size = right - left, bottom - top
    whole = Rectangle((left, top), *size, facecolor=colour, hatch=hatch or None, linewidth=0.0)
    axes.add_patch(whole)
    return whole


def _paint_layer(axes: Any, layer: LayerCut, view: View) -> None:
    across, depth = layer.across * view.scale, layer.depth * view.scale
    tone = TONES["liquid" if layer.liquid else "untouched"]
    whole = fill_layer(axes, layer, view, tone.colour, tone.hatch)
    mesh = np.broadcast_to(across, depth.shape), depth
    for zone in ZONES:
        margin = np.clip(layer.margins[zone], -_FAR, 0.5 * _FAR)
        if margin.max() < 0.0:
            continue
        tone = TONES[zone]
        look = {"colors": [tone.colour], "hatches": [tone.hatch or None]}
        painted = [axes.contourf(*mesh, margin, levels=[0.0, _FAR], **look)]
        if margin.min() < 0.0:
            painted.append(axes.contour(*mesh, margin, levels=[0.0], colors=[INK], linewidths=0.5))
        for item in painted:
            item.set_clip_path(whole)


def paint_crater(axes: Any, section: Section, view: View) -> None:
    """What is gone, and the line of what is left."""
    across = np.concatenate([[section.edges[0]], section.across, [section.edges[1]]]) * view.scale
    front = np.pad(section.front, 1, mode="edge") * view.scale
    through = front >= section.bottom * view.scale
    gone = np.where(through, view.bottom, front)
    axes.fill_between(across, 0.0, gone, facecolor=TONES["air"].colour, linewidth=0.0, zorder=3)
    axes.plot(across, np.where(through, np.nan, front), color=EDGE, linewidth=0.5, zorder=4)
    if section.has_crater:
        removed = front > 0.0
        removed = np.convolve(removed, [1, 1, 1], mode="same") > 0
        was = np.where(removed, 0.0, np.nan)
        axes.plot(across, was, color=FAINT, linewidth=0.6, linestyle=(0, (4, 3)), zorder=4)
    if view.bottom > section.bottom * view.scale:
        under = np.where(through, np.nan, section.bottom * view.scale)
        axes.plot(across, under, color=EDGE, linewidth=0.5, zorder=4)


def name_layers(axes: Any, section: Section, view: View, sheet: Sheet = PAGE) -> None:
    """Boundaries as dashed lines under the crater, names at the right, spread where layers are thin."""
    shown = [layer for layer in section.layers if layer.top * view.scale < view.bottom]
    least = 1.4 * sheet.em / view.size[1] * view.height
    at = -np.inf
    for layer in shown:
        top, bottom = layer.top * view.scale, min(layer.bottom * view.scale, view.bottom)
        if layer.top > 0.0:
            axes.axhline(top, color=INK, linewidth=0.8, linestyle=(0, (6, 2)), zorder=2.5)
        middle = 0.5 * (top + bottom)
        at = max(middle, at + least)
        axes.annotate(
            typeset(layer.name),
            (view.right, middle),
            xytext=(view.right + 1.4 * sheet.em / view.size[0] * view.width, at),
            va="center",
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": FAINT, "linewidth": 0.6, "shrinkA": 0, "shrinkB": 0},
        )


def tones_of(sections: Sequence[Section]) -> list[str]:
    """Tones that are drawn anywhere, from the most to the least changed."""
    present = [zone for zone in reversed(ZONES) if any(one.extent_of(zone) for one in sections)]
    liquid = any(layer.liquid for section in sections for layer in section.layers)
    return [*present, "untouched", *(["liquid"] if liquid else [])]


def write_tones(owner: Any, sections: Sequence[Section], **place: Any) -> None:
    """A line with the name of every tone in `sections`, as a legend of a figure or axes, put by `place`."""
    from matplotlib.patches import Patch

    look: dict[str, Any] = {"edgecolor": INK, "linewidth": 0.5}
    patches = [
        Patch(facecolor=TONES[name].colour, hatch=TONES[name].hatch or None, label=name, **look)
        for name in tones_of(sections)
    ]
    size = {"handlelength": 2.1, "handleheight": 1.05, "columnspacing": 1.3}
    bare = {"frameon": False, "borderpad": 0.0, "borderaxespad": 0.0}
    owner.legend(handles=patches, ncols=len(patches), **size, **bare, **place)
