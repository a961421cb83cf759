"""What a run must not end with: numbers that are not finite, or energy that is not accounted for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from spotdwell import pipeline
from spotdwell.base.errors import RunError
from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import scenario_from_dict, shipped_material
from spotdwell.inputs.schema import Scenario
from spotdwell.measure.summary import measures_of
from spotdwell.solve.march import marched
from spotdwell.solve.outcome import MOST_IMBALANCE, Outcome, check_sound

TINY = {
    "beam": {"wavelength": "10.6 um", "power": "20 W"},
    "exposure": {"dwell_time": "1 ms"},
    "target": {"layers": [{"material": "soft_tissue"}]},
    "run": {"end_time": "2 ms"},
    "grid": {"geometry": "slab", "area": "1 mm2", "depth": "0.3 mm", "cell_depth": "10 um"},
}


def insulator() -> Scenario:
    """Tissue that conducts no heat while wet, which its numbers do not survive."""
    material = shipped_material("soft_tissue").model_dump(mode="json", exclude_none=True)
    material["conductivity"] = {"value": "1e-30 W/m/K"}
    return scenario_from_dict(
        {
            "beam": {"wavelength": "10.6 um", "power": "20 W", "diameter": "1 mm"},
            "exposure": {"dwell_time": "5 ms"},
            "target": {"layers": [{"material": "mine"}]},
            "run": {"end_time": "20 ms"},
            "materials": {"mine": material},
        }
    )


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return marched(problem_of(scenario_from_dict(TINY)))


def test_a_sound_run_passes_by_orders_of_magnitude(outcome: Outcome) -> None:
    check_sound(outcome, measures_of(outcome))
    assert outcome.ledger_error < 1e-3 * MOST_IMBALANCE


@pytest.mark.compiled
def test_a_run_whose_numbers_are_not_finite_has_no_verdict() -> None:
    with np.errstate(all="ignore"), pytest.raises(RunError, match="not finite"):
        pipeline.run(insulator())


@pytest.mark.parametrize("name", ["temperature", "water", "damage", "crater_depth"])
def test_a_field_that_is_not_finite_is_named(outcome: Outcome, name: str) -> None:
    values = getattr(outcome.final, name).copy()
    values[..., -1] = np.nan
    spoilt = replace(outcome, snapshots=(*outcome.snapshots[:-1], replace(outcome.final, **{name: values})))
    with pytest.raises(RunError, match=name):
        check_sound(spoilt, measures_of(outcome))


def test_a_history_that_is_not_finite_is_named(outcome: Outcome) -> None:
    peaks = outcome.history.peak_temperature.copy()
    peaks[0] = np.inf
    spoilt = replace(outcome, history=replace(outcome.history, peak_temperature=peaks))
    with pytest.raises(RunError, match="history of peak temperature"):
        check_sound(spoilt, measures_of(outcome))


def test_the_surface_has_no_temperature_once_it_is_perforated(outcome: Outcome) -> None:
    surface = np.full_like(outcome.history.surface_temperature, np.nan)
    through = replace(outcome, history=replace(outcome.history, surface_temperature=surface))
    check_sound(replace(through, perforation_time=1e-3), measures_of(outcome))
    with pytest.raises(RunError, match="history of surface temperature"):
        check_sound(through, measures_of(outcome))


@pytest.mark.parametrize("name", ["latent", "stored", "incident"])
def test_a_term_or_a_measure_that_is_not_finite_is_named(outcome: Outcome, name: str) -> None:
    with pytest.raises(RunError, match=name):
        check_sound(replace(outcome, ledger=outcome.ledger | {name: np.inf}), {})
    with pytest.raises(RunError, match="deepest"):
        check_sound(outcome, measures_of(outcome) | {"deepest": np.nan})


def test_energy_that_is_missing_is_refused_with_its_share(outcome: Outcome) -> None:
    incident = outcome.ledger["incident"]
    for factor in (1.0 + 1.1 * MOST_IMBALANCE, 1.0 - 1.1 * MOST_IMBALANCE):
        with pytest.raises(RunError, match=r"1\.1e-9 of its largest term is missing"):
            check_sound(replace(outcome, ledger=outcome.ledger | {"incident": incident * factor}), {})
    check_sound(replace(outcome, ledger=outcome.ledger | {"incident": incident * (1.0 + 1e-10)}), {})
