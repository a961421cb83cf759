"""Intervals of regimes: the same draws for each, side by side, and how often their order holds."""

from __future__ import annotations

import json

import numpy as np
import pytest

from spotdwell.cli import main
from spotdwell.regimes.intervals import intervals_text, studies_of
from spotdwell.regimes.run import compare

SHORT = ("continuous", "superpulsed: 400 us at 250 Hz, peak 100 W")


@pytest.fixture(scope="module")
def found():
    return compare("soft_tissue", spot="0.5 mm", time="20 ms", regimes=SHORT, workers=1)


@pytest.mark.compiled
def test_regimes_share_their_draws_and_keep_their_own_runs(found):
    first, second = studies = studies_of(found, 8, seed=3, workers=1)
    assert np.array_equal(first.inputs, second.inputs)
    assert first.nominal == found.runs[0].result.measures
    assert second.nominal["crater_depth"] == pytest.approx(
        found.runs[1].result.measures["crater_depth"], rel=1e-9
    )
    low = first.spreads["crater_depth"].low
    # A table and the sentence on what the intervals cover.
    assert low < first.nominal["crater_depth"] < first.spreads["crater_depth"].high
    assert any("V&V 20" in str(getattr(part, "renderable", part)) for part in intervals_text(found, studies))


@pytest.mark.compiled
def test_command_prints_intervals_on_request_only(capsys):
    asked = [
        "compare",
        "--on",
        "soft_tissue",
        "--spot",
        "0.5 mm",
        "--time",
        "8 ms",
        "--workers",
        "1",
        "--json",
    ]
    regimes = [part for text in SHORT for part in ("--regime", text)]
    assert main([*asked, *regimes]) == 0
    assert "intervals" not in json.loads(capsys.readouterr().out)
    assert main([*asked, *regimes, "--uncertainty", "8"]) == 0
    intervals = json.loads(capsys.readouterr().out)["intervals"]
    assert list(intervals) == ["continuous", "superpulsed"]
    for one in intervals.values():
        assert one["samples"] == 8 and one["measures"]["crater_depth"]["low"] > 0.0
        assert sum(one["verdicts"].values()) == pytest.approx(1.0)


def test_a_seed_without_draws_is_an_error(capsys):
    assert main(["compare", "--on", "skin", "--seed", "3"]) == 2
    assert "--uncertainty" in capsys.readouterr().err
