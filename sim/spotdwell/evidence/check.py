"""A check of computed against claimed values, and the runs that checks share."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from spotdwell.inputs.build import problem_of
from spotdwell.inputs.read import shipped_scenario
from spotdwell.inputs.shot import scenario_with
from spotdwell.model.material import Medium
from spotdwell.solve.march import marched
from spotdwell.solve.outcome import Outcome, Snapshot

Array = NDArray[np.float64]

LEAST_ORDER = 1.8
"""Observed order that counts as second: between two finite grids the slope is not yet quite 2."""


@dataclass(frozen=True)
class Finding:
    """One quantity that a case compares."""

    quantity: str
    claimed: float
    """By the closed form [unit]; of a field, at the worst point."""
    computed: float
    """By the tool [unit], at the same place."""
    unit: str
    error: float
    tolerance: float
    """Largest `error` that passes."""
    error_kind: str
    """What `error` is relative to, such as "of claimed" or "of a cell"."""
    reason: str
    """Why the tolerance: what the cells and steps explain."""
    order: float | None = None
    """Observed order of accuracy in space and time together, where it was measured."""

    @property
    def passed(self) -> bool:
        """Whether error and, where measured, order are good. A NaN fails."""
        return self.error <= self.tolerance and (self.order is None or self.order >= LEAST_ORDER)


@dataclass(frozen=True)
class Check:
    """A finding of a named case, ready for a table."""

    name: str
    title: str
    quantity: str
    claimed: float
    computed: float
    unit: str
    error: float
    tolerance: float
    error_kind: str
    reason: str
    order: float | None
    passed: bool
    seconds: float
    """Wall time of the whole case, which may hold several checks."""


@dataclass(frozen=True)
class Case:
    """A closed form and the run that is compared with it."""

    name: str
    title: str
    find: Callable[[], list[Finding]]


def number(
    quantity: str, claimed: float | Array, computed: float, unit: str, tolerance: float, reason: str
) -> Finding:
    """Finding about one number; its error is relative to the claim."""
    claimed, computed = float(claimed), float(computed)
    error = abs(computed - claimed) / abs(claimed)
    return Finding(quantity, claimed, computed, unit, error, tolerance, "of claimed", reason)


def field(
    quantity: str,
    claimed: Array,
    computed: Array,
    unit: str,
    tolerance: float,
    reason: str,
    order: float | None = None,
) -> Finding:
    """Finding about many values at once: the worst difference over the largest claim."""
    error = largest_error(claimed, computed)
    worst = int(np.argmax(np.abs(computed - claimed)))
    here, there = float(claimed.flat[worst]), float(computed.flat[worst])
    return Finding(quantity, here, there, unit, error, tolerance, "of the largest", reason, order)


def position(
    quantity: str, claimed: float, computed: float, cell: float, tolerance: float, reason: str
) -> Finding:
    """Finding about a depth [m], whose error counts in cells of height `cell` [m]."""
    claimed, computed = float(claimed), float(computed)
    return Finding(
        quantity, claimed, computed, "m", abs(computed - claimed) / cell, tolerance, "of a cell", reason
    )


def largest_error(claimed: Array, computed: Array) -> float:
    """Largest difference over the largest claim [-]."""
    return float(np.max(np.abs(computed - claimed)) / np.max(np.abs(claimed)))


def observed_order(errors: Sequence[float]) -> float:
    """Order by the last two `errors`: each belongs to half the cells and steps of the one before."""
    return math.log2(errors[-2] / errors[-1])


Changes = Mapping[str, str | float]

FOLDER = "verification"


def solved(
    name: str, changes: Changes | None = None, weightless: bool = False, save_times: Sequence[float] = ()
) -> Outcome:
    """Outcome of the verification scenario `name`, with `changes` at dotted keys.

    `weightless` water neither holds heat nor absorbs, so that its loss changes neither, as the forms with
    escape ask. `save_times` [s] stand for the scenario's own, if any are given.
    """
    scenario = shipped_scenario(f"{FOLDER}/{name}")
    problem = problem_of(scenario_with(scenario, changes) if changes else scenario)
    if weightless:
        layers = tuple(replace(one, medium=_weightless(one.medium)) for one in problem.target.layers)
        problem = replace(problem, target=replace(problem.target, layers=layers))
    return marched(replace(problem, save_times=tuple(save_times)) if save_times else problem)


def _weightless(medium: Medium) -> Medium:
    return replace(medium, specific_heat_water=0.0, absorption_coefficient_water=0.0)


def refined(refinement: float, growth: float = 0.1, largest_rise: float = 60.0) -> dict[str, str | float]:
    """Changes that make cells, and the steps that go with them, `refinement` times smaller."""
    return {
        "grid.refinement": refinement,
        "steps.growth": growth / refinement,
        "steps.largest_rise": f"{largest_rise / refinement!r} K",
    }


@dataclass(frozen=True, eq=False)
class Half:
    """What a closed form of a half-space needs of an outcome: properties of its first layer and the light."""

    outcome: Outcome
    medium: Medium
    k: float
    C: float
    mu: float
    q: float
    """Absorbed irradiance of a slab; of a spot, at its peak [W/m2]."""
    boiling: float
    """Rise from the initial temperature to boiling [K]."""
    rupture: float
    """The same to rupture; infinite where nothing ruptures."""

    @property
    def depth(self) -> Array:
        """Cell centres below the untouched surface [m]."""
        return self.outcome.problem.grid.depth

    @property
    def cell(self) -> float:
        """Height of the first cell [m]."""
        return float(self.outcome.problem.grid.depth_edges[1])

    def rise(self, snapshot: Snapshot | None = None) -> Array:
        """Rise [K] of every cell, (columns, cells); in the final state unless another is given."""
        state = snapshot or self.outcome.final
        return state.temperature - self.outcome.problem.target.initial_temperature

    def under_front(self, snapshot: Snapshot | None = None) -> tuple[Array, Array]:
        """Depth below the front [m] and rise [K] of the first column's cells that are left.

        In the final state unless another is given.
        """
        state = snapshot or self.outcome.final
        left = slice(int(state.floor[0]), None)
        return self.depth[left] - state.crater_depth[0], self.rise(state)[0, left]


def half_of(outcome: Outcome) -> Half:
    """Outcome with what closed forms need of it."""
    problem = outcome.problem
    medium = problem.target.layers[0].medium
    columns = problem.grid.columns
    peak = 1.0 / float(columns.area[0]) if columns.count == 1 else problem.beam.peak_irradiance
    return Half(
        outcome,
        medium,
        medium.conductivity,
        medium.heat_capacity,
        medium.absorption_coefficient,
        (1.0 - medium.reflectance) * problem.exposure.peak_power * peak,
        medium.boiling_temperature - problem.target.initial_temperature,
        medium.removal.rupture_temperature - problem.target.initial_temperature
        if medium.removal
        else math.inf,
    )


def mean_speed(outcome: Outcome) -> float:
    """Speed of the first column's front [m/s] between the first and the last saved state."""
    first, last = outcome.snapshots[0], outcome.snapshots[-1]
    return float((last.crater_depth[0] - first.crater_depth[0]) / (last.time - first.time))


def depth_of_level(depth: Array, values: Array, level: float) -> float:
    """Depth [m] at which `values` last fall through `level`, between cell centres; NaN if nowhere."""
    above = np.flatnonzero(values >= level)
    if above.size == 0 or above[-1] + 1 >= values.size:
        return math.nan
    i = int(above[-1])
    share = (values[i] - level) / (values[i] - values[i + 1])
    return float(depth[i] + share * (depth[i + 1] - depth[i]))


def claimed_depth(function: Callable[[float], Array], level: float, deepest: float) -> float:
    """Depth [m] below a front at which the closed form falls through `level`."""
    return float(brentq(lambda z: float(function(z)) - level, 0.0, deepest, xtol=1e-12))
