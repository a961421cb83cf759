"""Checks of conduction in one dimension: flux, absorption, surface loss, two layers (eq. A, B, L, M)."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfc

from spotdwell import exact
from spotdwell.model.material import Medium
from spotdwell.study.evidence.check import Case, Finding, field, largest_error, number, observed_order
from spotdwell.study.evidence.solved import half_of, refined, solved

Array = NDArray[np.float64]

SECOND_ORDER = "Second order in space and time: errors fall fourfold when cells and steps are halved."


def surface_flux() -> list[Finding]:
    """Opaque half-space under constant flux."""
    half = half_of(solved("surface_flux"))
    findings = []
    for snapshot, text in zip(half.outcome.snapshots, ("1 ms", "10 ms", "100 ms"), strict=True):
        claimed = exact.surface_flux_rise(0.0, snapshot.time, half.q, half.k, half.C)
        # The flux crosses half a cell between the surface and the first centre.
        computed = half.rise(snapshot)[0, 0] + half.q * half.cell / (2.0 * half.k)
        reason = "The heat held by half a cell, and steps of a tenth of the time since the start."
        findings.append(number(f"surface, {text}", float(claimed), computed, "K", 2e-3, reason))
    claimed = exact.surface_flux_rise(half.depth, half.outcome.final.time, half.q, half.k, half.C)
    reason = "Cells that widen by 12 % each below 150 um err by some 1e-3."
    findings.append(field("profile, 100 ms", claimed, half.rise()[0], "K", 2e-3, reason))
    return findings


def absorption() -> list[Finding]:
    """Half-space that absorbs as water does, with the observed order."""
    errors = []
    for refinement in (1.0, 2.0, 4.0):
        half = half_of(solved("absorption", refined(refinement)))
        claimed = exact.absorption_rise(half.depth, half.outcome.final.time, half.q, half.mu, half.k, half.C)
        errors.append(largest_error(claimed, half.rise()[0]))
        if refinement == 1.0:
            first = field("", claimed, half.rise()[0], "K", 1.0, "")
    order = observed_order(errors)
    cells = "A cell is a sixth of the penetration depth: (mu dz)^2 / 24 = 1e-3."
    return [
        number("worst point, 1 ms", first.claimed, first.computed, "K", 2e-3, cells),
        field("profile, 1 ms, quarter cells", claimed, half.rise()[0], "K", 1e-4, SECOND_ORDER, order),
        _scaled_surface(),
    ]


def _scaled_surface() -> Finding:
    """Surface against the dimensionless closed form at 100 us."""
    half = half_of(solved("absorption", refined(4.0)))
    snapshot = half.outcome.snapshots[1]
    scaled = half.mu**2 * half.k / half.C * snapshot.time
    claimed = exact.absorption_surface_rise(scaled) * half.q / (half.k * half.mu)
    rise = half.rise(snapshot)[0]
    # No flux through the surface: a parabola through the first two centres.
    computed = rise[0] + (rise[0] - rise[1]) / 8.0
    return number("surface, 100 us", claimed, computed, "K", 5e-4, SECOND_ORDER)


def surface_loss() -> list[Finding]:
    """Half-space warmed through a heat transfer coefficient."""
    half = half_of(solved("surface_loss"))
    surface, target = half.outcome.problem.surface, half.outcome.problem.target
    difference = surface.ambient_temperature - target.initial_temperature
    h = surface.heat_transfer_coefficient
    claimed = exact.surface_loss_rise(half.depth, half.outcome.final.time, h, difference, half.k, half.C)
    reason = "Cells of 10 um that widen below 150 um, and steps of a tenth of the time."
    return [field("profile, 1 s", claimed, half.rise()[0], "K", 2e-3, reason)]


def two_layers() -> list[Finding]:
    """Flux into a layer over a half-space of another material."""
    half = half_of(solved("two_layers"))
    coat, base = half.outcome.problem.target.layers
    claimed = layered_flux_rise(
        half.depth, half.outcome.final.time, half.q, coat.thickness, coat.medium, base.medium
    )
    reason = "Cells of 2 um, and below 150 um cells that widen by 12 % each."
    return [field("profile, 100 ms", claimed, half.rise()[0], "K", 2e-3, reason)]


def layered_flux_rise(z: Array, t: float, q: float, thickness: float, upper: Medium, lower: Medium) -> Array:
    """Rise [K] at depth `z` after constant flux `q` into a layer of `thickness` over a half-space (eq. M2).

    Each reflection at the interface, of amplitude (e1 - e2) / (e1 + e2) with e = sqrt(k C), is an image; the
    Laplace transform of the two heat equations with continuous temperature and flux gives the series.
    """
    effusivities = [math.sqrt(m.conductivity * m.heat_capacity) for m in (upper, lower)]
    reflected = (effusivities[0] - effusivities[1]) / sum(effusivities)
    s1, s2 = (math.sqrt(m.conductivity / m.heat_capacity * t) for m in (upper, lower))
    total = np.zeros_like(z)
    for n in range(200):
        path = 2.0 * n * thickness
        over = _ierfc((path + z) / (2.0 * s1)) + reflected * _ierfc((path + 2.0 * thickness - z) / (2.0 * s1))
        through = (path + thickness) / s1 + (z - thickness) / s2
        under = (1.0 + reflected) * _ierfc(0.5 * through)
        total += reflected**n * np.where(z < thickness, over, under)
    return 2.0 * q / upper.conductivity * s1 * total


def _ierfc(x: Array) -> Array:
    return np.asarray(np.exp(-(x**2)) / math.sqrt(math.pi) - x * erfc(x))


CASES = (
    Case("surface-flux", "Constant flux into a half-space (A1)", surface_flux),
    Case("absorption", "Absorption in depth (B1, B2)", absorption),
    Case("surface-loss", "Half-space warmed by hot air (L1)", surface_loss),
    Case("two-layers", "Flux through a layer into another material (M2)", two_layers),
)
