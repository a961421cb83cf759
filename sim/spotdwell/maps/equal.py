"""What all points of a map have in common beside their settings: average power, or energy."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with


class Equal(StrEnum):
    """What is equal at all points."""

    AVERAGE_POWER = "average-power"
    ENERGY = "energy"


def equal_of(word: str | None) -> Equal | None:
    """What a word asks for; None for None. Raises InputError for another word."""
    if word is None:
        return None
    if word not in set(Equal):
        raise InputError("equal", " or ".join(Equal), f'"{word}"', "Leave it out for settings as they are.")
    return Equal(word)


def check_equal(base: Scenario, equal: Equal, names: Sequence[str]) -> None:
    """Raise InputError where the map over `names` leaves nothing to make its points equal with."""
    key = _lever(base, equal)
    taken = {
        "exposure.carrier.repetition_rate": "repetition_rate",
        "exposure.off_time": "pause",
        "exposure.dwell_time": "dwell",
        "exposure.on_time": "dwell",
        "beam.power": "power",
    }[key]
    if taken in names:
        expected = f"no range of {taken}, which makes the {str(equal).replace('-', ' ')} equal"
        raise InputError(f"over {taken}", expected, "one", "Leave one of the two out.")


def balanced(scenario: Scenario, equal: Equal, base: Scenario) -> Scenario:
    """`scenario` with as much average power, or energy, as `base`.

    The average power of superpulses is set by their rate, that of a train by its pauses, any other by the
    power; the energy by the dwell. Raises InputError where that cannot be.
    """
    on, _, count = scenario.exposure.gate
    while_on = _mean(scenario)
    key = _lever(base, equal)
    if equal is Equal.ENERGY:
        energy = _mean(base) * base.exposure.gate[0] * base.exposure.gate[2]
        return scenario_with(scenario, {key: f"{energy / (while_on * count)!r} s"})
    wanted = _mean(base) * _duty(base)
    if key == "beam.power":
        return scenario_with(scenario, {key: f"{wanted!r} W"})
    if key == "exposure.off_time":
        off = on * (while_on / wanted - 1.0)
        if off < 0.0:
            got = f"{units.display(while_on, 'W', 'W')} while it is on"
            raise InputError("equal", f"at least {units.display(wanted, 'W', 'W')} in each exposure", got)
        return scenario_with(scenario, {key: f"{off!r} s"})
    carrier = scenario.exposure.carrier
    assert carrier is not None and carrier.peak_power is not None
    rate = wanted / (_duty(scenario) * carrier.peak_power * carrier.pulse_duration)
    return scenario_with(scenario, {key: f"{rate!r} Hz"})


def _lever(base: Scenario, equal: Equal) -> str:
    """Key of what is changed."""
    exposure = base.exposure
    if equal is Equal.ENERGY:
        return "exposure.dwell_time" if exposure.dwell_time is not None else "exposure.on_time"
    if exposure.carrier is not None and exposure.carrier.peak_power is not None:
        return "exposure.carrier.repetition_rate"
    return "exposure.off_time" if exposure.gate[2] > 1 else "beam.power"


def _mean(scenario: Scenario) -> float:
    """Power while the beam is gated on, a carrier at its mean [W]."""
    carrier = scenario.exposure.carrier
    if carrier is not None and carrier.peak_power is not None:
        return carrier.peak_power * carrier.pulse_duration * carrier.repetition_rate
    return scenario.beam.power or 0.0


def _duty(scenario: Scenario) -> float:
    on, off, count = scenario.exposure.gate
    return on / (on + off) if count > 1 else 1.0
