"""Energies and times against arithmetic done by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.testing import assert_allclose

from spotdwell.measure import summary as energy
from spotdwell.model import columns
from spotdwell.model.beam import Beam, Profile
from spotdwell.model.target import Layer, Target

RINGS = columns.rings(np.arange(81) * 10e-6)


def test_gaussian_peak_is_twice_the_mean_over_the_1_e2_circle(outcome_of, depth_edges):
    problem = outcome_of(RINGS, depth_edges, beam=Beam(10.6e-6, 0.8e-3), power=25.0).problem
    # 25 W over pi (0.8 mm)^2 = 2.0106 mm2.
    assert_allclose(energy.irradiance_mean(problem), 12.434e6, rtol=1e-4)
    assert_allclose(energy.irradiance_peak(problem), 2.0 * energy.irradiance_mean(problem), rtol=1e-12)


def test_flat_top_peak_is_its_mean(outcome_of, depth_edges):
    problem = outcome_of(RINGS, depth_edges, beam=Beam(10.6e-6, 0.5e-3, Profile.FLAT_TOP)).problem
    assert_allclose(energy.irradiance_peak(problem), energy.irradiance_mean(problem), rtol=1e-12)


def test_slab_spreads_the_power_over_its_area(outcome_of, depth_edges):
    outcome = outcome_of(columns.slab(2e-6), depth_edges, power=10.0)
    assert_allclose(energy.irradiance_mean(outcome.problem), 5e6, rtol=1e-12)
    assert_allclose(energy.irradiance_peak(outcome.problem), 5e6, rtol=1e-12)
    assert_allclose(energy.radiant_exposure(outcome), 5e5, rtol=1e-12)  # 1 J over 2 mm2


def test_radiant_exposure_is_the_energy_over_the_circle(outcome_of, depth_edges):
    outcome = outcome_of(RINGS, depth_edges, beam=Beam(10.6e-6, 0.5e-3), power=10.0)
    assert_allclose(energy.radiant_exposure(outcome), 1.0 / (np.pi * 0.25e-6), rtol=1e-12)


def test_energy_beside_the_target_is_not_incident_on_it(outcome_of, depth_edges):
    outcome = outcome_of(RINGS, depth_edges, power=10.0, outside=0.25)
    assert_allclose(energy.incident_energy(outcome), 0.75, rtol=1e-12)


def test_nothing_removed_gives_no_energy_per_volume():
    assert energy.per_volume(1.0, 0.0) is None
    assert energy.per_volume(None, 1.0) is None
    assert energy.per_volume(3.0, 1.5e-9) == 2e9


def test_relaxation_time_of_a_25_um_layer_is_1_3_ms(media):
    base = dataclasses.replace(
        media.tissue, solid_density=0.0, water_density=1000.0, specific_heat_water=4000.0
    )
    # alpha = 0.48 / 4e6 = 1.2e-7 m2/s, d = 25 um: d^2 / (4 alpha) = 1.302 ms.
    medium = dataclasses.replace(
        base, conductivity=0.48, absorption_coefficient_water=0.0, absorption_coefficient_solid=4e4
    )
    layers = (Layer(medium, 1e-3), Layer(media.acrylic, np.inf))
    assert_allclose(energy.thermal_relaxation_time(Target(layers)), 1.3021e-3, rtol=1e-4)


def test_transparent_layer_has_no_relaxation_time(media):
    clear = dataclasses.replace(
        media.tissue, absorption_coefficient_water=0.0, absorption_coefficient_solid=0.0
    )
    assert energy.thermal_relaxation_time(Target((Layer(clear, np.inf),))) is None
