"""Trains: one regime on a given spot and target, solved as it is or with as many pulses as reach a depth."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError, RunError
from spotdwell.inputs.build import beam_of
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.output.result import Result
from spotdwell.pipeline import run
from spotdwell.regimes.request import Train

TOLERANCE = 0.02
"""Difference of depth [-] at which the search ends; whole pulses may end it earlier."""
_MOST_AMISS = 0.1
"""Most difference [-] for which not whole pulses are to blame."""
_MOST_AMISS_WHOLE = 0.5
"""Most difference [-] even for whole pulses."""
_MOST_TRIES = 12
_GROWTH = 4.0
"""Most light of one try over that of the one before [-]."""
_LIMIT = 32.0
"""Light beyond which a depth counts as out of reach, over the first guess [-]."""
_GUESSED_COST = 4e9
"""Energy per removed volume from which the search starts [J/m3]; any guess will do."""


@dataclass(frozen=True)
class BeamOnTarget:
    """Beam and target, to which each regime adds its exposure."""

    material: str
    spot: str | None
    """None: the laser file says it."""
    settings: Mapping[str, Any]
    """The others of the shot."""

    def scenario(self, train: Train) -> Scenario:
        """Scenario of a train. Raises InputError that names the regime if it holds too many pulses."""
        settings = {**self.settings, "title": train.regime.text}
        if train.count > 1:
            settings |= {"count": train.count, "pause": units.written(train.off, "s")}
        power, on = units.written(train.power, "W"), units.written(train.on, "s")
        try:
            return scenario_of_shot(self.material, power, self.spot, on, **settings)
        except InputError as error:
            name = train.regime.where
            raise error.renamed(lambda place: name if place == "exposure" else place) from None


@dataclass(frozen=True, eq=False)
class _Try:
    """A train that was solved; no result where it went through the bottom of the target."""

    train: Train
    depth: float
    """[m]; infinite where it went through."""
    result: Result | None

    @property
    def amount(self) -> float:
        """Pulses, or seconds of a continuous beam."""
        return self.train.on if self.train.is_continuous else float(self.train.count)


def reach(train: Train, setup: BeamOnTarget, depth: float) -> tuple[Train, Result]:
    """The train with as many pulses as come nearest to `depth` [m], and its result.

    Depth grows with the number of pulses, so the wanted one is closed in from both sides. Raises InputError
    that names the regime where no number gets there.
    """
    tries: list[_Try] = []
    guess = _guess(train, setup, depth)
    amount: float | None = guess
    while amount is not None and len(tries) < _MOST_TRIES:
        tries.append(_tried(train.lasting(amount), setup))
        amount = _next(tries, depth, _LIMIT * max(guess, 0.0 if train.is_continuous else 1.0))
    return _accepted(tries, depth)


def _guess(train: Train, setup: BeamOnTarget, depth: float) -> float:
    """Pulses, or seconds of a continuous beam, that a usual cost of removal asks for."""
    beam = beam_of(setup.scenario(train))
    seconds = depth * _GUESSED_COST / (train.power * beam.mean_irradiance)
    return seconds if train.is_continuous else seconds / train.on


def _tried(train: Train, setup: BeamOnTarget) -> _Try:
    try:
        result = run(setup.scenario(train))
    except RunError:
        return _Try(train, math.inf, None)
    return _Try(train, result.measures["crater_depth"] or 0.0, result)


def _next(tries: list[_Try], depth: float, limit: float) -> float | None:
    """What to try next: None once the depth is met, or no whole pulse or nothing worth it is left."""
    last = tries[-1]
    if abs(last.depth / depth - 1.0) <= TOLERANCE:
        return None
    whole = not last.train.is_continuous
    below = max((one for one in tries if one.depth < depth), key=lambda one: one.amount, default=None)
    above = min((one for one in tries if one.depth >= depth), key=lambda one: one.amount, default=None)
    if above is None:
        return _more(last, depth, whole) if last.amount < limit else None
    low, shallow = (below.amount, below.depth) if below else (0.0, 0.0)
    if whole and above.amount - low <= 1.0 + (below is None):
        # Nothing lies between; without a try below, a single pulse is the least.
        return 1.0 if below is None and above.amount > 1.0 else None
    share = (depth - shallow) / (above.depth - shallow) if math.isfinite(above.depth) else 0.5
    amount = low + min(max(share, 0.1), 0.9) * (above.amount - low)
    return min(max(round(amount), low + 1.0), above.amount - 1.0) if whole else amount


def _more(last: _Try, depth: float, whole: bool) -> float:
    """Somewhat more than in proportion, as that closes the depth in from the other side."""
    grown = 1.05 * last.amount * depth / last.depth if last.depth > 0.0 else math.inf
    return max(min(grown, _GROWTH * last.amount), last.amount + 1.0 if whole else 1.02 * last.amount)


def _accepted(tries: list[_Try], depth: float) -> tuple[Train, Result]:
    """What came nearest. Raises InputError where that is too far off to be called equal."""
    best = min(tries, key=lambda one: abs(one.depth - depth))
    steps = best.depth > depth or any(one.depth > depth for one in tries)
    most = _MOST_AMISS_WHOLE if steps and not best.train.is_continuous else _MOST_AMISS
    if best.result is None or abs(best.depth - depth) > most * depth:
        raise InputError(
            best.train.regime.where,
            f"a regime that can reach {units.display(depth, 'm', 'um')}",
            _got(best),
            "Choose another depth, more energy a pulse, a smaller spot or other regimes.",
        )
    return best.train, best.result


def _got(best: _Try) -> str:
    if best.result is None:
        return "a hole through the bottom of the target"
    light = f"{best.amount:.0f} pulses" if best.amount > 1.0 else "a single pulse"
    light = units.display(best.amount, "s", "s") if best.train.is_continuous else light
    return f"{units.display(best.depth, 'm', 'um')} with {light}, the nearest of all that were tried"
