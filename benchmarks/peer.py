"""Peer: our solver against general-purpose libraries, on one problem that all of them can solve, by turns."""

from __future__ import annotations

import math
from collections.abc import Callable
from importlib import metadata
from typing import TYPE_CHECKING, Any

import numpy as np

import peer_problem as given
import peer_solvers as solvers
from peer_problem import Exact
from rows import Row, at_least, written
from timing import Timed, by_turns, keep_to_one_core

if TYPE_CHECKING:
    from spotdwell.model.problem import Problem

TITLE = "Conduction against general-purpose libraries"
ABOUT = (
    "Rings to 4 mm, 3 mm deep, cells of 5 um, 0.1 s of a gaussian spot absorbed in depth, no ablation. The "
    "error is the largest over the largest rise, against the answer on the same cells that is exact in time; "
    "it must stay below 0.5 %. Warm: compiling is not counted, nor is laying out arrays, but for ours. "
    "Explicit solvers take the longest stable step, Crank-Nicolson the fewest steps that keep to the error."
)
CELL = 5e-6
START = 300.0
"""Where everything starts [K]; of no consequence, as nothing depends on temperature."""
OURS, IMPLICIT = "spotdwell", "SciPy, Crank-Nicolson and sparse LU"
FASTER_THAN_ANY, FASTER_THAN_IMPLICIT = 5.0, 40.0


def rows(quick: bool) -> list[Row]:
    """Times and errors of all contestants, and how many times faster ours is."""
    keep_to_one_core()
    cells = given.cells_of(CELL)
    exact = Exact(cells)
    explicit = math.ceil(0.5 * given.HEATING * exact.stiffest)
    implicit = given.fewest_crank_nicolson_steps(exact)
    peers = {
        "Devito, explicit": ("devito", solvers.devito_explicit, explicit),
        "JAX, explicit": ("jax", solvers.jax_explicit, explicit),
        "NumPy, explicit": ("numpy", solvers.numpy_explicit, explicit),
        IMPLICIT: ("scipy", solvers.scipy_crank_nicolson, implicit),
        f"{IMPLICIT}, ordered for least fill": ("scipy", solvers.scipy_least_fill, implicit),
    }
    contestants: dict[str, Callable[[], Any]] = {OURS: ours(CELL)}
    absent = []
    for name, (package, maker, steps) in peers.items():
        try:
            metadata.version(package)
            contestants[name] = maker(cells, steps)
        except (ImportError, metadata.PackageNotFoundError):
            absent.append(Row(name, "not installed"))
        except Exception as problem:  # whatever keeps a peer from working is what there is to report
            absent.append(Row(name, f"does not run: {type(problem).__name__}: {problem}"))
    timed = by_turns(contestants, 1 if quick else 3)
    true = exact.rise()
    steps = {name: count for name, (_, _, count) in peers.items()} | {OURS: timed[OURS].value[1]}
    found = [_row(name, one, timed[OURS].median, steps[name], true) for name, one in timed.items()]
    return [*found, *absent, *_compared(timed)]


def problem_of(cell: float) -> Problem:
    """The problem for our solver, built in Python, on cells of `cell` [m]."""
    from spotdwell.model.beam import Beam
    from spotdwell.model.columns import rings
    from spotdwell.model.exposure import steady
    from spotdwell.model.material import Medium
    from spotdwell.model.problem import Ending, Grid, Problem
    from spotdwell.model.target import Layer, Surface, Target

    density, k = 1000.0, given.CONDUCTIVITY
    block = Medium("block", density, 0.0, given.HEAT_CAPACITY / density, k, k, k, 0.0, given.ABSORPTION)
    radii, depths = (np.arange(round(far / cell) + 1) * cell for far in (given.RADIUS, given.DEPTH))
    return Problem(
        Target((Layer(block, given.DEPTH),), START),
        Grid(rings(radii), depths, np.zeros(depths.size - 1, dtype=np.int64)),
        Beam(10.6e-6, given.SPOT_RADIUS),
        steady(given.PEAK_IRRADIANCE * np.pi * given.SPOT_RADIUS**2 / 2.0, given.HEATING),
        Surface(0.0, START, radiates=False),
        Ending(given.HEATING),
    )


def ours(cell: float) -> Callable[[], tuple[given.Array, int]]:
    """Our contestant, from problem to outcome: rise [K] and steps."""
    from spotdwell.solve.march import marched

    problem = problem_of(cell)

    def solve() -> tuple[given.Array, int]:
        outcome = marched(problem)
        return outcome.final.temperature - START, outcome.steps

    return solve


def _row(name: str, one: Timed, ours_median: float, steps: int, true: given.Array) -> Row:
    rise = one.value[0] if name == OURS else one.value
    miss = given.error(rise, true)
    times = "" if name == OURS else f", {one.median / ours_median:.3g} times ours"
    limit = f"error below {100.0 * given.TOLERANCE:g} %"
    measured = f"{written(one.median, 's')} in {steps} steps{times}"
    return Row(name, measured, f"error {100.0 * miss:.2g} %", limit, miss < given.TOLERANCE)


def _compared(timed: dict[str, Timed]) -> list[Row]:
    """How many times faster ours is than the fastest peer, and than the implicit one."""
    others = {name: one.median for name, one in timed.items() if name != OURS}
    ours_median, found = timed[OURS].median, []
    if others:
        fastest = min(others, key=lambda name: others[name])
        what = f"ours against the fastest of them ({fastest.split(',')[0]})"
        found.append(at_least(what, others[fastest] / ours_median, FASTER_THAN_ANY, "times"))
    if IMPLICIT in others:
        what = "ours against Crank-Nicolson and sparse LU"
        found.append(at_least(what, others[IMPLICIT] / ours_median, FASTER_THAN_IMPLICIT, "times"))
    return found
