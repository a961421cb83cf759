"""The verb `scan`: what it prints, keeps and refuses."""

import json

import pytest

pytestmark = pytest.mark.compiled
OPTIONS = {
    "length": "2 mm",
    "width": "0.6 mm",
    "spacing": "0.1 mm",
    "speed": "465 mm/s",
    "cell-width": "25 um",
    "cell-depth": "12 um",
}
TYPED = [text for key, value in OPTIONS.items() for text in (f"--{key}", value)]
VERB = ("scan", "--on", "soft_tissue", "--power", "30 W", "--spot", "0.2 mm", *TYPED)


def test_the_verb_prints_keeps_and_draws(call, tmp_path):
    out, picture = tmp_path / "scan.h5", tmp_path / "scan.png"
    answer = call(*VERB, "--coagulation-limit", "100 um", "--out", out, "--picture", picture)
    assert answer.code == 0, answer.err
    for word in ("Verdict: ", "mean depth", "edge, most", "that a line meets", "Lasers burn and blind"):
        assert word in answer.out
    assert out.exists() and picture.exists()


def test_json_is_si(call):
    answer = call(*VERB, "--json", "--quiet")
    assert (answer.code, answer.err) == (0, "")
    found = json.loads(answer.out)["scan"]
    assert found["model"] == "slice" and 1e-5 < found["measures"]["depth_mean"] < 1e-3


def test_a_scenario_and_settings_do_not_mix(call):
    answer = call("scan", "spot", "--on", "skin")
    assert answer.code == 2 and "one out" in answer.err


def test_spots_at_rest_stand_beside_the_corner(call):
    answer = call(*VERB, "--corner", "0.4 mm", "--at-rest", "--json", "--quiet")
    assert (answer.code, answer.err) == (0, "")
    found = json.loads(answer.out)
    moving, rest = (found[name]["measures"] for name in ("corner", "corner_at_rest"))
    for equal in ("energy", "total_time"):
        assert rest[equal] == pytest.approx(moving[equal], rel=1e-9)
    assert rest["depth_mean"] == pytest.approx(moving["depth_mean"], rel=0.2)
    assert rest["depth_mean"] != moving["depth_mean"]
    said = call(*VERB, "--corner", "0.4 mm", "--at-rest")
    assert "spots at rest" in said.out and "one each 0.1 mm" in " ".join(said.out.split())


def test_spots_at_rest_need_a_corner(call):
    answer = call(*VERB, "--at-rest")
    assert answer.code == 2 and "--at-rest: expected a corner beside it, got none" in answer.err
