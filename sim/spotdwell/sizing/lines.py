"""Lines of a moving spot side by side: how even their sum is, and how it compares with the spot at rest."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spotdwell.base.errors import InputError
from spotdwell.model.beam import Beam

Array = NDArray[np.float64]

HALF = 0.5
"""Line spacing over the diameter unless a ripple is asked for."""
_ACROSS, _ALONG, _PLACES = 2001, 400, 201
"""Points over a line, along it, and between two lines: the ripple of a gaussian is right to 1e-6."""
_CHOICES = np.arange(1.0, 0.045, -0.005)
"""Spacings over the diameter among which a ripple is looked for, the widest first."""


@dataclass(frozen=True)
class Lines:
    """Lines of a spot that takes its dwell for its own diameter (2 `Beam.radius`), a spacing apart."""

    spacing: float
    """[m]."""
    ripple: float
    """Highest less lowest over mean exposure across the lines [-]."""
    one_pass: float
    """Exposure of the middle of one line over that under the axis of the spot at rest [-]."""
    all_passes: float
    """Mean exposure of all lines over that under the axis of the spot at rest [-]."""


def lines_of(beam: Beam, ripple: float | None = None) -> Lines:
    """Lines half a diameter apart, or as far apart as keeps the `ripple`.

    Raises InputError for a ripple that no spacing keeps.
    """
    across, line = _line(beam)
    diameter = 2.0 * beam.radius
    spacing = diameter * (HALF if ripple is None else _widest(beam, ripple))
    # One pass: irradiance along the path over speed, against peak irradiance times diameter over speed.
    one = float(line[0]) / (diameter * beam.peak_irradiance)
    mean = 1.0 / (spacing * diameter * beam.peak_irradiance)
    return Lines(spacing, _ripple(across, line, spacing), one, mean)


def ripple_of(beam: Beam, spacing: float) -> float:
    """Highest less lowest over mean exposure of lines a `spacing` [m] apart [-]."""
    return _ripple(*_line(beam), spacing)


def _widest(beam: Beam, ripple: float) -> float:
    """Widest spacing over the diameter, to 0.005, that keeps the `ripple` as all narrower ones do."""
    if not 0.0 < ripple < math.inf:
        raise InputError("ripple", "a share above 0, such as 0.05", f"{ripple:g}")
    across, line = _line(beam)
    ripples = np.array([_ripple(across, line, share * 2.0 * beam.radius) for share in _CHOICES])
    kept = np.logical_and.accumulate(ripples[::-1] <= ripple)[::-1]
    if not kept.any():
        least = f"at least {ripples[-1]:.2g}, the ripple of lines {_CHOICES[-1]:.2g} diameters apart"
        raise InputError("ripple", least, f"{ripple:g}", "Ask for less evenness.")
    return float(round(_CHOICES[int(np.argmax(kept))], 3))


def _ripple(across: Array, line: Array, spacing: float) -> float:
    """Ripple of lines with the irradiance `line` [1/m] at distances `across` [m], a `spacing` [m] apart."""
    at = np.linspace(0.0, spacing, _PLACES)
    count = math.ceil(across[-1] / spacing) + 1
    offsets = np.arange(-count, count + 1)[:, None] * spacing
    total = np.interp(np.abs(at + offsets), across, line, right=0.0).sum(axis=0)
    # One line sums to 1 across its path, so that the mean is 1 / spacing.
    return float((total.max() - total.min()) * spacing)


def _line(beam: Beam) -> tuple[Array, Array]:
    """Distances from the middle of the path [m], and the irradiance of 1 W summed along it there [1/m].

    With along = sqrt(reach^2 - across^2) sin(angle) the edge of a flat-top is met exactly.
    """
    across = np.linspace(0.0, beam.reach, _ACROSS)
    angle = (np.arange(_ALONG) + 0.5) / _ALONG * (math.pi / 2.0)
    chord = np.sqrt(np.maximum(beam.reach**2 - across**2, 0.0))[:, None]
    inside = beam.irradiance(np.minimum(np.hypot(chord * np.sin(angle), across[:, None]), beam.reach))
    weight = chord * np.cos(angle) * (math.pi / 2.0 / _ALONG)
    return across, np.asarray(2.0 * np.sum(inside * weight, axis=1))
