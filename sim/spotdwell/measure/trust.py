"""Trust: the thinnest wall beside a crater that measurements beside such a laser support."""

from __future__ import annotations

from spotdwell.model.problem import Problem

_FAR = 9e-6
"""Carbon dioxide lasers lie above this wavelength [m]."""
_NEAR = (2.6e-6, 3.1e-6)
"""Erbium lasers lie between these [m]."""
_FAR_WALLS = ((1e-3, 50e-6), (1e-4, 35e-6), (0.0, 25e-6))
"""Longest pulse from which a wall is held [s], and half of what was measured beside CO2 craters [m].

Steady 100 um (Walsh et al., CLEO 1989), 0.25 to 0.4 ms 75 to 85 um (Green et al. 1992, Suter et al. 2017),
shorter as little as 50 um (Walsh et al. 1988, from memory).
"""
_NEAR_WALLS = ((1e-5, 5e-6), (0.0, 2e-6))
"""The same beside Er craters.

10 to 50 um at 0.2 ms, 4 to 10 um at 0.1 us (Walsh et al. 1989, Ren et al. 1992).
"""


def trusted_wall(problem: Problem) -> float | None:
    """Thinnest coagulated wall [m] that measurements support at the problem's wavelength and longest pulse.

    A computed wall that is thinner, by half or more than what was measured, is not to be trusted. 0 for
    targets without a damage process; None at wavelengths at which no wall was measured.
    """
    if not any(layer.medium.damage for layer in problem.target.layers):
        return 0.0
    wavelength, exposure = problem.beam.wavelength, problem.exposure
    longest = float((exposure.stop - exposure.start).max(initial=0.0))
    if wavelength >= _FAR:
        return _wall_of(_FAR_WALLS, longest)
    return _wall_of(_NEAR_WALLS, longest) if _NEAR[0] <= wavelength <= _NEAR[1] else None


def _wall_of(walls: tuple[tuple[float, float], ...], longest: float) -> float:
    return next(wall for pulse, wall in walls if longest >= pulse * (1.0 - 1e-9))
