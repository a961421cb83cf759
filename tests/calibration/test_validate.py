"""Bias, spread and coverage of bench shots against the model, with nothing fitted."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.calibration.request import read_shots
from spotdwell.calibration.response import ComputedCrater
from spotdwell.calibration.validate import compared, settings_of
from spotdwell.calibration.validate_words import bias_text, warnings_of
from spotdwell.inputs.shot import scenario_of_shot

HEAD = "power [W],dwell [ms],spot [mm],depth [um],depth error [um]\n"


@pytest.fixture(scope="module")
def scenario():
    return scenario_of_shot("soft_tissue", "1 W", "1 mm", "1 ms")


def linear(settings):
    """Depths of 10 um a watt."""
    return [ComputedCrater(1e-5 * one.power, 0.0, "clean") for one in settings]


@pytest.fixture
def judged(tmp_path, scenario):
    def judge(rows, head=HEAD):
        path = tmp_path / "shots.csv"
        path.write_text(head + rows)
        shots = read_shots(path)
        return compared(shots, settings_of(shots, scenario, None), linear, scenario, None)

    return judge


def test_bias_and_spread_are_those_of_the_depths_by_hand(judged):
    # Computed 100, 200 and 400 um: over measured ones 1.25, 1 and 0.8.
    found = judged("10,5,1,80,\n20,5,1,200,\n40,5,1,500,\n")
    ratios = np.array([0.25, 0.0, -0.2])
    assert_allclose(found.bias, ratios.mean(), rtol=1e-12)
    assert_allclose(found.spread, ratios.std(ddof=1), rtol=1e-12)
    # Student's t of 2 degrees of freedom at 97.5 % is 4.3027 (tables).
    assert_allclose(found.bias_high - found.bias, 4.3027 * found.spread / 3**0.5, rtol=1e-4)
    assert "not told from none" in bias_text(found)
    assert found.coverage == () and any("No errors are stated" in text for text in warnings_of(found))


def test_a_setting_that_was_repeated_counts_once_in_the_bias(judged):
    once = judged("10,5,1,80,\n20,5,1,200,\n40,5,1,500,\n")
    often = judged("10,5,1,80,\n" + "20,5,1,200,\n" * 9 + "40,5,1,500,\n")
    assert_allclose((often.bias, often.bias_high), (once.bias, once.bias_high), rtol=1e-12)
    assert often.settings == 3 and often.runs == 3 and often.spread < once.spread


def test_coverage_counts_depths_within_the_stated_errors(judged):
    found = judged("10,5,1,95,6\n20,5,1,215,10\n40,5,1,500,30\n30,5,1,300,\n")
    assert [(one.within, one.of) for one in found.coverage] == [(1, 3), (2, 3)]
    assert [one.off for one in found.shots] == pytest.approx([5 / 6, -1.5, -10 / 3, None])
    assert any("More than 3 stated errors off: row 4." in text for text in warnings_of(found))


def test_shots_that_were_cut_through_or_removed_nothing_are_named_and_not_counted(judged):
    head = HEAD.strip() + ",perforated\n"
    rows = "10,5,1,100,,no\n20,5,1,200,,no\n40,5,1,400,,no\n50,5,1,2000,,yes\n1,5,1,0,,no\n"
    found = judged(rows, head)
    assert found.bias == pytest.approx(0.0, abs=1e-12) and len(found.used) == 3  # round-off
    assert any("cut through: row 5" in one for one in warnings_of(found))
    assert any("Without a crater" in one and "row 6" in one for one in warnings_of(found))


def test_too_few_settings_and_spots_that_nobody_says_are_refused(judged):
    with pytest.raises(InputError, match="at least 3 different settings"):
        judged("10,5,1,100,\n10,5,1,110,\n20,5,1,200,\n")
    with pytest.raises(InputError, match="a laser file that says the spots, got a column dial alone"):
        judged("10,5,1,100\n20,5,1,200\n30,5,1,200\n", "power [W],dwell [ms],dial,depth [um]\n")


@pytest.mark.compiled
def test_depths_that_the_model_made_have_no_bias_and_one_off_is_seen(tmp_path):
    coarse = {"refinement": 0.5}
    rows = []
    for power in (12, 16, 20):
        shot = spotdwell.shot("soft_tissue", f"{power} W", "0.4 mm", "2 ms", **coarse)
        rows.append(f"{power},2,0.4,{1e6 * shot.measures['crater_depth']!r},5\n")
    path = tmp_path / "shots.csv"
    path.write_text(HEAD + "".join(rows))
    found = spotdwell.validate(path, "soft_tissue", workers=1, **coarse)
    # Both stop once nothing boils any more: the depth is the same.
    assert found.bias == pytest.approx(0.0, abs=1e-6) and found.coverage[0].within == 3
