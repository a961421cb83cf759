"""The fastest pattern: it keeps its limits, none that was tried is faster, and refusals are named."""

import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.scans import fastest
from spotdwell.scans.shown_fastest import line, plain_of

COARSE = {"cell_width": "30 um", "cell_depth": "15 um"}
AREA = {"length": "4 mm", "width": "1 mm", "most_speed": "3 m/s"}


def found(**more):
    return spotdwell.fastest_scan("soft_tissue", "30 W", "0.2 mm", **(AREA | COARSE | more))


@pytest.fixture(scope="module")
def answer():
    return found(depth="150 um", coagulation_limit="140 um")


@pytest.mark.compiled
def test_the_answer_keeps_its_limits_over_the_whole_area(answer):
    assert answer.found and answer.result is not None
    measures = answer.result.measures
    assert measures["depth_mean"] >= 150e-6
    assert max(measures["coagulation_worst"], measures["coagulation_edge"]) <= 140e-6
    assert measures["total_time"] == pytest.approx(answer.trial.total_time, rel=1e-6)
    one = answer.trial.candidate
    assert one.speed <= 3.0
    again = spotdwell.scan(
        "soft_tissue",
        "30 W",
        "0.2 mm",
        length="4 mm",
        width="1 mm",
        spacing=f"{one.spacing!r} m",
        speed=f"{one.speed!r} m/s",
        passes=one.passes,
        **COARSE,
    )
    assert again.measures["depth_mean"] == pytest.approx(measures["depth_mean"], rel=1e-6)


@pytest.mark.compiled
def test_no_trial_that_keeps_the_limits_is_faster(answer):
    kept = [one.total_time for one in answer.trials if not one.broken]
    assert answer.trial.total_time == min(kept)
    faster = [one for one in answer.trials if one.total_time < answer.trial.total_time]
    assert faster and all(one.broken for one in faster)
    assert answer.obstacles


@pytest.mark.compiled
def test_the_rule_of_thumb_stands_beside_it(answer):
    assert answer.at_rest is not None
    assert answer.at_rest.measures["crater_depth"] > 0.0
    assert line(answer).startswith("Set ") and "coagulated" in line(answer)
    plain = plain_of(answer)
    assert plain["setting"]["speed"] == answer.trial.candidate.speed
    assert plain["result"]["scan"]["measures"]["depth_mean"] >= 150e-6


@pytest.mark.compiled
def test_limits_that_nothing_keeps_are_told(monkeypatch):
    monkeypatch.setattr(fastest, "SHARES", (0.5,))
    monkeypatch.setattr(fastest, "PASSES", (1,))
    monkeypatch.setattr(fastest, "WAITS", (0.0,))
    none = found(depth="150 um", coagulation_limit="5 um")
    assert not none.found and none.result is None
    assert "over 5.00 um" in " ".join(none.obstacles)
    assert "Closest" in line(none)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "depth: expected a depth, or a limit"),
        ({"depth": "0 um"}, "depth: expected more than 0"),
        ({"depth": "100 um", "ripple": 0.0}, "ripple: expected a share above 0"),
        ({"depth": "100 um", "length": None}, "length: expected a quantity"),
        ({"depth": "100 um", "least_speed": "4 m/s"}, "most_speed: expected more than"),
        ({"depth": "100 um", "most_speed": "4"}, "most_speed: expected a quantity"),
        ({"depth": "2 mm", "most_speed": "1 mm/s"}, "most_speed: expected speeds at which"),
    ],
)
def test_a_wrong_request_is_named(more, said):
    with pytest.raises(InputError) as raised:
        found(**more)
    assert str(raised.value).startswith(said)


@pytest.mark.compiled
def test_a_narrow_window_between_two_first_speeds_is_found(monkeypatch):
    """One of the first speeds is too shallow and the next too hot: speeds between them keep both."""
    monkeypatch.setattr(fastest, "SHARES", (0.5,))
    monkeypatch.setattr(fastest, "PASSES", (1,))
    monkeypatch.setattr(fastest, "WAITS", (0.0,))
    free = found(depth="100 um").trials
    ordered = sorted((one for one in free), key=lambda one: one.candidate.speed)
    coarse = [one for one in ordered if one.depth > 50e-6]
    fast, slow = coarse[-1], next(one for one in reversed(coarse) if one.depth > 1.3 * coarse[-1].depth)
    depth = 0.5 * (fast.depth + slow.depth)
    limit = 0.5 * (depth / slow.depth * slow.coagulation + slow.coagulation)
    answer = found(depth=f"{depth!r} m", coagulation_limit=f"{limit!r} m")
    assert answer.found and answer.result is not None
    assert answer.result.measures["depth_mean"] >= depth
