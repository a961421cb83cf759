"""JSON of every verb that prints a table: one object, SI, with its units and the caution."""

from __future__ import annotations

import pytest

from spotdwell.base.cautions import SAFETY
from spotdwell.cli import VERBS


def test_catalogue_is_listed_as_json(call):
    found = call("list", "materials", "--json").json
    assert found["caution"] == SAFETY
    names = {one["name"]: one for one in found["materials"]}
    assert names["skin"]["water_mass_fraction"] == 0.68
    skin = call("list", "materials", "skin", "--json").json
    assert skin["density"]["value"] == 1125.0 and skin["units"]["density"] == "kg/m3"
    assert skin["units"]["pyrolysis.activation_energy"] == "J/mol"
    scenarios = call("list", "scenarios", "--json").json["scenarios"]
    assert {"name": "spot", "title": "A single spot in soft tissue"} in scenarios
    assert call("list", "scenarios", "spot", "--json").json["beam"]["power"] == "25 W"


def test_self_check_tells_claims_and_computed_values_as_json(call):
    found = call("selfcheck", "absorption", "--json").json
    assert found["passed"] is True and found["caution"] == SAFETY
    assert {"claimed", "computed", "unit", "error", "tolerance", "passed"} <= set(found["checks"][0])
    refused = call("selfcheck", "--full", "--json")
    assert refused.code == 2 and refused.err.startswith("Error: --json: ")


def test_card_lists_its_shots_as_json_without_a_file(call):
    shots = ("--power", "5 W", "--dwell", "2 ms, 4 ms", "--spot", "0.5 mm", "--against", "none")
    found = call("card", "--on", "apple", *shots, "--refinement", "0.2", "--workers", "1", "--json").json
    assert [one["number"] for one in found["shots"]] == [1, 2]
    assert {one["dwell"] for one in found["shots"]} == {2e-3, 4e-3}
    assert all(one["measures"]["crater_depth"] >= 0.0 for one in found["shots"])
    assert found["units"]["dwell"] == "s" and found["caution"] == SAFETY


WITHOUT_TABLE = {"list", "live", "plot", "film", "page", "report", "schema"}


@pytest.mark.parametrize("verb", sorted(set(VERBS) - WITHOUT_TABLE))
def test_every_verb_that_prints_a_table_takes_json(call, verb):
    assert "--json" in call(verb, "--help").out


@pytest.mark.parametrize(("words", "found"), [("spotdwell sh", "shot"), ("spotdwell shot --uni", "--units")])
def test_the_shell_completes_verbs_and_options(call, monkeypatch, words, found):
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", str(len(words.split()) - 1))
    monkeypatch.setenv("_SPOTDWELL_COMPLETE", "complete_bash")
    assert call().out.split() == [found]
