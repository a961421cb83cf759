"""Neighbours of a shot: what a few per cent of power, spot and dwell do."""

from dataclasses import replace

import pytest

import spotdwell
from spotdwell.shots.sensitivity import Neighbour, Sensitivity

pytestmark = pytest.mark.compiled

COARSE = {"refinement": 0.4}


def test_neighbours_are_the_shots_that_they_say():
    scenario = spotdwell.scenario_of_shot("soft_tissue", "25 W", "1.6 mm", "80 ms", **COARSE)
    found = spotdwell.sensitivity(scenario, workers=1)
    assert [(one.setting, one.share) for one in found.neighbours] == [
        (name, share) for name in ("power", "spot", "dwell") for share in (-0.05, 0.05)
    ]
    assert found.measures == spotdwell.run(scenario).measures
    wider = spotdwell.shot("soft_tissue", "25 W", "1.68 mm", "80 ms", **COARSE)
    assert found.neighbours[3].measures["deepest"] == pytest.approx(wider.measures["deepest"], rel=1e-9)
    # Depth rises with power and dwell and falls with the spot.
    depths = [one.measures["deepest"] for one in found.neighbours]
    assert depths[0] < depths[1] and depths[2] > depths[3] and depths[4] < depths[5]


def test_a_jump_of_depth_or_another_word_is_steep():
    calm = Sensitivity({"deepest": 100e-6}, "clean", (Neighbour("spot", 0.05, {"deepest": 90e-6}, "clean"),))
    assert calm.steep == ()
    jump = Neighbour("power", -0.05, {"deepest": 80e-6}, "clean")
    turned = Neighbour("dwell", 0.05, {"deepest": 101e-6}, "charred")
    assert replace(calm, neighbours=(*calm.neighbours, jump, turned)).steep == ("power", "dwell")


def test_a_setting_near_the_edge_of_throwing_out_says_so():
    near = spotdwell.shot("soft_tissue", "20 W", "1 mm", "20 ms", **COARSE)
    assert any("lies near the edge" in note for note in near.notes)
    for spot in ("0.5 mm", "1.6 mm"):
        far = spotdwell.shot("soft_tissue", "20 W", spot, "20 ms", **COARSE)
        assert not any("lies near the edge" in note for note in far.notes)
    # A short pulse is over before anything could turn.
    short = spotdwell.shot("soft_tissue", "20 W", "1 mm", "1 ms", **COARSE)
    assert not any("lies near the edge" in note for note in short.notes)
