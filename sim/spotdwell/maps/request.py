"""What a map is asked for: which settings vary, over which ranges."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from spotdwell.base import units
from spotdwell.base.errors import InputError, lone
from spotdwell.base.names import AXES
from spotdwell.base.settings import MAPPABLE, SCAN_SETTINGS, Setting
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import FILM, Value, scenario_with
from spotdwell.library import suggestion
from spotdwell.model.columns import Geometry

Point = Mapping[str, float | str]
"""A value for each mapped setting: SI, or the name of a material."""


_OF_SCANS = {"power", "spot", "wavelength", "material", *SCAN_SETTINGS}
"""What a map of scans goes through."""
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
    return MAPPABLE[name].key


def text_of(name: str, value: float | str) -> str:
    """`value` of the setting as a file would say it, such as "1.6 mm"."""
    if isinstance(value, str):
        return value
    return str(int(value)) if MAPPABLE[name].is_whole else units.written(value, MAPPABLE[name].unit)


def scenario_at(scenario: Scenario, point: Point) -> Scenario:
    """`scenario` with the values of `point`. Raises InputError where they do not go together."""
    changes: dict[str, Value] = {}
    for name, value in point.items():
        whole = MAPPABLE[name].is_whole and not isinstance(value, str)
        changes[key_of(name, scenario)] = int(value) if whole else text_of(name, value)
    return scenario_with(scenario, changes)


def check_mapped(scenario: Scenario, names: Iterable[str]) -> None:
    """Raise InputError if mapping the settings `names` contradicts what `scenario` says."""
    mapped = list(names)
    for name in mapped:
        if scenario.scan is None and name in SCAN_SETTINGS:
            advice = "Start from a scenario with a table [scan], such as scans/patch."
            raise InputError(f"over {name}", "a setting of a shot", "one of a scan", advice)
        if scenario.scan is not None and name not in _OF_SCANS:
            expected = f"a setting of a scan: {', '.join(one for one in AXES if one in _OF_SCANS)}"
            raise InputError(f"over {name}", expected, "one of a shot at rest")
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


MOST_VALUES = 500
"""Of one range: more are finer than any grid resolves."""

_TO = re.compile(r"\bto\b")
_WHOLE = re.compile(r"[0-9]{1,9}")
_SCALES = ("linear", "log")
_EXAMPLE = '"power: 5 W to 40 W, 20", "dwell: 1 ms to 1 s, 20, log" or "material: skin, liver"'
_DIGITS = 12
"""Of a value between the ends: it is then written shortly and read back as the same."""


@dataclass(frozen=True)
class Range:
    """Values of one input."""

    name: str
    """One of `base.names.AXES`."""
    values: tuple[float, ...] | tuple[str, ...]
    """SI and ascending; words as they were listed."""
    unit: str
    """Unit in which to show them, as the first was written; "" for words and counts."""
    scale: str
    """ "linear" or "log" for values evenly apart in that, "list" for listed ones."""


def ranges_of(texts: Sequence[str]) -> tuple[Range, ...]:
    """Ranges in the `texts`, one or more, each of another input. Raises InputError."""
    found = tuple(range_of(text) for text in texts)
    names = [one.name for one in found]
    if twice := [name for name in dict.fromkeys(names) if names.count(name) > 1]:
        raise InputError("over", "each input once", f"{twice[0]} twice", "Put its values into one range.")
    if not found:
        raise InputError("over", "an input", "none", f'For example {_EXAMPLE.split(", ")[0]}, 20".')
    return found


def range_of(text: str) -> Range:
    """The range in `text`, such as "power: 5 W to 40 W, 20". Raises InputError that quotes it."""
    head, colon, body = text.partition(":")
    if not colon:
        raise InputError("over", f"an input, a colon and its values, such as {_EXAMPLE}", f'"{text}"')
    name = re.sub(r"[\s-]+", "_", head.strip().lower())
    if name not in AXES:
        advice = suggestion(name, tuple(AXES))
        raise InputError(_where(text), "an input that a map can go through", f'"{head.strip()}"', advice)
    parts = [part.strip() for part in body.split(",")]
    if parts == [""]:
        raise InputError(_where(text), f"values of {name}, such as {_example(MAPPABLE[name])}", "nothing")
    if "" in parts:
        raise InputError(_where(text), "something between the commas", "nothing", "Take the comma out.")
    if not MAPPABLE[name].unit:
        return Range(name, _different(parts, name, text), "", "list")
    spans = [part for part in parts if _TO.search(part)]
    return _spanned(name, parts, text) if spans else _listed(name, parts, text)


def _spanned(name: str, parts: list[str], text: str) -> Range:
    """Range from one end to the other."""
    ends, taken = _TO.split(parts[0]), MAPPABLE[name]
    if len(ends) != 2:
        advice = "Write a decimal point, not a comma." if len(ends) == 1 else "Give two ends."
        raise InputError(_where(text), f"values as in {_example(taken)}", f'"{", ".join(parts)}"', advice)
    low, high = (_value(end.strip(), taken, text) for end in ends)
    if low == high:
        raise _only_one(name, ends[0].strip(), text)
    if low > high:
        advice = f"Write it as {ends[1].strip()} to {ends[0].strip()}."
        raise InputError(_where(text), "the smaller end first", f"{ends[0].strip()} first", advice)
    number, scale = _number_and_scale(parts[1:], taken, text)
    if scale == "log" and low <= 0.0:
        raise InputError(_where(text), "a range above 0 for log", f"{ends[0].strip()}", "Start above 0.")
    values = _between(low, high, number, scale)
    if any(after <= before for before, after in pairwise(values)):
        raise InputError(_where(text), "ends farther apart", f"{number} values that fall together")
    if taken.is_whole and any(not value.is_integer() for value in values):
        got = f"{number} values from {low:g} to {high:g}"
        raise InputError(_where(text), "whole numbers", got, f'List them: "{name}: 1, 2, 5, 10".')
    return Range(name, values, _unit(ends[0], taken), scale)


def _listed(name: str, parts: list[str], text: str) -> Range:
    taken = MAPPABLE[name]
    if parts[-1] in _SCALES or (len(parts) > 1 and _WHOLE.fullmatch(parts[-1]) and not taken.is_whole):
        raise InputError(_where(text), f"two ends with to between them, as in {_example(taken)}", "none")
    values = [_value(part, taken, text) for part in parts]
    if taken.is_whole and (broken := [value for value in values if not value.is_integer()]):
        raise InputError(_where(text), "whole numbers", f"{broken[0]:g}")
    _different([f"{value!r}" for value in values], name, text, parts)
    return Range(name, tuple(sorted(values)), _unit(parts[0], taken), "list")


def _value(part: str, taken: Setting, text: str) -> float:
    """SI value of a quantity of the input."""
    where = _where(text)
    value = units.parse(part, taken.unit, where=where, example=taken.example)
    if value == float("inf") or value < 0.0 or (value == 0.0 and not _may_vanish(taken)):
        expected = "0 or more" if _may_vanish(taken) else "more than 0"
        raise InputError(where, f"finite quantities of {expected}", f'"{part}"')
    if limit := units.beyond(value, taken.unit or ""):
        raise InputError(where, limit, f'"{part}"')
    return value


def _number_and_scale(rest: list[str], taken: Setting, text: str) -> tuple[int, str]:
    """How many values there are to be, and how they are spaced."""
    numbers = [part for part in rest if _WHOLE.fullmatch(part)]
    scales = [part for part in rest if part in _SCALES]
    other = [part for part in rest if part not in numbers and part not in scales]
    if other or len(scales) > 1 or len(numbers) != 1:
        expected = f"how many values, then log if so spaced, as in {_example(taken)}"
        raise InputError(_where(text), expected, f'"{", ".join(rest)}"' if rest else "nothing")
    number = int(numbers[0])
    if not 2 <= number <= MOST_VALUES:
        advice = "One value is no range: give it as it is." if number == 1 else ""
        raise InputError(_where(text), f"2 to {MOST_VALUES} values", str(number), advice)
    return number, scales[0] if scales else "linear"


def _between(low: float, high: float, number: int, scale: str) -> tuple[float, ...]:
    """`number` values from `low` to `high`, both included."""
    shares = [index / (number - 1) for index in range(1, number - 1)]
    if scale == "log":
        inner = [low * (high / low) ** share for share in shares]
    else:
        inner = [low + (high - low) * share for share in shares]
    return (low, *(float(f"{value:.{_DIGITS}g}") for value in inner), high)


def _different(
    values: Sequence[str], name: str, text: str, written: Sequence[str] | None = None
) -> tuple[str, ...]:
    """The values, if there are two or more and no two are the same."""
    if len(values) == 1:
        raise _only_one(name, (written or values)[0], text)
    for place, value in enumerate(values):
        if value in values[:place]:
            raise InputError(_where(text), "values that differ", f'"{(written or values)[place]}" twice')
    return tuple(values)


def _only_one(name: str, value: str, text: str) -> InputError:
    advice = f'One value is no range: give it as {name} "{value}".'
    return InputError(_where(text), "a range, or two values or more", "one value", advice)


def _example(taken: Setting) -> str:
    return f'"{taken.mapped.ranges}"' if taken.mapped else ""


def _may_vanish(taken: Setting) -> bool:
    return taken.mapped is not None and taken.mapped.may_vanish


def _unit(part: str, taken: Setting) -> str:
    """Unit of a quantity as it was written."""
    return "" if taken.is_whole else re.sub(rf"^\s*{units.NUMBER_PATTERN}\s*", "", part).strip()


def _where(text: str) -> str:
    return f'over "{text}"' if len(text) <= 60 else f'over "{text[:57]}..."'
