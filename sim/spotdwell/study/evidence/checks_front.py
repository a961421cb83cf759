"""Checks of moving fronts in one dimension: drying, ablation, burn-off, boiling (eq. E, F, G)."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from spotdwell import exact
from spotdwell.study.evidence.check import Case, Finding, field, number, position
from spotdwell.study.evidence.solved import Half, claimed_depth, depth_of_level, half_of, mean_speed, solved

Array = NDArray[np.float64]

BALANCE = "The heat balance fixes the mean speed; the two depths are read to part of a cell, in 80 or more."
READ = "The front is read to within a cell, and the depths are counted from it."


def drying_front() -> list[Finding]:
    """Neumann's problem: tissue dries under a surface held hot."""
    half = half_of(solved("drying_front"))
    medium, surface = half.medium, half.outcome.problem.surface
    over = surface.ambient_temperature - medium.boiling_temperature
    latent = medium.water_density * medium.latent_heat
    dry = (medium.conductivity_dry, medium.solid_density * medium.specific_heat_solid)
    args = (over, half.boiling, latent, dry, (half.k, half.C))
    findings = []
    for snapshot, text in zip(half.outcome.snapshots, ("0.25 s", "1 s"), strict=True):
        claimed = 2.0 * exact.drying_front(*args) * np.sqrt(dry[0] / dry[1] * snapshot.time)
        gone = 1.0 - snapshot.water[0] / medium.water_density
        computed = float(np.sum(gone * np.diff(half.outcome.problem.grid.depth_edges)))
        reason = "The share of a cell's water that is left places the front within the cell."
        findings.append(position(f"dried depth, {text}", float(claimed), computed, half.cell, 1.0, reason))
    claimed = exact.drying_front_rise(half.depth, half.outcome.final.time, *args)
    reason = "A cell next to the front stays at boiling until it is dry, and then catches up."
    return [*findings, field("profile, 1 s", claimed, half.rise()[0], "K", 2e-2, reason)]


def opaque_ablation() -> list[Finding]:
    """Landau's problem: an opaque target that its steam throws out."""
    half = half_of(solved("opaque_ablation"))
    assert half.medium.removal is not None
    latent = half.medium.removal.ejected_share * half.medium.water_density * half.medium.latent_heat
    v = exact.ablation_speed(half.boiling, half.q, half.C, latent)

    def rise(z: float) -> Array:
        return exact.ablation_rise(z, half.boiling, v, half.k, half.C)

    return [
        _preheat(half),
        number("steady speed", v, mean_speed(half.outcome), "m/s", 5e-3, BALANCE),
        *_isotherms(half, rise, (0.75, 0.25), 1.0),
        _between_bounds(half, latent),
    ]


def _preheat(half: Half) -> Finding:
    """When the surface begins to boil."""
    history = half.outcome.history
    initial = half.outcome.problem.target.initial_temperature
    surface = history.surface_temperature - initial + half.q * half.cell / (2.0 * half.k)
    boils = int(np.argmax(surface >= half.boiling))
    computed = np.interp(half.boiling, surface[boils - 1 : boils + 1], history.time[boils - 1 : boils + 1])
    claimed = exact.preheat_time(half.boiling, half.q, half.k, half.C)
    reason = "A cell is a twelfth of the depth that has warmed by then."
    return number("time to boiling", claimed, float(computed), "s", 2e-2, reason)


def _between_bounds(half: Half, latent: float) -> Finding:
    """Depth against the nearer of its two bounds."""
    least, most = exact.ablation_depth_bounds(
        half.outcome.final.time, half.boiling, half.q, half.k, half.C, latent
    )
    depth = float(half.outcome.final.crater_depth[0])
    reason = (
        f"It may lie anywhere from {least * 1e6:.1f} to {most * 1e6:.1f} um, and is read to within a cell."
    )
    return position("depth after 60 ms", float(np.clip(depth, least, most)), depth, half.cell, 1.0, reason)


def burning_front() -> list[Finding]:
    """Burn-off at a temperature, with light absorbed below the surface and no latent heat."""
    half = half_of(solved("burning_front"))
    assert half.medium.removal is not None
    hot = half.medium.removal.burn_off_temperature - half.outcome.problem.target.initial_temperature
    front = exact.VolumetricFront(half.q, half.mu, half.k, half.C, hot, 0.0)
    # Where the profile is flat, at the surface, a level has no sharp depth.
    return [
        number("steady speed", front.v, mean_speed(half.outcome), "m/s", 1e-2, BALANCE),
        *_isotherms(half, front.rise_at, (0.75, 0.25), 1.0, hot),
    ]


def boiling_front() -> list[Finding]:
    """Boiling in depth, absorption by the solids alone, no steam lost."""
    return _boiling("boiling_front", 5e-3)


def leaking_front() -> list[Finding]:
    """Boiling in depth, absorption that falls with drying, steam that leaks."""
    return _boiling("leaking_front", 1e-2)


def water_front() -> list[Finding]:
    """Water that boils away."""
    return _boiling("water_front", 5e-3)


def _boiling(name: str, tolerance: float) -> list[Finding]:
    half = half_of(solved(name))
    medium, removal = half.medium, half.medium.removal
    front = exact.boiling_front(
        half.q,
        half.k,
        half.C,
        half.boiling,
        medium.latent_heat,
        medium.water_density,
        removal.ejected_share if removal else 1.0,
        half.mu,
        # A liquid shrinks where tissue clears.
        half.mu if medium.is_liquid else medium.absorption_coefficient_solid,
        removal.steam_escape_time if removal else math.inf,
    )
    z, _ = half.under_front()
    gone = (medium.water_density - half.outcome.final.water[0])[-z.size :]
    middle = 0.5 * front.evaporated
    claimed = claimed_depth(front.evaporated_at, middle, front.zone)
    return [
        number("steady speed", front.v, mean_speed(half.outcome), "m/s", tolerance, BALANCE),
        position(
            "depth at which half of it has boiled",
            claimed,
            depth_of_level(z, gone, middle),
            half.cell,
            1.0,
            READ,
        ),
        *_isotherms(half, front.rise_at, (0.999, 0.5), 1.0),
    ]


def _isotherms(
    half: Half,
    claim: Callable[[float], Array],
    shares: tuple[float, ...],
    tolerance: float,
    hot: float | None = None,
) -> list[Finding]:
    """Depths of isotherms below the front, at `shares` of the front's rise."""
    z, rise = half.under_front()
    findings = []
    for share in shares:
        level = share * (half.boiling if hot is None else hot)
        claimed = claimed_depth(claim, level, float(z[-1]))
        quantity = f"depth below the front of {100 * share:g} % of its rise"
        findings.append(
            position(quantity, claimed, depth_of_level(z, rise, level), half.cell, tolerance, READ)
        )
    return findings


CASES = (
    Case("drying-front", "Drying front under a hot surface (E2, E3)", drying_front),
    Case("opaque-ablation", "Ablation of an opaque target (F1 to F5)", opaque_ablation),
    Case("burning-front", "Burn-off with absorption in depth (G1, L = 0)", burning_front),
    Case("boiling-front", "Boiling front without loss of steam (G5 to G7)", boiling_front),
    Case("leaking-front", "Boiling front that leaks steam and clears as it dries (G9, G10)", leaking_front),
    Case("water-front", "Boiling front in plain water (G6, G7)", water_front),
)
