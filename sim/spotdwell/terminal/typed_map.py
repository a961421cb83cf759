"""A map as it is typed: the base from a scenario or from the options of a shot, and the ranges over it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from spotdwell.base.errors import InputError
from spotdwell.inputs.mapped import INPUTS, check_mapped
from spotdwell.inputs.ranges import Range, ranges_of
from spotdwell.inputs.schema import Scenario
from spotdwell.study.maps.mapping import MapPlan, check_plan
from spotdwell.study.maps.request import axes_of, first_values
from spotdwell.terminal.job import scenario_of
from spotdwell.terminal.typed_shot import scenario_of_typed


def plan_of_typed(
    texts: Sequence[str], from_scenario: str | None, given: Mapping[str, Any], workers: int | None = None
) -> MapPlan:
    """Plan of a map over `texts`; `given` are options of a shot by name, those left out being None.

    Raises InputError that names options as they are typed.
    """
    ranges = ranges_of(texts)
    names = [one.name for one in ranges]
    _check_given_once(names, given)
    with _named_as_typed(names):
        base = _of_file(from_scenario, given) if from_scenario else _of_options(ranges, given)
        check_mapped(base, names)
        plan = MapPlan(base, axes_of(ranges))
        check_plan(plan, workers)
        _ = plan.whole  # reads the materials
    return plan


def _check_given_once(names: Sequence[str], given: Mapping[str, Any]) -> None:
    for name in names:
        if given.get(_option_of(name)) is not None:
            advice = "Leave this option out, or the range."
            raise InputError(INPUTS[name].option, "an input that is fixed or mapped", "both", advice)
    powers = [name for name in ("power", "peak_power") if name in names or given.get(name) is not None]
    if len(powers) == 2 and set(powers) & set(names):
        # The schema would compare them point by point.
        raise InputError(
            "--over power", "no power beside a peak power, which gives it", "both", "Leave one out."
        )


def _of_file(name: str, given: Mapping[str, Any]) -> Scenario:
    if others := [option for option, value in given.items() if value is not None]:
        got = f"--{others[0].replace('_', '-')}"
        advice = "Change the scenario, or leave --from out."
        raise InputError("--from", "no other setting beside it but --over", got, advice)
    try:
        return scenario_of(name)
    except InputError as error:
        where = "--from" if error.where == "SCENARIO" else error.where
        raise InputError(where, error.expected, error.got, error.advice) from None


def _of_options(ranges: Sequence[Range], given: Mapping[str, Any]) -> Scenario:
    """The first shot of the map."""
    options = {**given, **{_option_of(name): text for name, text in first_values(ranges).items()}}
    if options.get("on") is None:
        expected = "a base: --on MATERIAL with the options of a shot, or --from SCENARIO"
        raise InputError("--on", expected, "neither", "Add one.")
    if options.get("save_times"):
        raise InputError("--save-times", "none: a map keeps the last state", "some", "Leave it out.")
    if options["count"] is not None:
        options["count"] = int(options["count"])
    return scenario_of_typed(options.pop("on"), options)


def _option_of(name: str) -> str:
    """Name in `given` of the option that sets the input."""
    return "on" if name == "material" else name


@contextmanager
def _named_as_typed(names: Sequence[str]) -> Iterator[None]:
    """Have errors about the first value of a range name the range and not the option that it replaces."""
    typed = {INPUTS[name].option: f"--over {name}" for name in names}
    typed |= {"material": "--over material"} if "material" in names else {}
    try:
        yield
    except InputError as error:
        where = typed.get(error.where, error.where)
        raise InputError(where, error.expected, error.got, error.advice) from None
