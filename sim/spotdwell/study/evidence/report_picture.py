"""Picture of the credibility report: computed against measured, with the measurements' bands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from spotdwell.document.model import Drawing
from spotdwell.output.pictures.canvas import INCH, Place
from spotdwell.output.pictures.style import BEAM, FAINT, INK, typeset

_ROW, _REST, _WIDTH = 0.3, 0.85, 7.4
"""Heights of a row and of all else, and width [in]."""
_BAND = "#c9d9e6"
_COLUMNS = (1.17, 1.38)
"""Right edges of the columns of values, over the width of the axes."""
_TICKS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)


@dataclass(frozen=True)
class Pair:
    """A measured value with the band around it, and the computed one, in the same unit."""

    label: str
    measured: float
    low: float
    high: float
    computed: float
    unit: str


def pairs_drawing(pairs: Sequence[Pair]) -> Drawing:
    """One row for each pair: everything over the measured value, on a logarithmic axis."""
    height = (_REST + _ROW * len(pairs)) * INCH
    return Drawing(_WIDTH * INCH, height, lambda figure, place: _paint(figure, place, pairs))


def _paint(figure: Any, place: Place, pairs: Sequence[Pair]) -> None:
    left, bottom, width, height = place
    total = figure.get_size_inches()
    box = left + 0.29 * width, bottom + 0.5, 0.44 * width, height - _REST
    axes = figure.add_axes((box[0] / total[0], box[1] / total[1], box[2] / total[0], box[3] / total[1]))
    for row, pair in enumerate(pairs):
        _draw_row(axes, row, pair)
    axes.axvline(1.0, color=INK, linewidth=0.8, zorder=1)
    _scale(axes, pairs)
    axes.set_yticks(range(len(pairs)), [_signs(pair.label) for pair in pairs], fontsize=8)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(pairs) - 0.4, -0.6)
    axes.set_xlabel("over the measured value")
    for side in ("top", "left", "right"):
        axes.spines[side].set_visible(False)
    _headings(axes)


def _draw_row(axes: Any, row: int, pair: Pair) -> None:
    low, high, computed = (value / pair.measured for value in (pair.low, pair.high, pair.computed))
    axes.fill_betweenx((row - 0.32, row + 0.32), low, high, color=_BAND, linewidth=0, zorder=0)
    axes.plot([1.0, computed], [row, row], color=FAINT, linewidth=0.8, zorder=2)
    axes.plot([1.0], [row], marker="|", color=INK, markersize=10, linestyle="none", zorder=3)
    inside = pair.low <= pair.computed <= pair.high
    face, edge = (INK, INK) if inside else ("white", BEAM)
    axes.plot([computed], [row], "o", markersize=5.5, markerfacecolor=face, markeredgecolor=edge, zorder=4)
    unit = "" if pair.unit == "1" else _signs(f" {pair.unit}").strip()
    beside = axes.get_yaxis_transform()
    axes.text(_COLUMNS[0], row, f"{pair.measured:.3g}", transform=beside, ha="right", va="center", fontsize=8)
    axes.text(_COLUMNS[1], row, f"{pair.computed:.3g}", transform=beside, ha="right", va="center", fontsize=8)
    axes.text(_COLUMNS[1] + 0.015, row, unit, transform=beside, ha="left", va="center", fontsize=8)


def _signs(text: str) -> str:
    """`text` with the signs of the units that rows have."""
    for plain, signs in ((" us", " µs"), (" ug", " µg"), ("cm2", "cm²"), ("cm3", "cm³")):
        text = text.replace(plain, signs)
    return typeset(text)


def _scale(axes: Any, pairs: Sequence[Pair]) -> None:
    """Logarithmic, wide enough for every row and at least from a third to three times."""
    shares = [value / pair.measured for pair in pairs for value in (pair.low, pair.high, pair.computed)]
    shown = [share for share in shares if share > 0.0]
    left, right = 0.8 * min([0.4, *shown]), 1.25 * max([2.5, *shown])
    axes.set_xscale("log")
    axes.set_xlim(left, right)
    ticks = [tick for tick in _TICKS if left <= tick <= right]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.set_xticks([], minor=True)
    axes.grid(axis="x", color="#e6e6e6", linewidth=0.6)
    axes.set_axisbelow(True)


def _headings(axes: Any) -> None:
    style = {"transform": axes.transAxes, "va": "bottom", "fontsize": 8, "color": "#4a4a4a"}
    axes.text(_COLUMNS[0], 1.01, "measured", ha="right", **style)
    axes.text(_COLUMNS[1], 1.01, "computed", ha="right", **style)
