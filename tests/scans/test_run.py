"""Scans solved: the ledger closes, slice and block agree, results are kept, drawn and printed."""

import h5py
import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.inputs.read import read_scenario
from spotdwell.scans.words import SCAN_MEASURES

pytestmark = pytest.mark.compiled
LINES = {"length": "2 mm", "width": "0.6 mm", "spacing": "0.1 mm", "speed": "465 mm/s"}
COARSE = {"cell_width": "25 um", "cell_depth": "12 um"}


def scanned(**more):
    return spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **(LINES | COARSE | more))


@pytest.fixture(scope="module")
def result():
    return scanned(coagulation_limit="50 um")


def test_the_ledger_closes_and_the_energy_is_that_of_the_lines(result):
    assert result.ledger_error < 1e-9
    assert result.measures["energy"] == pytest.approx(30.0 * 6 * 2e-3 / 0.465)
    # The beam is cut off where all but a millionth of it is inside.
    assert result.record.ledger["incident"] == pytest.approx(result.measures["energy"], rel=1e-6)


def test_the_measures_hang_together(result):
    found = result.measures
    assert tuple(found) == tuple(SCAN_MEASURES)
    assert 0.0 < found["depth_least"] <= found["depth_mean"] <= found["depth_greatest"]
    assert found["coagulation_worst"] >= found["coagulation_mean"] > 0.0
    assert found["total_time"] == pytest.approx(6 * 2e-3 / 0.465)
    assert found["duty"] == pytest.approx(1.0)
    assert found["volume_rate"] == pytest.approx(found["volume"] / found["total_time"])
    assert found["meets_first"] == pytest.approx(310.15)
    assert found["meets_greatest"] > 320.0


def test_a_broken_limit_is_said(result):
    assert not result.within
    assert "over the limit of 50.0 um" in result.verdict.reasons[-1]
    assert scanned(coagulation_limit="500 um").within


def test_a_pause_lets_it_cool(result):
    paused = scanned(line_pause="200 ms")
    assert paused.measures["meets_greatest"] < result.measures["meets_greatest"] - 5.0
    assert paused.measures["duty"] < 0.1


def test_a_crust_is_told_of_and_only_a_crust(result):
    """Slow and weak: the beam's edge dries the surface before its middle comes."""
    assert not any("crust" in note for note in result.record.notes)
    weak = spotdwell.scan("soft_tissue", "2 W", "0.4 mm", **(LINES | COARSE | {"speed": "20 mm/s"}))
    assert weak.measures["peak_temperature"] > 647.1
    assert any("crust" in note and "cell_width" in note for note in weak.record.notes)


def test_two_passes_dig_twice_as_deep_or_less(result):
    twice = scanned(passes=2)
    assert 1.5 < twice.measures["depth_mean"] / result.measures["depth_mean"] < 2.6


def test_a_kept_scan_holds_its_own_group(result, tmp_path):
    path = tmp_path / "scan.h5"
    result.save(path)
    kept = spotdwell.load(path)
    assert kept.record.measures == result.record.measures
    with h5py.File(path) as file:
        group = file["scan"]
        assert group["line_meets"][()] == pytest.approx(result.meets)
        assert group["scan_depth_mean"][()] == result.measures["depth_mean"]
        assert group["scan_depth_mean"].attrs["units"] == "m"
    (tmp_path / "again.toml").write_text(kept.record.scenario_text)
    again = read_scenario(tmp_path / "again.toml")
    assert again.scan is not None and again.scan.speed == pytest.approx(0.465)


@pytest.mark.parametrize("suffix", ["png", "svg", "pdf"])
def test_it_is_drawn(result, tmp_path, suffix):
    path = tmp_path / f"scan.{suffix}"
    result.plot(path)
    assert path.stat().st_size > 5000


def test_other_verbs_send_a_scan_to_its_own(result, tmp_path):
    path = tmp_path / "scan.toml"
    path.write_text(result.record.scenario_text)
    with pytest.raises(InputError, match="verb scan"):
        spotdwell.run(read_scenario(path))


def test_points_turns_and_spirals_are_solved_as_blocks():
    small = {"length": "0.4 mm", "width": None, "spacing": "0.2 mm"}
    cells = {"cell_width": "40 um", "cell_depth": "25 um"}
    for more in (
        {"way": "points", "dwell": "0.4 ms", "speed": None},
        {"way": "spiral"},
        {"turned": True, "passes": 2},
    ):
        found = scanned(**(small | cells | more))
        assert found.model == "block"
        assert found.ledger_error < 1e-9
        assert found.measures["depth_greatest"] > 20e-6


def test_a_slice_and_a_block_of_one_patch_agree():
    cells = {"cell_width": "20 um", "cell_depth": "10 um", "length": "0.8 mm", "width": "0.6 mm"}
    slice_, block = (scanned(model=model, **cells) for model in ("slice", "block"))
    middle = int(np.abs(block.surface.x).argmin())
    inside = block.surface.inside[middle]
    deep = block.surface.depth[middle, inside].mean()
    assert slice_.measures["depth_mean"] == pytest.approx(deep, rel=0.03)
    burnt = block.surface.layers["coagulation"][middle, inside].mean()
    assert slice_.measures["coagulation_mean"] == pytest.approx(burnt, rel=0.05, abs=3e-6)
