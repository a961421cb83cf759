"""Checks of craters, depths and rates against closed forms."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfc

from spotdwell import exact
from spotdwell.evidence.check import (
    Case,
    Finding,
    Half,
    field,
    half_of,
    largest_error,
    number,
    observed_order,
    refined,
    solved,
)
from spotdwell.measure.summary import measures_of
from spotdwell.model.material import Medium
from spotdwell.solve.outcome import Snapshot

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


_CRATER = (Case("steady-crater", "Crater of a pulse, steady removal (I1, I4, I5)", steady_crater),)


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


_DEPTH = (
    Case("surface-flux", "Constant flux into a half-space (A1)", surface_flux),
    Case("absorption", "Absorption in depth (B1, B2)", absorption),
    Case("surface-loss", "Half-space warmed by hot air (L1)", surface_loss),
    Case("two-layers", "Flux through a layer into another material (M2)", two_layers),
)


WARMED = (
    "The beam that every scenario must name warms the film by 3 nK, which raises either rate by some 1e-9."
)

EVEN = "The film is even to 1e-4, and a step follows even heating exactly."


def damage() -> list[Finding]:
    """Damage and thermal dose of tissue held at 60 degC."""
    outcome = solved("damage_hold")
    process, T = outcome.problem.target.layers[0].medium.damage[0], outcome.problem.target.initial_temperature
    final = outcome.final
    claimed = exact.damage(final.time, T, process.frequency_factor, process.activation_energy)
    assert final.thermal_dose is not None
    dose = exact.thermal_dose(final.time, T)
    return [
        number("damage, 10 s", float(claimed), final.damage[0, 0, 0], "1", 1e-8, WARMED),
        number("CEM43, 10 s", dose, final.thermal_dose[0, 0], "s", 1e-8, WARMED),
    ]


def pyrolysis() -> list[Finding]:
    """Conversion of dry tissue held at 700 K."""
    outcome = solved("pyrolysis_hold")
    reaction = outcome.problem.target.layers[0].medium.pyrolysis
    assert reaction is not None
    T = outcome.problem.target.initial_temperature
    reason = "The exact solution of each step, solved to 1e-10 in conversion."
    findings = []
    for snapshot, text in zip(outcome.snapshots, ("0.1 s", "1 s"), strict=True):
        claimed = exact.converted_share(
            snapshot.time, T, reaction.frequency_factor, reaction.activation_energy
        )
        findings.append(
            number(f"conversion, {text}", float(claimed), snapshot.conversion[0, 0], "1", 1e-7, reason)
        )
    return findings


def steam() -> list[Finding]:
    """An evenly heated film of wet tissue that superheats: it ruptures, or under less power dries."""
    half = half_of(solved("steam_escape", weightless=True))
    rate, store, escape = _film(half)
    findings = _superheat(half, half.outcome.snapshots[:2], ("0.5 ms", "1 ms"))
    claimed = exact.rupture_time(rate, escape, store, half.C * half.rupture)
    history = half.outcome.history
    gone = float(history.time[int(np.argmax(history.deepest > 0.0))])
    late = "Seen at the end of a step of some us."
    findings.append(number("time to rupture", claimed, gone, "s", 2e-3, late))
    dries: dict[str, str | float] = {
        "beam.power": "0.8 kW",
        "exposure.dwell_time": "24 ms",
        "run.end_time": "24 ms",
    }
    slow = half_of(solved("steam_escape", dries, weightless=True, save_times=(10e-3, 22.5e-3)))
    return [*findings, *_superheat(slow, slow.outcome.snapshots, ("10 ms", "22.5 ms", "24 ms"))]


def _film(half: Half) -> tuple[float, float, float]:
    """Mean heating [W/m3], latent heat of all water [J/m3] and escape time [s] of the film."""
    removal, thick = half.medium.removal, float(half.outcome.problem.grid.depth_edges[-1])
    assert removal is not None
    rate = half.q * -math.expm1(-half.mu * thick) / thick
    return rate, half.medium.water_density * half.medium.latent_heat, removal.steam_escape_time


def _superheat(half: Half, snapshots: Sequence[Snapshot], texts: Sequence[str]) -> list[Finding]:
    """Temperature and water of the film's first cell at each snapshot."""
    rate, store, escape = _film(half)
    findings = []
    for snapshot, text in zip(snapshots, texts, strict=True):
        hot, wet = exact.superheated_cell(snapshot.time, rate, escape, store)
        rise, water = float(half.rise(snapshot)[0, 0]), float(snapshot.water[0, 0])
        findings += [
            number(f"superheat, {text}", float(hot) / half.C, rise, "K", 1e-3, EVEN),
            number(f"water, {text}", float(wet) / half.medium.latent_heat, water, "kg/m3", 1e-3, EVEN),
        ]
    return findings


_RATE = (
    Case("damage", "Damage at a constant temperature (J1, J4)", damage),
    Case("pyrolysis", "Pyrolysis at a constant temperature (K1)", pyrolysis),
    Case("steam", "Steam that escapes from a heated film (K2 to K4)", steam),
)
CASES = _DEPTH + _CRATER + _RATE
