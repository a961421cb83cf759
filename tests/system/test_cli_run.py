"""The verbs `run` and `shot`: what they print and what they keep."""

from __future__ import annotations

import json
import re

import pytest
from numpy.testing import assert_allclose

from spotdwell.base.names import LEDGER, MEASURES
from spotdwell.inputs.read import read_scenario
from spotdwell.output.result import load
from spotdwell.output.sealed import SIGNATURE, sealed
from spotdwell.output.tables import plain
from spotdwell.output.whole_file import RESULT
from spotdwell.pipeline import run

SHOT = ("shot", "--on", "soft_tissue", "--power", "25 W", "--spot", "0.4 mm", "--dwell", "1 ms")
COARSE = ("--cell-depth", "20 um", "--cell-width", "50 um", "--end-time", "2 ms")


def test_summary_says_setting_verdict_measures_energies_grid_and_cost(call, slab):
    answer = call("run", slab)
    assert answer.code == 0
    for text in (
        "A tiny slab\npower 20 W, area 1 mm2, exposure 5 ms, target soft_tissue",
        "Verdict: clean, 9 in 10\n",
        "Limits: char ",
        "volume removed",
        "coagulated   ",
        "highest temperature reached",
        "not accounted for",
        "cells are 5 um high, as asked",
        "million cell updates",
        "Lasers burn and blind",
    ):
        assert text in answer.out
    assert re.search(r"energy sent by the beam +0\.100 +100\.0", answer.out)
    assert "Saved" not in answer.out


def test_summary_fits_80_columns_and_has_no_colour_in_a_pipe(call, slab, monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    lines = call("run", slab).out.split("\n")
    assert max(map(len, lines)) <= 80
    assert not any("\x1b" in line for line in lines)
    assert not any(line != line.rstrip() for line in lines)


def test_summary_wraps_to_a_narrow_terminal(call, slab, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    assert max(map(len, call("run", slab).out.split("\n"))) <= 60


def test_summary_numbers_are_those_of_the_run(call, slab):
    answer, result = call("run", slab), run(read_scenario(slab))
    floor = result.measures["coagulation_thickness_floor"] * 1e6
    line = next(line for line in answer.out.split("\n") if line.startswith("  coagulated"))
    # Three significant digits are printed.
    assert_allclose(float(line.split()[1]), floor, rtol=5e-3)


def test_json_holds_all_that_the_run_found_in_si(call, slab):
    answer, result = call("run", slab, "--json"), run(read_scenario(slab))
    found = answer.json
    assert found["measures"] == result.measures
    assert list(found["measures"]) == list(MEASURES)
    assert found["units"]["peak_temperature"] == "K"
    assert found["ledger"] == result.ledger and list(found["ledger"]) == list(LEDGER)
    assert found["verdict"]["word"] == "clean"
    assert found["setting"]["power"] == "20 W"
    assert found["versions"]["spotdwell"]
    assert found["notes"] == list(result.notes)
    # The ledger closes to round-off of the energy sent.
    assert_allclose(found["ledger_imbalance"], 0.0, atol=1e-9 * result.ledger["incident"])


def test_json_mode_says_saved_files_on_standard_error(call, slab, tmp_path):
    answer = call("run", slab, "--json", "--out", tmp_path / "slab.h5")
    assert answer.json["title"] == "A tiny slab"
    assert "Saved" in answer.err


def test_result_and_picture_are_kept_where_asked(call, slab, tmp_path):
    out, picture = tmp_path / "slab.h5", tmp_path / "slab.png"
    answer = call("run", slab, "--out", out, "--picture", picture)
    assert answer.code == 0
    assert f"Saved {out}\nSaved {picture}\n" in answer.out
    kept = load(out)
    assert kept.measures == run(read_scenario(slab)).measures
    assert kept.scenario_text == slab.read_text()
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_rerun_replaces_the_kept_result(call, slab, tmp_path):
    out = tmp_path / "slab.h5"
    out.write_bytes(sealed(SIGNATURE + b"an older result", RESULT, 1))
    assert call("run", slab, "--out", out).code == 0
    assert load(out).title == "A tiny slab"


def test_another_file_is_replaced_by_force_alone(call, slab, tmp_path):
    out = tmp_path / "thesis.h5"
    out.write_text("years of work")
    answer = call("run", slab, "--out", out)
    assert answer.code == 2 and "add --force" in answer.err
    assert out.read_text() == "years of work"
    assert call("run", slab, "--out", out, "--force").code == 0
    assert load(out).title == "A tiny slab"


def test_quiet_prints_the_verdict_alone(call, slab, tmp_path):
    answer = call("run", slab, "--quiet", "--out", tmp_path / "slab.h5")
    assert answer.out.count("\n") == 1
    assert answer.out.startswith("clean: Material was removed to a depth of ")
    assert answer.err == ""


def test_grid_check_shows_each_measure_on_both_grids(call, slab):
    answer = call("run", slab, "--check-grid", "--json")
    check = answer.json["grid_check"]
    assert check["refinements"] == [1.0, 2.0]
    row = check["measures"]["coagulation_thickness_floor"]
    assert row["values"][0] == answer.json["measures"]["coagulation_thickness_floor"]
    assert_allclose(row["change"], row["values"][1] - row["values"][0], rtol=1e-12)
    table = call("run", slab, "--check-grid").out
    row = next(line for line in table.split("\n") if line.startswith("coagulation_thickness_floor")).split()
    assert row[3] == "um"
    # Percent to two decimals are printed.
    assert_allclose(float(row[4]), 100.0 * check["measures"][row[0]]["relative_change"], atol=0.005)


def test_grid_check_keeps_the_scenario_as_it_was_written(call, slab, tmp_path):
    out = tmp_path / "slab.h5"
    call("run", slab, "--check-grid", "--quiet", "--out", out)
    assert load(out).scenario_text == slab.read_text()


@pytest.mark.compiled
def test_shot_by_options_is_the_same_as_the_scenario(call, tmp_path):
    path = tmp_path / "shot.toml"
    path.write_text(
        """
        [beam]
        wavelength = "10.6 um"
        power = "25 W"
        diameter = "0.4 mm"
        [exposure]
        dwell_time = "1 ms"
        [target]
        [[target.layers]]
        material = "soft_tissue"
        [run]
        end_time = "2 ms"
        [grid]
        cell_depth = "20 um"
        cell_width = "50 um"
        """
    )
    by_options, by_file = call(*SHOT, *COARSE, "--json"), call("run", path, "--json")
    assert by_options.json["measures"] == by_file.json["measures"]


@pytest.mark.compiled
@pytest.mark.parametrize(
    ("options", "text"),
    [
        (("--count", "2", "--pause", "3 ms"), "2 x 1 ms, 3 ms apart"),
        (("--pulse-duration", "200 us", "--repetition-rate", "2 kHz"), "1 ms of 0.2 ms pulses at 2000 Hz"),
        (("--film", "40 um"), "water_film over soft_tissue"),
        (("--wavelength", "9.6 um"), "9.6 um"),
        (("--profile", "annular", "--inner-ratio", "0.5"), "annular"),
    ],
)
def test_shot_options_reach_the_setting(call, options, text):
    assert text in " ".join(call(*SHOT, *COARSE, *options, "--json").json["setting"].values())


@pytest.mark.compiled
def test_limits_of_a_shot_reach_the_verdict(call):
    limits = ("--depth-limit", "10 um", "--char-limit", "33 um")
    verdict = call(*SHOT, *COARSE, *limits, "--json").json["verdict"]
    assert verdict["word"] == "too deep"
    assert_allclose(verdict["limits"]["char_thickness"], 33e-6, rtol=1e-12)  # as typed, up to round-off


@pytest.mark.compiled
def test_save_times_are_separated_by_commas(call, tmp_path):
    out = tmp_path / "shot.h5"
    call(*SHOT, *COARSE, "--save-times", "0.5 ms, 1 ms", "--out", out)
    # Saved at asked times exactly, up to round-off of the clock.
    assert_allclose([one.time for one in load(out).snapshots], [0.5e-3, 1e-3, 2e-3], rtol=1e-9)


def test_failed_run_exits_with_1_and_says_what_to_do(call, sheet, tmp_path):
    out = tmp_path / "sheet.h5"
    answer = call("run", sheet, "--out", out)
    assert answer.code == 1
    assert answer.err.startswith("Error: the crater reached the bottom")
    assert 'set target.backing = "open air"' in answer.err
    assert not out.exists() and answer.out == ""


@pytest.mark.parametrize("options", [(), ("--uncertainty", "8", "--workers", "1")])
def test_a_kept_result_says_of_its_intervals_what_the_run_printed(call, slab, tmp_path, options):
    said = json.loads(call("run", slab, "--json", "--out", tmp_path / "a.h5", *options).out)
    quiet = call("run", slab, "--quiet", "--out", tmp_path / "b.h5", *options)
    assert quiet.code == 0, quiet.err
    first, second = load(tmp_path / "a.h5"), load(tmp_path / "b.h5")
    assert plain(first)["interval"] == plain(second)["interval"] == said["interval"]
    low, high = (said["interval"]["measures"]["crater_depth"][end] for end in ("low", "high"))
    assert 0.0 < low < high and sum(said["interval"]["verdicts"].values()) == pytest.approx(1.0)
    call("report", tmp_path / "a.h5", "--html", tmp_path / "a.html")
    text = (tmp_path / "a.html").read_text(encoding="utf-8")
    assert said["interval"]["covers"].split("&")[0] in text and "5 % to 95 %" in text
