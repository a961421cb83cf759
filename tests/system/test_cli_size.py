"""The verb `size`: what it prints, keeps and answers, and how it refuses."""

from __future__ import annotations

import json

import pytest

import spotdwell

COARSE = ("--cell-depth", "15 um", "--cell-width", "60 um")
SPOT = ("size", "--on", "soft_tissue", "--power", "20 W", "--dwell", "10 ms", "--depth", "200 um", *COARSE)


@pytest.mark.compiled
def test_size_prints_the_setting_its_depth_and_layers_and_keeps_the_result(call, tmp_path):
    kept = tmp_path / "sized.h5"
    answer = call(*SPOT, "--out", kept)
    assert answer.code == 0
    first = answer.out.splitlines()[0]
    assert first.startswith("Spot for 200 um: ")
    for word in ("wanted 200 um", "char", "coagulated", "Verdict: ", "Lasers burn and blind"):
        assert word in answer.out
    assert answer.err.count("try ") == len(answer.err.splitlines()) >= 2
    result = spotdwell.load(kept)
    assert result.setting["spot"].startswith(first.removeprefix("Spot for 200 um: "))
    assert result.measures["crater_depth"] == pytest.approx(200e-6, rel=0.03)


@pytest.mark.compiled
def test_json_holds_the_setting_in_si_the_trials_and_the_result(call):
    answer = call(*SPOT, "--json", "--quiet")
    assert (answer.code, answer.err) == (0, "")
    found = answer.json
    assert found["sought"] == "spot" and found["found"] is True
    assert found["setting"] == found["nearest"]["value"]
    assert found["nearest"] in found["trials"]
    assert found["result"]["measures"]["crater_depth"] == found["nearest"]["depth"]
    assert found["depth"] == 200e-6


@pytest.mark.compiled
def test_quiet_prints_one_line(call):
    answer = call(*SPOT, "--quiet")
    assert (answer.code, answer.err) == (0, "")
    assert len(answer.out.splitlines()) == 1 and answer.out.startswith("spot ")


@pytest.mark.compiled
def test_no_answer_is_exit_code_1_and_keeps_nothing(call, tmp_path):
    kept = tmp_path / "sized.h5"
    answer = call(*SPOT, "--at-least", "3 mm", "--out", kept)
    assert answer.code == 1
    assert "No spot from 3 mm to 10 mm removes 200 um" in " ".join(answer.out.split())
    assert "Nothing saved" in answer.err
    assert not kept.exists()


@pytest.mark.compiled
def test_broken_limits_are_named_with_the_nearest_that_works(call):
    answer = call(*SPOT, "--coagulation-limit", "60 um")
    text = " ".join(answer.out.split())
    assert answer.code == 1
    assert "No spot for 200 um keeps the limits; without them: " in text
    assert "over the limit of 60.0 um" in text
    assert "With dwell" in text or "No dwell that was tried" in text


def size_with(**changes: str | None) -> list[str]:
    """Arguments of a good sizing with other values of these options; None leaves one out."""
    good = {"--on": "skin", "--power": "20 W", "--dwell": "20 ms", "--depth": "300 um"}
    options = good | {f"--{name.replace('_', '-')}": value for name, value in changes.items()}
    return ["size", *(word for pair in options.items() if pair[1] is not None for word in pair)]


WRONG = [
    (size_with(depth=None), "--depth: "),
    (size_with(spot="1 mm"), "all three"),
    (size_with(power=None), "no power and no spot"),
    (size_with(on="skn"), "--on: expected a known material"),
    (size_with(dwell="20"), "--dwell: "),
    (size_with(ripple="0.1"), "--ripple: expected --scan"),
    (size_with(count="3"), "--pause: "),
    ([*size_with(), "--scan"], "--dwell: expected none beside a scan"),
    ([*size_with(dwell=None, spot="1 mm"), "--scan"], "--length: expected a quantity"),
    ([*size_with(dwell=None, depth=None, spot="1 mm", length="8 mm"), "--scan"], "--depth: expected a depth"),
    ([*size_with(dwell=None, length="8 mm"), "--scan"], "--spot: "),
    (size_with(length="8 mm"), "--length: expected --scan"),
    (size_with(out="sized.txt"), "--out: expected a file name that ends in .h5"),
]


@pytest.mark.parametrize(("arguments", "named"), WRONG, ids=str)
def test_wrong_request_is_exit_code_2_and_named(call, arguments, named):
    answer = call(*arguments)
    assert (answer.code, answer.out) == (2, "")
    assert named in answer.err and "Traceback" not in answer.err


def test_interrupt_is_exit_code_130_and_leaves_nothing(call, tmp_path, monkeypatch):
    from spotdwell import pipeline

    def interrupted(*_arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(pipeline, "run", interrupted)
    answer = call(*SPOT, "--out", tmp_path / "sized.h5")
    assert answer.code == 130
    assert "nothing was saved" in answer.err
    assert list(tmp_path.iterdir()) == []


def test_the_verb_stands_in_the_help(call):
    answer = call("size", "--help")
    assert answer.code == 0 and "--coagulation-limit" in answer.out
    assert json.dumps(answer.out)
