"""Summary: every measure of an outcome in one table."""

from __future__ import annotations

from spotdwell.base.names import MEASURES
from spotdwell.measure import crater, energy, zones
from spotdwell.measure.trust import trusted_wall
from spotdwell.solve.outcome import Outcome


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
        "char_per_removed_volume": energy.per_volume(char_volume, removed),
        **_energies(outcome, removed),
        "peak_temperature": outcome.peak_temperature,
        "perforation_time": outcome.perforation_time,
        "end_time": outcome.final.time,
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
    incident = energy.incident_energy(outcome)
    return {
        "incident_energy": incident,
        "energy_per_removed_volume": energy.per_volume(incident, removed),
        "irradiance_mean": energy.irradiance_mean(outcome.problem),
        "irradiance_peak": energy.irradiance_peak(outcome.problem),
        "radiant_exposure": energy.radiant_exposure(outcome),
        "thermal_relaxation_time": energy.thermal_relaxation_time(outcome.problem.target),
    }
