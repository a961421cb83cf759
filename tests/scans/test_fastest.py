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


@pytest.mark.parametrize("least", [0.6, 0.7, 0.8, 0.9, 1.0, 1.1])
def test_a_window_narrower_than_the_first_steps_is_found(monkeypatch, least):
    """On a known law that keeps both limits from `least` to 1.27 times as much [m/s]; first steps are 1.6."""
    monkeypatch.setattr(fastest, "SHARES", (0.5,))
    monkeypatch.setattr(fastest, "PASSES", (1,))
    most = 1.27 * least

    def law(self, one):
        depth, burnt = 150e-6 * most / one.speed, 100e-6 * (least / one.speed) ** 0.5
        broken = self.wanted.broken(depth, 0.0, burnt, 0.0)
        return fastest.Trial(one, depth, 0.0, burnt, 0.0, 1.0 / one.speed, 1.0, broken)

    monkeypatch.setattr(fastest._Search, "_tried", law)
    for name, value in (("_whole", None), ("_broken", ()), ("_at_rest", None)):
        monkeypatch.setattr(fastest._Search, name, lambda *_, value=value: value)
    answer = found(depth="150 um", coagulation_limit="100 um")
    assert not answer.trial.broken
    assert most / fastest.FINE < answer.trial.candidate.speed <= most
