"""D-squared plot: squared crater diameters against pulse energy, with line, band and outliers."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from spotdwell.craters.result import Estimate, ThresholdFit
from spotdwell.output.pictures.style import BEAM, FAINT, INK, draw_file

Array = NDArray[np.float64]

_BAND = "#d9d9d9"
_UNITS = (("J", 1.0), ("mJ", 1e3), ("µJ", 1e6), ("nJ", 1e9))
_EXPOSURES = (("J/cm²", 1e-4), ("mJ/cm²", 0.1))
_POINT: dict[str, Any] = {"linestyle": "none", "markersize": 5.5, "zorder": 4}


def draw_threshold(fit: ThresholdFit, path: str | os.PathLike[str]) -> None:
    """Draw D^2 against ln E: png, svg or pdf by the suffix.

    Raises InputError for an unknown suffix and RunError where `path` cannot be written.
    """
    draw_file(Path(path), lambda figure: paint(figure, fit))


def paint(figure: Any, fit: ThresholdFit) -> None:
    """Fill `figure` with the craters and the line down to its threshold."""
    figure.set_size_inches(7.0, 4.6)
    axes = figure.add_axes((0.1, 0.115, 0.86, 0.755))
    unit, scale = _unit(fit.threshold_energy.value, _UNITS)
    across, squared = _square(float(fit.used.diameter.max()))
    energies = _energies(fit)
    line, half = fit.squared_diameter(energies), fit.band(energies)
    axes.fill_between(
        scale * energies, squared * (line - half), squared * (line + half), color=_BAND, linewidth=0, zorder=1
    )
    axes.plot(scale * energies, squared * line, color=BEAM, linewidth=1.4, zorder=3)
    axes.axhline(0.0, color=INK, linewidth=0.7, zorder=2)
    _draw_craters(axes, fit, scale, squared)
    _draw_threshold(axes, fit.threshold_energy, scale, energies)
    _finish(figure, axes, fit, unit, across)
    _limit(axes, fit, squared, scale, energies)


def _energies(fit: ThresholdFit) -> Array:
    """From somewhat below the threshold to beyond the highest energy, evenly in ln E [J]."""
    measured = np.concatenate([one.energy for one in (fit.used, fit.outliers, fit.unmarked)])
    threshold = fit.threshold_energy
    # An interval that reaches very far down would squeeze the craters.
    low = min(max(threshold.low, 0.5 * threshold.value), float(measured.min()))
    return np.geomspace(0.85 * low, 1.18 * float(measured.max()), 241)


def _draw_craters(axes: Any, fit: ThresholdFit, scale: float, squared: float) -> None:
    used = fit.used
    axes.errorbar(
        scale * used.energy,
        squared * used.diameter**2,
        yerr=squared * 2.0 * used.diameter * fit.scatter,
        fmt="o",
        color=INK,
        ecolor=FAINT,
        elinewidth=0.9,
        markersize=4.5,
        zorder=4,
    )
    for craters, face in ((fit.outliers, "white"), (fit.suspects, "none")):
        axes.plot(
            scale * craters.energy,
            squared * craters.diameter**2,
            marker="s",
            markerfacecolor=face,
            markeredgecolor=BEAM,
            markeredgewidth=1.4,
            **(_POINT | {"markersize": 8.0}),
        )
        for row, energy, diameter in zip(craters.rows, craters.energy, craters.diameter, strict=True):
            at = scale * energy, squared * diameter**2
            axes.annotate(
                f"row {row}",
                at,
                xytext=(8, -3),
                textcoords="offset points",
                fontsize=8,
                va="center",
                zorder=5,
            )
    zero = np.zeros(fit.unmarked.count)
    axes.plot(scale * fit.unmarked.energy, zero, marker="x", color=INK, **_POINT)


def _draw_threshold(axes: Any, threshold: Estimate, scale: float, energies: Array) -> None:
    """The threshold's interval as a bar on the line D = 0."""
    low, high = max(threshold.low, float(energies[0])), min(threshold.high, float(energies[-1]))
    axes.plot([scale * low, scale * high], [0.0, 0.0], color=BEAM, linewidth=4.0, zorder=3)
    axes.plot([scale * threshold.value], [0.0], marker="D", color=BEAM, markersize=6.0, zorder=5)


def _limit(axes: Any, fit: ThresholdFit, squared: float, scale: float, energies: Array) -> None:
    shown = np.concatenate([fit.used.diameter, fit.outliers.diameter])
    largest = float(shown.max())
    top = squared * max(
        largest**2 + 2.0 * largest * fit.scatter, float(fit.squared_diameter(energies[-1:])[0])
    )
    axes.set_xscale("log")
    axes.set_xlim(scale * energies[0], scale * energies[-1])
    axes.set_ylim(-0.12 * top, 1.12 * top)
    ticks = [tick for tick in _round_numbers() if scale * energies[0] <= tick <= scale * energies[-1]]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.set_xticks([], minor=True)
    axes.grid(color="#e6e6e6", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)


def _round_numbers() -> list[float]:
    return [one * 10.0**power for power in range(-4, 5) for one in (1.0, 1.5, 2.0, 3.0, 5.0, 7.0)]


def _finish(figure: Any, axes: Any, fit: ThresholdFit, unit: str, across: str) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    point: dict[str, Any] = {"linestyle": "none", "color": INK}
    entries: list[tuple[Any, str]] = [
        (Line2D([], [], marker="o", markersize=4.5, **point), "crater, ± its standard deviation"),
        (Line2D([], [], color=BEAM, linewidth=1.4), "D² = 2 w² ln(E / Eₜₕ)"),
        (Patch(facecolor=_BAND), "95 % band of the line"),
        (Line2D([], [], marker="D", color=BEAM, linewidth=4.0, markersize=6.0), "threshold, 95 % interval"),
    ]
    square = Line2D([], [], marker="s", markersize=8.0, mfc="none", mec=BEAM, mew=1.4, linestyle="none")
    if fit.outliers.count:
        entries.append((square, "outlier, left out"))
    if fit.suspects.count:
        entries.append((square, "outlier, kept"))
    if fit.unmarked.count:
        entries.append((Line2D([], [], marker="x", markersize=5.5, **point), "no crater"))
    handles, labels = zip(*entries, strict=True)
    axes.legend(handles, labels, loc=_free_corner(fit), fontsize=8, framealpha=1.0, edgecolor="#ffffff")
    axes.set_xlabel(f"pulse energy E [{unit}], logarithmic")
    axes.set_ylabel(f"squared crater diameter D² [{across}]")
    figure.text(0.1, 0.965, _diameter_line(fit), va="top", fontweight="bold", fontsize=9.5)
    figure.text(0.1, 0.92, _threshold_line(fit), va="top")


def _free_corner(fit: ThresholdFit) -> str:
    """The corner above the line, unless a crater far too large lies there."""
    energies = _energies(fit)
    middle = float(np.sqrt(energies[0] * energies[-1]))
    off = np.concatenate([fit.outliers.energy, fit.suspects.energy])
    return "lower right" if off.size and float(off.min()) < middle else "upper left"


def _diameter_line(fit: ThresholdFit) -> str:
    beam = fit.beam_diameter
    unit, scale = ("mm", 1e3) if beam.value >= 1e-3 else ("µm", 1e6)
    low, value, high = (f"{scale * one:.3g}" for one in (beam.low, beam.value, beam.high))
    return f"Beam diameter (1/e²) {value} {unit}, {low} to {high} {unit} with 95 % confidence"


def _threshold_line(fit: ThresholdFit) -> str:
    exposure = fit.threshold_exposure
    unit, scale = _unit(1e-4 * exposure.value, tuple((name, 1e4 * factor) for name, factor in _EXPOSURES))
    low, value, high = (f"{1e-4 * scale * one:.3g}" for one in (exposure.low, exposure.value, exposure.high))
    interval = f"{low} to {high} {unit}" if fit.slope_doubt < 1.0 else "not bounded"
    return f"threshold (peak radiant exposure) {value} {unit}, {interval}; {fit.used.count} craters"


def _unit(value: float, known: tuple[tuple[str, float], ...]) -> tuple[str, float]:
    """First unit in which `value` is at least 0.1, or the last."""
    return next((one for one in known if value * one[1] >= 0.1), known[-1])


def _square(largest: float) -> tuple[str, float]:
    """Unit of squares, and what to multiply squares in m2 by."""
    return ("mm²", 1e6) if largest >= 0.3e-3 else ("10³ µm²", 1e9)
