"""The whole run, from a scenario or a few strings to a result."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell import library
from spotdwell.base.errors import RunError
from spotdwell.base.names import LEDGER, MEASURES
from spotdwell.inputs.read import shipped_scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.measure.verdict import Word
from spotdwell.pipeline import check_grid, run

COARSE = {"cell_depth": "10 um", "cell_width": "60 um"}


def imbalance(result) -> float:
    left = sum(value for name, value in result.ledger.items() if name != "incident")
    return abs(result.ledger["incident"] - left) / result.ledger["incident"]


@pytest.fixture(scope="module")
def result():
    return spotdwell.shot("oral_mucosa", power="25 W", spot="1.6 mm", dwell="40 ms", **COARSE)


@pytest.mark.compiled
def test_a_shot_carries_fields_history_measures_and_provenance(result, tmp_path):
    assert list(result.measures) == list(MEASURES)
    assert set(result.ledger) == set(LEDGER)
    assert result.fields.temperature.shape == (result.x_edges.size - 1, result.depth_edges.size - 1)
    assert result.history.time[-1] == result.measures["end_time"]
    assert result.setting["target"] == "oral_mucosa"
    assert "oral_mucosa" in result.materials
    assert set(result.versions) >= {"python", "spotdwell", "numpy", "numba"}
    result.save(tmp_path / "shot.h5")
    assert_allclose(spotdwell.load(tmp_path / "shot.h5").fields.temperature, result.fields.temperature)


@pytest.mark.compiled
def test_a_stored_scenario_runs_again_to_the_same_numbers(result):
    from spotdwell.inputs.read import scenario_from_text

    again = run(scenario_from_text(result.scenario_text))
    assert again.measures == result.measures


@pytest.mark.compiled
@pytest.mark.parametrize("name", library.names(library.Shelf.SCENARIOS))
def test_the_ledger_of_every_shipped_scenario_closes(name):
    found = run(shipped_scenario(name))
    assert imbalance(found) < 1e-10
    assert all(np.isfinite(value) for value in found.measures.values() if value is not None)


@pytest.mark.compiled
@pytest.mark.parametrize(
    ("spot", "word"),
    [("5 mm", Word.SCORCHED), ("2.6 mm", Word.CHARRED), ("1.3 mm", Word.CLEAN), ("0.8 mm", Word.TOO_DEEP)],
)
def test_one_power_chars_then_cuts_clean_then_drills_as_the_spot_shrinks(spot, word):
    # Common practice, no source: 1.3 to 50 W/mm2 at one dwell.
    found = spotdwell.shot(
        "oral_mucosa", power="25 W", spot=spot, dwell="200 ms", cell_depth="12 um", cell_width="50 um"
    )
    assert found.verdict.word is word


@pytest.mark.compiled
def test_a_finer_grid_changes_the_depth_by_under_two_percent():
    scenario = scenario_of_shot("soft_tissue", "10 W", "1 mm", "50 ms", cell_width="40 um")
    heard = []
    found = check_grid(scenario, progress=lambda label, state: heard.append(label))
    assert found.refinements == (1.0, 2.0)
    rows = {name: (values, relative) for name, values, _, relative in found.rows()}
    assert abs(rows["crater_depth"][1]) < 0.02
    assert set(heard) == {"grid 1 of 2", "grid 2 of 2"}


@pytest.mark.compiled
def test_a_hole_deeper_than_twice_its_width_is_doubted():
    found = spotdwell.shot("soft_tissue", power="30 W", spot="0.5 mm", dwell="40 ms", **COARSE)
    assert any("reflection and guiding by its walls" in note for note in found.notes)


@pytest.mark.compiled
def test_a_crater_through_a_layer_on_a_closed_backing_fails_with_advice():
    with pytest.raises(RunError, match="Make the last layer thicker"):
        spotdwell.shot("soft_tissue", power="50 W", spot="1 mm", dwell="50 ms", thickness="0.2 mm", **COARSE)


def test_the_package_has_no_other_attributes():
    with pytest.raises(AttributeError, match="no attribute 'sweep'"):
        _ = spotdwell.sweep
