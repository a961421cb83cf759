"""The verb `map`: what it prints and writes, that it goes on with a file, and the errors of wrong input."""

from __future__ import annotations

import csv
import json
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose
from PIL import Image

import spotdwell
from spotdwell.maps import shown as on_screen
from spotdwell.maps.store import load_cube

COARSE = ["--cell-depth", "25 um", "--cell-width", "100 um", "--workers", "1"]
POWER, DWELL = "power: 10 W to 30 W, 3", "dwell: 1 ms to 4 ms, 3, log"
ONE = ("--workers", "1")
BASE = ["map", "--on", "skin", "--spot", "0.6 mm", "--over", POWER, "--over", DWELL]


@pytest.mark.compiled
def test_a_map_is_printed_and_written_and_gone_on_with(call, tmp_path):
    files = {name: tmp_path / f"map.{name}" for name in ("h5", "csv", "png")}
    written = ["--out", files["h5"], "--table", files["csv"], "--picture", files["png"]]
    answer = call(*BASE, *COARSE, "--depth", "150 um", *written)
    assert answer.code == 0, answer.err
    for said in ("Map over power and dwell: 3 x 3 points", "target skin", "Limits: char 52 um", "dwell [ms]"):
        assert said in answer.out
    assert "Cleanest for a depth of 150 um: power" in " ".join(answer.out.split())
    assert "Lasers burn and blind" in answer.out
    with files["csv"].open(newline="") as file:
        assert file.readline().startswith("# Lasers burn and blind")
        rows = list(csv.DictReader(file))
    assert len(rows) == 9
    # The table agrees with a shot of the same settings: the same code computes both.
    shot = spotdwell.shot("skin", "20 W", "0.6 mm", "2 ms", cell_depth="25 um", cell_width="100 um")
    row = next(row for row in rows if row["power [W]"] == "20" and float(row["dwell [s]"]) == 0.002)
    assert_allclose(float(row["crater_depth [m]"]), shot.measures["crater_depth"], rtol=1e-12)
    assert row["verdict"] == shot.verdict.word
    with Image.open(files["png"]) as picture:
        assert min(picture.size) > 500

    again = call(*BASE, *COARSE, "--depth", "150 um", "--out", files["h5"], "--quiet")
    assert again.code == 0
    assert again.out.startswith("9 points: ")
    other = [POWER.replace("30 W", "31 W") if one == POWER else one for one in BASE]
    refused = call(*other, *COARSE, "--out", files["h5"])
    assert refused.code == 2 and "expected a map with power = 10 W, 20.5 W, 31 W" in refused.err


@pytest.mark.compiled
def test_a_map_from_python_is_the_one_of_the_command_line(tmp_path, call):
    base = {"material": "skin", "spot": "0.6 mm", "cell_depth": "25 um", "cell_width": "100 um"}
    cube = spotdwell.map_shots(base, POWER, DWELL, workers=1)
    call(*BASE, *COARSE, "--quiet", "--table", tmp_path / "map.csv")
    with (tmp_path / "map.csv").open(newline="") as file:
        file.readline()
        depths = [float(row["crater_depth [m]"]) for row in csv.DictReader(file)]
    assert_allclose(cube.measures["crater_depth"].ravel(), depths, rtol=1e-12)
    # More power or time cuts deeper here, by far more than the cells scatter (some 5 um).
    assert np.all(np.diff(cube.measures["crater_depth"], axis=0) > 0.0)
    assert np.all(np.diff(cube.measures["crater_depth"], axis=1) > 0.0)


@pytest.mark.compiled
def test_points_whose_settings_clash_are_shown_as_failed(call):
    pulses = ["--over", "pulse_duration: 0.5 ms, 4 ms", "--over", "repetition_rate: 200 Hz, 500 Hz"]
    shot = ["--on", "skin", "--power", "20 W", "--spot", "0.6 mm", "--dwell", "4 ms"]
    answer = call("map", *shot, *pulses, *COARSE)
    assert answer.code == 0, answer.err
    assert "1 point failed; the first, pulse_duration 4 ms, repetition_rate 500 Hz" in answer.out
    assert "x failed" in answer.out


WRONG = [
    (["--over", POWER, "--over", POWER], "power twice"),
    (["--over", POWER, "--over", "dwel: 1 ms, 2 ms"], "Did you mean dwell"),
    (
        ["--over", POWER, "--over", DWELL, "--power", "5 W"],
        "--power: expected an input that is fixed or mapped",
    ),
    (["--over", POWER, "--over", DWELL, "--over", "material: skin, livr"], "--on: "),
    (["--over", POWER, "--over", DWELL, "--over", "repetition_rate: 10 Hz, 20 Hz"], "--pulse-duration: "),
    (
        ["--over", POWER, "--over", DWELL, "--over", "peak_power: 10 W, 20 W"],
        "--over power: expected no power",
    ),
    (["--over", POWER, "--over", DWELL, "--picture", "map.gif"], "--picture: "),
    (["--over", POWER, "--over", DWELL, "--table", "map.txt"], "--table: "),
    (["--over", POWER, "--over", DWELL, "--out", "map.txt"], "--out: "),
    (["--over", POWER, "--over", DWELL, "--depth", "300"], "--depth: "),
    (["--over", POWER, "--over", DWELL, "--depth", "0 um"], "--depth: expected more than 0"),
    (
        ["--over", POWER, "--over", DWELL, "--depth", "1 mm", "--depth-limit", "0.5 mm"],
        "--depth: expected at most",
    ),
    (["--over", POWER, "--over", DWELL, "--workers", "0"], "--workers: "),
    (["--over", POWER, "--over", DWELL, "--from", "spot"], "--from: expected no other setting"),
    (["--over", POWER, "--over", DWELL, "--save-times", "1 ms"], "--save-times: "),
]


@pytest.mark.parametrize(("options", "said"), WRONG, ids=str)
def test_wrong_input_is_named_and_nothing_is_computed(call, options, said):
    answer = call("map", "--on", "skin", "--spot", "0.6 mm", *options)
    assert answer.code == 2
    assert answer.out == ""
    assert said in answer.err and "Traceback" not in answer.err


def test_an_unknown_material_or_scenario_is_named_as_it_was_typed(call):
    words = ["--over", POWER, "--over", "material: skin, livr", "--spot", "1 mm", "--dwell", "1 ms"]
    assert "--over material: expected a known material" in call("map", *words).err
    answer = call("map", "--from", "spt", "--over", POWER, "--over", DWELL)
    assert answer.code == 2 and "--from: " in answer.err and "Did you mean spot?" in answer.err
    assert "--on: expected a base" in call("map", "--over", POWER, "--over", DWELL).err


def test_a_folder_that_is_not_there_is_told_before_the_runs(call, tmp_path):
    answer = call(*BASE, "--picture", tmp_path / "none" / "map.png")
    assert answer.code == 1 and "there is no folder" in answer.err


@pytest.mark.compiled
def test_a_large_map_is_timed_and_needs_yes(call, monkeypatch):
    monkeypatch.setattr(on_screen, "MANY", 8)
    answer = call(*BASE, *COARSE)
    assert answer.code == 2
    assert "Timing 5 of 9 points" in answer.err
    assert "expected at most 8 points without --yes, got 9, which take about" in answer.err
    assert call(*BASE, *COARSE, "--yes", "--quiet").code == 0


def test_a_stopped_map_says_what_is_kept(call, monkeypatch, tmp_path):
    def stopped(plan, path, workers, cluster, progress):
        progress(4, 9, 1.0)
        raise KeyboardInterrupt

    monkeypatch.setattr(on_screen, "map_of", stopped)
    answer = call(*BASE, *COARSE, "--out", tmp_path / "map.h5")
    assert answer.code == 130
    assert "map.h5 holds 4 of 9 points. The same command goes on with it." in answer.err
    assert "nothing was kept" in call(*BASE, *COARSE).err


@pytest.mark.compiled
@pytest.mark.parametrize(
    ("power", "dwell"), [("6 W", "10 ms"), ("25 W", "10 ms")], ids=["own", "larger cells"]
)
def test_a_map_says_of_a_point_what_its_shot_prints(power, dwell, call, tmp_path):
    """On cells of its own and on larger ones; from the command line as from Python."""
    settings = ("--on", "skin", "--spot", "0.6 mm")
    said = call("shot", *settings, "--power", power, "--dwell", dwell, "--json", "--out", tmp_path / "s.h5")
    kept = spotdwell.load(tmp_path / "s.h5")
    answer = call(
        "map", *settings, "--dwell", dwell, "--over", f"power: {power}, 40 W", "--intervals", *ONE, "--quiet",
        "--out", tmp_path / "m.h5",
    )  # fmt: skip
    assert answer.code == 0, answer.err
    cube = load_cube(tmp_path / "m.h5")
    assert cube.interval((0,)) == kept.interval and cube.odds((0,)) == kept.odds
    assert json.loads(said.out)["interval"]["measures"]["crater_depth"] == {
        "low": cube.bands.low["crater_depth"][0],
        "high": cube.bands.high["crater_depth"][0],
    }
    assert cube.bands.covers == kept.interval.covers and cube.bands.low["crater_depth"][0] > 0.0


@pytest.mark.compiled
def test_intervals_cost_nothing_where_they_are_not_asked_for_and_are_foretold_where_they_are(call):
    settings = ("--on", "skin", "--spot", "0.6 mm", "--over", "power: 4 W, 8 W", "--dwell", "2 ms")
    coarse = ("--cell-depth", "20 um", "--cell-width", "60 um", "--workers", "1")
    bare, told = call("map", *settings, *coarse), call("map", *settings, *coarse, "--intervals")
    assert "interval" not in bare.out and "Intervals" not in bare.err
    # Said before any point is counted as done.
    assert re.search(r"^Intervals: 9 more runs at each of 2 points, some \d+ times", told.err, re.M)
    assert "90 % intervals [um]" in told.out and "ASME V&V 20" in told.out
    many = call(
        "map", *settings[:4], *coarse, "--dwell", "2 ms", "--over", "power: 1 W to 9 W, 301", "--intervals"
    )
    assert many.code == 2 and "at most 300 points with intervals without --yes" in many.err
