"""Clean: over which values of a setting a shot is clean, whatever its depth, and where it is cleanest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import RunError
from spotdwell.base.settings import with_settings
from spotdwell.console.workers import Progress, run_all
from spotdwell.inputs.build import beam_of
from spotdwell.inputs.read import scenario_data, scenario_from_dict, with_own_materials
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import put, scenario_of_shot
from spotdwell.measure.verdict import Word
from spotdwell.output.result import Result
from spotdwell.pipeline import run
from spotdwell.sizing.run import GUESSES, bound, unknown_of
from spotdwell.sizing.trials import Trial, check_bounds, trial_of
from spotdwell.sizing.unknown import Unknown
from spotdwell.solve.march import Progress as Step

PER_DECADE = 9
"""Values tried for each factor of 10 before any edge is looked for."""
CLOSE = 1.02
"""An edge lies between two values this near to each other [-]."""
_DEEP = 5.0
"""Depth over the beam's diameter from which a run is stopped: no such hole is clean [-]."""


@dataclass(frozen=True, eq=False)
class CleanRange:
    """Where a shot is clean."""

    unknown: Unknown
    bounds: tuple[float, float]
    """Least and most that was tried [SI]."""
    spans: tuple[tuple[float, float], ...]
    """Least and most of each range of clean values [SI], both tried and clean; ascending."""
    trials: tuple[Trial, ...]
    """All that was tried, ascending."""
    cleanest: Trial | None
    """With the thinnest char of the clean ones, of equals the one that coagulates least."""
    result: Result | None
    """Of the cleanest."""

    @property
    def found(self) -> bool:
        """Whether any value is clean."""
        return bool(self.spans)

    def is_open(self, value: float) -> bool:
        """Whether `value` is a bound of what was tried, so that a range may go on beyond it."""
        return any(math.isclose(value, end, rel_tol=1e-3) for end in self.bounds)


@with_settings()
def size_clean(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    dwell: str | None = None,
    *,
    at_least: str | None = None,
    at_most: str | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
    **settings: Any,
) -> CleanRange:
    """Ranges of the one of `power`, `spot` and `dwell` that is left out over which the shot is clean.

    All are quantity strings; `settings` are those of a shot. Nothing is assumed of how the verdict goes with
    the setting: the whole range, or from `at_least` to `at_most`, is tried in equal ratios, then each change
    of the verdict between two values is closed in on to 2 %. What changes and changes back between two of the
    first values is not seen. Raises InputError for a wrong request and RunError if a run fails.
    """
    known_power, known_spot = power or settings.get("peak_power"), spot or settings.get("laser")
    unknown = unknown_of({"power": known_power, "spot": known_spot, "dwell": dwell})
    given = {"power": power, "spot": spot, "dwell": dwell, str(unknown): GUESSES[unknown]}
    scenario = scenario_of_shot(material, **given, **settings)
    bounds = check_bounds(unknown, bound(unknown, at_least, "at_least"), bound(unknown, at_most, "at_most"))
    return clean_range(scenario, unknown, bounds, workers, progress)


def clean_range(
    scenario: Scenario,
    unknown: Unknown,
    bounds: tuple[float, float],
    workers: int | None = None,
    progress: Progress | None = None,
) -> CleanRange:
    """The same of a `scenario`, whose own value of the `unknown` does not matter, within `bounds` [SI]."""
    data = scenario_data(with_own_materials(scenario))
    known: dict[float, Trial] = {}

    def try_all(values: Sequence[float]) -> None:
        new = [value for value in dict.fromkeys(map(_settable, values)) if value not in known]
        tasks = [(data, unknown, value) for value in new]
        known.update(zip(new, run_all(_tried, tasks, workers, progress), strict=True))

    low, high = bounds
    count = max(3, 1 + math.ceil(PER_DECADE * math.log10(high / low)))
    try_all([low * (high / low) ** (at / (count - 1)) for at in range(count)])
    while edges := [math.sqrt(one * other) for one, other in _edges(known)]:
        try_all(edges)
    trials = tuple(known[value] for value in sorted(known))
    clean = [trial for trial in trials if trial.word == Word.CLEAN]
    best = min(clean, key=lambda one: (round(1e6 * one.char), one.coagulation), default=None)
    result = None if best is None else run(_scenario(data, unknown, best.value))
    return CleanRange(unknown, bounds, _spans(trials), trials, best, result)


def _settable(value: float) -> float:
    """`value` to three digits, as a person can set it."""
    return float(f"{value:.3g}")


def _edges(known: dict[float, Trial]) -> list[tuple[float, float]]:
    """Neighbours of which one is clean, that are apart by more than 2 % and have a value between them."""
    return [
        (one, other)
        for one, other in pairwise(sorted(known))
        if (known[one].word == Word.CLEAN) != (known[other].word == Word.CLEAN)
        and other > CLOSE * one
        and _settable(math.sqrt(one * other)) not in (one, other)
    ]


def _spans(trials: Sequence[Trial]) -> tuple[tuple[float, float], ...]:
    spans: list[tuple[float, float]] = []
    before = None
    for trial in trials:
        if trial.word == Word.CLEAN:
            spans = (
                [*spans[:-1], (spans[-1][0], trial.value)] if before else [*spans, (trial.value, trial.value)]
            )
        before = trial.word == Word.CLEAN
    return tuple(spans)


def _scenario(data: dict[str, Any], unknown: Unknown, value: float) -> Scenario:
    changed = scenario_data(scenario_from_dict(data, "shot"))
    put(changed, unknown.key(scenario_from_dict(data, "shot")), unknown.written(value))
    return scenario_from_dict(changed, "shot")


class _TooDeep(Exception):
    """Raised inside a run once it is deeper than any clean shot; caught by `_tried` alone."""


def _tried(task: tuple[dict[str, Any], Unknown, float]) -> Trial:
    data, unknown, value = task
    scenario = _scenario(data, unknown, value)
    most = _DEEP * 2.0 * beam_of(scenario).radius
    deepest = 0.0

    def look(state: Step) -> None:
        nonlocal deepest
        deepest = state.crater_depth
        if deepest > most:
            raise _TooDeep

    text = unknown.written(value)
    try:
        return trial_of(value, text, run(scenario, look))
    except (_TooDeep, RunError):  # a run that got through its target failed, and is as little clean
        return Trial(value, text, deepest, True)


def range_text(found: CleanRange) -> list[str]:
    """The ranges, a sentence each, or that there is none."""
    if not found.spans:
        low, high = (units.display(one, found.unknown.unit, _shown(found.unknown)) for one in found.bounds)
        return [f"No {found.unknown} from {low} to {high} is clean."]
    return [f"Clean from {_end(found, low)} to {_end(found, high)}." for low, high in found.spans]


def _end(found: CleanRange, value: float) -> str:
    text = units.display(value, found.unknown.unit, _shown(found.unknown))
    return f"{text} (as far as it was tried)" if found.is_open(value) else text


def _shown(unknown: Unknown) -> str:
    return {Unknown.POWER: "W", Unknown.SPOT: "mm", Unknown.DWELL: "ms"}[unknown]
