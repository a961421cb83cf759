"""Energy: what the beam sent, over the spot's area and over the removed volume, and the relaxation time."""

from __future__ import annotations

from spotdwell.model.columns import Geometry
from spotdwell.model.problem import Problem
from spotdwell.model.target import Target
from spotdwell.solve.outcome import Outcome


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
