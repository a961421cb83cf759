"""Checks of the crater of one gaussian pulse without conduction (eq. I)."""

from __future__ import annotations

import math

from spotdwell import exact
from spotdwell.measure.summary import measures_of
from spotdwell.study.evidence.check import Case, Finding, number
from spotdwell.study.evidence.solved import Half, half_of, solved

EDGE = "The edge falls between columns of a fiftieth of the spot's radius."
DEPTH = "The front is read to within a cell, one in {cells:.0f} of the depth."
VOLUME = "The sum of the columns' depths, each read to within a cell."


def steady_crater() -> list[Finding]:
    """Each layer is thrown out once it is at its rupture temperature: the front recedes during the pulse."""
    half = half_of(solved("crater_steady"))
    h = half.C * half.rupture
    fluence, threshold, w = _fluence(half), h / half.mu, half.outcome.problem.beam.radius
    depth = exact.steady_depth(fluence, threshold, h)
    return _three(half, depth, exact.steady_volume(fluence, threshold, h, w), threshold)


def _fluence(half: Half) -> float:
    """Radiant exposure absorbed at the axis [J/m2]."""
    return half.q * half.outcome.problem.exposure.on_time


def _three(half: Half, depth: float, volume: float, threshold: float) -> list[Finding]:
    """Width, depth and volume as the tool reports them."""
    measures = measures_of(half.outcome)
    width = exact.crater_diameter(_fluence(half), threshold, half.outcome.problem.beam.radius)
    reason = DEPTH.format(cells=depth / half.cell)

    def reported(name: str) -> float:
        value = measures[name]
        return math.nan if value is None else value

    return [
        number("width at the surface", width, reported("crater_width"), "m", 1e-2, EDGE),
        number("depth", depth, reported("crater_depth"), "m", 1.5e-2, reason),
        number("volume", volume, reported("crater_volume"), "m3", 1.5e-2, VOLUME),
    ]


CASES = (Case("steady-crater", "Crater of a pulse, steady removal (I1, I4, I5)", steady_crater),)
