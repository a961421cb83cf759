"""Fastest: the pattern that removes a depth soonest, or most per time, within limits, by trials on slices.

Nothing is taken to rise or fall with speed, spacing or passes: a grid of them is tried, then a finer one
around the best, or between neighbours of which each breaks another limit. The best of all that keep every
limit is solved over its whole width.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from spotdwell import pipeline
from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.base.settings import with_settings
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.output.result import Result
from spotdwell.scans.problem import spreading_time
from spotdwell.scans.request import LEAST_PECLET, plan_of, scenario_of_scan
from spotdwell.scans.result import ScanResult
from spotdwell.scans.run import scanned
from spotdwell.solve.march import Progress

SHARES = (0.35, 0.5, 0.7)
"""Line spacings over the spot's diameter that are tried."""
PASSES = (1, 2, 3)
WAITS = (0.0, 1.0, 4.0)
"""Beam off between lines, over the time of a line: tried in turn until a pattern keeps the limits."""
COARSE, FINE = 1.6, 1.6 ** (1.0 / 3.0)
"""Ratio of speeds that are tried first, and around the best of these."""
LEVELS = 5
"""Coarse speeds for a depth: energy for the depth is at least 1 and at most 10 times the least possible."""
_LEVELS_FREE = 9
_ENOUGH_LINES, _ENOUGH_SPOTS = 8, 5.0
"""Width of a trial: so many lines and so many spots, or the whole area."""
_COARSE_WIDTH = 0.2
"""Width of a trial's columns over the beam's radius."""


@dataclass(frozen=True, order=True)
class Candidate:
    """A pattern that may be tried; SI."""

    speed: float
    spacing: float
    passes: int
    pause: float
    """Between lines [s]."""

    @property
    def text(self) -> str:
        """In words."""
        passes = f"{self.passes} passes" if self.passes > 1 else "one pass"
        waits = f", {units.display(self.pause, 's', 'ms')} between lines" if self.pause else ""
        speed, spacing = units.display(self.speed, "m/s", "mm/s"), units.display(self.spacing, "m", "um")
        return f"{speed}, lines {spacing} apart, {passes}{waits}"


@dataclass(frozen=True)
class Trial:
    """A candidate and what a slice of it left; SI."""

    candidate: Candidate
    depth: float
    """Mean inside the area."""
    char: float
    """Most, inside or at the edge."""
    coagulation: float
    """Most, inside or at the edge."""
    ripple: float
    total_time: float
    """Of the whole area."""
    rate: float
    """Volume removed over total time [m3/s]."""
    broken: tuple[str, ...]
    """What it does not keep, a sentence each."""

    @property
    def says(self) -> str:
        """In words."""
        depth, char, burnt = (
            units.display(one, "m", "um") for one in (self.depth, self.char, self.coagulation)
        )
        time = units.display(self.total_time, "s", "s")
        return f"{depth} deep, char {char}, coagulated {burnt}, {time}"


@dataclass(frozen=True)
class Wanted:
    """What is asked; None is no limit."""

    depth: float | None
    """At least so deep on average [m]; None: as much volume per time as the limits allow."""
    char: float | None
    coagulation: float | None
    ripple: float | None
    least_speed: float = 0.0
    """Of the scanner [m/s]."""
    most_speed: float = float("inf")
    """Of the scanner [m/s]."""

    def broken(self, depth: float, char: float, coagulation: float, ripple: float) -> tuple[str, ...]:
        """What these do not keep."""
        found = []
        if self.depth is not None and depth < self.depth:
            found.append(f"only {_um(depth)} deep")
        if depth <= 0.0:
            found.append("nothing is removed")
        for name, value, most in (
            ("char", char, self.char),
            ("coagulated", coagulation, self.coagulation),
        ):
            if most is not None and value > most:
                found.append(f"{name} {_um(value)}, over {_um(most)}")
        if self.ripple is not None and ripple > self.ripple:
            found.append(f"ripple {ripple:.2g}, over {self.ripple:g}")
        return tuple(found)


@dataclass(frozen=True, eq=False)
class Fastest:
    """The fastest pattern within the limits, and how it was found."""

    wanted: Wanted
    trial: Trial
    """The answer; without one, the trial that breaks least."""
    result: ScanResult | None
    """Of the whole area; None without an answer."""
    at_rest: Result | None
    """Rule of thumb: a spot at rest for the time in which the beam crosses its own diameter."""
    obstacles: tuple[str, ...]
    """What stands in the way of more."""
    trials: tuple[Trial, ...]

    def __repr__(self) -> str:
        found = self.trial.candidate.text if self.found else "none"
        return f"<Fastest: {found} ({self.trial.says})>"

    @property
    def found(self) -> bool:
        """Whether there is an answer."""
        return self.result is not None


@dataclass
class Listener:
    """What hears of the search."""

    trial: Callable[[str], None] = lambda _text: None
    step: Callable[[Progress], None] = lambda _state: None


@dataclass
class _Search:
    scenario: Scenario
    wanted: Wanted
    listener: Listener
    trials: dict[Candidate, Trial] = field(default_factory=dict)

    def __post_init__(self) -> None:
        plan = plan_of(self.scenario)
        self.setup, self.area = plan.setup, (plan.pattern.length, plan.pattern.width)
        self.diameter = 2.0 * plan.setup.beam.radius
        target = plan.setup.target
        self.least_heat = target.layers[0].medium.removal_enthalpy(target.initial_temperature)
        slow = LEAST_PECLET * self.setup.beam.radius / spreading_time(plan.setup)
        self.least_speed = max(slow, self.wanted.least_speed)

    def run(self) -> Fastest:
        best: Trial | None = None
        for wait in WAITS:
            self._all(self._coarse(wait))
            if (best := self._best()) is None:
                self._all(self._between(wait))
                best = self._best()
            if best is not None:
                self._all(self._finer(best, wait))
                break
        while (best := self._best()) is not None:
            result = self._whole(best)
            if not (broken := self._broken(result)):
                return Fastest(
                    self.wanted, best, result, self._at_rest(best), self._obstacles(best), self._told()
                )
            # Over its whole width it gets hotter than the trial said.
            self.trials[best.candidate] = replace(best, broken=broken)
        if not self.trials:
            slow, fast = units.display(self.least_speed, "m/s", "mm/s"), self.wanted.most_speed
            raise InputError(
                "most_speed",
                f"speeds at which a slice holds (over {slow}) and that may remove the depth",
                f"none up to {units.display(fast, 'm/s', 'mm/s')}",
                "Allow more speed, or ask for less depth.",
            )
        nearest = min(self._told(), key=lambda one: (len(one.broken), -one.rate))
        return Fastest(self.wanted, nearest, None, None, self._obstacles(None), self._told())

    def _told(self) -> tuple[Trial, ...]:
        return tuple(self.trials.values())

    def _best(self) -> Trial | None:
        kept = [one for one in self.trials.values() if not one.broken]
        return min(kept, key=self._cost) if kept else None

    def _cost(self, trial: Trial) -> float:
        """The smaller the better: time for the depth, or less volume per time."""
        return trial.total_time if self.wanted.depth is not None else -trial.rate

    def _coarse(self, wait: float) -> Iterator[Candidate]:
        power, depth = self.setup.power, self.wanted.depth
        passes = PASSES if depth is not None else (1,)
        for share in SHARES:
            spacing = float(f"{share * self.diameter:.3g}")
            for count in passes:
                if depth is not None:
                    top, levels = power * count / (self.least_heat * spacing * depth), LEVELS
                else:
                    # Faster, and not even the axis of one line comes to where it could be removed.
                    reach = 1.0 / self.setup.target.layers[0].medium.absorption_coefficient
                    top, levels = power / (self.least_heat * reach * self.diameter), _LEVELS_FREE
                for level in range(levels):
                    yield self._candidate(top / COARSE ** (level + 0.5), spacing, count, wait)

    def _between(self, wait: float) -> Iterator[Candidate]:
        """Speeds between two neighbours that break nothing in common: one too shallow, one too hot, say."""
        for spacing, passes in {(one.spacing, one.passes) for one in self.trials}:
            tried = sorted(
                one.candidate.speed
                for one in self.trials.values()
                if (one.candidate.spacing, one.candidate.passes) == (spacing, passes)
                and one.candidate == self._candidate(one.candidate.speed, spacing, passes, wait)
            )
            for slow, fast in pairwise(tried):
                two = (self.trials[self._candidate(speed, spacing, passes, wait)] for speed in (slow, fast))
                kinds = [{text.split(" ")[0] for text in one.broken} for one in two]
                if not kinds[0] & kinds[1]:
                    for part in (1.0 / 3.0, 2.0 / 3.0):
                        yield self._candidate(slow * (fast / slow) ** part, spacing, passes, wait)

    def _finer(self, best: Trial, wait: float) -> Iterator[Candidate]:
        """Speeds around the best one, for all spacings and passes."""
        one = best.candidate
        for other in {(c.spacing, c.passes) for c in self.trials}:
            # At the same energy for the area.
            speed = one.speed * one.spacing * other[1] / (other[0] * one.passes)
            for power in (-2, -1, 0, 1, 2):
                yield self._candidate(speed * FINE**power, *other, wait)

    def _candidate(self, speed: float, spacing: float, passes: int, wait: float) -> Candidate:
        speed = float(f"{speed:.3g}")
        return Candidate(speed, spacing, passes, float(f"{wait * self.area[0] / speed:.2g}"))

    def _all(self, candidates: Iterator[Candidate]) -> None:
        for one in sorted(candidates, key=lambda one: (one.spacing, one.passes, -one.speed)):
            if one in self.trials or not self.least_speed <= one.speed <= self.wanted.most_speed:
                continue
            self.trials[one] = trial = self._tried(one)
            number = len(self.trials)
            why = f" ({'; '.join(trial.broken)})" if trial.broken else ""
            self.listener.trial(f"try {number}: {one.text}: {trial.says}{why}")

    def _tried(self, one: Candidate) -> Trial:
        """A slice of some lines, which come and come again at the times of the whole area's."""
        length, width = self.area
        lines = max(1, round(width / one.spacing))
        tried = min(lines, max(_ENOUGH_LINES, round(_ENOUGH_SPOTS * self.diameter / one.spacing)))
        each = length / one.speed + one.pause
        grid = self.setup.cells.cell_width or _COARSE_WIDTH * self.setup.beam.radius
        result = self._solved(
            one,
            {
                "scan.width": units.written(tried * one.spacing, "m"),
                "scan.pass_pause": units.written((lines - tried) * each + one.pause, "s"),
                "grid.cell_width": units.written(grid, "m"),
            },
        )
        found = {name: value or 0.0 for name, value in result.measures.items()}
        time = one.passes * lines * each - one.pause
        return Trial(
            one,
            found["depth_mean"],
            max(found["char_worst"], found["char_edge"]),
            max(found["coagulation_worst"], found["coagulation_edge"]),
            found["ripple"],
            time,
            found["depth_mean"] * length * width / time,
            self._broken(result),
        )

    def _broken(self, result: ScanResult) -> tuple[str, ...]:
        found = {name: value or 0.0 for name, value in result.measures.items()}
        broken = self.wanted.broken(
            found["depth_mean"],
            max(found["char_worst"], found["char_edge"]),
            max(found["coagulation_worst"], found["coagulation_edge"]),
            found["ripple"],
        )
        if str(result.verdict.word) in ("too deep", "perforated"):
            return (*broken, str(result.verdict.word))
        return broken

    def _whole(self, trial: Trial) -> ScanResult:
        self.listener.trial(f"the whole area: {trial.candidate.text}")
        return self._solved(trial.candidate, {"scan.pass_pause": units.written(trial.candidate.pause, "s")})

    def _solved(self, one: Candidate, more: dict[str, Any]) -> ScanResult:
        changes: dict[str, Any] = {
            "scan.speed": units.written(one.speed, "m/s"),
            "scan.spacing": units.written(one.spacing, "m"),
            "scan.passes": one.passes,
            "scan.line_pause": units.written(one.pause, "s"),
            "scan.model": "slice",
        }
        return scanned(scenario_with(self.scenario, changes | more), self.listener.step)

    def _at_rest(self, trial: Trial) -> Result:
        data = scenario_with(self.scenario, {})
        dwell = units.written(self.diameter / trial.candidate.speed, "s")
        still = data.model_copy(update={"scan": None})
        return pipeline.run(scenario_with(still, {"exposure.dwell_time": dwell}), self.listener.step)

    def _obstacles(self, best: Trial | None) -> tuple[str, ...]:
        """The best trials that break something, one for each kind of break."""
        told: dict[str, str] = {}
        for one in sorted(self.trials.values(), key=self._cost):
            if not one.broken or (best is not None and self._cost(one) >= self._cost(best)):
                continue
            kind = ", ".join(text.split(" ")[0] for text in one.broken)
            time = units.display(one.total_time, "s", "s")
            told.setdefault(kind, f"{one.candidate.text} ({time}): {'; '.join(one.broken)}.")
        return tuple(told.values())


@with_settings("dwell", "count", "pause", "save_times", "geometry")
def fastest_scan(
    material: str,
    power: str | None = None,
    spot: str | None = None,
    *,
    length: str | None = None,
    width: str | None = None,
    depth: str | None = None,
    coagulation_limit: str | None = None,
    ripple: float | None = None,
    least_speed: str | None = None,
    most_speed: str | None = None,
    listener: Listener | None = None,
    **settings: Any,
) -> Fastest:
    """Find the fastest pattern of lines that removes `depth` over the area within limits.

    All are quantity strings, such as length "8 mm"; `ripple` is the greatest less the least over the mean
    depth. `char_limit` and `coagulation_limit` hold for the worst place. Without a depth it is the pattern
    that removes most per time. `least_speed` and `most_speed` are the scanner's. Raises InputError for a
    wrong request and RunError if a run fails.
    """
    if depth is None and coagulation_limit is None and settings.get("char_limit") is None:
        advice = 'For example a depth of "200 um" and a coagulation limit of "100 um".'
        raise InputError("depth", "a depth, or a limit of char or of coagulation", "none", advice)
    if ripple is not None and not ripple > 0.0:
        raise InputError("ripple", "a share above 0, such as 0.1", f"{ripple:g}")
    spacing = _first_spacing(spot)
    # A speed at which a slice holds for certain; the search sets its own.
    table = {"length": length, "width": width, "spacing": spacing, "speed": "1 m/s"}
    table["coagulation_limit"] = coagulation_limit
    scenario = scenario_of_scan(material, power, spot, table, **settings)
    char = scenario.limits.char_thickness if settings.get("char_limit") is not None else None
    assert scenario.scan is not None
    slow, fast = (
        units.positive(text, "m/s", where, "2 m/s")
        for text, where in ((least_speed, "least_speed"), (most_speed, "most_speed"))
    )
    if slow is not None and fast is not None and slow >= fast:
        raise InputError("most_speed", f"more than {units.written(slow, 'm/s')}", units.written(fast, "m/s"))
    wanted = Wanted(
        units.positive(depth, "m", "depth", "200 um"),
        char,
        scenario.scan.coagulation_limit,
        ripple,
        slow or 0.0,
        fast or float("inf"),
    )
    return _Search(scenario, wanted, listener or Listener()).run()


def _first_spacing(spot: str | None) -> str:
    if spot is None:
        return "10 um"
    return units.written(0.5 * units.parse(spot, "m", where="spot", example="0.2 mm"), "m")


def _um(value: float) -> str:
    return units.display(value, "m", "um")
