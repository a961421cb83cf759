"""Chance that a size reaches its depth and keeps its limits."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from spotdwell.base.names import MEASURES
from spotdwell.cli import main
from spotdwell.measure.verdict import Limits as Verdicts
from spotdwell.output.result import load
from spotdwell.sizing.chance import _chance
from spotdwell.sizing.trials import Limits
from spotdwell.spread.posterior import Draws
from spotdwell.spread.run import Sample, Uncertainty

NOTHING = dict.fromkeys(MEASURES)


def study(depths, chars) -> Uncertainty:
    """One sample for each depth and char [m]."""
    samples = tuple(
        Sample(NOTHING | {"crater_depth": depth, "deepest": depth, "char_thickness_wall": char})
        for depth, char in zip(depths, chars, strict=True)
    )
    draws = Draws.apart(np.ones((len(samples), 0)))
    return Uncertainty((), draws, samples[0].measures, samples, 0, Verdicts())


def test_shares_of_depth_limits_and_both_are_counted():
    found = _chance(study([2e-4, 3e-4, 4e-4, 5e-4], [1e-5, 3e-5, 1e-5, 1e-5]), Limits(char=2e-5), 3e-4)
    assert (found.reached, found.kept, found.both) == (0.75, 0.75, 0.5)
    assert "reached or passed in 3 in 4" in found.sentences[0] and "both in 1 in 2" in found.sentences[0]


def test_a_depth_limit_and_coagulation_count_among_limits():
    one = study([2e-4, 4e-4], [0.0, 0.0])
    assert _chance(one, Limits(depth=3e-4), None).kept == 0.5
    thick = replace(
        one, samples=tuple(Sample(s.measures | {"coagulation_thickness_floor": 9e-5}) for s in one.samples)
    )
    assert _chance(thick, Limits(coagulation=8e-5), None).kept == 0.0
    scan = _chance(thick, Limits(coagulation=1e-4), None)
    assert scan.reached is None and scan.sentences[0].endswith("the limits are kept in all.")


@pytest.mark.compiled
def test_command_states_the_chance_of_its_answer_and_keeps_its_interval(capsys, tmp_path):
    asked = [
        "size",
        "--on",
        "soft_tissue",
        "--power",
        "20 W",
        "--dwell",
        "20 ms",
        "--depth",
        "300 um",
        "--json",
        "--out",
        str(tmp_path / "size.h5"),
    ]
    assert main(asked) == 0
    said = json.loads(capsys.readouterr().out)
    chance = said["chance"]
    # The depth wanted is about the middle of what is possible.
    assert 0.1 < chance["reached"] < 0.9 and chance["low"] < 3e-4 < chance["high"]
    assert "V&V 20" in chance["covers"]
    kept = load(tmp_path / "size.h5").interval
    assert kept is not None and kept.measures["crater_depth"] == (chance["low"], chance["high"])
    assert said["result"]["interval"]["verdicts"] == dict(kept.words)
