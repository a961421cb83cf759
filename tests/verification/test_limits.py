"""Limits of the model: right, or refused."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.evidence.check import solved
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import shipped_scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.solve.march import marched

pytestmark = pytest.mark.compiled


def test_a_transparent_target_takes_nothing() -> None:
    outcome = solved("absorption", {"materials.absorber.absorption.0.value": "0 1/m"})
    assert_allclose(outcome.ledger["transmitted"], outcome.ledger["incident"], rtol=1e-12)  # round-off
    assert np.all(outcome.final.temperature == outcome.problem.target.initial_temperature)


def test_an_opaque_target_takes_all_in_its_first_cell() -> None:
    changes = {"exposure.dwell_time": "1 ns", "run.end_time": "1 ns"}
    outcome = solved("two_layers", changes)
    rise = outcome.final.temperature[0] - 293.15
    # 1e-9 J in 2 um under 1 mm2; in 1 ns less than 1e-4 of it leaves the cell.
    assert_allclose(rise[0], 1e-9 / (2e-6 * 1e-6 * 2e6), rtol=1e-4)
    assert rise[2] < 1e-4 * rise[0]


def test_a_dry_solid_passes_the_boiling_point_and_nothing_evaporates() -> None:
    outcome = solved("surface_flux")
    assert outcome.peak_temperature > 500.0
    assert outcome.ledger["latent"] == outcome.ledger["vented"] == outcome.ledger["carried"] == 0.0


def test_plain_water_boils_off_at_its_boiling_point() -> None:
    outcome = solved("water_front")
    water = outcome.problem.target.layers[0].medium
    assert water.is_liquid
    assert outcome.final.crater_depth[0] > 100e-6
    assert_allclose(outcome.peak_temperature, 373.15, rtol=1e-12)  # water is never hotter
    heat = water.removal_enthalpy(310.15)
    bound = outcome.ledger["incident"] / (heat * 1e-6)
    # Never more than the energy can pay for, and most of that once the front is under way.
    assert 0.7 * bound < outcome.final.crater_depth[0] < bound


def test_almost_no_power_changes_almost_nothing() -> None:
    outcome = solved("rupture_front", {"beam.power": "1e-12 W"})
    assert_allclose(outcome.final.temperature, 310.15, rtol=1e-9)
    assert outcome.final.crater_depth[0] == 0.0
    assert outcome.ledger_error < 1e-10


def test_a_perforated_sheet_lets_the_beam_through() -> None:
    scenario = scenario_with(
        shipped_scenario("verification/rupture_front"),
        {
            "target.layers.0.thickness": "100 um",
            "target.backing": "open air",
            "exposure.dwell_time": "30 ms",
            "run.end_time": "30 ms",
            "run.save_times": [],
        },
    )
    outcome = marched(problem_of(scenario))
    assert outcome.perforation_time is not None
    after = outcome.final.time - outcome.perforation_time
    lit = outcome.problem.exposure.peak_power * after
    # All that comes after the hole, and what had crossed the last cells before it.
    assert lit < outcome.ledger["transmitted"] < 1.2 * lit
    assert outcome.ledger_error < 1e-10


@pytest.mark.parametrize("name", ["opaque_spot", "moving_spot"])
def test_a_beam_wider_than_the_grid_is_refused(name: str) -> None:
    scenario = scenario_with(shipped_scenario(f"verification/{name}"), {"beam.diameter": "5 mm"})
    with pytest.raises(InputError, match="half_width"):
        problem_of(scenario)
