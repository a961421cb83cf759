"""Scale bar: a bar of a round length at the lower right of a drawing; two where the scales differ."""

from __future__ import annotations

from typing import Any

import numpy as np

from spotdwell.output.pictures.style import INK
from spotdwell.output.pictures.view import View

_PATCH = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "boxstyle": "square,pad=0.25"}
_TEXT: dict[str, Any] = {"fontsize": "small", "bbox": _PATCH, "zorder": 6}
_LINE: dict[str, Any] = {"color": INK, "linewidth": 2.2, "solid_capstyle": "butt", "zorder": 7}


def round_length(room: float) -> float:
    """The longest of 1, 2, 5, 10, 20 ... that fits into `room`."""
    decade = 10.0 ** np.floor(np.log10(room))
    return float(max(step * decade for step in (1.0, 2.0, 5.0) if step * decade <= room * (1.0 + 1e-9)))


def paint_scale_bars(axes: Any, view: View) -> None:
    """A bar along the surface, and one down where depths have a scale of their own."""
    least = min(view.size)
    length = round_length(0.3 * least / view.size[0] * view.width)
    end, level = view.right - 0.03 * view.width, view.shown - 0.05 * least / view.size[1] * view.height
    lift = 0.02 * least / view.size[1] * view.height
    text = f"{length:g} {view.unit}"
    axes.text(end - 0.5 * length, level - lift, text, ha="center", va="bottom", **_TEXT)
    axes.plot([end - length, end], [level, level], **_LINE)
    if view.stretch != 1.0:
        down = round_length(0.3 * view.shown)
        x = end - length - 0.03 * view.width
        place = x - 0.012 * view.width, level - 0.5 * down
        axes.text(*place, f"{down:g} {view.unit}", ha="right", va="center", **_TEXT)
        axes.plot([x, x], [level - down, level], **_LINE)
