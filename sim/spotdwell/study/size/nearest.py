"""Nearest: where a setting breaks a limit, the closest settings that keep all, found by further trials."""

from __future__ import annotations

from spotdwell.base import units
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.study.size.search import TOO_DEEP, Search
from spotdwell.study.size.trials import Limits, Listener, Trial, TrialRuns
from spotdwell.study.size.unknown import Scale, Unknown, scale_of, value_in

_FIRST_STEP = 0.2
"""Away from the setting, in the logarithm of exposure."""
_LONGER = 1.6
"""Each step over the one before."""
_HALVINGS = 4
_DOUBLINGS = 4
"""Of the other setting."""
_REFINEMENTS = 2
"""Halvings of the last doubling."""

_OTHER = {Unknown.POWER: Unknown.DWELL, Unknown.SPOT: Unknown.DWELL, Unknown.DWELL: Unknown.POWER}
"""What else to change: high irradiance and short times leave the least char and heat."""


def neighbours(runs: TrialRuns, scale: Scale, trial: Trial, limits: Limits) -> list[str]:
    """Sentences on settings of the unknown beside `trial` that keep all `limits`, the nearest first."""
    tried = [_towards(runs, scale, trial, limits, side) for side in (-1.0, 1.0)]
    found = sorted(
        (one for one in tried if one is not None), key=lambda one: abs(one.depth / trial.depth - 1.0)
    )
    if not found:
        return [_closest_of_all(runs, limits)]
    return [
        f"Within the limits: {runs.unknown} {one.text} removes {units.display(one.depth, 'm', 'um')} "
        f"({one.layers})."
        for one in found
    ]


def other_setting(
    scenario: Scenario, scale: Scale, trial: Trial, depth: float, limits: Limits, listener: Listener
) -> list[str]:
    """Sentence on the change of another setting with which the unknown removes `depth` [m] within `limits`.

    The other is doubled (power) or halved (dwell) until it does, and the last step is then halved twice. No
    sentence where the other cannot be changed alone.
    """
    other = _OTHER[scale.unknown]
    carrier = scenario.exposure.carrier
    if other is Unknown.POWER and carrier is not None and carrier.peak_power is not None:
        return []
    change = _Change(scenario, scale, trial, depth, limits, listener)
    tried = 0.0
    while tried < _DOUBLINGS:
        tried += 1.0
        if not change.is_possible(tried):
            break
        if found := change.tried(tried):
            return [change.closer(found, tried)]
    return [f"No {other} that was tried (the last: {change.last}) keeps the limits at this depth either."]


class _Change:
    """Another setting in place of the scenario's, and the unknown sized again."""

    def __init__(
        self, scenario: Scenario, scale: Scale, trial: Trial, depth: float, limits: Limits, listener: Listener
    ) -> None:
        self._scenario, self._scale, self._limits, self._told = scenario, scale, limits, listener
        self._depth, self._start = depth, scale.place(trial.value)
        self._other = _OTHER[scale.unknown]
        self._base = value_in(scenario, self._other)
        self.last = self._other.written(self._base)

    def is_possible(self, doublings: float) -> bool:
        """Whether the other setting stays within its usual bounds."""
        low, high = self._other.bounds
        return low <= self._value(doublings) <= high

    def tried(self, doublings: float) -> str:
        """Sentence on the unknown that removes the depth within the limits; empty if none does."""
        text = self._other.written(self._value(doublings))
        changed = scenario_with(self._scenario, {self._other.key(self._scenario): text})
        self.last = text
        bounds = (self._scale.least, self._scale.most)
        scale = scale_of(changed, self._scale.unknown, self._depth, bounds)
        label = f"with {self._other} {text}, "
        runs = TrialRuns(changed, self._scale.unknown, TOO_DEEP * self._depth, self._told, label)
        found = Search(runs, scale, self._depth).found(self._start, digits=(3,))
        if not found.fits or self._limits.broken(found.nearest):
            return ""
        one = found.nearest
        removed = units.display(one.depth, "m", "um")
        return f"With {self._other} {text}, {runs.unknown} {one.text} removes {removed} ({one.layers})."

    def closer(self, found: str, doublings: float) -> str:
        """`found`, or the sentence on a smaller change that does as well."""
        low, high = doublings - 1.0, doublings
        for _ in range(_REFINEMENTS):
            middle = 0.5 * (low + high)
            if better := self.tried(middle):
                found, high = better, middle
            else:
                low = middle
        return found

    def _value(self, doublings: float) -> float:
        sign = 1.0 if self._other is Unknown.POWER else -1.0
        return float(f"{self._base * 2.0 ** (sign * doublings):.2e}")


def _towards(runs: TrialRuns, scale: Scale, trial: Trial, limits: Limits, side: float) -> Trial | None:
    """The trial closest to `trial` on one `side` of it that removes something and keeps all `limits`."""
    least, most = scale.ends
    broken = scale.place(trial.value)
    step = _FIRST_STEP
    while True:
        place = min(max(broken + side * step, least), most)
        found = runs.at(scale.value(place))
        if place == broken or found.stopped or found.depth == 0.0:
            return None
        if not limits.broken(found):
            return _closest(runs, scale, limits, broken, place)
        broken, step = place, _LONGER * step


def _closest(runs: TrialRuns, scale: Scale, limits: Limits, broken: float, kept: float) -> Trial:
    """Trial that keeps all limits closest to the place where one is `broken`."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (broken + kept)
        if limits.broken(runs.at(scale.value(middle))):
            broken = middle
        else:
            kept = middle
    return runs.at(scale.value(kept))


def _closest_of_all(runs: TrialRuns, limits: Limits) -> str:
    """Sentence on the trial, of those that remove something, that exceeds its limits least."""
    marks = [one for one in runs.trials if one.depth > 0.0 and not one.stopped]
    best = min(marks, key=limits.excess)
    low, high = min(marks, key=lambda one: one.value), max(marks, key=lambda one: one.value)
    return (
        f"No {runs.unknown} tried from {low.text} to {high.text} keeps them; closest comes {best.text}, "
        f"which removes {units.display(best.depth, 'm', 'um')} ({best.layers})."
    )
