"""Floor detail: the floor of a crater on the axis, enlarged, so that thin layers can be compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from spotdwell.output.pictures.scale_bar import paint_scale_bars
from spotdwell.output.pictures.section import ZONES, Section
from spotdwell.output.pictures.style import INK
from spotdwell.output.pictures.view import View
from spotdwell.output.pictures.zone_drawing import paint_zones

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
