"""Scanner: the longest dwell of a spot within limits, with the scan speed and line spacing that go with it.

Each place counts as one shot at rest: the spot stays for its 1/e2 diameter over the scan speed, and what it
leaves has cooled before the next line beside it. One pass of a gaussian beam sends less than that to the
middle of its line, which `Lines.one_pass` states and a shorter shot at rest answers for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.settings import with_settings
from spotdwell.inputs.build import beam_of, exposure_of
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot, scenario_with
from spotdwell.output.result import Result
from spotdwell.sizing.lines import Lines, lines_of
from spotdwell.sizing.run import GUESSES, bound, length
from spotdwell.sizing.scan_search import Longest, longest
from spotdwell.sizing.trials import Limits, Listener, Trial, TrialRuns, check_bounds
from spotdwell.sizing.unknown import Unknown, scale_of

_SHALLOW = 0.05
"""Depth over diameter for which the first dwell is tried."""
_DOUBLINGS = 4
"""Of the power, where no dwell keeps the limits."""


@dataclass(frozen=True)
class ScanRequest:
    """What is wanted of a scan; SI."""

    limits: Limits
    at_least: float | None = None
    """Least dwell that is tried; None: its usual bound."""
    at_most: float | None = None
    """Most dwell that is tried; None: its usual bound."""
    ripple: float | None = None
    """Most of highest less lowest over mean exposure across lines; None: lines half a diameter apart."""


@dataclass(frozen=True, eq=False)
class Scan:
    """The longest dwell within the limits, and how to scan with it."""

    limits: Limits
    bounds: tuple[float, float]
    """Least and most dwell that were allowed [s]."""
    trial: Trial
    """The dwell; without an answer, the one that removes something and exceeds its limits least."""
    result: Result | None
    """Of that dwell; None where its run was stopped as too deep."""
    found: bool
    """Whether it removes something within all limits."""
    diameter: float
    """1/e2 diameter of the spot, or that of the outer edge of an even one [m]."""
    speed: float
    """Diameter over dwell, rounded up so that the dwell is no longer [m/s]."""
    lines: Lines
    one_line: Trial
    """A spot at rest that sends as much as one pass does to the middle of its line."""
    cooling_time: float
    """From the end of the exposure until all is cool: least time between neighbouring lines [s]."""
    obstacles: tuple[str, ...]
    """What stands in the way of any dwell, or of a longer one."""
    advice: tuple[str, ...]
    trials: tuple[Trial, ...]


@with_settings("dwell", "count", "pause")
def size_scan(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    *,
    coagulation_limit: str | None = None,
    at_least: str | None = None,
    at_most: str | None = None,
    ripple: float | None = None,
    listener: Listener | None = None,
    **settings: Any,
) -> Scan:
    """Find the longest dwell of a scanned spot within `char_limit`, `coagulation_limit` and `depth_limit`.

    All are quantity strings, such as "20 um"; `settings` are those of a shot. At least one limit is needed.
    Raises InputError for a wrong request and RunError if a run fails.
    """
    scenario = scenario_of_shot(material, power, spot, GUESSES[Unknown.DWELL], **settings)
    char = settings.get("char_limit") is not None
    request = scan_request_of(scenario, char, coagulation_limit, at_least, at_most, ripple)
    return scanned(scenario, request, listener)


def scan_request_of(
    scenario: Scenario,
    char: bool,
    coagulation: str | None,
    at_least: str | None,
    at_most: str | None,
    ripple: float | None,
) -> ScanRequest:
    """Request from quantity strings; the char limit is the scenario's if `char`.

    Raises InputError that names the settings.
    """
    limits = Limits(
        scenario.limits.char_thickness if char else None,
        length(coagulation, "coagulation_limit", "100 um"),
        scenario.limits.depth,
        scenario.limits.aspect_ratio,
    )
    low, high = (
        bound(Unknown.DWELL, text, where) for text, where in ((at_least, "at_least"), (at_most, "at_most"))
    )
    return ScanRequest(limits, low, high, ripple)


def scanned(scenario: Scenario, request: ScanRequest, listener: Listener | None = None) -> Scan:
    """The longest dwell of `scenario`'s spot within the limits; the scenario's own dwell does not matter.

    Raises InputError for a request without a limit, with bounds without room or for a train of exposures, and
    RunError if a run fails.
    """
    _check(scenario, request)
    bounds = check_bounds(Unknown.DWELL, request.at_least, request.at_most)
    beam = beam_of(scenario)
    lines = lines_of(beam, request.ripple)
    diameter = 2.0 * beam.radius
    runs, found = _longest(scenario, request.limits, bounds, listener or Listener())
    advice = (
        found.advice
        if found.fits
        else (*found.advice, *_more_power(scenario, request.limits, bounds, listener))
    )
    result = runs.result(found.trial)
    return Scan(
        request.limits,
        bounds,
        found.trial,
        result,
        found.fits,
        diameter,
        _rounded_up(diameter / found.trial.value),
        lines,
        runs.at(max(lines.one_pass * found.trial.value, 1e-9)),
        found.trial.cooled - exposure_of(scenario).end * found.trial.value / scenario.exposure.gate[0],
        found.obstacles,
        advice,
        runs.trials,
    )


def _longest(
    scenario: Scenario, limits: Limits, bounds: tuple[float, float], listener: Listener, label: str = ""
) -> tuple[TrialRuns, Longest]:
    diameter = 2.0 * beam_of(scenario).radius
    runs = TrialRuns(scenario, Unknown.DWELL, _ceiling(limits, diameter), listener, label)
    start = scale_of(scenario, Unknown.DWELL, _SHALLOW * diameter, bounds)
    return runs, longest(runs, start, limits)


def _more_power(
    scenario: Scenario, limits: Limits, bounds: tuple[float, float], listener: Listener | None
) -> list[str]:
    """Sentence on the power, doubled from the scenario's, with which a dwell keeps the limits."""
    power = scenario.beam.power
    if power is None:
        return ["More power or a smaller spot leaves thinner layers."]
    for doublings in range(1, _DOUBLINGS + 1):
        text = Unknown.POWER.written(power * 2.0**doublings)
        changed = scenario_with(scenario, {"beam.power": text})
        _, found = _longest(changed, limits, bounds, listener or Listener(), f"with power {text}, ")
        if found.fits:
            one = found.trial
            removed = units.display(one.depth, "m", "um")
            return [f"With power {text}, dwell {one.text} removes {removed} ({one.layers})."]
    return [f"More power, up to {text}, does not help."]


def _check(scenario: Scenario, request: ScanRequest) -> None:
    if not request.limits.any:
        expected = "a limit of char, of coagulation or of the depth"
        raise InputError("scan", expected, "none", 'For example a coagulation limit of "100 um".')
    if scenario.exposure.dwell_time is None:
        raise InputError("scan", "one exposure of each place", "a train", "Leave count and pause out.")


def _ceiling(limits: Limits, diameter: float) -> float:
    """Depth beyond which a run is of no use [m]: well over the limit of depth, or of depth over width."""
    deep = 2.0 * (limits.aspect_ratio or math.inf) * diameter
    return min(deep, 1.5 * limits.depth if limits.depth is not None else math.inf)


def _rounded_up(value: float) -> float:
    """`value` with three digits, not below it."""
    spacing = 10.0 ** (math.floor(math.log10(value)) - 2)
    return float(f"{math.ceil(value / spacing * (1.0 - 1e-9)) * spacing:.2e}")
