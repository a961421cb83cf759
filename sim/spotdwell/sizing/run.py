"""Sizing: the power, spot or dwell that removes a wanted depth, within limits of char and coagulation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.settings import with_settings
from spotdwell.inputs.build import target_of
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.output.result import Result
from spotdwell.sizing.obstacles import neighbours, obstacles, other_setting, remarks, ways_out
from spotdwell.sizing.search import TOO_DEEP, Search
from spotdwell.sizing.trials import Limits, Listener, Trial, TrialRuns, check_bounds
from spotdwell.sizing.unknown import Unknown, scale_of

GUESSES = {Unknown.POWER: "1 W", Unknown.SPOT: "1 mm", Unknown.DWELL: "1 ms"}
"""Stand in for the unknown where a scenario needs a value; the answer does not depend on them."""


@dataclass(frozen=True)
class Request:
    """What is wanted of a sizing; SI."""

    depth: float
    """[m]."""
    limits: Limits = field(default_factory=Limits)
    at_least: float | None = None
    """Least value of the unknown that is tried; None: its usual bound."""
    at_most: float | None = None
    """Most value of the unknown that is tried; None: its usual bound."""


@dataclass(frozen=True, eq=False)
class Sized:
    """What a sizing found."""

    unknown: Unknown
    depth: float
    """Wanted [m]."""
    limits: Limits
    bounds: tuple[float, float]
    """Least and most of the unknown that were allowed [SI]."""
    trial: Trial
    """The setting that removes the depth; without one, the setting whose depth comes closest."""
    result: Result | None
    """Of that setting; None where its run was stopped as too deep."""
    reached: bool
    """Whether it removes the depth, within the limits or not."""
    found: bool
    """Whether it removes the depth within all limits."""
    obstacles: tuple[str, ...]
    """What stands in the way, a sentence each; with an answer, what is to be known of it."""
    advice: tuple[str, ...]
    """The nearest that works, a sentence each, all from runs."""
    trials: tuple[Trial, ...]
    """Of the unknown, in their order."""

    def __repr__(self) -> str:
        depth = units.display(self.depth, "m", "um")
        found = self.trial.text if self.found else "none"
        return f"<Sized: {self.unknown} for {depth}: {found} ({self.trial.says})>"

    @property
    def setting(self) -> float | None:
        """The unknown [SI], or None where there is no answer."""
        return self.trial.value if self.found else None


@with_settings()
def size(
    material: str,
    depth: str,
    power: str | None = None,
    spot: str | None = None,
    dwell: str | None = None,
    *,
    coagulation_limit: str | None = None,
    at_least: str | None = None,
    at_most: str | None = None,
    listener: Listener | None = None,
    **settings: Any,
) -> Sized:
    """Find the one of `power`, `spot` and `dwell` that is left out, so that the shot removes `depth`.

    All are quantity strings, such as "300 um"; `settings` are those of a shot. With `char_limit` and
    `coagulation_limit` the answer must keep them, at floor and wall. `at_least` and `at_most` bound the
    unknown. The `listener` is given a line for each trial. Raises InputError for a wrong request and RunError
    if a run fails.
    """
    known_power, known_spot = power or settings.get("peak_power"), spot or settings.get("laser")
    unknown = unknown_of({"power": known_power, "spot": known_spot, "dwell": dwell})
    given = {"power": power, "spot": spot, "dwell": dwell, str(unknown): GUESSES[unknown]}
    scenario = scenario_of_shot(material, **given, **settings)
    char = settings.get("char_limit") is not None
    request = request_of(scenario, unknown, depth, char, coagulation_limit, at_least, at_most)
    return sized(scenario, unknown, request, listener)


def unknown_of(given: Mapping[str, object]) -> Unknown:
    """The one of "power", "spot" and "dwell" that is not `given`. Raises InputError unless one is."""
    missing = [name for name, text in given.items() if text is None]
    if len(missing) == 1:
        return Unknown(missing[0])
    got = " and ".join(f"no {name}" for name in missing) if missing else "all three"
    advice = "Only one of them can be found."
    if not missing:
        advice = "Leave out the one that is sought; a laser counts as the spot."
    raise InputError("settings", "two of power, spot and dwell", got, advice)


def request_of(
    scenario: Scenario,
    unknown: Unknown,
    depth: str,
    char: bool,
    coagulation: str | None,
    at_least: str | None,
    at_most: str | None,
) -> Request:
    """Request from quantity strings; the char limit is the scenario's if `char`.

    Raises InputError that names the settings.
    """
    limits = Limits(
        scenario.limits.char_thickness if char else None,
        length(coagulation, "coagulation_limit", "100 um"),
        scenario.limits.depth,
    )
    target_depth = length(depth, "depth", "300 um")
    assert target_depth is not None
    return Request(
        target_depth, limits, bound(unknown, at_least, "at_least"), bound(unknown, at_most, "at_most")
    )


def length(text: str | None, where: str, example: str) -> float | None:
    """Length [m] above 0. Raises InputError."""
    return units.positive(text, "m", where, example)


def bound(unknown: Unknown, text: str | None, where: str) -> float | None:
    """Bound of the unknown [SI]. Raises InputError."""
    return units.positive(text, unknown.unit, where, GUESSES[unknown])


def sized(scenario: Scenario, unknown: Unknown, request: Request, listener: Listener | None = None) -> Sized:
    """Size the `unknown` of `scenario`, whose own value there does not matter.

    Raises InputError for a depth that the target does not have or bounds without room, and RunError if a run
    fails.
    """
    listener = listener or Listener()
    bounds = check_bounds(unknown, request.at_least, request.at_most)
    check_depth(scenario, request)
    scale = scale_of(scenario, unknown, request.depth, bounds)
    runs = TrialRuns(scenario, unknown, TOO_DEEP * request.depth, listener)
    found = Search(runs, scale, request.depth).result()
    trial = found.nearest
    broken = request.limits.broken(trial) if found.fits else []
    advice: list[str] = []
    if broken:
        advice = neighbours(runs, scale, trial, request.limits)
        advice += other_setting(scenario, scale, trial, request.depth, request.limits, listener)
    if found.fits:
        texts = broken or remarks(found)
    else:
        texts, advice = obstacles(runs, found, request.depth, bounds), ways_out(runs, found)
    return Sized(
        unknown,
        request.depth,
        request.limits,
        bounds,
        trial,
        runs.result(trial),
        found.fits,
        found.fits and not broken,
        tuple(texts),
        tuple(advice),
        runs.trials,
    )


def check_depth(scenario: Scenario, request: Request) -> None:
    """Raise InputError where the wanted depth is not inside the target, or not inside the depth limit."""
    thickness = sum(layer.thickness for layer in target_of(scenario).layers)
    target_depth = units.display(request.depth, "m", "um")
    if request.depth >= thickness:
        expected = f"less than the target's thickness of {units.display(thickness, 'm', 'um')}"
        raise InputError("depth", expected, target_depth, "Thicken the target, or want less.")
    most = request.limits.depth
    if most is not None and request.depth > most:
        expected = f"no more than the depth limit, {units.display(most, 'm', 'um')}"
        raise InputError("depth", expected, target_depth, "Leave the limit out.")
