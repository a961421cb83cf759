"""Trials: shots that differ in one setting alone, each solved once and no deeper than is of use."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from spotdwell import pipeline
from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.inputs.build import target_of
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.measure.verdict import Word
from spotdwell.model.beam import Profile
from spotdwell.output.result import Result
from spotdwell.sizing.unknown import Unknown
from spotdwell.solve.march import Progress


@dataclass(frozen=True)
class Trial:
    """A setting that was tried, and what became of the target; all SI."""

    value: float
    text: str
    """The setting as a quantity string, such as "0.8 mm"."""
    depth: float
    """Of the crater on the axis, or its deepest under an annular beam [m]."""
    stopped: bool
    """Whether the run was stopped as deeper than is of use; `depth` is then how far it had got."""
    deepest: float = 0.0
    width: float = 0.0
    """Of the crater at the surface [m]."""
    char: float = 0.0
    """Thickest at floor or wall [m]."""
    coagulation: float = 0.0
    """Thickest at floor or wall [m]."""
    word: str = ""
    """Of the verdict; empty where stopped."""
    cooled: float = 0.0
    """When all had cooled, from the start [s]."""

    @property
    def says(self) -> str:
        """The trial in words."""
        depth = units.display(self.depth, "m", "um")
        if self.stopped:
            return f"over {depth} deep when stopped"
        return f"{depth} deep, {self.layers}: {self.word}"

    @property
    def layers(self) -> str:
        """Char and coagulation in words."""
        char, coagulation = (units.display(one, "m", "um") for one in (self.char, self.coagulation))
        return f"char {char}, coagulated {coagulation}"


@dataclass(frozen=True)
class Limits:
    """What a setting must keep; None is no limit."""

    char: float | None = None
    """Most char at floor and wall [m]."""
    coagulation: float | None = None
    """Thickest coagulated layer at floor and wall [m]."""
    depth: float | None = None
    """Deepest crater [m]."""
    aspect_ratio: float | None = None
    """Most depth over width [-]."""

    @property
    def any(self) -> bool:
        """Whether char, coagulation or depth is limited."""
        return any(value is not None for value in (self.char, self.coagulation, self.depth))

    def excess(self, trial: Trial) -> float:
        """Largest ratio of char or coagulation to its limit; what is unlimited does not count."""
        pairs = ((trial.char, self.char), (trial.coagulation, self.coagulation))
        return max((value / max(limit, 1e-9) for value, limit in pairs if limit is not None), default=0.0)

    def broken(self, trial: Trial) -> list[str]:
        """What `trial` breaks, a sentence each, with the numbers."""
        if trial.stopped:
            return [f"The hole gets deeper than {units.display(trial.depth, 'm', 'um')}."]
        if trial.word == Word.PERFORATED:
            return ["The target is cut through."]
        pairs = (
            ("Char at floor or wall", trial.char, self.char),
            ("The coagulated layer at floor or wall", trial.coagulation, self.coagulation),
            ("The deepest point", trial.deepest, self.depth),
        )
        found = [_over(name, value, limit) for name, value, limit in pairs if limit is not None]
        ratio = trial.deepest / trial.width if trial.width > 0.0 else 0.0
        if self.aspect_ratio is not None and ratio > self.aspect_ratio:
            found.append(
                f"The hole is {ratio:.4g} times as deep as wide, over {self.aspect_ratio:g}: its walls would "
                "reflect the beam, which the model leaves out."
            )
        return [text for text in found if text]


@dataclass(frozen=True)
class Listener:
    """What hears of the search as it goes."""

    trial: Callable[[str], None] = lambda _text: None
    """Given a line for each trial."""
    step: Callable[[Progress], None] = lambda _state: None
    """Called after each step of a run."""


class TrialRuns:
    """Solves `scenario` with other values of the `unknown`; stops runs deeper than `ceiling` [m]."""

    def __init__(
        self, scenario: Scenario, unknown: Unknown, ceiling: float, listener: Listener, label: str = ""
    ) -> None:
        self.scenario, self.unknown = scenario, unknown
        self.thickness = sum(layer.thickness for layer in target_of(scenario).layers)
        self._ceiling = min(ceiling, self.thickness)
        self._listener, self._label = listener, label
        self._deepest = scenario.beam.profile is Profile.ANNULAR
        self._trials: dict[str, Trial] = {}
        self._results: dict[str, Result] = {}

    @property
    def trials(self) -> tuple[Trial, ...]:
        """All, in the order in which they were made."""
        return tuple(self._trials.values())

    def result(self, trial: Trial) -> Result | None:
        """Result of a `trial`; None if it was stopped."""
        return self._results.get(trial.text)

    def at(self, value: float, digits: int = 3) -> Trial:
        """Trial of `value` [SI] rounded to `digits` digits, as a person can set it."""
        rounded = float(f"{value:.{digits - 1}e}")
        text = self.unknown.written(rounded)
        if text not in self._trials:
            self._trials[text] = self._made(rounded, text)
            number = len(self._trials)
            self._listener.trial(
                f"{self._label}try {number}: {self.unknown} {text}: {self._trials[text].says}"
            )
        return self._trials[text]

    def _made(self, value: float, text: str) -> Trial:
        scenario = scenario_with(self.scenario, {self.unknown.key(self.scenario): text})

        def look(state: Progress) -> None:
            self._listener.step(state)
            if state.crater_depth >= self._ceiling * (1.0 - 1e-9):
                raise _DeepEnough(state.crater_depth)

        try:
            result = pipeline.run(scenario, look)
        except _DeepEnough as reached:
            return Trial(value, text, reached.depth, True)
        self._results[text] = result
        return trial_of(value, text, result, self._deepest)


def check_bounds(unknown: Unknown, least: float | None, most: float | None) -> tuple[float, float]:
    """Bounds of the unknown [SI], its own where None. Raises InputError where they leave no room."""
    low, high = unknown.bounds
    low, high = low if least is None else least, high if most is None else most
    if low >= high:
        own = "" if least is not None and most is not None else ", as the other bound is if you do not say it"
        if most is None:
            expected = f"less than {unknown.written(high)}{own}"
            raise InputError("at_least", expected, unknown.written(low), "Say the most too.")
        expected = f"more than {unknown.written(low)}{own}"
        raise InputError("at_most", expected, unknown.written(high), "Least first, then most.")
    return low, high


def crossing(trials: Sequence[Trial], error: Callable[[Trial], float]) -> tuple[Trial, Trial]:
    """The two neighbours, ordered by depth, between which `error` changes sign, closest to 0."""
    ordered = sorted(trials, key=lambda trial: trial.value)
    pairs = [pair for pair in pairwise(ordered) if (error(pair[0]) < 0.0) != (error(pair[1]) < 0.0)]
    low, high = min(pairs, key=lambda pair: abs(error(pair[0])) + abs(error(pair[1])))
    return (low, high) if error(low) < 0.0 else (high, low)


class _DeepEnough(Exception):
    """The hole is deeper than is of use."""

    def __init__(self, depth: float) -> None:
        self.depth = depth


def _over(name: str, value: float, limit: float) -> str:
    """Sentence that `value` [m] is over its `limit`; empty if it is not."""
    if value <= limit or math.isclose(value, limit, rel_tol=1e-9):
        return ""
    return (
        f"{name} is {units.display(value, 'm', 'um')}, over the limit of {units.display(limit, 'm', 'um')}."
    )


def trial_of(value: float, text: str, result: Result, by_deepest: bool = False) -> Trial:
    """Trial of `value` [SI], written as `text`, that ended in `result`."""
    found = {name: one or 0.0 for name, one in result.measures.items()}
    return Trial(
        value,
        text,
        found["deepest" if by_deepest else "crater_depth"],
        False,
        found["deepest"],
        found["crater_width"],
        max(found["char_thickness_floor"], found["char_thickness_wall"]),
        max(found["coagulation_thickness_floor"], found["coagulation_thickness_wall"]),
        str(result.verdict.word),
        found["end_time"],
    )
