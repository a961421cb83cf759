"""Settings that a map goes through: which keys of a scenario each one sets, and what they contradict."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from spotdwell.base import units
from spotdwell.base.errors import InputError, lone
from spotdwell.base.settings import SETTINGS
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import FILM, Value, scenario_with
from spotdwell.model.columns import Geometry

Point = Mapping[str, float | str]
"""A value for each mapped setting: SI, or the name of a material."""


_PULSED = ("power", "peak_power", "pulse_duration", "repetition_rate")
"""Of which three make the fourth in a superpulsed beam."""


def key_of(name: str, scenario: Scenario) -> str:
    """Dotted key of `scenario` that the setting `name` sets.

    The dwell is the time of each exposure, also in a train. The material is that of the first layer under
    a film of water, if there is such a film, else of the first layer.
    """
    if name == "dwell":
        return "exposure.dwell_time" if scenario.exposure.dwell_time is not None else "exposure.on_time"
    if name == "material":
        materials = [layer.material for layer in scenario.target.layers]
        under = next((index for index, one in enumerate(materials) if one != FILM), 0)
        return f"target.layers.{under}.material"
    return SETTINGS[name].key


def text_of(name: str, value: float | str) -> str:
    """`value` of the setting as a file would say it, such as "1.6 mm"."""
    if isinstance(value, str):
        return value
    return str(int(value)) if SETTINGS[name].is_whole else units.written(value, SETTINGS[name].unit)


def scenario_at(scenario: Scenario, point: Point) -> Scenario:
    """`scenario` with the values of `point`. Raises InputError where they do not go together."""
    changes: dict[str, Value] = {}
    for name, value in point.items():
        whole = SETTINGS[name].is_whole and not isinstance(value, str)
        changes[key_of(name, scenario)] = int(value) if whole else text_of(name, value)
    return scenario_with(scenario, changes)


def check_mapped(scenario: Scenario, names: Iterable[str]) -> None:
    """Raise InputError if mapping the settings `names` contradicts what `scenario` says."""
    mapped = list(names)
    carrier = scenario.exposure.carrier
    superpulsed = "peak_power" in mapped or (carrier is not None and carrier.peak_power is not None)
    powered = "power" in mapped or scenario.beam.power is not None
    if superpulsed and powered and (clash := [name for name in mapped if name in _PULSED]):
        expected = "no power beside a peak power, which gives it with pulse duration and repetition rate"
        raise InputError(f"over {clash[0]}", expected, "both", "Leave the power out, or the peak power.")
    if scenario.exposure.dwell_time is not None:
        for name in ("count", "pause"):
            if name in mapped:
                advice = "Start from a train: give count and pause, or map both."
                raise InputError(f"over {name}", "a train of exposures", "one exposure", advice)
    if carrier is None:
        pair = {"pulse_duration": "repetition_rate", "repetition_rate": "pulse_duration"}
        for name in ("pulse_duration", "repetition_rate", "peak_power"):
            if name in mapped and not {"pulse_duration", "repetition_rate"} <= set(mapped):
                lacking = pair.get(name, "pulse_duration and repetition_rate")
                raise lone(f"over {name}", lacking, "Give or map it.")
    if "spot" in mapped and (scenario.beam.optics or scenario.grid.geometry is Geometry.SLAB):
        got = "[beam.optics]" if scenario.beam.optics else "a slab, which is lit evenly"
        raise InputError("over spot", "a beam with a diameter", got, "Start from another scenario.")
