"""What is said of a calibration before it is fitted."""

from dataclasses import replace

import numpy as np
import pytest

from spotdwell.calibration.foresight import cannot_tell, forecast, runs_of
from spotdwell.calibration.request import read_shots
from spotdwell.calibration.run import bench_of
from spotdwell.inputs.shot import scenario_of_shot

HEAD = "power [W],dwell [ms],spot [mm],depth [um]\n"
FAST = "12,2,0.4,210\n16,2,0.4,290\n20,2,0.4,375\n24,2,0.4,440\n"


@pytest.fixture(scope="module")
def scenario():
    return scenario_of_shot("soft_tissue", "1 W", "1 mm", "1 ms", refinement=0.4)


@pytest.fixture
def bench(tmp_path, scenario):
    def read(rows, fix=(), **changes):
        path = tmp_path / "bench.csv"
        path.write_text(HEAD + rows)
        return bench_of(replace(read_shots(path), **changes), scenario, None, None, fix)

    return read


def test_shots_of_one_dwell_without_repeats_are_told_of(bench, scenario):
    told = list(cannot_tell(bench(FAST), scenario))
    assert any("dwell" in one.lower() and "dry and burn" in one for one in told)
    assert any("No shot was repeated" in one for one in told)
    slow = list(cannot_tell(bench(FAST + "2,20,0.4,200\n2,20,0.4,210\n"), scenario))
    assert not any("dry and burn" in one or "repeated" in one for one in slow)
    known = list(cannot_tell(bench(FAST, ("delivered-share=0.9",)), scenario))
    assert not any("dry and burn" in one for one in known)


def test_rows_cut_through_and_errors_that_are_not_used_are_told_of(bench, scenario):
    through = np.array([False, False, False, False, True])
    changes = {"perforated": through, "depth_error": np.full(5, 5e-6)}
    told = list(cannot_tell(bench(FAST + "40,2,0.4,800\n", **changes), scenario))
    assert any("cut through: row 6" in one for one in told)
    assert any("depth error is not used" in one for one in told)


@pytest.mark.compiled
def test_runs_are_counted_and_timed(bench, scenario):
    one = bench(FAST, ("delivered-share=0.9",))
    # Four shots: three starts and four stars of three, then two stars in fine cells.
    assert runs_of(one) == (4 * (3 + 4 * 3), 4 * 2 * 3)
    ahead = forecast(one, scenario, 1)
    assert ahead.runs == 84 and ahead.seconds > 0.0
    assert runs_of(bench(FAST + FAST, ("delivered-share=0.9",))) == runs_of(one)
