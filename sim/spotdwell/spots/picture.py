"""Caustic: paints a beam's edge along its axis around the waist, with the work surface."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.output.pictures.style import BEAM, FAINT, INK, draw_file, length_unit, typeset

Array = NDArray[np.float64]

_LIGHT = "#e0b9b1"
_FOCUS: dict[str, Any] = {"facecolor": "#f6f6f6", "edgecolor": "#bcbcbc", "hatch": "///", "linewidth": 0.0}
"""Lighter than the beam and hatched, to be told apart in grey too."""
_DASHES: tuple[Any, ...] = ("--", ":", "-.", (0, (1, 1)))


@dataclass(frozen=True)
class Mark:
    """A position of the surface on the axis that is marked."""

    defocus: float
    """[m]."""
    diameter: float
    """[m]."""
    label: str


@dataclass(frozen=True, eq=False)
class Caustic:
    """What the picture shows; all SI."""

    defocus: Array
    """From the waist, positive farther from the lens [m], ascending."""
    diameter: Array
    """At each defocus [m]."""
    rayleigh_range: float
    title: str
    marks: Sequence[Mark] = ()


def draw_caustic(caustic: Caustic, path: str | os.PathLike[str]) -> None:
    """Draw the beam's 1/e2 edge against defocus: png, svg or pdf by the suffix.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    draw_file(Path(path), lambda figure: paint(figure, caustic))


def paint(figure: Any, caustic: Caustic) -> None:
    """Fill `figure` with the caustic; the two axes have scales of their own."""
    figure.set_size_inches(7.0, 4.0)
    axes = figure.add_axes((0.1, 0.125, 0.87, 0.735))
    across, scale = length_unit(float(caustic.diameter.max()))
    along = 1e3 * caustic.defocus
    edge = scale * caustic.diameter / 2.0
    reach = 1e3 * caustic.rayleigh_range
    tall = 1.12 * float(edge.max())
    axes.fill_between([-reach, reach], -tall, tall, **_FOCUS, zorder=0)
    axes.fill_between(along, -edge, edge, color=_LIGHT, linewidth=0, zorder=1)
    for side in (-1.0, 1.0):
        axes.plot(along, side * edge, color=BEAM, linewidth=1.4, zorder=3)
    axes.axhline(0.0, color=FAINT, linewidth=0.6, linestyle=(0, (8, 3, 2, 3)), zorder=2)
    axes.set_xlim(float(along[0]), float(along[-1]))
    axes.set_ylim(-tall, tall)
    axes.set_xlabel("defocus [mm]: distance of the surface from the waist, away from the lens")
    axes.set_ylabel(f"distance from the axis [{across}]")
    axes.spines[["top", "right"]].set_visible(False)
    _draw_marks(axes, caustic, scale)
    _explain(figure, axes, caustic)


def _draw_marks(axes: Any, caustic: Caustic, scale: float) -> None:
    for mark, dashes in zip(caustic.marks, _DASHES, strict=False):
        half = scale * mark.diameter / 2.0
        at = 1e3 * mark.defocus
        axes.plot(
            [at, at],
            [-half, half],
            color=INK,
            linewidth=1.6,
            linestyle=dashes,
            marker="_",
            markersize=9,
            zorder=4,
            label=typeset(mark.label),
        )


def _explain(figure: Any, axes: Any, caustic: Caustic) -> None:
    from matplotlib.patches import Patch

    handles, labels = axes.get_legend_handles_labels()
    handles = [Patch(facecolor=_LIGHT, edgecolor=BEAM), Patch(**_FOCUS), *handles]
    labels = ["beam within its 1/e² edge", "depth of focus (2 Rayleigh ranges)", *labels]
    axes.legend(handles, labels, loc="upper center", ncols=2, fontsize=8, handlelength=3.2, frameon=False)
    # Room for the legend above the beam.
    low, high = axes.get_ylim()
    axes.set_ylim(low, high + 0.075 * (high - low) * ((1 + len(labels)) // 2))
    figure.text(0.1, 0.955, typeset(caustic.title), va="top", fontweight="bold", fontsize=9.5)
    figure.text(0.1, 0.905, "light from the left; the scales of the two axes differ", va="top")
