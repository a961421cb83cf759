"""Checks of moving fronts in one dimension: drying, ablation, burn-off, rupture, boiling (eq. E, F, G)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from spotdwell import exact
from spotdwell.base.constants import GAS_CONSTANT
from spotdwell.evidence.check import (
    Case,
    Finding,
    Half,
    claimed_depth,
    depth_of_level,
    field,
    half_of,
    mean_speed,
    number,
    position,
    solved,
)
from spotdwell.model.material import BURN_OFF_ACTIVATION, BURN_OFF_SPEED
from spotdwell.solve.outcome import Outcome, Snapshot

Array = NDArray[np.float64]

BALANCE = "The heat balance fixes the mean speed; the two depths are read to part of a cell, in 80 or more."
READ = "The front is read to within a cell, and the depths are counted from it."
LINE = "The slope of 21 depths, each read to part of a cell, over 54 cells; water lost errs with the cells."
JUMPS = "The mean of 21 states: the face moves by whole cells, and so errs by part of one."
ONSET = "Searched to 1 %; cells of 2 um are an eighth of 1 / mu, and the face starts out cold."
STEADY = tuple(np.arange(4e-3, 7.9e-3, 0.2e-3).tolist())
LASTING: dict[str, str | float] = {
    "exposure.dwell_time": "40 ms",
    "run.end_time": "40 ms",
    "grid.depth": "1 mm",
}


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
    """Landau's problem: an opaque target that ruptures at its face, without latent heat."""
    half = half_of(solved("opaque_ablation"))
    v = exact.ablation_speed(half.rupture, half.q, half.C, 0.0)

    def rise(z: float) -> Array:
        return exact.ablation_rise(z, half.rupture, v, half.k, half.C)

    return [
        _preheat(half),
        number("steady speed", v, mean_speed(half.outcome), "m/s", 5e-3, BALANCE),
        *_isotherms(half, rise, (0.75, 0.25), 1.0, half.rupture),
        _between_bounds(half),
    ]


def _preheat(half: Half) -> Finding:
    """When the surface is as hot as it ruptures."""
    history = half.outcome.history
    initial = half.outcome.problem.target.initial_temperature
    surface = history.surface_temperature - initial + half.q * half.cell / (2.0 * half.k)
    hot = int(np.argmax(surface >= half.rupture))
    computed = np.interp(half.rupture, surface[hot - 1 : hot + 1], history.time[hot - 1 : hot + 1])
    claimed = exact.preheat_time(half.rupture, half.q, half.k, half.C)
    reason = "A cell is a fortieth of the depth that has warmed by then."
    return number("time to the rupture temperature", claimed, float(computed), "s", 2e-2, reason)


def _between_bounds(half: Half) -> Finding:
    """Depth against the nearer of its two bounds."""
    least, most = exact.ablation_depth_bounds(
        half.outcome.final.time, half.rupture, half.q, half.k, half.C, 0.0
    )
    depth = float(half.outcome.final.crater_depth[0])
    reason = (
        f"It may lie anywhere from {least * 1e6:.1f} to {most * 1e6:.1f} um, and is read to within a cell."
    )
    return position("depth in the end", float(np.clip(depth, least, most)), depth, half.cell, 1.0, reason)


def burning_front() -> list[Finding]:
    """Burn-off at the speed that its face's temperature asks for, with light absorbed below the surface."""
    half = half_of(solved("burning_front"))
    assert half.medium.removal is not None
    initial = half.outcome.problem.target.initial_temperature
    burning = half.medium.removal.burn_off_temperature
    activation = BURN_OFF_ACTIVATION / GAS_CONSTANT
    hot = exact.burning_rise(half.q, half.C, initial, burning, BURN_OFF_SPEED, activation)
    front = exact.VolumetricFront(half.q, half.mu, half.k, half.C, hot, 0.0)
    # Where the profile is flat, at the surface, a level has no sharp depth.
    return [
        number("steady speed", front.v, mean_speed(half.outcome), "m/s", 5e-3, BALANCE),
        *_isotherms(half, front.rise_at, (0.75, 0.25), 1.0, hot),
    ]


def rupture_front_of(half: Half) -> exact.RuptureFront:
    """Closed form of the front of `half`, whose water neither holds heat nor absorbs."""
    assert half.medium.removal is not None
    return exact.RuptureFront(
        half.q,
        half.mu,
        half.k,
        half.C,
        half.boiling,
        half.rupture,
        half.medium.latent_heat,
        half.medium.removal.steam_escape_time,
    )


def rupture_front() -> list[Finding]:
    """Superheated tissue that ruptures while steam escapes, absorption in depth."""
    half = half_of(solved("rupture_front", weightless=True, save_times=STEADY))
    front, snapshots = rupture_front_of(half), half.outcome.snapshots
    fronts = [snapshot.crater_depth[0] for snapshot in snapshots]
    speed = float(np.polyfit([snapshot.time for snapshot in snapshots], fronts, 1)[0])
    findings = [number("steady speed", front.v, speed, "m/s", 5e-3, LINE)]
    for share in (0.9, 0.5, 0.25):
        level = share * front.rupture
        claimed = claimed_depth(front.rise_at, level, 1e-3)
        found = [depth_of_level(*half.under_front(snapshot), level) for snapshot in snapshots]
        quantity = f"depth below the front of {100 * share:g} % of its rise"
        findings.append(position(quantity, claimed, float(np.mean(found)), half.cell, 0.5, JUMPS))
    for share in (0.5, 0.1):
        level = share * front.evaporated
        claimed = claimed_depth(front.evaporated_at, level, front.zone)
        found = [depth_of_level(*_dried(half, snapshot), level) for snapshot in snapshots]
        quantity = f"depth below the front of {100 * share:g} % of the water lost"
        findings.append(position(quantity, claimed, float(np.mean(found)), half.cell, 0.5, JUMPS))
    return findings


def _dried(half: Half, snapshot: Snapshot) -> tuple[Array, Array]:
    """Depth below the front [m] and water lost [kg/m3] of what is left."""
    z, _ = half.under_front(snapshot)
    return z, half.medium.water_density - snapshot.water[0, -z.size :]


def drying_irradiance() -> list[Finding]:
    """Irradiance that parts a face that dries and stays from one that ruptures for as long as it is lit."""
    half = half_of(solved("rupture_front", {"beam.power": "1 W"}, weightless=True))
    spare = half.medium.water_density - half.medium.flash_water
    claimed = exact.drying_irradiance(rupture_front_of(half), spare)
    low, high = 0.9 * claimed, 1.1 * claimed
    while high - low > 0.01 * claimed:
        middle = 0.5 * (low + high)
        outcome = lasting(middle)
        low, high = (low, middle) if mean_speed(outcome) > 0.0 else (middle, high)
    return [number("drying irradiance", claimed, 0.5 * (low + high), "W/m2", 3e-2, ONSET)]


def lasting(irradiance: float) -> Outcome:
    """Outcome of the rupture front's scenario under `irradiance` [W/m2] for 40 ms, the last 10 kept."""
    power = {"beam.power": f"{irradiance * 1e-6!r} W"}
    return solved("rupture_front", LASTING | power, weightless=True, save_times=(30e-3,))


def water_front() -> list[Finding]:
    """Water that boils away."""
    half = half_of(solved("water_front"))
    medium = half.medium
    latent = medium.water_density * medium.latent_heat
    front = exact.BoilingFront(half.q, half.mu, half.k, half.C, half.boiling, latent)
    z, gone = _dried(half, half.outcome.final)
    claimed = claimed_depth(front.evaporated_at, 0.5, front.zone)
    computed = depth_of_level(z, gone, 0.5 * medium.water_density)
    return [
        number("steady speed", front.v, mean_speed(half.outcome), "m/s", 5e-3, BALANCE),
        position("depth at which half of it has boiled", claimed, computed, half.cell, 1.0, READ),
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
    Case("burning-front", "Burn-off with absorption in depth (F6, G1 with L = 0)", burning_front),
    Case("rupture-front", "Superheated front that ruptures while steam escapes (G5 to G8)", rupture_front),
    Case("drying-irradiance", "Least irradiance of that front (G11)", drying_irradiance),
    Case("water-front", "Boiling front in plain water (G13, G14)", water_front),
)
