"""Checks of rates at a constant temperature or constant evaporation: damage, dose, char, steam (eq. J, K)."""

from __future__ import annotations

import math

import numpy as np

from spotdwell import exact
from spotdwell.study.evidence.check import Case, Finding, number
from spotdwell.study.evidence.solved import half_of, solved

WARMED = (
    "The beam that every scenario must name warms the film by 3 nK, which raises either rate by some 1e-9."
)


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
    """Trapped steam in a film that boils at a constant rate, and the time at which it is thrown out."""
    half = half_of(solved("trapped_steam"))
    removal, medium = half.medium.removal, half.medium
    assert removal is not None
    rate = half.q * -math.expm1(-half.mu * half.cell) / half.cell / medium.latent_heat
    reason = "As water leaves, absorption falls by a thousandth of itself."
    findings = []
    for snapshot, text in zip(half.outcome.snapshots[:2], ("1 ms", "2 ms"), strict=True):
        claimed = exact.trapped_steam(snapshot.time, rate, removal.steam_escape_time)
        findings.append(number(f"steam, {text}", float(claimed), snapshot.steam[0, 0], "kg/m3", 2e-3, reason))
    limit = removal.ejected_share * medium.water_density
    claimed_time = exact.time_to_ejection(rate, removal.steam_escape_time, limit)
    history = half.outcome.history
    thrown = history.time[int(np.argmax(history.deepest > 0.0))]
    late = "Seen at the end of a step of 16 us at most; and absorption falls by a thousandth."
    return [*findings, number("time to ejection", claimed_time, float(thrown), "s", 1e-2, late)]


CASES = (
    Case("damage", "Damage at a constant temperature (J1, J4)", damage),
    Case("pyrolysis", "Pyrolysis at a constant temperature (K1)", pyrolysis),
    Case("steam", "Trapped steam at constant evaporation (K2, K3)", steam),
)
