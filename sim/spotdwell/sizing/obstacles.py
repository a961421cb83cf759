"""What stands in the way of a wanted depth, and the nearest that can be had."""

from __future__ import annotations

from collections.abc import Callable

from spotdwell.base import units
from spotdwell.inputs.build import beam_of, target_of
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.model.material import Medium
from spotdwell.model.throwing import Throwing, throwing
from spotdwell.sizing.search import FAIR, TOO_DEEP, Search, SearchResult
from spotdwell.sizing.trials import Limits, Listener, Trial, TrialRuns
from spotdwell.sizing.unknown import Scale, Unknown, scale_of, value_in

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
        self._scenario, self._scale, self._limits, self._listener = scenario, scale, limits, listener
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
        runs = TrialRuns(changed, self._scale.unknown, TOO_DEEP * self._depth, self._listener, label)
        found = Search(runs, scale, self._depth).result(self._start, digits=(3,))
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


_MORE = {
    Unknown.POWER: "give a longer dwell or a smaller spot",
    Unknown.SPOT: "give more power or a longer dwell",
    Unknown.DWELL: "give more power or a smaller spot",
}
_LESS = {
    Unknown.POWER: "give a shorter dwell or a larger spot",
    Unknown.SPOT: "give less power or a shorter dwell",
    Unknown.DWELL: "give less power or a larger spot",
}

_ROUGHLY = 1.5
"""What estimates of where tissue is thrown out may be off, either way."""


def obstacles(runs: TrialRuns, found: SearchResult, depth: float, bounds: tuple[float, float]) -> list[str]:
    """Sentences on why `found` is no answer, from its trials; what to do is `ways_out`."""
    if found.shallower is None:
        return [_too_deep(runs, found.nearest, depth, bounds)]
    if found.deeper is None:
        return [_too_shallow(runs, found.nearest, depth, bounds), *_steam_leaks(runs, found.nearest)]
    pair = found.shallower, found.deeper
    return [_jump(runs, *pair, depth), *(_goes_over(runs, *pair) or _steam_leaks(runs, found.shallower))]


def ways_out(runs: TrialRuns, found: SearchResult) -> list[str]:
    """What to do where `found` is no answer."""
    if found.shallower is not None and found.deeper is not None:
        grid = "finer cells (a refinement of 2) tell whether the jump is one of the grid"
        return [f"Change one of the settings that are given; {grid}."]
    others = _LESS if found.shallower is None else _MORE
    return [f"Widen the bounds (at_least, at_most), or {others[runs.unknown]}."]


def remarks(found: SearchResult) -> list[str]:
    """What is to be known of an answer: how close it is where depth moves in coarse steps."""
    if abs(found.error) <= FAIR:
        return []
    return [
        f"The depth moves in steps here, and this is the closest: {100.0 * found.error:+.2g} % off. "
        "Finer cells (a refinement of 2) make the steps smaller."
    ]


def _too_shallow(runs: TrialRuns, nearest: Trial, depth: float, bounds: tuple[float, float]) -> str:
    unknown, target_depth = runs.unknown, units.display(depth, "m", "um")
    most = f"The deepest is {nearest.text} with {nearest.says}"
    if nearest.depth == 0.0:
        most = "Nothing is removed anywhere between them"
    return f"No {unknown} from {_range(unknown, bounds)} removes {target_depth}. {most}."


def _too_deep(runs: TrialRuns, nearest: Trial, depth: float, bounds: tuple[float, float]) -> str:
    unknown, target_depth = runs.unknown, units.display(depth, "m", "um")
    through = " and cuts the target through" if nearest.depth >= runs.thickness * (1.0 - 1e-9) else ""
    return (
        f"Every {unknown} from {_range(unknown, bounds)} removes more than {target_depth}. The shallowest is "
        f"{nearest.text}: {nearest.says}{through}."
    )


def _jump(runs: TrialRuns, shallower: Trial, deeper: Trial, depth: float) -> str:
    through = deeper.depth >= runs.thickness * (1.0 - 1e-9)
    what = "cuts the target through" if through else f"removes {units.display(deeper.depth, 'm', 'um')}"
    return (
        f"The depth jumps past {units.display(depth, 'm', 'um')}: {runs.unknown} {shallower.text} removes "
        f"{units.display(shallower.depth, 'm', 'um')}, and {deeper.text} {what}."
    )


def _goes_over(runs: TrialRuns, shallower: Trial, deeper: Trial) -> list[str]:
    """A sentence if tissue goes over from burning off to being thrown out between the two trials."""
    limits = _limits(runs, shallower)
    if limits is None:
        return []
    low, high = sorted(_peak(runs, one) for one in (shallower, deeper))
    # The limits are estimates: a third or so off.
    if high < limits.begins / _ROUGHLY or low > limits.lasts * _ROUGHLY:
        return []
    return [
        f"The gap is real where {_top(runs, shallower).name} goes over from drying and burning off to being "
        f"thrown out, which begins near {_shown(limits.begins)} of peak irradiance and lasts from some "
        f"{_shown(limits.lasts)} on; here it is {_shown(low)}."
    ]


def _steam_leaks(runs: TrialRuns, trial: Trial) -> list[str]:
    """A sentence if the irradiance of `trial` is one at which tissue dries instead of being thrown out."""
    limits = _limits(runs, trial)
    if limits is None or (peak := _peak(runs, trial)) >= limits.lasts:
        return []
    name, power = _top(runs, trial).name, _power(runs, trial)
    at = f"At {trial.text} the beam's peak irradiance is {_shown(peak)}. "
    if peak < limits.begins:
        return [
            f"{at}Below some {_shown(limits.begins)}, for which this spot takes {power(limits.begins)}, "
            f"steam escapes from {name} faster than it gathers: it dries and chars, and goes only where it "
            "burns off."
        ]
    return [
        f"{at}Below some {_shown(limits.lasts)}, for which this spot takes {power(limits.lasts)}, {name} is "
        "thrown out at first only: then it dries and chars, and goes only where it burns off."
    ]


def _limits(runs: TrialRuns, trial: Trial) -> Throwing | None:
    """Peak irradiances of the beam, not of what is absorbed, at which the top layer is thrown out."""
    changed, top = _changed(runs, trial), _top(runs, trial)
    limits = throwing(top, target_of(changed).initial_temperature)
    if limits is None:
        return None
    share = max(beam_of(changed).plume_transmittance * (1.0 - top.reflectance), 1e-9)
    return Throwing(limits.begins / share, limits.lasts / share)


def _peak(runs: TrialRuns, trial: Trial) -> float:
    """Peak irradiance of `trial` [W/m2]."""
    changed = _changed(runs, trial)
    return changed.arriving_power * beam_of(changed).peak_irradiance


def _power(runs: TrialRuns, trial: Trial) -> Callable[[float], str]:
    """From a peak irradiance [W/m2] to the power that makes it on the spot of `trial`, in words."""
    peak = beam_of(_changed(runs, trial)).peak_irradiance
    return lambda irradiance: units.display(irradiance / peak, "W", "W")


def _top(runs: TrialRuns, trial: Trial) -> Medium:
    return target_of(_changed(runs, trial)).layers[0].medium


def _changed(runs: TrialRuns, trial: Trial) -> Scenario:
    return scenario_with(runs.scenario, {runs.unknown.key(runs.scenario): trial.text})


def _shown(irradiance: float) -> str:
    return units.display(irradiance, "W/m2", "W/mm2")


def _range(unknown: Unknown, bounds: tuple[float, float]) -> str:
    return " to ".join(unknown.written(one) for one in bounds)
