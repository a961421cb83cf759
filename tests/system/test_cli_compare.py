"""The verb `compare`: table, sentence, JSON, files, and errors before anything is solved."""

from __future__ import annotations

import csv

import pytest

from spotdwell.base.errors import RunError
from spotdwell.output.result import load

PAIR = ("--regime", "continuous", "--regime", "short pulses: 60 us at 50 Hz")
CHEAP = (
    "compare", "--on", "soft_tissue", "--spot", "2 mm", "--time", "100 ms", *PAIR, "--refinement", "0.3",
    "--workers", "1",
)  # fmt: skip


def test_help_has_an_example_and_fits_80_columns(call):
    answer = call("compare", "--help")
    assert answer.code == 0
    assert "Example: spotdwell compare" in answer.out
    assert max(map(len, answer.out.split("\n"))) <= 80


@pytest.mark.compiled
def test_table_has_units_and_the_sentence_follows(call):
    answer = call(*CHEAP)
    assert answer.code == 0
    for text in (
        "continuous  short pulses",
        "radiant exposure of a pulse  J/mm2",
        "char at the wall",
        "energy per removed volume",
        "verdict",
    ):
        assert text in answer.out
    assert "At equal average power (10 W for 100 ms), the short-pulsed beam leaves" in " ".join(
        answer.out.split()
    )


@pytest.mark.compiled
def test_json_is_one_object_in_si(call):
    found = call(*CHEAP, "--json").json
    assert found["equal"] == "average-power"
    assert [one["regime"] for one in found["regimes"]] == ["continuous", "short pulses"]
    pulsed = found["regimes"][1]
    assert pulsed["setting"]["pulses"] == 5
    assert pulsed["result"]["units"]["crater_depth"] == "m"
    assert found["regimes"][0]["setting"]["repetition_rate"] is None
    assert found["sentence"].startswith("At equal average power")


@pytest.mark.compiled
def test_files_are_kept_and_agree(call, tmp_path):
    folder, table, picture = tmp_path / "kept", tmp_path / "all.csv", tmp_path / "row.png"
    answer = call(*CHEAP, "--out", folder, "--table", table, "--picture", picture, "--json")
    assert answer.code == 0
    assert sorted(path.name for path in folder.iterdir()) == ["1_continuous.h5", "2_short_pulses.h5"]
    assert picture.read_bytes().startswith(b"\x89PNG")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()[1:]))
    for row, name, one in zip(rows, ("1_continuous", "2_short_pulses"), answer.json["regimes"], strict=True):
        kept = load(folder / f"{name}.h5")
        assert float(row["crater_depth [m]"]) == kept.measures["crater_depth"]
        assert one["result"]["measures"] == kept.measures
        assert row["verdict"] == str(kept.verdict.word)
    assert answer.err.count("Saved") == 4


@pytest.mark.compiled
def test_a_kept_scenario_runs_again_to_the_same_depth(call, tmp_path):
    from spotdwell.inputs.read import scenario_from_text
    from spotdwell.pipeline import run

    call(*CHEAP, "--quiet", "--out", tmp_path)
    kept = load(tmp_path / "2_short_pulses.h5")
    again = run(scenario_from_text(kept.scenario_text))
    assert again.measures["crater_depth"] == kept.measures["crater_depth"]


@pytest.mark.compiled
def test_quiet_prints_the_sentence_only(call):
    answer = call(*CHEAP, "--quiet")
    assert answer.out.startswith("At equal average power") and answer.out.count("\n") == 1
    assert answer.err == ""


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--regime", "gatd"), 'Error: --regime "gatd": expected a regime that starts with'),
        (("--regime", "superpulsed: 400 us at 250 Hz, peak 5 W"), "a peak power of at least the average"),
        (("--equal", "depht"), "Error: --equal: expected average-power, energy or depth"),
        (("--picture", "row.bmp"), "Error: --picture"),
        (("--size", "poster"), "Error: --size"),
        (("--table", "all.txt"), "Error: --table: expected a file name that ends in .csv"),
        (("--on", "soft_tisue"), "Error: --on: expected a known material"),
        (("--spot", "2"), "Error: --spot: expected a quantity in m"),
    ],
)
def test_wrong_input_exits_with_2_and_names_it(call, words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    answer = call("compare", "--on", "soft_tissue", "--spot", "2 mm", *words)
    assert answer.code == 2
    assert said in answer.err and answer.out == ""
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_made_is_told_before_the_run(call, tmp_path):
    answer = call("compare", "--on", "soft_tissue", "--spot", "2 mm", "--out", tmp_path / "no" / "such")
    assert answer.code == 1
    assert "cannot be used as a folder" in answer.err


@pytest.mark.compiled
def test_a_picture_that_fails_costs_no_other_file(call, tmp_path, monkeypatch):
    from spotdwell.regimes import shown as compare

    def full(*_: object) -> None:
        raise RunError("the disk is full")

    monkeypatch.setattr(compare, "draw_picture", full)
    answer = call(*CHEAP, "--picture", tmp_path / "row.png", "--table", tmp_path / "all.csv")
    assert answer.code == 1
    assert "the disk is full" in answer.err
    assert [path.name for path in tmp_path.iterdir()] == ["all.csv"]


def test_ctrl_c_exits_with_130_and_says_what_is_left(call, monkeypatch):
    from spotdwell.regimes import run as comparison

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(comparison, "run_all", stopped)
    answer = call(*CHEAP)
    assert answer.code == 130
    assert answer.err.endswith("Stopped: nothing was saved.\n")
