"""All measures of an outcome: crater, zones, energy, and the thinnest wall that is trusted."""

from __future__ import annotations

import numpy as np

from spotdwell.base.names import MEASURES
from spotdwell.measure import crater, zones
from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Problem
from spotdwell.model.target import Target
from spotdwell.solve.outcome import Outcome

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


def incident_energy(outcome: Outcome) -> float:
    """Energy of the beam that fell on the target, before reflection and plume [J]."""
    return outcome.ledger["incident"] - outcome.ledger["outside"]


def per_volume(amount: float | None, volume: float) -> float | None:
    """`amount` over a removed `volume` [m3]; None if nothing was removed or there is no amount."""
    return amount / volume if amount is not None and volume > 0.0 else None


def spot_share(problem: Problem) -> float:
    """Mean irradiance for 1 W [1/m2]: over the circle of the beam's radius, or over a slab's area."""
    columns = problem.grid.columns
    return 1.0 / float(columns.area[0]) if columns.geometry is Geometry.SLAB else problem.beam.mean_irradiance


def irradiance_mean(problem: Problem) -> float:
    """Highest power over the area of the spot [W/m2] (eq. 20)."""
    return problem.exposure.peak_power * spot_share(problem)


def irradiance_peak(problem: Problem) -> float:
    """Highest irradiance anywhere at any time [W/m2] (eq. 20); a slab's is uniform."""
    if problem.grid.columns.geometry is Geometry.SLAB:
        return irradiance_mean(problem)
    return problem.exposure.peak_power * problem.beam.peak_irradiance


def radiant_exposure(outcome: Outcome) -> float:
    """Energy sent in the simulated time over the area of the spot [J/m2], however far the spot moved."""
    return outcome.ledger["incident"] * spot_share(outcome.problem)


def thermal_relaxation_time(target: Target) -> float | None:
    """1 / (4 alpha mu^2) of the top layer before the shot [s]; None if it absorbs or conducts nothing.

    The time in which heat leaves the layer of one absorption length; authors differ in the factor, and
    this is the common d^2 / (4 alpha) with d = 1 / mu.
    """
    medium = target.layers[0].medium
    rate = 4.0 * medium.conductivity / medium.heat_capacity * medium.absorption_coefficient**2
    return 1.0 / rate if rate > 0.0 else None


def measures_of(outcome: Outcome) -> dict[str, float | None]:
    """Measures of the final state, keyed and ordered as `base.names.MEASURES`, SI; None where not apt."""
    cut, removed = crater.cut_of(outcome), crater.volume(outcome)
    char = zones.charred(outcome)
    on_axis = crater.floor_parabola(cut)[0]
    char_volume = zones.zone_volume(outcome, char)
    dried = _thicknesses("dried", cut, zones.dried(outcome))
    values: dict[str, float | None] = {
        "crater_depth": on_axis,
        "deepest": max(on_axis, float(outcome.final.crater_depth.max())),
        "crater_width": crater.width(cut),
        "crater_width_half_depth": crater.width_half_depth(cut),
        "crater_volume": removed,
        "solid_volume": crater.solid_volume(outcome),
        "crater_mass": outcome.removed_mass,
        **_thicknesses("char", cut, char),
        **dried,
        **_coagulation(cut, outcome, dried),
        "trusted_wall": trusted_wall(outcome.problem),
        "char_volume": char_volume,
        "char_per_removed_volume": per_volume(char_volume, removed),
        **_energies(outcome, removed),
        "peak_temperature": outcome.peak_temperature,
        "perforation_time": outcome.perforation_time,
        "end_time": outcome.final.time,
        "cell_depth": float(np.diff(outcome.problem.grid.depth_edges).min()),
    }
    return {name: values[name] for name in MEASURES}


def _thicknesses(name: str, cut: crater.Cut, zone: zones.Zone) -> dict[str, float | None]:
    return {
        f"{name}_thickness_floor": zones.floor_thickness(cut, zone),
        f"{name}_thickness_wall": zones.wall_thickness(cut, zone),
        f"{name}_thickness_rim": zones.rim_thickness(cut, zone),
    }


def _coagulation(
    cut: crater.Cut, outcome: Outcome, dried: dict[str, float | None]
) -> dict[str, float | None]:
    """Coagulated layers, at least as thick as the dried ones.

    Tissue that a short pulse dries is destroyed, whatever kinetics fitted to seconds say of the instant.
    """
    burnt = _thicknesses("coagulation", cut, zones.coagulated(outcome))
    pairs = zip(burnt.items(), dried.values(), strict=True)
    return {name: None if own is None else max(own, dry or 0.0) for (name, own), dry in pairs}


def _energies(outcome: Outcome, removed: float) -> dict[str, float | None]:
    incident = incident_energy(outcome)
    return {
        "incident_energy": incident,
        "energy_per_removed_volume": per_volume(incident, removed),
        "irradiance_mean": irradiance_mean(outcome.problem),
        "irradiance_peak": irradiance_peak(outcome.problem),
        "radiant_exposure": radiant_exposure(outcome),
        "thermal_relaxation_time": thermal_relaxation_time(outcome.problem.target),
    }
