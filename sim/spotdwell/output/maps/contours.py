"""Contours of a map: lines of equal crater depth and coagulation, labelled where nothing else is written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.output.maps.choice import length_of
from spotdwell.output.maps.regions import Mesh
from spotdwell.output.pictures.style import INK

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """How lines of a measure look."""

    measure: str
    meaning: str
    colour: str
    style: Any
    slant: str


LINES = (
    Line("crater_depth", "crater depth", INK, "-", "normal"),
    Line("coagulation_thickness_floor", "coagulation under the floor", "#7a1552", (0, (4, 1.6)), "italic"),
)

_STEPS = (1.0, 2.0, 5.0)
_FEWEST, _MOST = 3, 6
_GAP = 5.5
"""Least distance between two labels [em of the labels]."""
_MARGIN = 2.0
"""Of a label's middle from the panel's edge [em]."""


def levels_of(values: Array) -> list[float]:
    """Round levels [m] for the positive `values`: 1, 2, 5, 10 ... um, closer where these are too few."""
    found = values[np.isfinite(values) & (values > 0.0)]
    if found.size < 2:
        return []
    low, high = float(found.min()), float(found.max())
    decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    levels = [step * 10.0**decade for decade in decades for step in _STEPS]
    levels = [float(f"{level:.3g}") for level in levels if low <= level <= high]
    if len(levels) < _FEWEST:
        from matplotlib.ticker import MaxNLocator

        ticks = MaxNLocator(_FEWEST + 1).tick_values(low * 1e6, high * 1e6)
        levels = [float(f"{tick:.6g}e-6") for tick in ticks if low * 1e6 < tick < high * 1e6 and tick > 0.0]
    return levels[-_MOST:]


def draw_contours(
    axes: Any, mesh: Mesh, values: Array, line: Line, levels: list[float], taken: list[tuple[float, float]]
) -> None:
    """Draw lines of `values`, shape (rows, columns), and label each away from the places `taken` [pixel].

    Places of the new labels are added to `taken`. Nothing is drawn next to a point without a value,
    nor round a single point: cells scatter a measure by as much.
    """
    from matplotlib.collections import LineCollection
    from matplotlib.patheffects import withStroke

    known = np.ma.masked_invalid(values)
    if not levels or min(known.shape) < 2 or known.count() < 4 or not _crossed(known, levels):
        return
    found = axes.contour(mesh.x, mesh.y, known, levels=levels)
    every = [[part for part in parts if _is_resolved(mesh, part)] for parts in found.allsegs]
    found.remove()
    look: dict[str, Any] = {"colors": line.colour, "linestyles": [line.style], "linewidths": 1.0, "zorder": 3}
    drawn = LineCollection([part for parts in every for part in parts], **look)
    drawn.set_path_effects([withStroke(linewidth=2.4, foreground="#ffffffc0")])
    axes.add_collection(drawn, autolim=False)
    for level, parts in zip(levels, every, strict=True):
        place = _best_place(axes, parts, taken)
        if place is not None:
            taken.append(tuple(axes.transData.transform(place)))
            _write(axes, place, length_of(level), line)


def _is_resolved(mesh: Mesh, part: Array) -> bool:
    """Whether a line goes round more than one point, or is open and as long as one cell."""
    if len(part) < 2:
        return False
    spans = [
        np.ptp(np.interp(part[:, side], centres, np.arange(centres.size)))
        for side, centres in enumerate((mesh.x, mesh.y))
    ]
    least = 2.0 if np.array_equal(part[0], part[-1]) else 1.0
    return bool(max(spans) >= least)


def _crossed(values: Any, levels: Iterable[float]) -> bool:
    low, high = float(values.min()), float(values.max())
    return any(low < level < high for level in levels)


def _best_place(
    axes: Any, parts: list[Array], taken: list[tuple[float, float]]
) -> tuple[float, float] | None:
    """The point of a line farthest from what is written and from the edge; None if all is too near."""
    points = np.concatenate([np.zeros((0, 2)), *(_along(part) for part in parts if len(part) > 1)])
    if not len(points):
        return None
    em = _label_size(axes) * axes.figure.dpi / 72.0
    pixels = axes.transData.transform(points)
    box = axes.bbox
    # A label is wider than high: so are the distances it keeps.
    inside = np.min(
        [
            pixels[:, 0] - box.x0,
            box.x1 - pixels[:, 0],
            2.0 * (pixels[:, 1] - box.y0),
            2.0 * (box.y1 - pixels[:, 1]),
        ],
        axis=0,
    )
    room = inside / (_MARGIN * em)
    for x, y in taken:
        far = np.hypot(pixels[:, 0] - x, 1.8 * (pixels[:, 1] - y))
        room = np.minimum(room, far / (_GAP * em))
    best = int(np.argmax(np.minimum(room, 2.0)))
    return tuple(points[best]) if room[best] >= 1.0 else None


def _along(part: Array) -> Array:
    """Points of a line and the middles between them."""
    return np.concatenate([part, 0.5 * (part[1:] + part[:-1])])


def _write(axes: Any, place: tuple[float, float], text: str, line: Line) -> None:
    patch = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "boxstyle": "square,pad=0.12"}
    look = {"ha": "center", "va": "center", "fontsize": _label_size(axes), "fontstyle": line.slant}
    axes.text(*place, text, color=line.colour, bbox=patch, zorder=4, **look)


def _label_size(axes: Any) -> float:
    """Size of the labels' type [pt]: smaller in small panels."""
    return 6.5 if axes.bbox.width / axes.figure.dpi > 3.0 else 5.6
