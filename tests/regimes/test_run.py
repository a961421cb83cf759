"""Comparison: what is equal is equal, the sentence follows the numbers, and wrong requests are refused."""

from __future__ import annotations

import copy
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.exact import converted_share
from spotdwell.regimes.differences import charring_temperature, heat_lead, hot_time, sentence_of
from spotdwell.regimes.run import compare

CHEAP = {"refinement": 0.3, "workers": 1}
"""Coarse cells: a regime is solved in a moment, and what is tested here does not depend on them."""
PAIR = ("continuous", "short pulses: 60 us at 50 Hz")


@pytest.fixture(scope="module")
def pair():
    return compare("soft_tissue", "2 mm", PAIR, average_power="10 W", time="200 ms", **CHEAP)


def with_measures(found, *changes):
    """`found` with other measures of its runs."""
    runs = []
    for run, change in zip(found.runs, changes, strict=True):
        result = replace(run.result, measures={**run.result.measures, **change})
        runs.append(replace(run, result=result))
    return replace(found, runs=tuple(runs))


def layers(char, coagulation=100e-6, depth=1e-3):
    names = [f"char_thickness_{place}" for place in ("floor", "wall")]
    others = [f"coagulation_thickness_{place}" for place in ("floor", "wall")]
    return dict.fromkeys(names, char) | dict.fromkeys(others, coagulation) | {"crater_depth": depth}


def test_the_package_offers_it():
    assert spotdwell.compare is compare


@pytest.mark.compiled
def test_all_send_the_average_power_for_the_time(pair):
    for run in pair.runs:
        # The ledger sums some hundred steps; nothing of the beam misses the target.
        assert_allclose(run.result.ledger["incident"], 2.0, rtol=1e-9, atol=0.0)
        assert run.notes == ()
    assert [run.train.count for run in pair.runs] == [1, 10]


@pytest.mark.compiled
def test_short_pulses_leave_less_char_and_spend_less_time_hot(pair):
    steady, pulsed = pair.runs
    limit = charring_temperature(pair.medium)
    assert pulsed.measure("char_thickness_floor") < 0.5 * steady.measure("char_thickness_floor")
    assert hot_time(pulsed.result, limit) < 0.1 * hot_time(steady.result, limit)
    assert heat_lead(pulsed, pair.medium) < heat_lead(steady, pair.medium)
    text = pair.sentence
    assert text.startswith("At equal average power (10 W for 200 ms), the short-pulsed beam leaves")
    assert ", because its floor was above" in text and "thermal relaxation time of 420 us" in text
    assert text.count(". ") == 0 and text.endswith(".")


@pytest.mark.compiled
def test_a_pulse_has_the_energy_and_radiant_exposure_of_its_power(pair):
    pulsed = pair.runs[1]
    # 10 W at 50 Hz on the circle of 2 mm.
    assert_allclose(pulsed.train.pulse_energy, 0.2, rtol=1e-12, atol=0.0)
    assert_allclose(pulsed.pulse_radiant_exposure, 0.2 / (np.pi * 1e-6), rtol=1e-12, atol=0.0)


@pytest.mark.compiled
def test_several_processes_find_the_same(pair):
    again = compare(
        "soft_tissue", "2 mm", PAIR, average_power="10 W", time="200 ms", refinement=0.3, workers=2
    )
    assert [run.result.measures for run in again.runs] == [run.result.measures for run in pair.runs]


@pytest.mark.compiled
def test_equal_energy_is_sent_by_regimes_of_any_average_power():
    regimes = ("continuous: 5 W", "superpulsed: 500 us at 20 Hz, peak 400 W")
    found = compare("soft_tissue", "2 mm", regimes, "energy", energy="1.02 J", **CHEAP)
    steady, pulsed = found.runs
    assert_allclose(steady.train.on, 0.204, rtol=1e-12, atol=0.0)
    # Five pulses of 0.2 J are 1 J.
    assert pulsed.train.count == 5
    assert pulsed.notes == ("its energy is 2.0% less than wanted, as pulses are whole",)


@pytest.mark.compiled
def test_equal_depth_is_reached_by_each_with_the_light_that_it_needs():
    regimes = ("continuous", "short pulses: 60 us, peak 3 kW")
    found = compare("soft_tissue", "2 mm", regimes, "depth", depth="400 um", **CHEAP)
    steady, pulsed = found.runs
    # The search ends within 2 %; a pulse removes some 65 um, so the nearest whole one is within half of that.
    assert_allclose(steady.measure("crater_depth"), 400e-6, rtol=0.02, atol=0.0)
    assert_allclose(pulsed.measure("crater_depth"), 400e-6, rtol=0.0, atol=33e-6)
    more = replace(pulsed.train, count=pulsed.train.count + 1)
    assert more.energy > pulsed.train.energy
    assert found.terms.text == "equal depth (400 um)"


@pytest.mark.compiled
def test_equal_depth_is_that_of_the_first_regime_unless_said():
    found = compare("soft_tissue", "2 mm", PAIR, "depth", time="200 ms", **CHEAP)
    assert found.terms.depth == found.runs[0].measure("crater_depth")
    assert found.runs[0].train.on == 0.2


@pytest.mark.compiled
@pytest.mark.parametrize(
    ("regime", "depth"),
    [
        # 6 W/cm2 warm tissue and do not boil it; one pulse of 3 J digs deeper than 20 um.
        ("continuous: 0.2 W", "10 um"),
        ("superpulsed: 10 ms, peak 300 W", "20 um"),
    ],
)
def test_a_depth_that_a_regime_cannot_reach_is_refused_by_name(regime, depth):
    with pytest.raises(InputError, match=r"a regime that can reach") as caught:
        compare(
            "soft_tissue",
            "2 mm",
            (regime,),
            "depth",
            depth=depth,
            average_power="0.2 W",
            refinement=0.2,
            workers=1,
        )
    assert caught.value.where == f'regime "{regime}"'


@pytest.mark.compiled
def test_a_first_regime_that_removes_nothing_gives_no_depth():
    with pytest.raises(InputError, match=r"removes something within 50 ms"):
        compare("soft_tissue", "2 mm", ("continuous: 0.2 W",), "depth", time="50 ms", **CHEAP)


@pytest.mark.compiled
def test_the_sentence_says_when_little_differs(pair):
    text = sentence_of(with_measures(pair, layers(40e-6), layers(43e-6)))
    assert "the regimes differ little: they leave 40 to 43 um of char" in text


@pytest.mark.compiled
def test_the_sentence_says_when_pulses_leave_more(pair):
    text = sentence_of(with_measures(pair, layers(10e-6), layers(60e-6)))
    assert "the continuous beam leaves up to 10 um of char at floor and wall where the short-pulsed" in text
    assert "so pulses do not help here" in text
    # The times above charring are still those computed, which point the other way.
    assert "although its floor" in text


@pytest.mark.compiled
def test_the_sentence_turns_to_coagulation_without_char(pair):
    text = sentence_of(with_measures(pair, layers(0.0, 200e-6), layers(0.0, 50e-6)))
    assert (
        "the regimes leave no char at floor and wall, but the short-pulsed beam leaves up to 50 um of" in text
    )
    assert "chars within" not in text


@pytest.mark.compiled
def test_the_sentence_names_a_regime_that_removes_nothing(pair):
    third = replace(pair.runs[1], name="a weak one")
    found = with_measures(
        replace(pair, runs=(*pair.runs, third)), layers(50e-6), layers(0.0), layers(0.0, depth=0.0)
    )
    assert sentence_of(found).endswith('; the beam "a weak one" removes nothing.')
    none = with_measures(pair, layers(0.0, depth=0.0), layers(0.0, depth=0.0))
    assert "none of the regimes removes anything" in sentence_of(none)


@pytest.mark.compiled
def test_at_the_charring_temperature_63_percent_turn_to_char_in_a_second(pair):
    temperature, law = charring_temperature(pair.medium), pair.medium.pyrolysis
    share = converted_share(1.0, temperature, law.frequency_factor, law.activation_energy)
    assert_allclose(share, 1.0 - np.exp(-1.0), rtol=1e-9, atol=0.0)


@pytest.mark.compiled
def test_hot_time_sums_the_steps_that_end_hot(pair):
    result = pair.runs[0].result
    history = copy.copy(result.history)
    made = replace(
        history,
        time=np.array([0.0, 1.0, 3.0, 4.0]),
        surface_temperature=np.array([900.0, 900.0, 300.0, np.nan]),
    )
    assert hot_time(replace(result, history=made), 800.0) == 1.0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"equal": "power"}, 'equal: expected average-power, energy or depth, got "power"'),
        ({"energy": "1 J"}, "energy: expected equal energy beside it"),
        ({"depth": "1 mm"}, "depth: expected equal depth beside it"),
        ({"time": "1"}, "time: expected a quantity in s"),
        ({"average_power": "-1 W"}, "average_power: expected a finite quantity above 0"),
        ({"regimes": ("gated: 2 s on, 1 s off",)}, "expected whole pulses that send 10.0 J to within 10%"),
        ({"regimes": ("gated: 20 ms on, 80 ms off",), "time": "170 ms"}, "Choose another time or energy"),
        ({"workers": 0}, "workers"),
        ({"peak_power": "100 W"}, "peak_power: expected no such setting of a comparison"),
        ({"regimes": ("superpulsed: 1 us, peak 5 MW",), "time": "1000000 s"}, "at most 1000000 pulses"),
        ({"wavelength": "1.064 um"}, "wavelength"),
    ],
)
def test_a_wrong_request_is_refused_before_anything_is_solved(options, said, monkeypatch):
    from spotdwell.regimes import run as comparison

    monkeypatch.setattr(comparison, "run", None)
    with pytest.raises(InputError) as caught:
        compare("soft_tissue", "2 mm", **options)
    assert said in str(caught.value)
