"""A shot as it is typed: `--dwell`, `--count` and `--pause` instead of the schema's on and off times."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from spotdwell.base.errors import InputError
from spotdwell.inputs.complaints import together
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot

_BY_PLACE = ("power", "spot", "dwell", "count", "pause")
_TYPED = {"material": "--on", "--on": "--dwell", "--off": "--pause"}
"""What the command line calls the options that have other names in Python."""
_NAMED = re.compile(rf"^( *)({'|'.join(_TYPED)}|run\.save_times\[\d+\])(?=:)", re.MULTILINE)


def scenario_of_typed(material: str, given: Mapping[str, Any]) -> Scenario:
    """Scenario of a shot, or of a train of `count` exposures of `dwell` with a `pause` between them.

    `given` are the settings by name, those left out being None or not there. Raises InputError that names
    options as they are typed.
    """
    asked = dict(given)
    power, spot, dwell, count, pause = (asked.pop(name, None) for name in _BY_PLACE)
    _check_given(power or asked.get("peak_power"), spot or asked.get("laser"), dwell)
    if asked.get("geometry") == "slab":
        advice = "A slab needs an area: write a scenario file for it."
        raise InputError("--geometry", "axisymmetric or lattice", '"slab"', advice)
    if asked.get("save_times") is not None:
        asked["save_times"] = [one.strip() for one in asked["save_times"].split(",")]
    if count is not None or pause is not None:
        _check_train(count, pause)
        asked |= {"on": dwell, "off": pause, "count": count}
        dwell = None
    try:
        return scenario_of_shot(material, power, spot, dwell, **asked)
    except InputError as error:
        raise _as_typed(error) from None


def _check_given(power: str | None, spot: object, dwell: str | None) -> None:
    """Raise InputError for those that every shot needs; the schema would name them as a file does."""
    needed = (("--power", power, "25 W"), ("--spot", spot, "1.6 mm"), ("--dwell", dwell, "80 ms"))
    missing = [
        InputError(name, f'a quantity, such as {name} "{example}"', "nothing", "Add it.")
        for name, value, example in needed
        if value is None
    ]
    if missing:
        raise together(missing, "options")


def _check_train(count: int | None, pause: str | None) -> None:
    for name, value in (("--count", count), ("--pause", pause)):
        if value is None:
            raise InputError(name, "--count and --pause together for a train", "nothing", "Add it.")


def _as_typed(error: InputError) -> InputError:
    where, advice = (_NAMED.sub(_typed, text) for text in (f"{error.where}:", error.advice))
    return InputError(where.removesuffix(":"), error.expected, error.got, advice)


def _typed(named: re.Match[str]) -> str:
    return named[1] + _TYPED.get(named[2], "--save-times")
