"""Scan search: the longest dwell before a limit is first broken, by trials that get ever longer."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spotdwell.sizing.trials import Limits, Trial, TrialRuns
from spotdwell.sizing.unknown import Scale

_STEP = math.log(2.0)
_CLOSE = 0.01
"""Relative distance between the longest dwell that keeps the limits and one that does not."""


@dataclass(frozen=True)
class Longest:
    """What the search came to."""

    trial: Trial
    """The longest that removes something within the limits, or the one that exceeds them least."""
    fits: bool
    obstacles: tuple[str, ...]
    advice: tuple[str, ...] = ()


def longest(runs: TrialRuns, scale: Scale, limits: Limits) -> Longest:
    """Longest dwell that removes something and keeps all `limits`, and before which no trial broke one.

    Layers need not thicken steadily: before anything is removed they can be thicker than after. So trials
    without removal do not end the search.
    """
    kept, broken = _doubled(runs, scale, limits)
    if kept is None:
        return _no_answer(runs, limits)
    if broken is None:
        until = runs.unknown.written(scale.most)
        return Longest(kept, True, (f"The limits hold up to {until}, the longest dwell that was tried.",))
    while broken.value / kept.value > 1.0 + _CLOSE:
        middle = runs.at(math.sqrt(kept.value * broken.value))
        if middle in (kept, broken):
            break
        if _works(middle, limits):
            kept = middle
        else:
            broken = middle
    reasons = limits.broken(broken)
    return Longest(kept, True, tuple(f"Longer, at {broken.text}: {reason}" for reason in reasons))


def _doubled(runs: TrialRuns, scale: Scale, limits: Limits) -> tuple[Trial | None, Trial | None]:
    """Longest trial that works before the first that does not, and that one; the start may be too long."""
    least, most = scale.ends
    place = min(max(0.0, least), most)
    trial = runs.at(scale.value(place))
    while _removes(trial) and limits.broken(trial) and place > least:
        place = max(place - _STEP, least)
        trial = runs.at(scale.value(place))
    kept: Trial | None = None
    while True:
        if _works(trial, limits):
            kept = trial
        elif _removes(trial):
            return kept or _between(runs, scale, limits, trial), trial
        if place >= most:
            return kept, None
        place = min(place + _STEP, most)
        trial = runs.at(scale.value(place))


def _between(runs: TrialRuns, scale: Scale, limits: Limits, broken: Trial) -> Trial | None:
    """A trial that works between the longest that removes nothing and the one that breaks a limit."""
    idle = [one for one in runs.trials if not _removes(one) and one.value < broken.value]
    if not idle:
        return None
    low, high = max(one.value for one in idle), broken.value
    while high / low > 1.0 + 2.0 * _CLOSE:
        trial = runs.at(math.sqrt(low * high))
        if _works(trial, limits):
            return trial
        if _removes(trial):
            high = trial.value
        else:
            low = trial.value
    return None


def _no_answer(runs: TrialRuns, limits: Limits) -> Longest:
    """Why nothing works, from the trials."""
    marks = [one for one in runs.trials if _removes(one) and not one.stopped]
    if not marks:
        last = runs.trials[-1]
        if last.stopped:
            return Longest(last, False, tuple(limits.broken(last)))
        text = f"Nothing is removed up to a dwell of {last.text} ({last.layers})."
        return Longest(last, False, (text,))
    best = min(marks, key=limits.excess)
    reasons = [f"At {best.text}, which exceeds them least: {reason}" for reason in limits.broken(best)]
    return Longest(
        best,
        False,
        ("No dwell that removes something keeps the limits.", *reasons),
        tuple(_without_removal(runs, limits)),
    )


def _without_removal(runs: TrialRuns, limits: Limits) -> list[str]:
    idle = [one for one in runs.trials if not _removes(one) and not limits.broken(one)]
    if not idle:
        return []
    best = max(idle, key=lambda one: one.value)
    return [f"Within the limits but removing nothing: {best.text} ({best.layers})."]


def _works(trial: Trial, limits: Limits) -> bool:
    return _removes(trial) and not limits.broken(trial)


def _removes(trial: Trial) -> bool:
    return trial.stopped or trial.deepest > 0.0
