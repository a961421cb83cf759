"""Checks of rates at a constant temperature or constant heating: damage, dose, char, steam (eq. J, K)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from spotdwell import exact
from spotdwell.solve.outcome import Snapshot
from spotdwell.study.evidence.check import Case, Finding, number
from spotdwell.study.evidence.solved import Half, half_of, solved

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


CASES = (
    Case("damage", "Damage at a constant temperature (J1, J4)", damage),
    Case("pyrolysis", "Pyrolysis at a constant temperature (K1)", pyrolysis),
    Case("steam", "Steam that escapes from a heated film (K2 to K4)", steam),
)
