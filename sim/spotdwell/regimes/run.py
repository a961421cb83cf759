"""Comparison: several pulse regimes at equal average power, equal energy or equal depth."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from spotdwell.base import units
from spotdwell.base.errors import InputError, check_workers
from spotdwell.base.settings import check_known, with_settings
from spotdwell.console.workers import Progress, run_all
from spotdwell.inputs.build import problem_of, target_of
from spotdwell.inputs.shot import nothing
from spotdwell.output.result import Result
from spotdwell.pipeline import run
from spotdwell.regimes.differences import sentence_of
from spotdwell.regimes.request import BUILT_IN, Regime, Train, regimes_of, train_of
from spotdwell.regimes.result import Comparison, Equal, Run, Terms
from spotdwell.regimes.trains import BeamOnTarget, reach

AVERAGE_POWER, TIME = "10 W", "1 s"
"""Unless said."""

_MOST_AMISS = 0.1
"""Most difference [-] that whole pulses may leave between a regime's energy and the one that is wanted."""
_OWN = ("power", "dwell", "count", "pause", "pulse_duration", "repetition_rate", "peak_power", "title")
"""Settings of a shot that each regime says."""


@with_settings(*_OWN)
def compare(
    material: str,
    spot: str | None = None,
    regimes: Sequence[str] = (),
    equal: str = Equal.AVERAGE_POWER,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    average_power: str | None = None,
    time: str | None = None,
    energy: str | None = None,
    depth: str | None = None,
    **settings: Any,
) -> Comparison:
    """Solve several `regimes` on the same spot and target, `workers` at a time, and return their comparison.

    A regime is a text such as "superpulsed: 400 us at 250 Hz, peak 100 W"; none: `inputs.regime.BUILT_IN`.
    With `equal` "average-power" all run for `time` at `average_power`; with "energy" all send `energy`, or
    average power times time if that is left out; with "depth" all reach `depth`, or that of the first regime
    in `time`, to 2 % or the next whole pulse. The power or the rate that a regime does not state follows from
    `average_power`. The other `settings` are those of a shot; a
    `laser` file gives the spot where none is. `progress` is told how many runs are done, of how many, and the
    seconds left. Raises InputError that names the setting or the regime.
    """
    terms = terms_of(equal, average_power, time, energy, depth)
    known = regimes_of(tuple(regimes) or BUILT_IN)
    setup = _setup_of(material, spot, settings)
    trains = [_settled(regime, terms) for regime in known]
    scenarios = [setup.scenario(train) for train in trains]
    for scenario in scenarios:
        problem_of(scenario)  # what is wrong with target, beam or grid is said before anything is solved
    check_workers(workers)
    media = [layer.medium for layer in target_of(scenarios[0]).layers]
    medium = next((one for one in media if not one.is_liquid), media[0])
    if terms.equal is Equal.DEPTH:
        terms, found = _to_equal_depth(setup, trains, terms, workers, progress)
    else:
        results = run_all(run, scenarios, workers, progress)
        found = list(zip(trains, results, strict=True))
    names = _names(known)
    runs = tuple(
        Run(train, name, result, _notes(train, result, terms), _cautions(setup, train, result))
        for name, (train, result) in zip(names, found, strict=True)
    )
    comparison = Comparison(terms, runs, medium)
    return replace(comparison, sentence=sentence_of(comparison))


def terms_of(
    equal: str, average_power: str | None, time: str | None, energy: str | None, depth: str | None
) -> Terms:
    """What is equal, from the word and the quantities that belong to it. Raises InputError."""
    if equal not in list(Equal):
        raise InputError("equal", "average-power, energy or depth", f'"{equal}"')
    kind = Equal(equal)
    for name, text, owner in (("energy", energy, Equal.ENERGY), ("depth", depth, Equal.DEPTH)):
        if text is not None and kind is not owner:
            raise InputError(name, f"equal {owner} beside it", f"equal {kind}")
    power = _positive("average_power", average_power or AVERAGE_POWER, "W", "10 W")
    lasting = _positive("time", time or TIME, "s", "1 s")
    return Terms(
        kind,
        power,
        lasting,
        _positive("energy", energy, "J", "1 J") if energy else power * lasting,
        _positive("depth", depth, "m", "300 um") if depth else None,
    )


def _positive(where: str, text: str, unit: str, example: str) -> float:
    value = units.parse(text, unit, where=where, example=example)
    if not 0.0 < value < math.inf:
        raise InputError(where, f'a finite quantity above 0, such as "{example}"', f'"{text}"')
    return value


def _setup_of(material: str, spot: str | None, settings: Mapping[str, Any]) -> BeamOnTarget:
    """Beam and target of the `settings`. Raises InputError for those that each regime says itself."""
    check_known(settings)
    given = {name: value for name, value in settings.items() if value is not None}
    if spot is None and "laser" not in given:
        raise nothing("spot", "2 mm")
    for name in _OWN:
        if name in given:
            raise InputError(
                name, "no such setting of a comparison", f"{given[name]!r}", "Say it in a regime."
            )
    return BeamOnTarget(material, spot, given)


def _settled(regime: Regime, terms: Terms) -> Train:
    """Train of `regime` that meets the `terms`, as near as whole pulses can.

    At equal depth it is the first guess. Raises InputError that names the regime.
    """
    train = train_of(regime, terms.average_power, exactly=terms.equal is Equal.AVERAGE_POWER)
    if terms.equal is Equal.ENERGY:
        light = terms.energy / train.power
        return _checked(train.lasting(light if train.is_continuous else light / train.on), terms)
    settled = train.lasting(terms.time if train.is_continuous else terms.time * train.rate)
    end = (settled.count - 1) * (train.on + train.off) + settled.on
    if end > terms.time * (1.0 + 1e-9):
        settled = train.lasting(settled.count - 1)
    return _checked(settled, terms) if terms.equal is Equal.AVERAGE_POWER else settled


def _checked(train: Train, terms: Terms) -> Train:
    """The train, if its energy is about that of the `terms`. Raises InputError."""
    if abs(train.energy / terms.energy - 1.0) > _MOST_AMISS:
        raise InputError(
            train.regime.where,
            f"whole pulses that send {units.display(terms.energy, 'J', 'J')} to within {_MOST_AMISS:.0%}",
            f"{units.display(train.energy, 'J', 'J')}, as each holds "
            f"{units.display(train.pulse_energy, 'J', 'J')}",
            "Choose another time or energy, or shorter pulses.",
        )
    return train


def _names(regimes: Sequence[Regime]) -> list[str]:
    kinds = [regime.kind for regime in regimes]
    return [str(one.kind) if kinds.count(one.kind) == 1 else one.text for one in regimes]


def _notes(train: Train, result: Result, terms: Terms) -> tuple[str, ...]:
    """What whole pulses left unequal."""
    if terms.equal is Equal.DEPTH:
        goal = terms.depth or 0.0
        amiss, what = (result.measures["crater_depth"] or 0.0) / goal - 1.0, "depth"
    else:
        amiss, what = train.energy / terms.energy - 1.0, "energy"
    if abs(amiss) < 5e-4:
        return ()
    why = "" if train.is_continuous else ", as pulses are whole"
    return (f"its {what} is {abs(amiss):.1%} {'more' if amiss > 0.0 else 'less'} than wanted{why}",)


def _cautions(setup: BeamOnTarget, train: Train, result: Result) -> tuple[str, ...]:
    """Notes of the result that are not about its grid."""
    reasons = problem_of(setup.scenario(train)).grid.reasons
    return tuple(note for note in result.notes if note not in reasons)


def _to_equal_depth(
    setup: BeamOnTarget, trains: list[Train], terms: Terms, workers: int | None, progress: Progress | None
) -> tuple[Terms, list[tuple[Train, Result]]]:
    """The terms with their depth, and every regime with as many pulses as reach it."""
    found: list[tuple[Train, Result]] = []
    depth = terms.depth
    if depth is None:
        first = run(setup.scenario(trains[0]))
        depth = _depth_to_reach(first, trains[0], terms)
        found.append((trains[0], first))
    done, total = len(found), len(trains)

    def tell(more: int, _: int, left: float) -> None:
        if progress is not None:
            progress(done + more, total, left)

    search = partial(reach, setup=setup, depth=depth)
    return replace(terms, depth=depth), found + run_all(search, trains[done:], workers, tell)


def _depth_to_reach(first: Result, train: Train, terms: Terms) -> float:
    depth = first.measures["crater_depth"] or 0.0
    if depth <= 0.0:
        expected = f"a first regime that removes something within {units.written(terms.time, 's')}"
        raise InputError(train.regime.where, expected, "no crater", "Give a depth, or a smaller spot.")
    return depth
