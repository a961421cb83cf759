"""Intervals at the points of a map: those that a shot of the same setting prints, and what they cost."""

from __future__ import annotations

from collections.abc import Sequence

from spotdwell.base.errors import InputError
from spotdwell.inputs.schema import Scenario
from spotdwell.maps.bands import NOTHING
from spotdwell.measure.interval import Interval
from spotdwell.pipeline import Solved
from spotdwell.spread.brief import brief_of, is_drawn


def interval_of(scenario: Scenario, found: Solved) -> Interval:
    """Interval of what was `found` of `scenario`, however dear; `NOTHING` where there is none."""
    study = brief_of(
        scenario, found.measures, found.outcome.cell_updates, found.verdict.limits, most=float("inf")
    )
    return NOTHING if study is None else study.interval


def check_drawn(scenarios: Sequence[Scenario]) -> None:
    """Raise InputError if published rows saw no material of the `scenarios`."""
    if any(map(is_drawn, scenarios)):
        return
    names = dict.fromkeys(layer.material for one in scenarios for layer in one.target.layers)
    expected = "a material that published rows saw: the draws are of its values"
    advice = "Leave the intervals out; the uncertainty of a single shot can be drawn from stated ranges."
    raise InputError("intervals", expected, ", ".join(names), advice)
