"""Maps whose points all get the same average power or energy: the lesson of short pulses, told fairly."""

import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError

PULSED = {
    "material": "soft_tissue", "spot": "1 mm", "dwell": "60 ms", "peak_power": "80 W",
    "repetition_rate": "200 Hz", "refinement": 0.3,
}  # fmt: skip
PULSES = "pulse_duration: 0.2 ms, 0.4 ms, 0.8 ms"


@pytest.mark.compiled
def test_short_pulses_get_as_much_energy_as_long_ones():
    uneven = spotdwell.map_shots(PULSED, PULSES, workers=1)
    even = spotdwell.map_shots(PULSED, PULSES, workers=1, equal="average-power")
    energy = uneven.measures["incident_energy"]
    assert energy[2] > 3.5 * energy[0]  # the reverse of the lesson
    # Whole pulses: of 12 or more at most one is missing or cut.
    np.testing.assert_allclose(even.measures["incident_energy"], energy[0], rtol=0.1)
    assert even.setting["all points"] == "equal average power"
    assert "repetition_rate" not in even.setting and "all points" not in uneven.setting


def test_each_point_has_the_average_power_or_the_energy_of_the_first():
    plan = spotdwell.map_plan(PULSED, PULSES, equal="average-power")
    means = []
    for at in range(3):
        carrier = plan.scenario((at,)).exposure.carrier
        means.append(carrier.peak_power * carrier.pulse_duration * carrier.repetition_rate)
    np.testing.assert_allclose(means, 80.0 * 0.2e-3 * 200.0, rtol=1e-12)
    steady = {"material": "skin", "spot": "1 mm", "dwell": "10 ms"}
    plan = spotdwell.map_plan(steady, "power: 5 W, 10 W, 20 W", equal="energy")
    powers = [plan.scenario((at,)).beam.power for at in range(3)]
    dwells = [plan.scenario((at,)).exposure.dwell_time for at in range(3)]
    np.testing.assert_allclose(np.multiply(powers, dwells), 0.05, rtol=1e-12)
    train = {"material": "skin", "spot": "1 mm", "power": "10 W", "count": 5, "pause": "90 ms"}
    plan = spotdwell.map_plan(train, "dwell: 10 ms, 20 ms", equal="average-power")
    gates = [plan.scenario((at,)).exposure.gate for at in range(2)]
    np.testing.assert_allclose([on / (on + off) for on, off, _ in gates], 0.1, rtol=1e-12)


def test_the_map_keeps_what_is_equal_and_refuses_what_cannot_be():
    plan = spotdwell.map_plan(PULSED, PULSES, equal="average-power")
    assert plan.identity["equal"] == "average-power"
    assert "equal" not in spotdwell.map_plan(PULSED, PULSES).identity
    with pytest.raises(InputError, match="average-power or energy"):
        spotdwell.map_plan(PULSED, PULSES, equal="power")
    given = {name: value for name, value in PULSED.items() if name != "repetition_rate"}
    with pytest.raises(InputError, match="no range of repetition_rate"):
        spotdwell.map_plan(given, PULSES, "repetition_rate: 100 Hz, 200 Hz", equal="average-power")
