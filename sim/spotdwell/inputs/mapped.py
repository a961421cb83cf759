"""Inputs that a map can go through: their units, and which keys of a scenario each one sets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import FILM, Value, scenario_with
from spotdwell.model.columns import Geometry

Point = Mapping[str, float | str]
"""A value for each mapped input: SI, or the name of a material."""


@dataclass(frozen=True)
class Input:
    """An input of a shot that may take many values."""

    unit: str | None
    """SI unit; None for words."""
    example: str
    """Of one value."""
    range_example: str
    option: str
    """What sets one value of it on the command line."""
    is_whole: bool = False
    may_vanish: bool = False
    """Whether 0 is a value of it."""


INPUTS = {
    "power": Input("W", "25 W", '"5 W to 40 W, 20"', "--power"),
    "spot": Input("m", "1.6 mm", '"0.2 mm to 2 mm, 10"', "--spot"),
    "dwell": Input("s", "80 ms", '"1 ms to 1 s, 20, log"', "--dwell"),
    "pulse_duration": Input("s", "400 us", '"50 us to 5 ms, 10, log"', "--pulse-duration"),
    "repetition_rate": Input("Hz", "140 Hz", '"50 Hz to 500 Hz, 10"', "--repetition-rate"),
    "peak_power": Input("W", "80 W", '"40 W to 120 W, 5"', "--peak-power"),
    "wavelength": Input("m", "10.6 um", '"9.3 um, 10.6 um"', "--wavelength"),
    "count": Input("1", "10", '"1, 2, 5, 10"', "--count", is_whole=True),
    "pause": Input("s", "100 ms", '"10 ms to 1 s, 10, log"', "--pause", may_vanish=True),
    "material": Input(None, "skin", '"skin, liver"', "--on"),
}
"""By the name that `--over` calls each."""

_KEYS = {
    "power": "beam.power",
    "spot": "beam.diameter",
    "pulse_duration": "exposure.carrier.pulse_duration",
    "repetition_rate": "exposure.carrier.repetition_rate",
    "peak_power": "exposure.carrier.peak_power",
    "wavelength": "beam.wavelength",
    "count": "exposure.count",
    "pause": "exposure.off_time",
}
_PULSED = ("power", "peak_power", "pulse_duration", "repetition_rate")
"""Of which three make the fourth in a superpulsed beam."""


def key_of(name: str, scenario: Scenario) -> str:
    """Dotted key of `scenario` that the input `name` sets.

    The dwell is the time of each exposure, also in a train. The material is that of the first layer under
    a film of water, if there is such a film, else of the first layer.
    """
    if name == "dwell":
        return "exposure.dwell_time" if scenario.exposure.dwell_time is not None else "exposure.on_time"
    if name == "material":
        materials = [layer.material for layer in scenario.target.layers]
        under = next((index for index, one in enumerate(materials) if one != FILM), 0)
        return f"target.layers.{under}.material"
    return _KEYS[name]


def text_of(name: str, value: float | str) -> str:
    """`value` of the input as an option or a file would say it, such as "1.6 mm"."""
    if isinstance(value, str):
        return value
    return str(int(value)) if INPUTS[name].is_whole else units.written(value, INPUTS[name].unit or "")


def scenario_at(scenario: Scenario, point: Point) -> Scenario:
    """`scenario` with the values of `point`. Raises InputError where they do not go together."""
    changes: dict[str, Value] = {}
    for name, value in point.items():
        whole = INPUTS[name].is_whole and not isinstance(value, str)
        changes[key_of(name, scenario)] = int(value) if whole else text_of(name, value)
    return scenario_with(scenario, changes)


def check_mapped(scenario: Scenario, names: Iterable[str]) -> None:
    """Raise InputError if mapping the inputs `names` contradicts what `scenario` says."""
    mapped = list(names)
    carrier = scenario.exposure.carrier
    superpulsed = "peak_power" in mapped or (carrier is not None and carrier.peak_power is not None)
    powered = "power" in mapped or scenario.beam.power is not None
    if superpulsed and powered and (clash := [name for name in mapped if name in _PULSED]):
        expected = "no power beside a peak power, which gives it with pulse duration and repetition rate"
        raise InputError(f"--over {clash[0]}", expected, "both", "Leave the power out, or the peak power.")
    if scenario.exposure.dwell_time is not None:
        for name in ("count", "pause"):
            if name in mapped:
                advice = "Start from a train: give --count and --pause, or map both."
                raise InputError(f"--over {name}", "a train of exposures", "one exposure", advice)
    if carrier is None:
        pair = {"pulse_duration": "repetition_rate", "repetition_rate": "pulse_duration"}
        for name in ("pulse_duration", "repetition_rate", "peak_power"):
            if name in mapped and not {"pulse_duration", "repetition_rate"} <= set(mapped):
                lacking = pair.get(name, "pulse_duration and repetition_rate")
                raise InputError(f"--over {name}", f"{lacking} beside it", "none", "Give or map it.")
    if "spot" in mapped and (scenario.beam.optics or scenario.grid.geometry is Geometry.SLAB):
        got = "[beam.optics]" if scenario.beam.optics else "a slab, which is lit evenly"
        raise InputError("--over spot", "a beam with a diameter", got, "Start from another scenario.")
