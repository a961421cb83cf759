"""Search: the setting of one unknown at which a shot removes a wanted depth, by trials on the solver itself.

Depth over exposure is 0 up to a threshold, then rises, with steps of the size of a fraction of a cell. The
search therefore brackets from the shallow side first, bounds each step, and tries only settings that can be
set: three digits, and more where three miss the depth.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.optimize import brentq

from spotdwell.sizing.trials import Trial, TrialRuns, crossing
from spotdwell.sizing.unknown import Scale

GOOD = 0.005
"""Relative error of depth at which the search is content."""
FAIR = 0.01
"""Relative error of depth up to which three digits do."""
COARSE = 0.03
"""Relative error of depth beyond which a setting does not count as giving it."""
TOO_DEEP = 2.5
"""Runs stop at this many times the wanted depth."""

DIGITS = (3, 4)
"""Of a setting: more only where a change of 1 in the third would miss the depth."""
_SHALLOWEST = 0.05
"""Depth over wanted below which all is one: the plateau under the threshold has no slope to follow."""
_NEIGHBOURS = 4
"""Settings on each side of the crossing that are tried where depth scatters."""
_SCATTER = 0.1
"""Logarithm of depth over wanted up to which a miss may be scatter, and no slope or jump."""
_FIRST_STEP = math.log(1.5)
_LARGEST_STEP = math.log(4.0)
_SMALLEST_STEP = 0.08


@dataclass(frozen=True)
class SearchResult:
    """What a search came to."""

    nearest: Trial
    """The answer, or the trial whose depth comes closest."""
    shallower: Trial | None
    """The deepest trial that removes too little; None if the shallow bound already removes too much."""
    deeper: Trial | None
    """The shallowest trial that removes too much; None if the deep bound still removes too little."""
    error: float
    """Relative error of the nearest's depth."""

    @property
    def fits(self) -> bool:
        """Whether the nearest has the wanted depth."""
        return not self.nearest.stopped and abs(self.error) <= COARSE


class Search:
    """Looks on `scale` for the setting that removes `depth` [m], with trials in `runs`."""

    def __init__(self, runs: TrialRuns, scale: Scale, depth: float) -> None:
        self._runs, self._scale, self._depth = runs, scale, depth

    def result(self, start: float = 0.0, digits: Sequence[int] = DIGITS) -> SearchResult:
        """The setting, or how close trials came to it; `start` is a place on the scale.

        Settings have the first number of `digits`, and the next where those miss the depth by over 1 %.
        """
        low, high = self._bracket(start)
        if low is None or high is None:
            return self._search_result()
        for count in digits:
            self._close_in(low, high, count)
            if self._is_fair() or self._beside(count):
                break
            shallower, deeper = crossing(self._runs.trials, self._error)
            low, high = self._scale.place(shallower.value), self._scale.place(deeper.value)
        return self._search_result()

    def _bracket(self, start: float) -> tuple[float | None, float | None]:
        """Places on both sides of the depth, found by steps outwards; None where a bound came first."""
        least, most = self._scale.ends
        shallow: float | None = None
        deep: float | None = None
        place, stride = min(max(start, least), most), _FIRST_STEP
        while True:
            error = self._error(self._try(place))
            if error <= 0.0:
                shallow = place
            if error >= 0.0:
                deep = place
            if shallow is not None and deep is not None:
                return shallow, deep
            end = most if deep is None else least
            if place == end:
                return shallow, deep
            flat = error <= math.log(_SHALLOWEST)
            stride = min(1.4 * stride, _LARGEST_STEP) if flat else stride
            step = stride if flat else min(max(1.15 * abs(error), _SMALLEST_STEP), stride)
            place = min(place + step, most) if deep is None else max(place - step, least)

    def _close_in(self, low: float, high: float, digits: int) -> None:
        """Root finding between two places with settings of `digits` digits; the trials stay in the runs."""
        if low == high:
            return
        spacing = 10.0 ** (1 - digits) / abs(self._scale.unknown.exponent)
        brentq(lambda place: self._error(self._try(place, digits)), low, high, xtol=0.25 * spacing)

    def _is_fair(self) -> bool:
        return abs(self._relative(self._best())) <= FAIR

    def _beside(self, digits: int) -> bool:
        """Try settings beside the crossing, where depth scatters; whether one is fair.

        A change of sign may straddle a small step of depth while a neighbour is right.
        """
        pair = crossing(self._runs.trials, self._error)
        low, high = sorted(trial.value for trial in pair)
        for count in range(1, _NEIGHBOURS + 1):
            for value, sign in ((low, -1.0), (high, 1.0)):
                unit = 10.0 ** (math.floor(math.log10(value)) - digits + 1)
                trial = self._runs.at(self._within(value + sign * count * unit), digits)
                if self._is_fair():
                    return True
                if abs(self._error(trial)) > _SCATTER:
                    return False
        return False

    def _within(self, value: float) -> float:
        return min(max(value, self._scale.least), self._scale.most)

    def _try(self, place: float, digits: int = 3) -> Trial:
        return self._runs.at(self._scale.value(place), digits)

    def _relative(self, trial: Trial) -> float:
        return trial.depth / self._depth - 1.0

    def _error(self, trial: Trial) -> float:
        """Logarithm of depth over wanted, bounded below; 0 where it is good enough, which ends the search."""
        relative = self._relative(trial)
        return 0.0 if abs(relative) <= GOOD else math.log(max(relative + 1.0, _SHALLOWEST))

    def _search_result(self) -> SearchResult:
        def order(trial: Trial) -> tuple[float, float]:
            return self._error(trial), self._scale.place(trial.value)

        less = [trial for trial in self._runs.trials if self._error(trial) < 0.0]
        more = [trial for trial in self._runs.trials if self._error(trial) > 0.0]
        best = self._best()
        shallower, deeper = max(less, key=order, default=None), min(more, key=order, default=None)
        return SearchResult(best, shallower, deeper, self._relative(best))

    def _best(self) -> Trial:
        """The trial closest to the depth; of those that are all fair, or near, one with few digits."""

        def order(trial: Trial) -> tuple[bool, int, bool, float]:
            error = abs(self._relative(trial))
            is_long = trial.value != float(f"{trial.value:.{DIGITS[0] - 1}e}")
            return trial.stopped, (error > FAIR) + (error > COARSE), is_long, error

        return min(self._runs.trials, key=order)
